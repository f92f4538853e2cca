"""Between which heights each head plane lies in any safe order, and how many settings that takes.

At nominal values but for what is sure to be taken away: the bad ends of all else only ask for more.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from itertools import chain, product

from signrules.job_graphs import before_within
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine
from signrules.physics.planes import StatedGap
from signrules.physics.zones import Cover, cluster_snapper
from signrules.planning.predecessors import Before

Reach = tuple[float, float]
"""The lowest and the highest nominal height of a head plane above the bed, in mm."""

SLACK_MM = 2 * GUARD_MM
"""Planes that lie no farther apart than the guard count as one."""

ANYWHERE = float("inf")

MANY_ON_SIDE = 400
"""Where more passes print on one side of a sheet, all of them are taken to stand at the most: far
quicker, and safe.
"""


def plane_reaches(machine: Machine, active: frozenset[int] | None = None) -> dict[int, Reach]:
    """For each pass (of the `active` items) where its head plane lies in any safe order.

    A gap stated over the media or the bed has one plane. One over the build-up is set over what
    must stand then and what can, or kept from a pass of the same gap. Any of these and every open
    gap must clear what stands on the pass's own areas in any order; an open gap is one that was set
    for some pass before, and must not lie farther than the drops reach above what can stand there
    at the most.
    """
    return _Reaches(machine, active).found()


class _Reaches:
    def __init__(self, machine: Machine, active: frozenset[int] | None) -> None:
        self.machine, self.heights, self.job = machine, machine.heights, machine.job
        self.active = frozenset(range(len(machine.items))) if active is None else active
        self.passes = [
            pass_index for pass_index in range(machine.pass_count) if pass_index in self.active
        ]
        self.fixed = self._fixed()
        self.over_build_up = self._over_build_up()
        self.base_gap_short = self._base_gap_short()

    def _base_gap_short(self) -> float:
        """By how many mm the base gap may be less than nominal.

        It stands in every plane that is not set from the bed.
        """
        # A plane from the bed is certain, and may be kept by a pass of any other gap: then nothing
        # is short.
        gaps = (self.job.passes[pass_index].gap for pass_index in self.passes)
        if any(gap is not None and gap.above == "bed" for gap in gaps):
            return 0.0
        return self.job.printer.base_gap.nominal - self.job.printer.base_gap.low

    def found(self) -> dict[int, Reach]:
        settable = _Settable(self.machine, max(self.fixed.values(), default=0.0))
        reaches: dict[int, Reach] = {}
        for pass_index in self.passes:
            if pass_index in self.fixed:
                reaches[pass_index] = self.fixed[pass_index], self.fixed[pass_index]
                continue
            low, high = self.over_build_up.get(pass_index) or (
                0.0,
                self._highest_open(pass_index, settable),
            )
            reaches[pass_index] = max(low, self._least_clear(pass_index)), high
        return reaches

    def _fixed(self) -> dict[int, float]:
        """The planes that are the same in every order, one for all that lie within the guard."""
        heights = {}
        for pass_index in self.passes:
            gap = self.job.passes[pass_index].gap
            if gap is not None and gap.above != "build-up":
                heights[pass_index] = self.heights.stated_planes[pass_index].height.nominal
        # Planes within the guard cost nothing to change between, so they must count as one height.
        snapped = cluster_snapper(heights.values(), GUARD_MM)
        return {pass_index: snapped[height] for pass_index, height in heights.items()}

    def _over_build_up(self) -> dict[int, Reach]:
        planes = planes_over_build_up(self.machine, self.active)
        return {
            pass_index: (low.height.nominal, high.height.nominal)
            for pass_index, (low, high) in planes.items()
        }

    def _least_clear(self, pass_index: int) -> float:
        covers = self.heights.layout.covers_of(pass_index)
        highest = max(
            _ink_printed(self.machine, cover, self._stands_under(pass_index, cover))
            for cover in covers
        )
        sure_room = (
            self.job.printer.min_clearance
            # A bow is sure to count in full: it is judged at its high end wherever the head passes.
            + self.heights.media[pass_index].bow.high
            + self.base_gap_short
        )
        return self._bare(pass_index) + highest + sure_room

    def _stands_under(self, pass_index: int, cover: Cover) -> set[int]:
        among = tuple(other for other in cover if other in self.active)
        return {pass_index, *before_within(self.machine, pass_index, among)}

    def _highest_open(self, pass_index: int, settable: _Settable) -> float:
        highest = settable.before(pass_index)
        if self.job.printer.max_throw is None:
            return highest
        # What must come later cannot stand yet; drops must reach the lowest cover of those that do.
        later_passes = {pass_index, *self.machine.followers[pass_index]}
        covers = self.heights.layout.covers_of(pass_index)
        lowest_ink = min(
            _ink_printed(self.machine, self.heights.full(cover), set(cover) - later_passes)
            for cover in covers
        )
        return min(highest, self._bare(pass_index) + lowest_ink + self.job.printer.max_throw)

    def _bare(self, pass_index: int) -> float:
        return self.heights.ground.top(self.heights.media[pass_index].id).interval().nominal


def planes_over_build_up(
    machine: Machine, active: frozenset[int]
) -> dict[int, tuple[HeadPlane, HeadPlane]]:
    """The lowest and the highest plane that each gap stated over the build-up can have.

    The lowest is set over what must stand when a pass of the same gap comes, and kept; the highest
    is set over all that can stand.
    """
    alike: dict[StatedGap, list[int]] = {}
    for item_index in sorted(active):
        if not machine.is_pass(item_index):
            continue
        mark = machine.may_keep_after(item_index)
        if mark is not None:
            alike.setdefault(mark, []).append(item_index)
    if not alike:
        return {}
    before = Before(machine, active)
    planes: dict[int, tuple[HeadPlane, HeadPlane]] = {}
    for stated, members in alike.items():
        gap, media = stated.gap, stated.media
        lows, highs = [], {}
        for item_index in members:
            side = machine.job.passes[item_index].side
            on_side = machine.heights.layout.passes_on[media, side] & active
            must_stand, can_stand = before.among(item_index, on_side), on_side
            if len(on_side) <= MANY_ON_SIDE:
                can_stand = before.not_after(item_index, on_side)
            lows.append(machine.heights.standing(must_stand).head_plane(item_index, gap))
            highs[item_index] = machine.heights.standing(can_stand).head_plane(item_index, gap)
        # A pass may keep the plane of any other of its gap, so the lowest of all is the low end of
        # each.
        lowest = min(lows, key=lambda plane: plane.height.nominal)
        planes |= {item_index: (lowest, high) for item_index, high in highs.items()}
    return planes


class _Settable:
    """How high a head plane can come to lie: set for any pass, over all that can stand then."""

    def __init__(self, machine: Machine, fixed: float) -> None:
        self.machine, self.fixed = machine, fixed
        heights, printer = machine.heights, machine.job.printer
        # For each side of a sheet: base gap and extra over the bare sheet, and the covers with
        # their ink, the highest first.
        self.sides: list[tuple[float, list[tuple[float, Cover]]]] = []
        for (media, side), passes in heights.layout.passes_on.items():
            extras = set()
            for pass_index in passes:
                gap = machine.job.passes[pass_index].gap
                if gap is None:
                    extras.add(printer.gap.extras()[-1])
                elif gap.above == "build-up":
                    extras.add(gap.stated.nominal)
            if extras:
                top = heights.ground.top(media).interval().nominal
                bare = top + printer.base_gap.nominal + max(extras)
                covers = heights.layout.covers_on(media, side)
                inks = [(_ink_printed(machine, cover, set(cover)), cover) for cover in covers]
                self.sides.append((bare, sorted(inks, reverse=True)))

    def before(self, pass_index: int) -> float:
        """The highest plane in mm that can have been set before a pass or for it."""
        later_passes = {pass_index, *self.machine.followers[pass_index]}
        own_covers = self.machine.heights.layout.covers_of(pass_index)
        highest_own = max(
            _ink_printed(self.machine, cover, set(cover) - later_passes) for cover in own_covers
        )
        highest = self.fixed
        for bare, inks in self.sides:
            # Covers where the pass prints count without what must come later, the others with
            # everything: more than can stand, which only makes the reach wider.
            others = next((ink for ink, cover in inks if pass_index not in cover), 0.0)
            highest = max(highest, bare + max(others, highest_own))
        return highest


def _ink_printed(machine: Machine, cover: Cover, printed: set[int]) -> float:
    return machine.heights.ink(cover, printed).interval().nominal


def fewest_planes(reaches: Iterable[Reach]) -> int:
    """The fewest heights of which each reach holds one: so many any order must set."""
    # By their high ends, each reach that no height serves yet gets one at its high end: the greedy
    # of stabbing intervals, which no smaller number undercuts.
    count, last = 0, float("-inf")
    for low, high in sorted(set(reaches), key=lambda reach: (reach[1], reach[0])):
        if low > last + SLACK_MM:
            count, last = count + 1, high
    return count


def fewest_further(height: float | None, reaches: Iterable[Reach]) -> int:
    """The fewest further planes that serve all reaches where the head already lies at a height;
    None where it is not set yet.
    """
    if height is None:
        return fewest_planes(reaches)
    return fewest_planes(
        reach for reach in reaches if not reach[0] - SLACK_MM <= height <= reach[1] + SLACK_MM
    )


def common_reach(reaches: Iterable[Reach]) -> Reach:
    """What some reaches have in common; the low end above the high one where that is nothing."""
    all_reaches = tuple(reaches)
    return max(low for low, _ in all_reaches), min(high for _, high in all_reaches)


def fewest_by_one(
    fixed: Collection[Reach],
    moved: Collection[tuple[Reach, Reach]],
    height: float | None,
    extras: Reach,
) -> int | None:
    """The fewest heights where one alignment between two extras must serve the moved reaches.

    Each of these comes with how far above the extra it must lie besides. As the extra rises
    nothing changes until an end of one of those meets an end of a reach, or the height that is set:
    there it is tried. None where no extra serves.
    """
    stops = set(chain.from_iterable(fixed))
    sides: set[float] = set()
    for reach, above in moved:
        stops.update(reach)
        sides.update(above)
    if height is not None:
        stops.add(height)
    tried = {stop - side for stop, side in product(stops, sides)}
    counts = []
    for extra in {*extras, *(stop for stop in tried if extras[0] < stop < extras[1])}:
        served = [
            common_reach((reach, (extra + low, extra + high))) for reach, (low, high) in moved
        ]
        if all(low <= high + SLACK_MM for low, high in served):
            counts.append(fewest_further(height, [*fixed, *served]))
    return min(counts, default=None)
