"""What each pass of a given order meets, whatever gaps are chosen: one walk through the order."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence

from attrs import field, frozen

from signrules.model.passes import HeadAboveBed, HeadSetting
from signrules.model.quantities import Interval
from signrules.physics.heights import HeadPlane
from signrules.physics.landing import Window, alignment_window
from signrules.physics.machine import Machine, clears_head, flies_far_enough, may_be_kept
from signrules.physics.planes import StatedGap
from signrules.physics.standing import Landing, Obstacles, Standing
from signrules.planning.gaps.alignment_records import Records
from signrules.planning.gaps.gap_candidates import Fresh, OpenGaps
from signrules.planning.gaps.plane_reaches import ANYWHERE, SLACK_MM, Reach


@frozen(eq=False)
class Option:
    """A head plane for a pass, the gap that is set for it (None keeps it), and whether it is safe.

    `window` holds the alignments that serve the pass then; None where it needs none.
    """

    plane: HeadPlane
    gap: HeadSetting | None
    is_safe: bool
    window: Window | None


@frozen(eq=False)
class Place:
    """A pass at its place in an order.

    `anew` are the planes that may be set for it: of a stated gap the one plane, of an open one
    those worth trying that are safe, or the least bad one. `heights` holds the nominal height of
    every safe plane; `serves` every extra at which an alignment may serve the pass, None where it
    needs none.
    """

    pass_index: int
    mark: StatedGap | None
    landing: Landing
    obstacles: Obstacles
    anew: tuple[Option, ...]
    heights: Reach
    serves: Reach | None
    kept: dict[Hashable, Option] = field(factory=dict, repr=False)
    """What it is to keep a plane, by the key of the plane."""


class Places:
    """The passes of one order, at their places."""

    def __init__(self, machine: Machine, order: Sequence[int], open_gaps: OpenGaps) -> None:
        self.machine, self.job, self.open_gaps = machine, machine.job, open_gaps
        self.tolerance = machine.job.printer.allowed_landing_error
        self.records = Records.of_job(machine.job)
        self.standing: Standing = machine.heights.standing()
        self.turned = set(machine.job.loaded_back_up)
        self._lowest_kept: tuple[StatedGap | None, float] = (None, 0.0)
        self.places = tuple(self._walk(order))

    def option(self, place: Place, plane: HeadPlane) -> Option:
        """What it is to keep a head plane for a pass."""
        option = place.kept.get(plane.key)
        if option is None:
            option = self._option(place.pass_index, place.landing, place.obstacles, plane, None)
            place.kept[plane.key] = option
        return option

    def _option(
        self,
        pass_index: int,
        landing: Landing,
        obstacles: Obstacles,
        plane: HeadPlane,
        gap: HeadSetting | None,
    ) -> Option:
        is_safe = self._is_safe(pass_index, obstacles, landing, plane)
        return Option(plane, gap, is_safe, self._window(pass_index, landing, plane))

    def _window(self, pass_index: int, landing: Landing, plane: HeadPlane) -> Window | None:
        if not self.records.are_asked_by(self.job.passes[pass_index]):
            return None
        return self._missing(pass_index, self._crisp(pass_index, landing, plane))

    def _missing(self, pass_index: int, crisp: Interval) -> Window | None:
        """The alignments that serve a pass over a throw; None where it needs no further one."""
        if not self.records.are_asked_by(self.job.passes[pass_index]):
            return None
        return self.records.missing(crisp)

    def _walk(self, order: Sequence[int]) -> Iterator[Place]:
        for item_index in order:
            if self.machine.is_pass(item_index):
                yield self._place(item_index)
                continue
            flipped = self.machine.flips(item_index)
            if flipped is not None:
                self.turned ^= {flipped}

    def _place(self, pass_index: int) -> Place:
        stated = self.job.passes[pass_index].gap
        landing = self.standing.landing(pass_index)
        if stated is None:
            fresh = self.open_gaps.fresh(pass_index, self.standing)
            self.standing.add(pass_index)
            obstacles = self.standing.obstacles(pass_index, self.turned)
            anew_options = tuple(self._set_anew(pass_index, fresh, landing, obstacles))
            self._lowest_kept = (None, 0.0)
            heights = self._heights(pass_index, landing, obstacles)
            return Place(
                pass_index,
                None,
                landing,
                obstacles,
                anew_options,
                heights,
                self._serves(pass_index, landing, heights),
            )
        # The plane is that of before the pass, the obstacles are those of after it: see
        # `print_stated`.
        plane = self.standing.head_plane(pass_index, stated)
        self.standing.add(pass_index)
        obstacles = self.standing.obstacles(pass_index, self.turned)
        option = self._option(pass_index, landing, obstacles, plane, stated)
        mark = StatedGap(stated, self.machine.heights.media[pass_index].id)
        heights = self._stated_heights(mark, plane)
        serves = self._serves(pass_index, landing, heights)
        return Place(pass_index, mark, landing, obstacles, (option,), heights, serves)

    def _set_anew(
        self, pass_index: int, fresh: Sequence[Fresh], landing: Landing, obstacles: Obstacles
    ) -> Iterator[Option]:
        """The planes worth setting anew that are safe; without any, the one with the most room."""
        # A way through the order goes on even where nothing is safe: it tells where it fails.
        has_safe = False
        for fresh_gap in fresh:
            clearance = self.standing.clearance_over(obstacles, fresh_gap.plane).low
            for gap in self.open_gaps.settable(fresh_gap, clearance):
                has_safe = True
                plane = self.open_gaps.plane_of(fresh_gap, gap)
                yield Option(
                    plane, gap, True, self._missing(pass_index, fresh_gap.crisp + gap.stated)
                )
        if not has_safe:
            fresh_gap, gap = self.open_gaps.most_room(fresh)
            plane = self.open_gaps.plane_of(fresh_gap, gap)
            yield Option(plane, gap, False, self._window(pass_index, landing, plane))

    def _is_safe(
        self, pass_index: int, obstacles: Obstacles, landing: Landing, plane: HeadPlane
    ) -> bool:
        clearance = self.standing.clearance_over(obstacles, plane).low
        if not clears_head(clearance, self.job.printer.min_clearance):
            return False
        # How far drops fly over a stated gap is for `throw.reach` to ask.
        if self.job.passes[pass_index].gap is not None:
            return True
        throw = self.standing.throw_onto(landing, plane).to_lowest.high
        return flies_far_enough(throw, self.job.printer.max_throw)

    def _crisp(self, pass_index: int, landing: Landing, plane: HeadPlane) -> Interval:
        return self.standing.crisp_extras(landing, plane).onto(self.job.passes[pass_index].crisp_on)

    # --- what holds of any plane ---------------------------------------------------------------

    def _heights(self, pass_index: int, landing: Landing, obstacles: Obstacles) -> Reach:
        """Between which nominal heights every safe plane lies.

        What is safe at the bad ends clears and reaches at nominal values too.
        """
        # A plane that is raised by so much clears by so much more: one look at the height of the
        # bed tells all of them.
        bed = self._at_height(pass_index, 0.0)
        least_clearance = self.job.printer.min_clearance
        low = least_clearance - self.standing.clearance_over(obstacles, bed).nominal - SLACK_MM
        if self.job.printer.max_throw is None:
            return low, ANYWHERE
        throw = self.standing.throw_onto(landing, bed).to_lowest.nominal
        return low, self.job.printer.max_throw - throw + SLACK_MM

    def _stated_heights(self, mark: StatedGap, plane: HeadPlane) -> Reach:
        """A stated gap gives one plane, or keeps one that the same gap gave just before."""
        height = plane.height.nominal
        # While passes state one gap one after the other, each may keep the plane of any before it.
        kept_mark, lowest = self._lowest_kept
        if kept_mark != mark:
            lowest = height
        lowest = min(lowest, height)
        self._lowest_kept = (mark, lowest)
        if not may_be_kept(mark.gap):
            return height, height
        return lowest, height

    def _serves(self, pass_index: int, landing: Landing, heights: Reach) -> Reach | None:
        if self.tolerance is None or not self.records.are_asked_by(self.job.passes[pass_index]):
            return None
        low = self._crisp(pass_index, landing, self._at_height(pass_index, heights[0])).low
        first = alignment_window(self.job.printer, Interval.exact(low), self.tolerance).low
        # Without a longest throw no plane is too high, so no extra is either.
        last = ANYWHERE
        if heights[1] < ANYWHERE:
            high = self._crisp(pass_index, landing, self._at_height(pass_index, max(heights))).high
            last = alignment_window(self.job.printer, Interval.exact(high), self.tolerance).high
        if self.records.serve_between(first, last):
            return None
        return first, last

    def _at_height(self, pass_index: int, height: float) -> HeadPlane:
        return self.standing.head_plane(pass_index, HeadAboveBed(Interval.exact(height)))
