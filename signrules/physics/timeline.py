"""What happens when a job is done in a given order: what rules and plans stand on.

`replaying` makes it.
"""

from __future__ import annotations

import datetime
import math
from collections import deque
from collections.abc import Hashable, Iterator, Mapping, Sequence
from functools import cached_property
from operator import attrgetter
from types import MappingProxyType
from typing import Any

from attrs import field, fields, frozen

from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import counted_things
from signrules.physics.heights import HeadPlane, Throw
from signrules.physics.landing import Window, alignment_window, fewest_alignments, landing_error
from signrules.physics.machine import Machine, Move


@frozen(eq=False)
class Printing:
    """One pass as it is printed. Heights in mm above the bed, clearance and throw in mm.

    `counts_as_setting` says whether setting the gap for it counts: a plane of the same nominal
    height costs nothing, though it is set all the same where it is set from another surface.
    `crisp_extra` and `other_extra` are the extras over a bare sheet that have the throw to the
    surface where the pass must be crisp, and to the other one, when it starts;
    `crisp_extra_at_end` is `crisp_extra` at its last layer. `surface_before` and `surface_after`
    are the highest surface within its areas.
    """

    pass_index: int
    position: int
    plane: HeadPlane
    counts_as_setting: bool
    clearance: Interval
    throw: Throw
    throw_at_end: Throw
    crisp_extra: Interval
    crisp_extra_at_end: Interval
    other_extra: Interval
    surface_before: Interval
    surface_after: Interval
    side_up: str

    @property
    def crisp_extra_all_along(self) -> Interval:
        """All extras over a bare sheet from `crisp_extra` to `crisp_extra_at_end`."""
        ends = (self.crisp_extra, self.crisp_extra_at_end)
        return Interval.between(min(end.low for end in ends), max(end.high for end in ends))

    def shows_the_same(self, other: Printing) -> bool:
        """Whether all that shows of two printings is alike: of their planes that is the height."""
        return _SHOWN(self) == _SHOWN(other) and self.plane.height == other.plane.height


_SHOWN = attrgetter(*(each.name for each in fields(Printing) if each.name != "plane"))


@frozen
class Step:
    """One thing that the operator does. Lengths in mm; fields that a kind does not have are None.

    `kind` is "align", "load", "unload", "gap", "print" or "handle". When a load is put on,
    `back_up` names the sheets that go on with their back up, and `again` says whether this load
    has lain on the bed before.
    """

    kind: str
    subject: str | None = None
    extra: float | None = None
    above: str | None = None
    media: str | None = None
    back_up: tuple[str, ...] | None = None
    again: bool | None = None
    printing: Printing | None = field(default=None, eq=False)

    @property
    def gap_place(self) -> str:
        """Over what a gap is set, in words; empty for a step that sets none."""
        if self.kind != "gap":
            return ""
        if self.above == "media":
            return f"over {self.media}"
        if self.above == "build-up":
            return f"over the build-up on {self.media}"
        return "above the bed"


def _read_only(found: Mapping[int, Any]) -> Mapping[int, Any]:
    return MappingProxyType(dict(found))


