"""Which gaps are worth trying for a pass that leaves its gap open.

Set anew, a gap clears from some extra on and reaches up to some other one, since clearance and
throw grow with the extra alone. Of what lies between only a few extras can matter, and each of them
is the least one

- that clears what stands under the head now, or a stack that may stand under it while the plane is
  kept,
- at which an alignment on record, or one that is made for another pass, begins to serve this pass
  or any other one
  for which the plane is kept,
- that brings the plane to a height that another gap has, so that changing between the two costs
  nothing.

Between two of these nothing changes but the length of the throw. Where a printer has few extras all
of them are tried. Extras that serve an alignment made for another pass are by far the most frequent
and seldom needed, so a search does without at first: they are left out unless it is `thorough`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from functools import cached_property

from attrs import frozen

from signrules.model.passes import Gap, HeadSetting
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.forms import Form, Unknown
from signrules.physics.landing import Window, alignment_window, drop_of
from signrules.physics.machine import Machine, clears_head
from signrules.physics.planes import HeadPlane
from signrules.physics.standing import Standing
from signrules.planning.gaps.alignment_records import Records
from signrules.planning.gaps.may_stand import MayStand, PlaneName

FEW_EXTRAS = 8
"""With so many extras or fewer, all are tried: choosing among them would take longer."""

ZERO = Interval.exact(0.0)


@frozen(eq=False)
class Fresh:
    """A gap set again for a pass at extra 0 over one reference.

    It has the plane, its longest throw in mm, and the extra with the throw to where it is crisp.
    """

    plane: HeadPlane
    throw: float
    crisp: Interval


class OpenGaps:
    """The gaps worth trying on one machine; `thorough` as above.

    That they suffice is tested and, where alignments matter, not proven: an alignment that is made
    for one pass may move what another one wants. So only where `are_all` is true, a search over
    them proves what a plan costs at least.
    """

    def __init__(self, machine: Machine, *, thorough: bool) -> None:
        self.machine, self.job, self.heights = machine, machine.job, machine.heights
        self.thorough = thorough
        self.extras = self.job.printer.gap.extras()
        self._exact = [Interval.exact(extra) for extra in self.extras]
        self.may_stand = MayStand(machine)
        self._clear: dict[PlaneName, frozenset[int]] = {}
        self._aligned: dict[PlaneName, frozenset[int]] = {}
        self._worth: dict[PlaneName, tuple[int, ...]] = {}
        self._served: dict[tuple[float, float], set[int]] = {}
        self._planes: dict[object, HeadPlane] = {}

    @property
    def are_all(self) -> bool:
        """Whether nothing that is left out can matter.

        So it is where all extras are tried, or no pass needs an alignment.
        """
        if len(self.extras) <= FEW_EXTRAS or not self.may_stand.is_known:
            return True
        return self.job.printer.allowed_landing_error is None

    def fresh(self, pass_index: int, standing: Standing) -> tuple[Fresh, ...]:
        """What setting the gap anew for a pass that comes next gives at extra 0, over each
        reference.
        """
        landing = standing.landing(pass_index)
        fresh_gaps: list[Fresh] = []
        for reference in ("media", "build-up"):
            plane = standing.head_plane(pass_index, Gap(ZERO, reference))
            # On a bare sheet both references are one surface.
            if fresh_gaps and plane.key == fresh_gaps[0].plane.key:
                continue
            throw = standing.throw_onto(landing, plane).to_lowest.high
            extras = standing.crisp_extras(landing, plane)
            fresh_gaps.append(
                Fresh(plane, throw, extras.onto(self.job.passes[pass_index].crisp_on))
            )
        return tuple(fresh_gaps)

    def settable(self, fresh: Fresh, clearance: float) -> Iterator[HeadSetting]:
        """The gaps worth trying over one reference, the lowest first.

        `clearance` in mm is that at extra 0.
        """
        first = self._first_clear(clearance)
        last = self._last_reaching(fresh.throw)
        if first > last:
            return
        # The least that clears is always worth a try: it has the shortest throw of all safe gaps.
        yield self._gap(first, fresh)
        for number in self._worth_trying(fresh.plane):
            if first < number <= last:
                yield self._gap(number, fresh)

    def plane_of(self, fresh: Fresh, gap: HeadSetting) -> HeadPlane:
        """The plane of a gap, from that at extra 0 over the same reference; always one object."""
        key = (fresh.plane.key, gap.stated.nominal)
        if key not in self._planes:
            raised = Form.of(Unknown("extra", gap.stated))
            without = Form.of(Unknown("extra", ZERO))
            # Raised from the plane at hand, which is cheaper than setting it from what stands.
            forms = tuple(form - without + raised for form in fresh.plane.forms)
            self._planes[key] = HeadPlane(forms, gap, fresh.plane.media)
        return self._planes[key]

    def most_room(self, fresh: Iterable[Fresh]) -> tuple[Fresh, HeadSetting]:
        """The gap that leaves most room of those that do not clear, if drops reach over it."""
        best: tuple[bool, float, Fresh, HeadSetting] | None = None
        for fresh_gap in fresh:
            last = self._last_reaching(fresh_gap.throw)
            # Where drops reach over none of the gaps, the highest leaves the most room.
            number = last if last >= 0 else len(self.extras) - 1
            gap = self._gap(number, fresh_gap)
            height = fresh_gap.plane.height.nominal + gap.stated.nominal
            if best is None or (last >= 0, height) > best[:2]:
                best = (last >= 0, height, fresh_gap, gap)
        assert best is not None
        return best[2], best[3]

    def _gap(self, number: int, fresh: Fresh) -> HeadSetting:
        return Gap(self._exact[number], fresh.plane.gap.above)

    def _first_clear(self, clearance: float) -> int:
        least_clearance = self.job.printer.min_clearance
        first = bisect_left(self.extras, max(least_clearance - GUARD_MM, GUARD_MM) - clearance)
        # The sum is rounded another way than the difference: the one that is judged decides.
        while first < len(self.extras) and not clears_head(
            clearance + self.extras[first], least_clearance
        ):
            first += 1
        return first

    def _last_reaching(self, throw: float) -> int:
        longest_throw = self.job.printer.max_throw
        if longest_throw is None:
            return len(self.extras) - 1
        return bisect_right(self.extras, longest_throw + GUARD_MM - throw) - 1

    # --- what is worth trying ----------------------------------------------------------------

    def _worth_trying(self, plane: HeadPlane) -> tuple[int, ...]:
        """The extras over a plane at extra 0, as numbers, ascending."""
        if len(self.extras) <= FEW_EXTRAS or not self.may_stand.is_known:
            return tuple(range(len(self.extras)))
        name = self.may_stand.name_of(plane)
        if name not in self._worth:
            numbers = self._that_clear(plane) | self._that_are_served(plane)
            level = self._at_heights(plane, self._shared_heights)
            self._worth[name] = tuple(sorted({*numbers, *level}))
        return self._worth[name]

    def _that_clear(self, plane: HeadPlane) -> frozenset[int]:
        """The least extra that clears each stack that may stand in the way."""
        name = self.may_stand.name_of(plane)
        if name not in self._clear:
            least_clearance = self.job.printer.min_clearance
            heights = self.may_stand.above_obstacles(plane)
            numbers = {
                bisect_left(self.extras, least_clearance - height - GUARD_MM) for height in heights
            }
            self._clear[name] = frozenset(numbers - {len(self.extras)})
        return self._clear[name]

    def _that_are_served(self, plane: HeadPlane) -> frozenset[int]:
        """The least extra at which each alignment, on record or made, serves on each surface."""
        name = self.may_stand.name_of(plane)
        if name not in self._aligned:
            numbers: set[int] = set()
            if self._begins:
                for crisp in self.may_stand.crisp_extras(plane):
                    numbers |= self._first_served(crisp)
            self._aligned[name] = frozenset(numbers - {len(self.extras)})
        return self._aligned[name]

    def _first_served(self, crisp: Interval) -> set[int]:
        """The least extra at which each alignment begins to serve on a surface.

        Planes over stacks above surfaces on stacks are many pairs, and few of their throws differ.
        """
        name = (round(crisp.low, 9), round(crisp.high, 9))
        if name not in self._served:
            self._served[name] = self._first_served_anew(crisp)
        return self._served[name]

    def _first_served_anew(self, crisp: Interval) -> set[int]:
        if drop_of(self.job.printer) is None:
            # At constant speed the window moves with the extra.
            high = self._window(crisp, 0).high - self.extras[0]
            return {bisect_left(self.extras, begin - high - GUARD_MM) for begin in self._begins}
        # Slowed by air it does not, and is asked for at each extra.
        ends = [self._window(crisp, number).high for number in range(len(self.extras))]
        return {bisect_left(ends, begin - GUARD_MM) for begin in self._begins}

    def _at_heights(self, plane: HeadPlane, heights: Iterable[float]) -> Iterator[int]:
        """The extras that bring a plane to some of these heights."""
        bare = plane.height.nominal
        for height in heights:
            number = bisect_left(self.extras, height - bare - GUARD_MM)
            if number < len(self.extras) and self.extras[number] <= height - bare + GUARD_MM:
                yield number

    def _window(self, crisp: Interval, number: int) -> Window:
        tolerance = self.job.printer.allowed_landing_error
        assert tolerance is not None
        return alignment_window(self.job.printer, crisp + self._exact[number], tolerance)

    @cached_property
    def _begins(self) -> tuple[float, ...]:
        """From which extra over a bare sheet on alignments serve: those on record, those needed."""
        if self.job.printer.allowed_landing_error is None:
            return ()
        begins = set(Records.of_job(self.job).extras)
        if self.thorough:
            for plane in self.may_stand.planes:
                level = self._at_heights(plane, self._fixed_heights)
                extras = {self._exact[number] for number in {*self._that_clear(plane), *level}}
                begins |= self._window_lows(plane, extras | self._stated_extras(plane))
            for plane in self._stated_from_bed():
                begins |= self._window_lows(plane, {ZERO})
        return tuple(sorted(begins))

    def _window_lows(self, plane: HeadPlane, extras: Iterable[Interval]) -> set[float]:
        """From where on alignments serve passes on all surfaces, with some extras over a plane."""
        tolerance = self.job.printer.allowed_landing_error
        assert tolerance is not None
        lows = set()
        for crisp in self.may_stand.crisp_extras(plane):
            for extra in extras:
                window = alignment_window(self.job.printer, crisp + extra, tolerance)
                # Rounded, so that noise in the last digits makes no further extra to try.
                lows.add(round(window.low, 6))
        return lows

    def _stated_extras(self, plane: HeadPlane) -> set[Interval]:
        """The extras that passes state over the surface of a plane."""
        gaps = (item.gap for item in self.job.passes if item.gap is not None)
        return {gap.stated for gap in gaps if gap.above == plane.gap.above}

    def _stated_from_bed(self) -> list[HeadPlane]:
        """The planes that passes state from the bed."""
        planes = self.heights.stated_planes.values()
        return [plane for plane in planes if plane.gap.above == "bed"]

    @cached_property
    def _fixed_heights(self) -> tuple[float, ...]:
        """The heights above the bed in mm of the planes stated over the media or the bed."""
        planes = self.heights.stated_planes.values()
        fixed = (plane for plane in planes if plane.gap.above != "build-up")
        return tuple(sorted({round(plane.height.nominal, 9) for plane in fixed}))

    @cached_property
    def _shared_heights(self) -> tuple[float, ...]:
        """The heights of planes that are stated, or set to clear something or for an alignment."""
        heights = set(self._fixed_heights)
        extras = {
            item.gap.stated.nominal
            for item in self.job.passes
            if item.gap is not None and item.gap.above == "build-up"
        }
        for plane in self.may_stand.planes:
            numbers = self._that_clear(plane) | self._that_are_served(plane)
            added = {*(self.extras[number] for number in numbers), *extras}
            heights |= {round(plane.height.nominal + extra, 9) for extra in added}
        return tuple(sorted(heights))
