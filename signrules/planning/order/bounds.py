"""What is left to do costs at the least: bed loads, gap settings and alignments.

Gap settings: each pass that is left needs the head plane somewhere within its reach, so the fewest
heights that stab all reaches are set at the least. Alignments: in the same way with the extras at
which an alignment may serve a pass whatever the order. Where no alignment is left to be made, or
one, either it serves all two-way passes, which narrows where their planes lie, or one more is made.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from attrs import frozen

from signrules.physics.machine import Machine
from signrules.physics.planes import StatedGap
from signrules.planning.bitmasks import as_mask, bits_of
from signrules.planning.gaps.alignment_records import Needs
from signrules.planning.gaps.alignment_windows import Serving
from signrules.planning.gaps.kept_planes import kept_by_one
from signrules.planning.gaps.plane_reaches import (
    SLACK_MM,
    Reach,
    common_reach,
    fewest_by_one,
    fewest_further,
    fewest_planes,
    plane_reaches,
)
from signrules.planning.order.settling import settled_machine
from signrules.planning.setup_cost import Cost, Costs


@frozen
class Head:
    """The head as it stands: the height of its plane in mm, and what the pass before stated."""

    height: float | None = None
    stated: StatedGap | None = None


class LeastLeft:
    """The least that the rest of a plan costs, for some items of a machine.

    What is left is told by a bitmask; all other items of it are done.
    """

    def __init__(self, machine: Machine, active: Iterable[int]) -> None:
        self.machine, self.items = machine, tuple(active)
        self.costs = Costs.of(machine.job.printer.minutes)
        taking_part = frozenset(self.items)
        # What follows from handling holds only where all of it takes part.
        ordered = machine
        if len(taking_part) == len(machine.items):
            ordered = settled_machine(machine) or machine
        self.reaches = plane_reaches(ordered, taking_part)
        serving = Serving(ordered, self.reaches, taking_part)
        self.spans, self.by_record, self.above = serving.spans, serving.by_record, serving.above
        self.passes = as_mask(self.reaches)
        self.kept_by_one = [
            (as_mask(group.members), group.anew) for group in kept_by_one(ordered, taking_part)
        ]
        sides = machine.heights.layout.passes_on.items()
        self._on_side = {side: as_mask(passes) for side, passes in sides}
        # Neighbouring states ask the same of what is left; each answer is kept by what it hangs on.
        self._over = cache(self._over_unshared)
        self._loads = cache(lambda left: machine.loads_taken(bits_of(left)))
        self._settings = cache(self._settings_unshared)
        self._settings_by_record = cache(self._settings_by_record_unshared)
        self._settings_by_one = cache(self._settings_by_one_unshared)
        self._alignments = cache(self._alignments_unshared)

    def cost(
        self,
        left: int,
        loads: int,
        settings: int,
        load: str | None,
        head: Head,
        needs: Needs,
    ) -> Cost:
        """What a plan costs at the least that has taken `loads` and `settings` so far.

        `load` is the bed load that is on, `needs` are the alignments that are needed already.
        """
        # The load that is on need not be put on again.
        more_loads, names = self._loads(left)
        loads += more_loads - (load in names)
        passes = left & self.passes
        alignments = self._alignments(passes, needs)
        more_settings = self._settings(passes, head)
        least = self.costs.weight(loads, settings + more_settings, alignments)
        # Either one alignment more is made, or those that are counted must serve what is left.
        more = self.costs.weight(loads, settings + more_settings, alignments + 1)
        # With several to be made nothing says which passes each must serve; and where one more
        # costs nothing, to look closer cannot raise the bound.
        if alignments > 1 or more <= least:
            return loads, least
        # Each of the two is a bound in its case, so the lesser one holds in either.
        served = self._settings_served(passes, head, needs, alignments)
        if served is None:
            return loads, more
        return loads, min(more, self.costs.weight(loads, settings + served, alignments))

    def _settings_served(self, left: int, head: Head, needs: Needs, alignments: int) -> int | None:
        """The settings left at the least where no alignment more than counted is made.

        None where so few cannot serve all that is left.
        """
        if alignments:
            return self._settings_by_one(left, head, needs)
        return self._settings_by_record(left, head)

    def of_everything(self, settings: int = 0) -> Cost:
        """What any safe order of the items costs at the least.

        `settings` is how many settings it is known to take anyhow.
        """
        everything = as_mask(self.items)
        loads, least = self.cost(everything, 0, 0, None, Head(), frozenset())
        alignments = self._alignments(self.passes, frozenset())
        # Both hold of any order, so the larger one does.
        return loads, max(least, self.costs.weight(loads, settings, alignments))

    def _settings_unshared(self, left: int, head: Head) -> int:
        return self._fewest_settings(self.reaches, left, head)

    def _settings_by_record_unshared(self, left: int, head: Head) -> int:
        """The fewest gap settings left if alignments on record serve all two-way passes."""
        return self._fewest_settings(self.reaches | self.by_record, left, head)

    def _settings_by_one_unshared(self, left: int, head: Head, needs: Needs) -> int | None:
        """The fewest gap settings left if one new alignment serves what those on record cannot."""
        # Where that alignment lies moves the planes of open gaps that it serves, and no others.
        fixed, moved = set(self._anew(left)), set()
        for pass_index in bits_of(left):
            reach = self._from_now_on(pass_index, self.reaches[pass_index], left, head)
            if pass_index in self.above:
                moved.add((reach, self.above[pass_index]))
            else:
                fixed.add(reach)
        low, high = common_reach(self._windows(left, needs))
        return fewest_by_one(fixed, moved, head.height, (low - SLACK_MM, high + SLACK_MM))

    def _fewest_settings(self, reach_of: dict[int, Reach], left: int, head: Head) -> int:
        reaches = [
            self._from_now_on(pass_index, reach_of[pass_index], left, head)
            for pass_index in bits_of(left)
        ]
        return fewest_further(head.height, [*reaches, *self._anew(left)])

    def _anew(self, left: int) -> Iterator[Reach]:
        """Where planes lie that are set again since only one of some passes can keep its own."""
        for members, anew in self.kept_by_one:
            if (left & members).bit_count() > 1:
                yield anew

    def _from_now_on(self, pass_index: int, reach: Reach, left: int, head: Head) -> Reach:
        """Where a pass that is left lies: over what stands by now, or where the plane is kept."""
        mark = self.machine.may_keep_after(pass_index)
        if mark is None:
            return reach
        # Ink only grows: set over what stands by now, or more, the plane lies no lower.
        side = self.machine.job.passes[pass_index].side
        done = self.passes & ~left & self._on_side[mark.media, side]
        lowest = self._over(pass_index, done)
        if head.height is not None and head.stated == mark:
            # The plane that stands may be kept, if this pass comes next.
            lowest = min(lowest, head.height)
        return max(reach[0], lowest), reach[1]

    def _over_unshared(self, pass_index: int, done: int) -> float:
        """The nominal height of a plane that is set over what is done on the side of a pass."""
        gap = self.machine.job.passes[pass_index].gap
        assert gap is not None
        return self.machine.heights.head_plane(pass_index, gap, tuple(bits_of(done))).height.nominal

    def _alignments_unshared(self, left: int, needs: Needs) -> int:
        return fewest_planes(self._windows(left, needs))

    def _windows(self, left: int, needs: Needs) -> set[Reach]:
        """Between which extras alignments must be made: for what is left, and for what is done."""
        spans = {self.spans[pass_index] for pass_index in bits_of(left) if pass_index in self.spans}
        return spans | {(need.low, need.high) for need in needs}
