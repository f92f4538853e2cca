"""Which alignments may serve a pass in some order, and how high its plane lies where they do.

With its nominal value n a throw has its bad ends on both sides of n. So an alignment that brings
both within tolerance also serves n alone; and one that cannot must lie in the middle between them.
The middle is n less half of what ink beneath may lift the sheet, and beside that by no more than
lopsided tolerances shift it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from signrules.model.passes import OTHER_SIDE, HeadAboveBed
from signrules.model.quantities import GUARD_MM, Interval, greatest_of, least_of
from signrules.physics.flatness import thickness_of
from signrules.physics.heights import HeadPlane
from signrules.physics.landing import Window, alignment_window, drop_of
from signrules.physics.machine import Machine
from signrules.physics.zones import Cover
from signrules.planning.gaps.alignment_records import Records
from signrules.planning.gaps.may_stand import MayStand
from signrules.planning.gaps.plane_reaches import SLACK_MM, Reach
from signrules.planning.predecessors import Before


class Serving:
    """What alignments may do for the two-way passes of a machine; `reaches` says where planes lie.

    `spans` has, for each pass that no alignment on record may serve, between which extras over a
    bare sheet another one may. `by_record` has, for each pass with an open gap, between which
    heights its plane lies where one on record serves it. `above` has, for the open ones of the
    first, how far above an alignment's extra the plane lies that it serves; nothing where drops
    are slowed by the air, since that differs from extra to extra then.
    """

    def __init__(
        self, machine: Machine, reaches: Mapping[int, Reach], active: frozenset[int]
    ) -> None:
        self.machine, self.heights, self.job = machine, machine.heights, machine.job
        self.reaches, self.active = reaches, active
        self.records = Records.of_job(machine.job)
        self.before = Before(machine, active)
        self.spans: dict[int, Reach] = {}
        self.by_record: dict[int, Reach] = {}
        self.above: dict[int, Reach] = {}
        if self.records.tolerance is not None:
            self.lopsided = _lopsided_together(machine) + SLACK_MM
            self._look_at_all()

    def _look_at_all(self) -> None:
        is_steady = drop_of(self.job.printer) is None
        for pass_index, (low, high) in self.reaches.items():
            item, known = self.job.passes[pass_index], self.records.extras
            if not self.records.are_asked_by(item):
                continue
            span = self._span(pass_index)
            if not self.records.serve_between(*span):
                self.spans[pass_index] = span
                # With drag the window widens along the extras, so no fixed distance from an
                # alignment holds.
                if item.gap is None and is_steady:
                    self.above[pass_index] = self._heights_served(pass_index, 0.0, 0.0)
            if item.gap is None and known:
                served = self._heights_served(pass_index, known[0], known[-1])
                self.by_record[pass_index] = max(low, served[0]), min(high, served[1])

    def _span(self, pass_index: int) -> Reach:
        """Between which extras over a bare sheet an alignment may serve a pass, in mm."""
        gap = self.job.passes[pass_index].gap
        if gap is not None and gap.above != "build-up":
            throws = self._crisp_ends(pass_index, self.heights.stated_planes[pass_index])
            ends = [self._window(throw) for throw in throws]
            return min(end.low for end in ends), max(end.high for end in ends)
        low, high = self.reaches[pass_index]
        least, most = self._crisp_surface(pass_index)
        return self._extras_for(pass_index, low - most)[0], self._extras_for(
            pass_index, max(low, high) - least
        )[1]

    def _extras_for(self, pass_index: int, throw: float) -> Reach:
        """Between which extras alignments may serve a pass with a nominal throw, both in mm."""
        least, most = self._lifts(pass_index)
        low, high = (
            throw - most / 2 - self._skew(pass_index),
            throw - least / 2 + self._skew(pass_index),
        )
        # With the least lift the bad ends lie closest: where no alignment serves these, none does.
        wanted = self._window(Interval(throw - least, throw, throw))
        if not wanted.certain:
            return low, high
        return min(low, wanted.low), max(high, wanted.high)

    def _heights_served(self, pass_index: int, first: float, last: float) -> Reach:
        """Between which heights a plane lies that alignments from one extra to another serve."""
        least, most = self._crisp_surface(pass_index)
        return self._throws_for(pass_index, first)[0] + least, self._throws_for(pass_index, last)[
            1
        ] + most

    def _throws_for(self, pass_index: int, extra: float) -> Reach:
        """Between which nominal throws an alignment at an extra may serve a pass."""
        least, most = self._lifts(pass_index)
        low, high = (
            extra + least / 2 - self._skew(pass_index),
            extra + most / 2 + self._skew(pass_index),
        )
        served = self._window(Interval.exact(extra))
        if served.low + least > served.high + GUARD_MM:
            return low, high
        return min(low, served.low + least), max(high, served.high)

    def _window(self, throw: Interval) -> Window:
        assert self.records.tolerance is not None
        return alignment_window(self.job.printer, throw, self.records.tolerance)

    # --- the middle of a throw -----------------------------------------------------------------

    def _skew(self, pass_index: int) -> float:
        """By how many mm the middle of a throw may differ from its nominal value, without lifts."""
        least, most = self._under(pass_index)
        items = (self.job.passes[other] for other in least | most)
        if all(_deviation_of(self.job.ink_of(item).layer) == 0 for item in items):
            return self.lopsided + self._plane_skew
        return self.lopsided + self._ink_deviation

    @cached_property
    def _ink_deviation(self) -> float:
        """By how many mm the ink of a cover may be other than meant; that bounds the shift."""
        inks = (self.heights.ink(cover, cover) for cover in self.heights.layout.all_covers())
        return max(_deviation_of(ink.interval()) for ink in inks)

    @cached_property
    def _plane_skew(self) -> float:
        """By how many mm the middle of a throw may shift over exact surfaces.

        There only the head plane holds other ink. The highest stack limits both ends of it, unless
        another one comes near and is less certain. Looked at closely where sheets are turned over:
        there a middle decides most.
        """
        known = None
        if self.machine.turning and len(self.active) == len(self.machine.items):
            known = MayStand(self.machine).stacks
        if known is None:
            return self._ink_deviation
        heights = self.heights.stacks.heights
        sides = ([heights[stack] for stack in stacks] for stacks in known.values())
        return max(_beside_the_highest(side) for side in sides)

    # --- surfaces ------------------------------------------------------------------------------

    def _crisp_surface(self, pass_index: int) -> Reach:
        """How high a plane of no throw lies over where a pass is crisp: at the least, at the most.

        With the base gap, without which extras of alignments are stated.
        """
        bed = self.heights.head_plane(pass_index, HeadAboveBed(Interval.exact(0.0)), ())
        throws = [crisp.nominal for crisp in self._crisp_ends(pass_index, bed)]
        # Throws from the bed are negative: the head would have to lie so far above it.
        return -max(throws), -min(throws)

    def _under(self, pass_index: int) -> tuple[frozenset[int], frozenset[int]]:
        """What stands within the areas of a pass at the least, and at the most, when it comes."""
        covers = self.heights.layout.covers_of(pass_index)
        beneath = (set().union(*covers) & self.active) - {pass_index}
        return self.before.among(pass_index, beneath), self.before.not_after(pass_index, beneath)

    def _crisp_ends(self, pass_index: int, plane: HeadPlane) -> list[Interval]:
        """The throws of a pass less the base gap, with the least and the most beneath it."""
        lifts = {*self._lifts(pass_index)}
        throws = []
        for printed in self._under(pass_index):
            throws += [self._crisp(pass_index, plane, printed, lift) for lift in lifts]
        return throws

    def _crisp(
        self, pass_index: int, plane: HeadPlane, printed: frozenset[int], lift: float
    ) -> Interval:
        """One such throw, from the covers within the areas of a pass alone."""
        heights, media = self.heights, self.heights.media[pass_index].id
        covers = heights.layout.covers_of(pass_index)
        lower = plane.less(heights.ground.base_gap)

        def throws_onto(surfaces: Iterable[Cover]) -> list[Interval]:
            return [heights.above_ink(lower, media, lift, cover, printed) for cover in surfaces]

        if self.job.passes[pass_index].crisp_on == "highest":
            return least_of(throws_onto(covers))
        # Ink that covers in part leaves the lowest surface bare of it.
        return greatest_of(throws_onto({heights.full(cover) for cover in covers}))

    def _lifts(self, pass_index: int) -> Reach:
        """By how many mm ink on the other side may lift a sheet: the least of it, and the most."""
        media = self.heights.media[pass_index].id
        under = OTHER_SIDE[self.job.passes[pass_index].side]
        passes = self.heights.layout.passes_on[media, under] & self.active
        if not passes:
            return 0.0, 0.0
        ends = (self.before.among(pass_index, passes), self.before.not_after(pass_index, passes))
        least, most = (self.heights.build_up(media, under, printed).high for printed in ends)
        return least, most


def _lopsided_together(machine: Machine) -> float:
    """By how much in mm lopsided tolerances of sheets and gaps shift the middle of a throw."""
    job = machine.job
    # Twice: once in the sheet that the plane was set over, once in the one printed on.
    thickness = 2 * max(_lopsided_by(thickness_of(sheet)) for sheet in job.media)
    gaps = (item.gap for item in job.passes)
    extra = max((_lopsided_by(gap.stated) for gap in gaps if gap is not None), default=0.0)
    return (thickness + _lopsided_by(job.printer.base_gap) + extra) / 2


def _beside_the_highest(stacks: Sequence[Interval]) -> float:
    """By how much the middle of the highest of some of these may lie beside its nominal height."""
    farthest = 0.0
    for highest in stacks:
        others = [other for other in stacks if other.nominal <= highest.nominal]
        low = max(other.low for other in others)
        high = max(other.high for other in others)
        raised = low - highest.low + high - highest.high
        farthest = max(farthest, (raised + _lopsided_by(highest)) / 2)
    return farthest


def _deviation_of(length: Interval) -> float:
    return max(length.nominal - length.low, length.high - length.nominal)


def _lopsided_by(length: Interval) -> float:
    """By how much one side of a tolerance is larger than the other."""
    return abs(length.high + length.low - 2 * length.nominal)
