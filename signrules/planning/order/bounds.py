"""What is left to do costs at the least: bed loads, gap settings and alignments, each counted by itself.

Gap settings: each pass that is left needs the head plane somewhere within its reach, so the fewest heights that stab
all reaches are set at the least. Alignments: in the same way with the offsets at which an alignment may serve a pass
whatever the order.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from attrs import frozen

from signrules.model.passes import Gap
from signrules.model.quantities import Interval, greatest_of, least_of
from signrules.physics.flatness import thickness_of
from signrules.physics.heights import HeadPlane
from signrules.physics.landing import window
from signrules.physics.machine import Machine
from signrules.planning.bitmasks import as_mask, bits
from signrules.planning.costs import Cost, Costs
from signrules.planning.gaps.keeping import kept_by_one
from signrules.planning.gaps.needs import Needs, Records
from signrules.planning.gaps.places import Mark
from signrules.planning.gaps.reaches import (
    SLACK_MM,
    Reach,
    fewest_planes,
    plane_reaches,
)
from signrules.planning.precedence import Before


@frozen
class Head:
    """The head as it stands: the height of its plane in mm, and what the pass just before stated over the build-up."""

    height: float | None = None
    stated: Mark | None = None


class LeastLeft:
    """The least that the rest of a plan costs, for some items of a machine.

    What is left is told by a bitmask; all other items of it are done.
    """

    def __init__(self, machine: Machine, active: Iterable[int]) -> None:
        self.machine, self.items = machine, tuple(active)
        self.costs = Costs.of(machine.job.printer.minutes)
        taking_part = frozenset(self.items)
        self.reaches = plane_reaches(machine, taking_part)
        self.spans = _serving_spans(machine, self.reaches, taking_part)
        self.passes = as_mask(self.reaches)
        self.kept_by_one = [
            (as_mask(group.members), group.anew) for group in kept_by_one(machine, taking_part)
        ]
        self.by_record = _heights_by_record(machine, self.reaches, taking_part)
        sides = machine.heights.layout.passes_on.items()
        self._on_side = {side: as_mask(passes) for side, passes in sides}
        self._over = cache(self._over_unshared)
        self._loads = cache(lambda left: machine.loads_taken(bits(left)))
        self._settings = cache(self._settings_unshared)
        self._settings_by_record = cache(self._settings_by_record_unshared)
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
        """What a plan costs at the least that has taken `loads` and `settings` so far; `left` is a bitmask.

        `load` is the bed load that is on.
        """
        more, names = self._loads(left)
        loads += more - (load in names)
        passes = left & self.passes
        alignments = self._alignments(passes, needs)
        more_settings = self._settings(passes, head)
        least = self.costs.weight(loads, settings + more_settings, alignments)
        if alignments or not self.by_record:
            return loads, least
        # Either one more alignment is made, or those on record must serve what is left.
        aligned = self.costs.weight(loads, settings + more_settings, 1)
        if aligned <= least:
            return loads, least
        narrow = settings + self._settings_by_record(passes, head)
        return loads, min(aligned, self.costs.weight(loads, narrow, 0))

    def of_everything(self, settings: int = 0) -> Cost:
        """What any safe order of the items costs at the least; `settings` is what it is known to take anyhow."""
        everything = as_mask(self.items)
        loads, least = self.cost(everything, 0, 0, None, Head(), frozenset())
        alignments = self._alignments(self.passes, frozenset())
        return loads, max(least, self.costs.weight(loads, settings, alignments))

    def _settings_unshared(self, left: int, head: Head) -> int:
        return self._fewest_settings(self.reaches, left, head)

    def _settings_by_record_unshared(self, left: int, head: Head) -> int:
        """The same where alignments on record serve all two-way passes."""
        return self._fewest_settings(self.reaches | self.by_record, left, head)

    def _fewest_settings(self, known: dict[int, Reach], left: int, head: Head) -> int:
        reaches = [self._from_now_on(at, known[at], left, head) for at in bits(left)]
        for members, anew in self.kept_by_one:
            if (left & members).bit_count() > 1:
                reaches.append(anew)
        here = head.height
        if here is not None:
            reaches = [one for one in reaches if not one[0] - SLACK_MM <= here <= one[1] + SLACK_MM]
        return fewest_planes(reaches)

    def _from_now_on(self, at: int, reach: Reach, left: int, head: Head) -> Reach:
        """Where a pass that is left lies: a gap over the build-up is set over what stands by now, or kept."""
        mark = self.machine.may_keep_after(at)
        if mark is None:
            return reach
        done = self.passes & ~left & self._on_side[mark[1], self.machine.job.passes[at].side]
        lowest = self._over(at, done)
        if head.height is not None and head.stated == mark:
            lowest = min(lowest, head.height)
        return max(reach[0], lowest), reach[1]

    def _over_unshared(self, at: int, done: int) -> float:
        """The nominal height of a plane that is set over what is done on the side of a pass."""
        gap = self.machine.job.passes[at].gap
        assert gap is not None
        return self.machine.heights.head_plane(at, gap, tuple(bits(done))).height.nominal

    def _alignments_unshared(self, left: int, needs: Needs) -> int:
        spans = {self.spans[at] for at in bits(left) if at in self.spans}
        return fewest_planes([*spans, *((need.low, need.high) for need in needs)])


def _serving_spans(
    machine: Machine, reaches: dict[int, Reach], active: frozenset[int]
) -> dict[int, Reach]:
    """For each two-way pass between which offsets an alignment may serve it in some order.

    Left out are those that an alignment on record may serve.
    """
    tolerance = machine.job.printer.allowed_landing_error
    if tolerance is None:
        return {}
    records = Records.of_job(machine.job)
    spans = _Spans(machine, reaches, active, tolerance)
    found: dict[int, Reach] = {}
    for at in reaches:
        if not records.are_asked_by(machine.job.passes[at]):
            continue
        low, high = spans.of_pass(at)
        if not records.serve_between(low, high):
            found[at] = low, high
    return found


def _heights_by_record(
    machine: Machine, reaches: dict[int, Reach], active: frozenset[int]
) -> dict[int, Reach]:
    """For each two-way pass with an open gap between which heights its plane lies where a record serves it.

    Empty where the landing tolerance is not known, or nothing is on record.
    """
    tolerance = machine.job.printer.allowed_landing_error
    records = Records.of_job(machine.job).offsets
    if tolerance is None or not records:
        return {}
    spans = _Spans(machine, reaches, active, tolerance)
    found: dict[int, Reach] = {}
    for at, (low, high) in reaches.items():
        item = machine.job.passes[at]
        if item.gap is None and item.directions == 2:
            lowest, highest = spans.heights_served(at, records[0], records[-1])
            found[at] = max(low, lowest), min(high, highest)
    return found


class _Spans:
    """Where alignments may serve passes.

    With its nominal value n a throw has its bad ends on both sides of n. So an alignment that
    brings both within tolerance lies no farther from n than one does that serves n alone; and one
    that cannot must lie in the middle between them, which is `_off_middle` from n at the most.
    """

    def __init__(
        self,
        machine: Machine,
        reaches: dict[int, Reach],
        active: frozenset[int],
        tolerance: float,
    ) -> None:
        self.machine, self.heights, self.job = machine, machine.heights, machine.job
        self.reaches, self.active, self.tolerance = reaches, active, tolerance
        self.before = Before(machine, active)
        self.skew = _skew(machine)

    def of_pass(self, at: int) -> Reach:
        """The lowest and the highest offset over a bare sheet at which an alignment may serve a pass."""
        gap = self.job.passes[at].gap
        if gap is None or gap.reference == "build-up":
            return self._of_heights(at, self.reaches[at])
        ends = [
            window(self.job.printer, crisp, self.tolerance)
            for crisp in self._crisp_ends(at, self.heights.stated_planes[at])
        ]
        return min(end.low for end in ends), max(end.high for end in ends)

    def _of_heights(self, at: int, heights: Reach) -> Reach:
        """The same where the plane of a pass lies between two heights."""
        low, high = heights
        least, most = self._crisp_surface(at)
        return self._around(at, low - most)[0], self._around(at, max(low, high) - least)[1]

    def heights_served(self, at: int, first: float, last: float) -> Reach:
        """Between which heights of its plane alignments at two offsets, and those between them, may serve a pass."""
        least, most = self._crisp_surface(at)
        return self._around(at, first)[0] + least, self._around(at, last)[1] + most

    def _around(self, at: int, offset: float) -> Reach:
        """How far a nominal throw and an alignment that serves it may lie apart, seen from either, as offsets."""
        served = window(self.job.printer, Interval.exact(offset), self.tolerance)
        off = self._off_middle(at)
        return min(served.low, offset - off), max(served.high, offset + off)

    def _off_middle(self, at: int) -> float:
        """By how much the middle of a throw may lie beside its nominal value, in mm."""
        return self.skew + self._lift(at) / 2 + SLACK_MM

    def _crisp_surface(self, at: int) -> Reach:
        """The lowest and the highest plane with no throw, less what an alignment is reckoned from, nominally."""
        bed = self.heights.head_plane(at, Gap(Interval.exact(0.0), "bed"), ())
        throws = [crisp.nominal for crisp in self._crisp_ends(at, bed)]
        return -max(throws), -min(throws)

    def _under(self, at: int) -> tuple[frozenset[int], frozenset[int]]:
        """What stands within the areas of a pass at the least, and at the most, when it comes."""
        covers = self.heights.layout.covers_of(at)
        beneath = {other for cover in covers for other in cover if other != at} & self.active
        return self.before.among(at, beneath), self.before.not_after(at, beneath)

    def _crisp_ends(self, at: int, plane: HeadPlane) -> list[Interval]:
        """The throws of a pass less the base gap, with the least and the most beneath it and under its sheet."""
        return [
            self._crisp(at, plane, printed, lift)
            for printed in self._under(at)
            for lift in {0.0, self._lift(at)}
        ]

    def _crisp(self, at: int, plane: HeadPlane, printed: frozenset[int], lift: float) -> Interval:
        """One such throw, from the stacks within the areas of a pass alone."""
        heights, lowest = self.heights, self.job.passes[at].crisp_on == "lowest"
        media = heights.media[at].id
        covers = heights.layout.covers_of(at)
        lower = plane.less(heights.ground.base_gap)
        some = {heights.full(cover) for cover in covers} if lowest else covers
        throws = [heights.above_ink(lower, media, lift, cover, printed) for cover in some]
        return greatest_of(throws) if lowest else least_of(throws)

    def _lift(self, at: int) -> float:
        """By how much a sheet on its back may be lifted in mm at the most: by all that is printed on its front."""
        if self.job.passes[at].side == "front":
            return 0.0
        media = self.heights.media[at].id
        front = self.heights.layout.passes_on[media, "front"] & self.active
        return self.heights.build_up(media, "front", front).high


def _skew(machine: Machine) -> float:
    """By how much in mm the middle of a throw lies beside its nominal value at the most, but for lifts.

    A lopsided tolerance shifts it by half of what one side is larger; both sheets may differ that
    count, and all ink that may stand.
    """
    heights, job = machine.heights, machine.job
    thickness = 2 * max(_lopsided(thickness_of(sheet)) for sheet in job.media)
    inks = (heights.ink(cover, cover).interval() for cover in heights.layout.all_covers())
    ink = max(map(_deviation, inks))
    gaps = (item.gap for item in job.passes)
    offset = max((_lopsided(gap.offset) for gap in gaps if gap is not None), default=0.0)
    return (thickness + _lopsided(job.printer.base_gap) + offset) / 2 + ink


def _lopsided(length: Interval) -> float:
    """By how much one side of a tolerance is larger than the other."""
    return abs(length.high + length.low - 2 * length.nominal)


def _deviation(length: Interval) -> float:
    return max(length.nominal - length.low, length.high - length.nominal)
