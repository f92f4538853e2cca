"""Which gaps are worth trying for a pass that leaves its gap open.

Set anew, a gap clears from some offset on and reaches up to some other one, since clearance and throw grow with the
offset alone. Of what lies between only a few offsets can matter, and each of them is the least one

- that clears what stands under the head now, or a stack that may stand under it while the plane is kept,
- that brings the plane to a height that another gap has, so that changing between the two costs nothing,
- at which an alignment on record, or one that is made for another pass, begins to serve.

Between two of these nothing changes but the length of the throw. Where a printer has few offsets all of them are tried.
The last kind is by far the most frequent and seldom needed, so a search does without at first: those that serve an
alignment made for another pass are left out unless it is `thorough`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from functools import cached_property

from attrs import frozen

from signrules.graph import before_within
from signrules.model.passes import SIDES, Gap
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.forms import Form, Unknown
from signrules.physics.landing import Window, window
from signrules.physics.machine import Machine, clears
from signrules.physics.planes import HeadPlane
from signrules.physics.standing import BARE, Base, Standing, height_above
from signrules.physics.zones import Cover
from signrules.planning.gaps.needs import Records

FEW_OFFSETS = 8
"""With so many offsets or fewer, all are tried: choosing among them would take longer."""

MOST_STACKS = 2_000
"""Of so many ways in which stacks can come about the heights are compared; with more, all offsets are tried."""

MOST_ORDERED = 512
"""Of so many ways to print a part of a stack those that precedence forbids are left out."""

Surface = tuple[Base, int]
"""A bare sheet, by how much it may be lifted and whether its bow counts, and the number of the stack on it."""

ZERO = Interval.exact(0.0)


def open_gaps(printer: Printer) -> tuple[Gap, ...]:
    """Every gap that an open one can be given: each offset over the media, then over the build-up."""
    offsets = [Interval.exact(offset) for offset in printer.gap.offsets()]
    return tuple(Gap(offset, reference) for reference in ("media", "build-up") for offset in offsets)


@frozen(eq=False)
class Fresh:
    """A gap set anew for a pass at offset 0 over one reference: the plane, its longest throw, where it is crisp."""

    plane: HeadPlane
    throw: float
    crisp: Interval


class OpenGaps:
    """The gaps worth trying on one machine; `thorough` as above."""

    def __init__(self, machine: Machine, *, thorough: bool) -> None:
        self.machine, self.job, self.heights = machine, machine.job, machine.heights
        self.thorough = thorough
        self.offsets = self.job.printer.gap.offsets()
        self._exact = [Interval.exact(offset) for offset in self.offsets]
        self._worth: dict[object, tuple[int, ...]] = {}
        self._surfaces_of: dict[int, tuple[Surface, ...]] = {}
        self._of_plane: dict[object, tuple[int, ...]] = {}
        self._planes: dict[object, HeadPlane] = {}

    def fresh(self, at: int, standing: Standing) -> tuple[Fresh, ...]:
        """What setting the gap anew for a pass that comes next gives at offset 0, over each reference."""
        landing = standing.landing(at)
        found: list[Fresh] = []
        for reference in ("media", "build-up"):
            plane = standing.head_plane(at, Gap(ZERO, reference))
            if found and plane.key == found[0].plane.key:
                continue
            throw = standing.throw_onto(landing, plane).to_lowest.high
            offsets = standing.crisp_offsets(landing, plane)
            lowest = self.job.passes[at].crisp_on == "lowest"
            found.append(Fresh(plane, throw, offsets.to_lowest if lowest else offsets.to_highest))
        return tuple(found)

    def settable(self, at: int, fresh: Fresh, clearance: float) -> Iterator[Gap]:
        """The gaps worth trying over one reference, the lowest first; `clearance` in mm is that at offset 0."""
        first = self._first_clear(clearance)
        last = self._last_reaching(fresh.throw)
        if first > last:
            return
        yield self._gap(first, fresh)
        for number in self._worth_trying(at, fresh):
            if first < number <= last:
                yield self._gap(number, fresh)

    def plane_of(self, fresh: Fresh, gap: Gap) -> HeadPlane:
        """The plane of a gap, from that at offset 0 over the same reference; the same object each time."""
        key = (fresh.plane.key, gap.offset.nominal)
        if key not in self._planes:
            raised = Form.of(Unknown("offset", gap.offset))
            without = Form.of(Unknown("offset", ZERO))
            forms = tuple(form - without + raised for form in fresh.plane.forms)
            self._planes[key] = HeadPlane(forms, gap, fresh.plane.media)
        return self._planes[key]

    def most_room(self, fresh: Iterable[Fresh]) -> tuple[Fresh, Gap]:
        """Of gaps that do not clear, the one that leaves most room without throwing farther than the drops reach."""
        best: tuple[bool, float, Fresh, Gap] | None = None
        for one in fresh:
            last = self._last_reaching(one.throw)
            gap = self._gap(max(last, 0) if last >= 0 else len(self.offsets) - 1, one)
            height = one.plane.height.nominal + gap.offset.nominal
            if best is None or (last >= 0, height) > best[:2]:
                best = (last >= 0, height, one, gap)
        assert best is not None
        return best[2], best[3]

    def _gap(self, number: int, fresh: Fresh) -> Gap:
        return Gap(self._exact[number], fresh.plane.gap.reference)

    def _first_clear(self, clearance: float) -> int:
        least = self.job.printer.min_clearance
        first = bisect_left(self.offsets, max(least - GUARD_MM, GUARD_MM) - clearance)
        while first < len(self.offsets) and not clears(clearance + self.offsets[first], least):
            first += 1
        return first

    def _last_reaching(self, throw: float) -> int:
        most = self.job.printer.max_throw
        if most is None:
            return len(self.offsets) - 1
        return bisect_left(self.offsets, most + GUARD_MM - throw + 1e-12) - 1

    # --- what is worth trying ----------------------------------------------------------------

    def _worth_trying(self, at: int, fresh: Fresh) -> tuple[int, ...]:
        if len(self.offsets) <= FEW_OFFSETS or self._stacks is None:
            return tuple(range(len(self.offsets)))
        surfaces = self._crisp_on(at)
        key = (surfaces, fresh.plane.key)
        if key not in self._worth:
            numbers = {*self._of_clearance(fresh.plane), *self._of_heights(fresh.plane)}
            numbers |= set(self._of_alignments(surfaces, fresh.plane))
            self._worth[key] = tuple(sorted(numbers))
        return self._worth[key]

    def _crisp_on(self, at: int) -> tuple[Surface, ...]:
        """The surfaces on which an alignment must serve a pass; none where it needs no alignment."""
        if at not in self._surfaces_of:
            needs_none = self._tolerance is None or self.job.passes[at].directions == 1
            self._surfaces_of[at] = () if needs_none else self._surfaces(at)
        return self._surfaces_of[at]

    def _of_clearance(self, plane: HeadPlane) -> tuple[int, ...]:
        """The least offset over a plane at offset 0 that clears each stack that may stand in its way."""
        key = plane.key
        if key not in self._of_plane:
            least = self.job.printer.min_clearance
            needed = {least - self._above(plane, base, stack) for base, stack in self._obstacles}
            numbers = (self._least_from(offset) for offset in needed)
            found = {number for number in numbers if number is not None}
            self._of_plane[key] = tuple(sorted(found))
        return self._of_plane[key]

    def _above(self, plane: HeadPlane, base: tuple[str, float, bool], stack: int) -> float:
        heights = self.heights
        return height_above(plane, heights.ground, heights.stacks, base, stack).low

    def _least_from(self, offset: float) -> int | None:
        """The number of the least offset that is no less than one in mm."""
        number = bisect_left(self.offsets, offset - GUARD_MM)
        return number if number < len(self.offsets) else None

    def _of_heights(self, plane: HeadPlane) -> Iterator[int]:
        """The offsets that bring a plane to a height that another gap has."""
        bare = plane.height.nominal
        for height in self._shared_heights:
            number = self._least_from(height - bare)
            if number is not None and abs(self.offsets[number] - (height - bare)) <= GUARD_MM:
                yield number

    def _of_alignments(self, surfaces: tuple[Surface, ...], plane: HeadPlane) -> Iterator[int]:
        """The least offset at which each alignment, on record or made for another pass, serves on some surface."""
        for surface in surfaces:
            crisp = self._crisp(plane, surface)
            ends = [self._window(crisp, number).high for number in range(len(self.offsets))]
            for served_from in self._begins:
                number = bisect_left(ends, served_from - GUARD_MM)
                if number < len(ends):
                    yield number

    def _window(self, crisp: Interval, number: int) -> Window:
        assert self._tolerance is not None
        return window(self.job.printer, crisp + self._exact[number], self._tolerance)

    @cached_property
    def _tolerance(self) -> float | None:
        return self.job.printer.allowed_landing_error

    @cached_property
    def _begins(self) -> tuple[float, ...]:
        """From which offset over a bare sheet on alignments serve: those on record, and what passes ask for."""
        found = set(Records.of_job(self.job).offsets)
        if not self.thorough:
            return tuple(sorted(found))
        seen: set[tuple[object, ...]] = set()
        for at in range(len(self.job.passes)):
            surfaces = self._crisp_on(at)
            for plane in self._planes_of(at):
                if (surfaces, plane.key) in seen:
                    continue
                seen.add((surfaces, plane.key))
                numbers = {*self._of_clearance(plane), *self._of_heights(plane)}
                for surface in surfaces:
                    crisp = self._crisp(plane, surface)
                    found |= {round(self._window(crisp, number).low, 6) for number in numbers}
        return tuple(sorted(found))

    @cached_property
    def _shared_heights(self) -> tuple[float, ...]:
        """The heights above the bed in mm to which planes are stated, or set for what stands in their way."""
        found = set()
        for at, item in enumerate(self.job.passes):
            if item.gap is not None and item.gap.reference != "build-up":
                found.add(round(self.heights.stated_planes[at].height.nominal, 9))
            for plane in self._planes_of(at):
                if item.gap is None:
                    numbers: Iterable[int] = self._of_clearance(plane)
                    added = [self.offsets[number] for number in numbers]
                else:
                    added = [item.gap.offset.nominal] if item.gap.reference == "build-up" else []
                found |= {round(plane.height.nominal + offset, 9) for offset in added}
        return tuple(sorted(found))

    # --- what may stand ------------------------------------------------------------------------

    def _planes_of(self, at: int) -> tuple[HeadPlane, ...]:
        """The planes at offset 0 that a pass may set: over the bare sheet, and over each stack on it."""
        return self._planes_on[self.heights.media[at].id, self.job.passes[at].side]

    @cached_property
    def _planes_on(self) -> dict[tuple[str, str], tuple[HeadPlane, ...]]:
        stacks = self._stacks
        assert stacks is not None
        heights = self.heights
        found: dict[tuple[str, str], tuple[HeadPlane, ...]] = {}
        ground = heights.ground
        base_gap = Form.of(ground.base_gap)
        for (media, side), known in stacks.items():
            planes = []
            for stack in sorted({BARE, *known}):
                reference = "media" if stack == BARE else "build-up"
                form = base_gap + ground.top(media) + heights.stacks.inks[stack]
                planes.append(HeadPlane((form,), Gap(ZERO, reference), media))
            found[media, side] = tuple(planes)
        return found

    def _surfaces(self, at: int) -> tuple[Surface, ...]:
        """The surfaces on which a pass may be crisp: a bare sheet, how much it is lifted, and the ink on it."""
        assert self._stacks is not None
        media, side = self.heights.media[at].id, self.job.passes[at].side
        covers = self.heights.layout.covers_of(at)
        stacks = {stack for cover in covers for stack in self._partial_stacks(cover, at)[0]}
        return tuple(
            ((media, lift, False), stack) for lift in sorted(self._lifts(media, side)) for stack in sorted(stacks)
        )

    def _crisp(self, plane: HeadPlane, surface: Surface) -> Interval:
        heights = self.heights
        lower = plane.less(heights.ground.base_gap)
        return height_above(lower, heights.ground, heights.stacks, *surface)

    @cached_property
    def _obstacles(self) -> tuple[Surface, ...]:
        """Each sheet as it may be lifted, with each stack that may stand on it; sheets that are alike once."""
        assert self._stacks is not None
        found: dict[Surface, None] = {}
        for (media, side), stacks in self._stacks.items():
            for lift in sorted(self._lifts(media, side)):
                for stack in sorted(stacks):
                    found[(media, lift, True), stack] = None
        return tuple(found)

    def _lifts(self, media: str, side: str) -> set[float]:
        """By how much ink underneath may lift a sheet that lies with one side up, in mm."""
        if media not in self.machine.turning or self._stacks is None:
            return {0.0}
        under = "front" if side == "back" else "back"
        highs = self.heights.stacks.highs
        return {0.0, *(highs[stack] for stack in self._stacks[media, under])}

    @cached_property
    def _stacks(self) -> dict[tuple[str, str], frozenset[int]] | None:
        """The stacks that may stand on each side of each sheet at some time; None where they are very many."""
        found: dict[tuple[str, str], frozenset[int]] = {}
        left = MOST_STACKS
        for sheet in self.job.media:
            for side in SIDES:
                stacks: set[int] = {BARE}
                for cover in self.heights.layout.covers_on(sheet.id, side):
                    some, ways = self._partial_stacks(cover)
                    left -= ways
                    if left < 0:
                        return None
                    stacks |= some
                found[sheet.id, side] = frozenset(stacks)
        return found

    def _partial_stacks(self, cover: Cover, before: int | None = None) -> tuple[set[int], int]:
        """The stacks of a cover as it may stand at some time, and how many ways were looked at.

        With `before`, as it may stand at the latest when that pass is printed. Where there are many ways, precedence
        is left out: that brings in stacks that never stand, which are tried for nothing.
        """
        late = set() if before is None else {before, *self.machine.followers[before]}
        members = [at for at in cover if at not in late]
        if 2 ** len(members) > MOST_ORDERED:
            return self._any_partial_stacks(members)
        needed = {at: before_within(self.machine, at, cover) for at in members}
        done, stacks = {frozenset[int]()}, {BARE}
        waiting = list(done)
        while waiting:
            standing = waiting.pop()
            for at in members:
                more = standing | {at}
                if at not in standing and needed[at] <= standing and more not in done:
                    done.add(more)
                    waiting.append(more)
                    stacks.add(self.heights.stacks.of_passes(sorted(more)))
        return stacks, len(done)

    def _any_partial_stacks(self, members: list[int]) -> tuple[set[int], int]:
        """The stacks of any of some passes; passes of the same ink and layers make the same ones."""
        stacks = {BARE}
        for at in members:
            if len(stacks) > MOST_STACKS:
                break
            stacks |= {self.heights.stacks.with_pass(stack, at) for stack in stacks}
        return stacks, len(stacks)
