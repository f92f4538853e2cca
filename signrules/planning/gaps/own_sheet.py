"""Over which sheet a plane is set, where that costs nothing.

A pass that leaves its gap open may keep a plane that was set over another sheet. Over its own one
the same nominal plane takes no further setting, and the thickness of the sheet cancels in its
throw: fewer alignments are in doubt, and none is added, since the throws lie within those of the
plane that was kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from signrules.model.passes import SURFACES_BELOW, Gap, HeadSetting
from signrules.model.printer import nearest_extra
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.machine import Machine, clears_head, flies_far_enough
from signrules.physics.planes import HeadPlane
from signrules.physics.standing import Landing, Standing
from signrules.physics.timeline import Timeline

ZERO = Interval.exact(0.0)


def over_own_sheet(
    machine: Machine,
    order: Sequence[int],
    choices: Mapping[int, HeadSetting | None],
    timeline: Timeline,
) -> Mapping[int, HeadSetting | None]:
    """The choices with each plane that is kept from another sheet set over the pass's own one.

    `timeline` is the replay with these choices. A plane that no gap gives over its own sheet, or
    not safely, stays kept.
    """
    # Nothing is kept, or there is no other sheet to keep it from.
    if None not in choices.values() or len(machine.job.media) == 1:
        return choices
    planes = {item_index: printing.plane for item_index, printing in timeline.printings.items()}
    walk = _Walk(machine, planes)
    changed = dict(choices)
    for item_index in order:
        if not machine.is_pass(item_index):
            walk.turn(item_index)
            continue
        is_kept = item_index in choices and choices[item_index] is None
        gap = walk.print_pass(item_index, is_kept)
        if gap is not None:
            changed[item_index] = gap
    return changed


class _Walk:
    """What stands, and over which sheet the plane was set, step by step."""

    def __init__(self, machine: Machine, planes: Mapping[int, HeadPlane]) -> None:
        self.machine, self.printer, self.planes = machine, machine.job.printer, planes
        self.standing: Standing = machine.heights.standing()
        self.turned = set(machine.job.loaded_back_up)
        self.set_over = ""

    def turn(self, item_index: int) -> None:
        """Do what is done between passes."""
        flipped = self.machine.flips(item_index)
        if flipped is not None:
            self.turned ^= {flipped}

    def print_pass(self, pass_index: int, is_kept: bool) -> HeadSetting | None:
        """Print a pass; the gap over its own sheet for the plane that it keeps, if one is safe."""
        own_sheet = self.machine.heights.media[pass_index].id
        gaps: list[Gap] = []
        if is_kept and self.set_over != own_sheet:
            gaps = list(self._level_gaps(pass_index))
        landing = self.standing.landing(pass_index)
        # A gap is set before the pass prints, and must clear what stands once it has.
        planes = [self.standing.head_plane(pass_index, gap) for gap in gaps]
        self.standing.add(pass_index)
        safe = (
            gap
            for gap, plane in zip(gaps, planes, strict=True)
            if self._is_safe(pass_index, landing, plane)
        )
        gap = next(safe, None)
        if gap is not None or not is_kept:
            self.set_over = own_sheet
        return gap

    def _level_gaps(self, pass_index: int) -> Iterator[Gap]:
        """The gaps over the pass's own sheet that give the nominal plane that it has."""
        height = self.planes[pass_index].height.nominal
        for above in SURFACES_BELOW:
            wanted = height - self.standing.head_plane(pass_index, Gap(ZERO, above)).height.nominal
            extra = nearest_extra(self.printer.gap, wanted)
            if abs(extra - wanted) <= GUARD_MM:
                yield Gap(Interval.exact(extra), above)

    def _is_safe(self, pass_index: int, landing: Landing, plane: HeadPlane) -> bool:
        """Whether a plane is safe for a pass that has just been printed."""
        obstacles = self.standing.obstacles(pass_index, self.turned)
        clearance = self.standing.clearance_over(obstacles, plane).low
        throw = self.standing.throw_onto(landing, plane).to_lowest.high
        clears = clears_head(clearance, self.printer.min_clearance)
        return clears and flies_far_enough(throw, self.printer.max_throw)
