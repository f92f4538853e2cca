"""Between which heights the head plane of each pass lies in any safe order, and how many settings that takes."""

from __future__ import annotations

from collections.abc import Iterable

from signrules.graph import before_within
from signrules.model.passes import Gap
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval, greatest_of
from signrules.physics.machine import Machine
from signrules.physics.zones import Cover, snapper
from signrules.planning.costs import Costs

Reach = tuple[float, float]
"""The lowest and the highest nominal height of a head plane above the bed, in mm."""

SLACK_MM = 2 * GUARD_MM
"""Planes that lie no farther apart than the guard count as one."""


def open_gaps(printer: Printer) -> tuple[Gap, ...]:
    """Every gap that a pass which leaves it open may be given: each offset over the media, then over the build-up."""
    offsets = [Interval.exact(offset) for offset in printer.gap.offsets()]
    return tuple(Gap(offset, reference) for reference in ("media", "build-up") for offset in offsets)


def plane_reaches(machine: Machine, active: frozenset[int] | None = None) -> dict[int, Reach]:
    """For each pass (of the `active` items) where its head plane lies in any safe order.

    A gap stated over the media or the bed has one plane. Any other plane must clear what stands on the sheet at that
    time in any order. That of an open gap is one that was set for some pass before, and must not lie farther than the
    drops reach above what can stand there at the most. All at nominal values: the bad ends only ask for more.
    """
    heights, job = machine.heights, machine.job
    passes = [at for at in range(machine.pass_count) if active is None or at in active]
    fixed: dict[int, float] = {}
    for at in passes:
        gap = job.passes[at].gap
        if gap is not None and gap.reference != "build-up":
            fixed[at] = heights.stated_planes[at].height.nominal
    same = snapper(fixed.values(), GUARD_MM)
    settable = _Settable(machine, max(fixed.values(), default=0.0))
    found: dict[int, Reach] = {}
    for at in passes:
        if at in fixed:
            found[at] = same[fixed[at]], same[fixed[at]]
            continue
        covers = heights.layout.covers_of(at)
        bare = heights.ground.top(heights.media[at].id).interval().nominal
        least = max(_ink(machine, cover, {at, *before_within(machine, at, _among(cover, active))}) for cover in covers)
        highest = float("inf")
        if job.passes[at].gap is None:
            highest = settable.before(at)
            if job.printer.max_throw is not None:
                late = {at, *machine.followers[at]}
                most = min(_ink(machine, heights.full(cover), set(cover) - late) for cover in covers)
                highest = min(highest, bare + most + job.printer.max_throw)
        found[at] = bare + least + job.printer.min_clearance, highest
    return found


class _Settable:
    """How high a head plane can come to lie at all: set for any pass, over the highest that can stand then."""

    def __init__(self, machine: Machine, fixed: float) -> None:
        self.machine, self.fixed = machine, fixed
        heights, printer = machine.heights, machine.job.printer
        # For each side of a sheet: base gap and offset over the bare sheet, and the stacks, the highest first.
        self.sides: list[tuple[float, list[tuple[float, Cover]]]] = []
        for (media, side), passes in heights.layout.passes_on.items():
            offsets = [
                printer.gap.offsets()[-1] if gap is None else gap.offset.nominal
                for gap in (machine.job.passes[at].gap for at in passes)
                if gap is None or gap.reference == "build-up"
            ]
            if offsets:
                bare = heights.ground.top(media).interval().nominal + printer.base_gap.nominal + max(offsets)
                covers = heights.layout.covers_on(media, side)
                stacks = sorted(((_ink(machine, cover, set(cover)), cover) for cover in covers), reverse=True)
                self.sides.append((bare, stacks))

    def before(self, at: int) -> float:
        """The highest plane in mm that can have been set before a pass or for it."""
        late = {at, *self.machine.followers[at]}
        mine = self.machine.heights.layout.covers_of(at)
        own = max(_ink(self.machine, cover, set(cover) - late) for cover in mine)
        highest = self.fixed
        for bare, stacks in self.sides:
            others = next((ink for ink, cover in stacks if at not in cover), 0.0)
            highest = max(highest, bare + max(others, own))
        return highest


def _among(cover: Cover, active: frozenset[int] | None) -> Cover:
    return cover if active is None else tuple(at for at in cover if at in active)


def _ink(machine: Machine, cover: Cover, printed: set[int]) -> float:
    return machine.heights.ink(cover, printed).interval().nominal


def fewest_planes(reaches: Iterable[Reach]) -> int:
    """The fewest heights so that each reach holds one of them: what any order must set at the least."""
    count, last = 0, float("-inf")
    for low, high in sorted(set(reaches), key=lambda reach: (reach[1], reach[0])):
        if low > last + SLACK_MM:
            count, last = count + 1, high
    return count


def least_cost(machine: Machine) -> tuple[int, float]:
    """Bed loads and weight that any safe order of a machine takes at the least."""
    loads, _ = machine.loads_taken(range(len(machine.items)))
    settings = fewest_planes(plane_reaches(machine).values())
    return loads, Costs.of(machine.job.printer.minutes).weight(loads, settings, 0)


def sure_offsets(machine: Machine, at: int) -> list[float]:
    """The offsets over the media, in mm, at which the drops of a pass reach its lowest surface in any order."""
    heights, printer = machine.heights, machine.job.printer
    if printer.max_throw is None:
        return list(printer.gap.offsets())
    ground = heights.ground.top(heights.media[at].id)
    covers = heights.layout.covers_of(at)
    surfaces = [ground + heights.ink(heights.full(cover), before_within(machine, at, cover)) for cover in covers]

    def throw(offset: float) -> float:
        plane = heights.head_plane(at, Gap(Interval.exact(offset)), ())
        return greatest_of(plane.above(surface) for surface in surfaces).high

    return [offset for offset in printer.gap.offsets() if throw(offset) <= printer.max_throw + GUARD_MM]
