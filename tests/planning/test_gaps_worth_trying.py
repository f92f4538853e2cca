"""The few gaps that are tried for an open one, against every step of the dial.

The claim of `OpenGaps`: between two gaps worth trying nothing changes but the length of the throw, so that leaving out
what lies between costs nothing. Tried out on small jobs, in the search and for orders that are given.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest
from attrs import evolve
from drawn_beds import easier, machine_of
from effort import effort
from hypothesis import event, given, settings
from hypothesis import strategies as st
from reference import BruteForce
from strategies import jobs

from signrules.model import Alignment, Dial, Gap, Handling, Interval, Job, Pass
from signrules.physics.timeline import replay
from signrules.planning.costs import Costs
from signrules.planning.gaps import candidates
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.order.canonical import canonical
from signrules.planning.order.steps import Found, StepSearch

ENOUGH = 10**7
EVERY_OFFSET = 10**9
GUARD = 1e-6
EXACT = Interval.exact


@st.composite
def dial_jobs(draw: st.DrawFn, *, passes: int, steps: int, sides: tuple[str, ...] = ("front",)) -> Job:
    """Jobs with a dial of 10 to so many steps whose alignments and throws matter, most of whose gaps are open."""
    job = draw(jobs(max_passes=passes, max_media=2, max_inks=2, signs=False, handling=False, sides=sides))
    if draw(st.booleans()):
        job = easier(job)
    step = draw(st.sampled_from([0.05, 0.1, 0.15]))
    count = draw(st.integers(10, steps))
    printer = evolve(
        job.printer,
        gap=Dial(round(count * step, 6), step),
        max_throw=draw(st.none() | st.integers(20, 60).map(lambda tenths: tenths / 10)),
        landing_tolerance=draw(st.none() | st.sampled_from([0.01, 0.02, 0.05, 0.1])),
        resolution=None,
    )
    records = draw(st.lists(st.integers(0, 40).map(lambda tenths: Alignment(tenths / 20)), max_size=2))
    made = [evolve(item, gap=None) if draw(st.integers(0, 3)) else item for item in job.passes]
    # Two-way passes ask for alignments; most are.
    made = [evolve(item, directions=2) if draw(st.booleans()) else item for item in made]
    return evolve(job, printer=printer, passes=tuple(made), alignments=tuple(records))


# --- in the search ------------------------------------------------------------------------------------------


def cheapest(job: Job, few: int | None = None) -> Found:
    with pytest.MonkeyPatch.context() as patch:
        if few is not None:
            patch.setattr(candidates, "FEW_OFFSETS", few)
        return StepSearch(canonical(machine_of(job)).machine, thorough=True).cheapest(ENOUGH)


def costs_the_same_with_every_offset(job: Job) -> None:
    if machine_of(job).topological is None:
        return
    found, reference = cheapest(job), cheapest(job, few=EVERY_OFFSET)
    assert found.ended
    assert reference.ended
    event("an order" if reference.order else "none")
    assert (found.order is None) == (reference.order is None)
    assert found.bound == reference.bound


@settings(max_examples=effort(120))
@given(dial_jobs(passes=3, steps=40))
def test_three_passes(job):
    costs_the_same_with_every_offset(job)


@settings(max_examples=effort(50))
@given(dial_jobs(passes=4, steps=14))
def test_four_passes(job):
    costs_the_same_with_every_offset(job)


@settings(max_examples=effort(60))
@given(dial_jobs(passes=2, steps=40, sides=("front", "back")))
def test_of_which_one_is_on_the_back(job):
    sheet = job.media[0].id
    flip = Handling("flip", "flip", sheet, "pins")
    costs_the_same_with_every_offset(evolve(job, handling=(flip,)))


# --- for an order that is given -----------------------------------------------------------------------------


class _Way(NamedTuple):
    plane: list[dict[object, int]] | None
    stated: tuple[Gap, str, list[dict[object, int]]] | None
    windows: frozenset[tuple[float, float]]


Count = tuple[int, int]
"""Unsafe steps and settings so far."""


class _EveryGap(BruteForce):
    """Every gap for the passes of one order, with the geometry of the plain reference; unsafe steps are counted."""

    def of_order(self, order: list[Pass | Handling]) -> tuple[int, float]:
        """The fewest unsafe steps, and the least set-up, loads left out."""
        ways: dict[object, tuple[_Way, Count]] = {None: (_Way(None, None, frozenset()), (0, 0))}
        printed: list[str] = []
        turned: set[str] = set()
        for item in order:
            if isinstance(item, Handling):
                turned ^= {item.media or self.job.media[0].id} if item.does == "flip" else set()
                continue
            onward: dict[object, tuple[_Way, Count]] = {}
            for way, count in ways.values():
                for then, more in self._next(item, way, printed, turned):
                    total = (count[0] + more[0], count[1] + more[1])
                    key = (self._name(then.plane), then.stated and then.stated[:2], then.windows)
                    if key not in onward or total < onward[key][1]:
                        onward[key] = then, total
            ways = onward
            printed.append(item.id)
        _, gap, alignment = self.minutes
        return min(
            (unsafe, settled * gap + self._stabs(tuple(way.windows)) * alignment)
            for way, (unsafe, settled) in ways.values()
        )

    def _next(self, item: Pass, way: _Way, printed: list[str], turned: set[str]):
        media = self.raster.media(item)
        for plane in self._all_planes(item, way, printed, turned):
            is_safe = self._is_safe(item, plane, printed, turned)
            if item.gap is None and is_safe and self.printer.max_throw is not None:
                is_safe = self.raster.throws(item, plane, set(printed))[1][1] <= self.printer.max_throw + GUARD
            paid = way.plane is None or abs(self.raster.nominal(plane) - self.raster.nominal(way.plane)) > GUARD
            wanted = self._window(item, plane, set(printed))
            windows = way.windows if wanted is None else way.windows | {wanted}
            stated = None if item.gap is None else (item.gap, media, plane)
            yield _Way(plane, stated, windows), (int(not is_safe), int(paid))

    def _is_safe(self, item: Pass, plane, printed: list[str], turned: set[str]) -> bool:
        low, _ = self.raster.clearance(item, plane, {*printed, item.id}, turned)
        return low > GUARD and low >= self.printer.min_clearance - GUARD

    def _all_planes(self, item: Pass, way: _Way, printed: list[str], turned: set[str]):
        standing = set(printed)
        if item.gap is not None:
            same = way.stated is not None and way.stated[:2] == (item.gap, self.raster.media(item))
            if same and self._is_safe(item, way.stated[2], printed, turned):
                return [way.stated[2]]
            return [self.raster.plane(item, item.gap, standing)]
        found = [] if way.plane is None else [way.plane]
        for reference in ("media", "build-up"):
            for offset in self.printer.gap.offsets():
                found.append(self.raster.plane(item, Gap(EXACT(offset), reference), standing))
        return found

    def _name(self, plane) -> object:
        return tuple(sorted(str(sorted(form.items(), key=str)) for form in plane))


def cost_with(job: Job, order: tuple[int, ...]) -> tuple[int, float]:
    """Unsafe steps and set-up of an order with the gaps of the dynamic programme, as the replay has them."""
    machine = machine_of(job)
    timeline = replay(machine, order, cheapest_gaps(machine, order, ways=ENOUGH))
    unsafe = 0
    for at, printing in timeline.printings.items():
        low, most = printing.clearance.low, job.printer.max_throw
        too_far = job.passes[at].gap is None and most is not None and printing.throw.to_lowest.high > most + GUARD
        unsafe += low <= GUARD or low < job.printer.min_clearance - GUARD or too_far
    costs = Costs.of(job.printer.minutes)
    return unsafe, costs.weight(0, timeline.gap_settings, len(timeline.new_alignments))


def has_the_cheapest_gaps(job: Job, order: tuple[int, ...]) -> None:
    expected = _EveryGap(job).of_order([job.items[at] for at in order])
    found = cost_with(job, order)
    event("safe" if not expected[0] else "unsafe")
    assert found[0] == expected[0]
    assert found[1] == pytest.approx(expected[1], abs=GUARD)


@settings(max_examples=effort(150))
@given(dial_jobs(passes=3, steps=30), st.data())
def test_of_an_order(job, data):
    has_the_cheapest_gaps(job, tuple(data.draw(st.permutations(range(len(job.passes))))))


@settings(max_examples=effort(60))
@given(dial_jobs(passes=4, steps=12), st.data())
def test_of_a_longer_order(job, data):
    has_the_cheapest_gaps(job, tuple(data.draw(st.permutations(range(len(job.passes))))))