@frozen(eq=False)
class Timeline:
    """The replay of one order."""

    machine: Machine
    order: tuple[int, ...]
    steps: tuple[Step, ...]
    printings: Mapping[int, Printing] = field(converter=_read_only)
    positions: Mapping[int, int] = field(converter=_read_only)
    moves: Sequence[tuple[int, Move]]
    loads: int
    gap_settings: int

    def __reduce__(self) -> tuple[object, ...]:
        # A read-only view of a dict cannot be pickled, the dict can.
        shown = (dict(self.printings), dict(self.positions))
        return Timeline, (
            self.machine,
            self.order,
            self.steps,
            *shown,
            self.moves,
            self.loads,
            self.gap_settings,
        )

    def __repr__(self) -> str:
        steps = counted_things(len(self.steps), "step")
        return f"<Timeline: {steps}, {counted_things(self.loads, 'load')}, alignments aside>"

    def shows_the_same(self, other: Timeline) -> bool:
        """Whether two replays have the same order, moves and numbers."""
        return (
            self.order == other.order
            and self.positions == other.positions
            and list(self.moves) == list(other.moves)
            and self.printings.keys() == other.printings.keys()
            and all(
                printing.shows_the_same(other.printings[pass_index])
                for pass_index, printing in self.printings.items()
            )
        )

    def moves_between(self, first: int, second: int) -> list[Move]:
        """What moved the sheet of the earlier of two passes before the later one was printed."""
        earlier, later = sorted((first, second), key=self.positions.__getitem__)
        # A move has the position of the item as which, or before which, it is made.
        start, end = self.positions[earlier], self.positions[later]
        load = self.machine.load_of[earlier]
        return [
            move for position, move in self.moves if start < position <= end and move.load == load
        ]

    def earliest_partner(self, pass_index: int) -> int | None:
        """Of the passes that register with one and come before it, the one printed first."""
        # Whatever moved the sheet since a later partner moved it since the earliest one too.
        others = set(self.machine.named_partners[pass_index])
        if pass_index in self.machine.group_of:
            others.add(self._first_of_group[self.machine.group_of[pass_index]])
        own_position = self.positions[pass_index]
        earlier = (other for other in others if self.positions[other] < own_position)
        return min(earlier, key=self.positions.__getitem__, default=None)

    @cached_property
    def _first_of_group(self) -> tuple[int, ...]:
        return tuple(
            min(group, key=self.positions.__getitem__) for group in self.machine.register_groups
        )

    def telling_partners(self, pass_index: int) -> tuple[int, ...]:
        """The passes from which one can lie farthest, of those before it with which it registers.

        Of passes that lie alike (printed in the same stay on the bed, at the same stated
        temperature, on the same areas where temperatures differ at all) the one that lands worst
        speaks for all, or one of which that is not known.
        """
        own_position = self.positions[pass_index]
        named = (
            other
            for other in self.machine.named_partners[pass_index]
            if self.positions[other] < own_position
        )
        return tuple(sorted({*named, *self._earlier_kinds.get(pass_index, ())}))

    @cached_property
    def _earlier_kinds(self) -> dict[int, tuple[int, ...]]:
        """For each pass, the earlier ones of its register group that speak for all: of each kind
        the one that lands worst.

        Pairs would be as many as the square of the passes; kinds are a handful.
        """
        landing = {
            pass_index: _known_or_worst(error) for pass_index, error in self.landing_errors.items()
        }
        worst_of_groups: list[dict[Hashable, int]] = [{} for _ in self.machine.register_groups]
        earlier_kinds = {}
        for pass_index, stay in self._stays():
            if pass_index in self.machine.group_of:
                worst_of_kind = worst_of_groups[self.machine.group_of[pass_index]]
                # Before the pass itself joins its kind: only earlier ones count for it.
                earlier_kinds[pass_index] = tuple(worst_of_kind.values())
                kind = self._kind_of_pass(pass_index, stay)
                if kind not in worst_of_kind or landing[worst_of_kind[kind]] < landing[pass_index]:
                    worst_of_kind[kind] = pass_index
        return earlier_kinds

    def _stays(self) -> Iterator[tuple[int, int]]:
        """Each item in order, and how often its load has been moved before."""
        stays: dict[str | None, int] = {}
        moves = deque(self.moves)
        for position, item_index in enumerate(self.order):
            while moves and moves[0][0] <= position:
                _, move = moves.popleft()
                stays[move.load] = stays.get(move.load, 0) + 1
            yield item_index, stays.get(self.machine.load_of[item_index], 0)

    def _kind_of_pass(self, pass_index: int, stay: int) -> Hashable:
        """What passes share that lie alike to those after them."""
        job = self.machine.job
        # Each layer warms the sheet: every pass finds it at a temperature of its own.
        if job.printer.absorbed_dose:
            return pass_index
        item = job.passes[pass_index]
        # Without temperatures nothing grows, so places on the sheet need not tell passes apart.
        return stay, item.sheet_temperature, self._has_temperatures and item.areas

    @cached_property
    def _has_temperatures(self) -> bool:
        """Whether growth counts, for which it matters where on the sheet a pass prints."""
        return any(item.sheet_temperature is not None for item in self.machine.job.passes)

    @cached_property
    def windows(self) -> dict[int, Window]:
        """For each two-way pass the alignments that serve it; empty without a landing tolerance."""
        printer = self.machine.job.printer
        tolerance = printer.allowed_landing_error
        if tolerance is None:
            return {}
        return {
            pass_index: alignment_window(printer, printing.crisp_extra, tolerance)
            for pass_index, printing in self.printings.items()
            if self.machine.job.passes[pass_index].directions == 2
        }

    @cached_property
    def new_alignments(self) -> tuple[float, ...]:
        """The fewest alignments that must be made first, as extras over a bare sheet in mm."""
        job = self.machine.job
        wanted = [
            (window, self.printings[pass_index].crisp_extra_all_along)
            for pass_index, window in self.windows.items()
        ]
        return fewest_alignments(
            job.printer, wanted, [alignment.extra for alignment in job.usable_alignments]
        )

    @cached_property
    def alignments(self) -> tuple[float, ...]:
        """Every alignment that there is once the new ones are made, as extras in mm."""
        on_record = {alignment.extra for alignment in self.machine.job.usable_alignments}
        return tuple(sorted(on_record.union(self.new_alignments)))

    @cached_property
    def on_record(self) -> dict[float, list[datetime.date | None]]:
        """The dates of the alignments on record that hold, by their extra in mm."""
        dates_by_extra: dict[float, list[datetime.date | None]] = {}
        for alignment in self.machine.job.usable_alignments:
            dates_by_extra.setdefault(alignment.extra, []).append(alignment.date)
        return dates_by_extra

    @cached_property
    def landing_errors(self) -> dict[int, float | None]:
        """For each pass the largest landing error where it must be crisp, in mm.

        None where no alignment is known.
        """
        return {
            pass_index: self._landing_error(pass_index, printing)
            for pass_index, printing in self.printings.items()
        }

    def _landing_error(self, pass_index: int, printing: Printing) -> float | None:
        # Drops of one direction are all shifted alike.
        if self.machine.job.passes[pass_index].directions == 1:
            return 0.0
        alignment = self.serving_alignment(printing)
        if alignment is None:
            return None
        return landing_error(self.machine.job.printer, printing.crisp_extra, alignment).high

    def serving_alignment(self, printing: Printing) -> float | None:
        """The alignment, as its extra in mm, by which a pass prints; None where there is none.

        Of those within tolerance when the pass starts the one with the least landing error at
        worst, from the first layer to the last. Where none is, the one with the least error at
        its start.
        """
        key = (printing.crisp_extra, printing.crisp_extra_at_end)
        if key not in self._serving:
            ranked = [
                # False comes before True: alignments that serve are looked at first.
                (*self._rank(printing, alignment), alignment)
                for alignment in self.alignments
            ]
            self._serving[key] = min(ranked, default=(False, 0.0, None))[2]
        return self._serving[key]

    def _rank(self, printing: Printing, alignment: float) -> tuple[bool, float]:
        """Whether an alignment does not serve a pass, and the landing error in mm that counts.

        Rounded, so that of two that are as good the lower one is taken on every machine.
        """
        printer = self.machine.job.printer
        first = landing_error(printer, printing.crisp_extra, alignment).high
        tolerance = printer.allowed_landing_error
        if tolerance is None or first > tolerance + GUARD_MM:
            return True, round(first, 9)
        last = landing_error(printer, printing.crisp_extra_at_end, alignment).high
        return False, round(max(first, last), 9)

    @cached_property
    def _serving(self) -> dict[tuple[Interval, Interval], float | None]:
        """What has been asked; very many passes have one of a few throws."""
        return {}


def _known_or_worst(error: float | None) -> float:
    """A landing error; one that nobody knows must not hide behind one that somebody does."""
    if error is None:
        return math.inf
    return error
