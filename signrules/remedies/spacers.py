"""Spacers that a shop does not have: how thick one would have to be, where none clears."""

from __future__ import annotations

import math
from collections.abc import Iterator

from attrs import evolve, frozen

from signrules.model.job import Job
from signrules.model.passes import HeadSetting, Pass
from signrules.model.printer import Spacers
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import number_text
from signrules.physics.halving import last_holding
from signrules.physics.landing import alignment_window, drop_of
from signrules.remedies.candidates import Change, Edit, Judged, pass_at, worded_change
from signrules.remedies.gap_changes import (
    clearance_with,
    plane_with,
    set_gap,
    stands_before,
    throw_with,
    with_extra,
)
from signrules.rules.checks import Check

DECIMALS = (2, 3)
"""A spacer is named to a hundredth of a mm, or to a thousandth where none lies in the range."""


@frozen
class Thickness:
    """How thick a spacer may be, in mm; `most` is None where nothing says."""

    least: float
    most: float | None

    def rounded(self) -> Thickness | None:
        """The range in as few decimals as possible; None where no round thickness fits."""
        for decimals in DECIMALS:
            scale = 10.0**decimals
            least = math.ceil((self.least - GUARD_MM) * scale) / scale
            if self.most is None:
                return Thickness(least, None)
            most = math.floor((self.most + GUARD_MM) * scale) / scale
            if least <= most:
                return Thickness(least, most)
        return None

    def holds(self, extra: float) -> bool:
        """Whether a spacer of this thickness would do."""
        within = self.most is None or extra <= self.most + GUARD_MM
        return within and extra >= self.least - GUARD_MM

    def in_words(self) -> str:
        """The range in words."""
        if self.most is None:
            return f"{number_text(self.least)} mm or more"
        if self.most - self.least <= GUARD_MM:
            return f"{number_text(self.least)} mm"
        return f"{number_text(self.least)} to {number_text(self.most)} mm"


def bought_spacer(check: Check, judged: Judged) -> Iterator[Change]:
    """The thicknesses of a spacer with which a pass clears, where no setting of the shop does."""
    pass_index = pass_at(check, judged)
    control = judged.job.printer.gap
    if pass_index is None or not isinstance(control, Spacers):
        return
    item = judged.job.passes[pass_index]
    seen: set[tuple[str, Thickness]] = set()
    for once_all_stands in (False, True):
        thickness_by_surface = {
            name: _thickness_range(judged, pass_index, name, once_all_stands=once_all_stands)
            for name in _possible_surfaces(item)
        }
        if any(
            any(map(thickness.holds, control.extras()))
            for thickness in thickness_by_surface.values()
        ):
            continue  # The shop has one that serves.
        for surface, thickness in thickness_by_surface.items():
            rounded = thickness.rounded()
            if rounded is not None and (surface, rounded) not in seen:
                seen.add((surface, rounded))
                yield _bought_spacer(judged.job, item, surface, rounded)


def _possible_surfaces(item: Pass) -> tuple[str, ...]:
    """From which surfaces a pass may be set with a spacer; where it says from which, from that."""
    if item.gap is None:
        return ("media", "build-up")
    if item.gap.above == "bed":
        return ()
    return (item.gap.above,)


def _thickness_range(
    judged: Judged, pass_index: int, surface: str, *, once_all_stands: bool
) -> Thickness:
    """From the spacer that just clears to the thickest that serves.

    It clears what stands where the replay prints the pass, or all that the job prints.
    """
    zero = with_extra(judged.job.passes[pass_index], surface, 0.0)
    needed = max(judged.job.printer.min_clearance, 2 * GUARD_MM)
    clearance = clearance_with(judged, pass_index, zero, once_all_stands=once_all_stands)
    least_thickness = needed - clearance.low
    return Thickness(least_thickness, _thickest_spacer(judged, pass_index, zero, least_thickness))


def _thickest_spacer(
    judged: Judged, pass_index: int, zero: HeadSetting, least: float
) -> float | None:
    """The thickest spacer over whose throw drops reach and some alignment serves.

    None where nothing says how far drops reach.
    """
    printer, item = judged.job.printer, judged.job.passes[pass_index]
    drop, farthest = drop_of(printer), printer.max_throw
    if farthest is None and drop is not None:
        farthest = drop.stop_distance
    if farthest is None:
        return None
    most_thickness = farthest - throw_with(judged, pass_index, zero)
    lands_anywhere = item.directions == 1 or printer.allowed_landing_error is None
    if drop is None or lands_anywhere or least > most_thickness:
        return most_thickness  # At constant speed an alignment serves a throw wherever it lies.
    return _last_served(judged, pass_index, zero, least, most_thickness)


def _last_served(
    judged: Judged, pass_index: int, zero: HeadSetting, least: float, most: float
) -> float:
    """The thickest spacer of a range that some alignment serves: with drag, large throws are hard.

    All of the range where even the thinnest is not served: that is then no matter of spacers.
    """
    job, heights = judged.job, judged.timeline.machine.heights
    printed, _ = stands_before(judged, pass_index)
    plane = plane_with(judged, pass_index, zero, printed)
    crisp = heights.crisp_extra(pass_index, plane, printed, job.passes[pass_index].crisp_on)
    tolerance = job.printer.allowed_landing_error
    assert tolerance is not None

    def is_served(extra: float) -> bool:
        return alignment_window(job.printer, crisp + Interval.exact(extra), tolerance).certain

    if is_served(most) or not is_served(least):
        return most
    return last_holding(is_served, least, most, finest=GUARD_MM)


def _bought_spacer(job: Job, item: Pass, surface: str, thickness: Thickness) -> Change:
    """A spacer more for the printer, and the gap of the pass set with it if one is stated."""
    smallest = _with_spacer(job, item, surface, thickness, thickness.least)
    if thickness.most is None or thickness.most <= thickness.least + GUARD_MM:
        return smallest
    return evolve(smallest, far_end=_with_spacer(job, item, surface, thickness, thickness.most))


def _with_spacer(job: Job, item: Pass, surface: str, thickness: Thickness, extra: float) -> Change:
    advice = f"No spacer of the shop serves {item.id}: a spacer of {thickness.in_words()} would do."
    added = _spacer_added(extra)
    if item.gap is None:
        return evolve(worded_change(advice, added), buys=True)
    setting = set_gap(job, item, with_extra(item, surface, extra))
    return Change(
        f"{advice} {setting.summary}",
        (added, *setting.edits),
        lambda job: f"{advice} {setting.words(job)}",
        buys=True,
    )


def _spacer_added(extra: float) -> Edit:
    def edit(job: Job) -> Job:
        control = job.printer.gap
        assert isinstance(control, Spacers)
        spacers = Spacers(tuple(sorted({*control.spacers, extra})))
        return evolve(job, printer=evolve(job.printer, gap=spacers))

    return edit
