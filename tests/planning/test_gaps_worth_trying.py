"""The few gaps that are tried for an open one, against every step of the dial.

The claim of `OpenGaps`: between two gaps worth trying nothing changes but the length of the throw,
so that leaving out what lies between costs nothing. Tried out on small jobs, in the search and for
orders that are given.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest
from attrs import evolve
from drawn_beds import NOT_SHRUNK, easier, machine_of
from effort import effort
from hypothesis import event, given, settings
from hypothesis import strategies as st
from reference import BruteForce
from scenario import sign_job
from strategies import jobs

from signrules import job_from_dict
from signrules.model import (
    Alignment,
    Dial,
    Gap,
    Handling,
    Ink,
    Interval,
    Job,
    Media,
    Minutes,
    Pass,
    Printer,
)
from signrules.physics.landing import landing_error
from signrules.physics.replaying import replay_items
from signrules.planning.gaps import gap_candidates
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.order.canonical import canonical_machine
from signrules.planning.order.step_search import Searched, StepSearch
from signrules.planning.setup_cost import Costs

ENOUGH = 10**7
EVERY_EXTRA = 10**9
GUARD = 1e-6
EXACT = Interval.exact


@st.composite
def dial_jobs(
    draw: st.DrawFn, *, passes: int, steps: int, sides: tuple[str, ...] = ("front",)
) -> Job:
    """Jobs with a dial of 10 to so many steps whose alignments and throws matter, most of whose
    gaps are open.
    """
    job = draw(
        jobs(max_passes=passes, max_media=2, max_inks=2, signs=False, handling=False, sides=sides)
    )
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
    records = draw(
        st.lists(st.integers(0, 40).map(lambda tenths: Alignment(tenths / 20)), max_size=2)
    )
    made = [evolve(item, gap=None) if draw(st.integers(0, 3)) else item for item in job.passes]
    # Two-way passes ask for alignments; most are.
    made = [evolve(item, directions=2) if draw(st.booleans()) else item for item in made]
    return evolve(job, printer=printer, passes=tuple(made), alignments=tuple(records))


# --- in the search --------------------------------------------------------------------------------


def cheapest(job: Job, few: int | None = None) -> Searched:
    with pytest.MonkeyPatch.context() as patch:
        if few is not None:
            patch.setattr(gap_candidates, "FEW_EXTRAS", few)
        return StepSearch(canonical_machine(machine_of(job)).machine, thorough=True).cheapest(
            ENOUGH
        )


def costs_the_same_with_every_extra(job: Job) -> None:
    if machine_of(job).topological is None:
        return
    found, reference = cheapest(job), cheapest(job, few=EVERY_EXTRA)
    assert found.ended
    assert reference.ended
    event("an order" if reference.order else "none")
    assert (found.order is None) == (reference.order is None)
    assert found.bound == reference.bound


@settings(max_examples=effort(120), phases=NOT_SHRUNK)
@given(dial_jobs(passes=3, steps=40))
def test_three_passes(job):
    costs_the_same_with_every_extra(job)


@settings(max_examples=effort(50), phases=NOT_SHRUNK)
@given(dial_jobs(passes=4, steps=14))
def test_four_passes(job):
    costs_the_same_with_every_extra(job)


@settings(max_examples=effort(60), phases=NOT_SHRUNK)
@given(dial_jobs(passes=2, steps=40, sides=("front", "back")))
def test_of_which_one_is_on_the_back(job):
    sheet = job.media[0].id
    flip = Handling("flip", "flip", sheet, "pins")
    costs_the_same_with_every_extra(evolve(job, handling=(flip,)))


def shared() -> Job:
    """A one-way pass, and a two-way one after it that an alignment on record serves from an extra
    of 0.4 mm on.
    """
    printer = Printer(
        bed=(100.0, 100.0),
        base_gap=EXACT(1.5),
        min_clearance=0.5,
        gap=Dial(1.0, 0.1),
        head_length=5.0,
        carriage_speed=800.0,
        drop_speed=6000.0,
        landing_tolerance=0.03,
        minutes=Minutes(4, 2, 12),
    )
    passes = (Pass("one-way", "ink", directions=1), Pass("two-way", "ink", after=("one-way",)))
    sheet = Media("sheet", EXACT(3.0), (40.0, 20.0), (0.0, 0.0))
    ink = Ink("ink", EXACT(0.01))
    return Job(
        printer, (sheet,), (ink,), passes, alignments=(Alignment(0.5),), name="an invented pair"
    )


def test_a_plane_that_another_pass_wants_for_an_alignment_on_record():
    """Window of the second: throw less base gap +- 0.03 mm * 6000 / (2 * 800) = 0.1125 mm, over ink
    of 0.01 mm; so an extra of 0.4 mm (0.39 from the ink) is served by the record at 0.5 mm. Set for
    the first pass already it takes one setting: a load of 4 minutes and 2 minutes.
    """
    job = shared()
    assert BruteForce(job).run() == (1, 6.0)
    assert cheapest(job, few=EVERY_EXTRA).bound == (1, 6.0)
    assert cheapest(job).bound == (1, 6.0)


def test_the_same_for_an_order_that_is_given():
    assert cost_with(shared(), (0, 1)) == (0, 2.0)


# --- for an order that is given -------------------------------------------------------------------


class _Way(NamedTuple):
    plane: list[dict[object, int]] | None
    stated: tuple[Gap, str, list[dict[object, int]]] | None
    windows: frozenset[tuple[float, float]]


Count = tuple[int, int]
"""Unsafe steps and settings so far."""

Plane = list[dict[object, int]]


class _EveryGap(BruteForce):
    """Every gap for the passes of one order, with the geometry of the plain reference; unsafe steps
    are counted.
    """

    def of_order(self, order: list[Pass | Handling]) -> tuple[int, float]:
        """The fewest unsafe steps, and the least set-up, loads left out."""
        ways: dict[object, tuple[_Way, Count]] = {None: (_Way(None, None, frozenset()), (0, 0))}
        printed: list[str] = []
        turned: set[str] = set()
        for item in order:
            if isinstance(item, Handling):
                turned ^= {item.media or self.job.media[0].id} if item.does == "flip" else set()
                continue
            ways = self._onward(item, ways, printed, turned)
            printed.append(item.id)
        _, gap, alignment = self.minutes
        return min(
            (unsafe, settled * gap + self._stabs(tuple(way.windows)) * alignment)
            for way, (unsafe, settled) in ways.values()
        )

    def _onward(self, item, ways, printed, turned):
        """Each way with each gap; of those that no later step can tell apart the best."""
        known: dict[object, tuple[bool, tuple[float, float] | None]] = {}
        anew = [(self._name(plane), plane) for plane in self._planes_anew(item, printed)]
        onward: dict[object, tuple[_Way, Count]] = {}
        for way, count in ways.values():
            for name, plane in self._choices(item, way, anew, printed, turned):
                if name not in known:
                    safe = self._is_safe(item, plane, printed, turned)
                    known[name] = safe, self._window(item, plane, set(printed))
                is_safe, wanted = known[name]
                paid = (
                    way.plane is None
                    or abs(self.raster.nominal(plane) - self.raster.nominal(way.plane)) > GUARD
                )
                windows = way.windows if wanted is None else way.windows | {wanted}
                stated = None if item.gap is None else (item.gap, self.raster.media(item), plane)
                total = (count[0] + (not is_safe), count[1] + paid)
                key = name, stated and stated[:2], windows
                if key not in onward or total < onward[key][1]:
                    onward[key] = _Way(plane, stated, windows), total
        return onward

    def _is_safe(self, item: Pass, plane: Plane, printed: list[str], turned: set[str]) -> bool:
        low, _ = self.raster.clearance(item, plane, {*printed, item.id}, turned)
        if low <= GUARD or low < self.printer.min_clearance - GUARD:
            return False
        if item.gap is not None or self.printer.max_throw is None:
            return True
        return self.raster.throws(item, plane, set(printed))[1][1] <= self.printer.max_throw + GUARD

    def _planes_anew(self, item: Pass, printed: list[str]) -> list[Plane]:
        if item.gap is not None:
            return [self.raster.plane(item, item.gap, set(printed))]
        gaps = [
            Gap(EXACT(extra), at)
            for at in ("media", "build-up")
            for extra in self.printer.gap.extras()
        ]
        return [self.raster.plane(item, gap, set(printed)) for gap in gaps]

    def _choices(self, item, way, anew, printed, turned):
        if item.gap is None:
            return anew if way.plane is None else [(self._name(way.plane), way.plane), *anew]
        same = way.stated is not None and way.stated[:2] == (item.gap, self.raster.media(item))
        if same and self._is_safe(item, way.stated[2], printed, turned):
            return [(self._name(way.stated[2]), way.stated[2])]
        return anew

    def _name(self, plane: Plane) -> object:
        return tuple(sorted(str(sorted(form.items(), key=str)) for form in plane))


def cost_with(job: Job, order: tuple[int, ...]) -> tuple[int, float]:
    """Unsafe steps and set-up of an order with the gaps of the dynamic programme, as the replay has
    them.
    """
    machine = machine_of(job)
    timeline = replay_items(machine, order, cheapest_gaps(machine, order, ways=ENOUGH))
    unsafe = 0
    for at, printing in timeline.printings.items():
        low, most = printing.clearance.low, job.printer.max_throw
        too_far = (
            job.passes[at].gap is None
            and most is not None
            and printing.throw.to_lowest.high > most + GUARD
        )
        unsafe += low <= GUARD or low < job.printer.min_clearance - GUARD or too_far
    costs = Costs.of(job.printer.minutes)
    return unsafe, costs.weight(0, timeline.gap_settings, len(timeline.new_alignments))


def has_the_cheapest_gaps(job: Job, order: tuple[int, ...]) -> None:
    """As few unsafe steps as can be; where there is none, the least set-up."""
    expected = _EveryGap(job).of_order([job.items[at] for at in order])
    found = cost_with(job, order)
    event("safe" if not expected[0] else "unsafe")
    assert found[0] == expected[0]
    if expected[0]:
        assert found[1] >= expected[1] - GUARD
    else:
        assert found[1] == pytest.approx(expected[1], abs=GUARD)


def test_an_unsafe_step_is_set_anew_for_the_most_room():
    """A sheet of 5 mm, then one of 3 mm beside it. Over the thin one no extra clears the thick one
    (its top is 0.5 mm above the base gap's plane of 4.5 mm) and throws no farther than 2 mm; the
    plane of the first does not reach either. So one step is unsafe with any gap. One setting of 2
    minutes would do; the gap with the most room takes another one.
    """
    pair = shared()
    printer = evolve(pair.printer, min_clearance=0.1, max_throw=2.0, landing_tolerance=None)
    sheets = [
        evolve(pair.media[0], id=name, thickness=EXACT(thick))
        for name, thick in (("high", 5.0), ("low", 3.0))
    ]
    beside = (sheets[0], evolve(sheets[1], at=(50.0, 0.0)))
    passes = (Pass("on-high", "ink", "high"), Pass("on-low", "ink", "low"))
    job = evolve(pair, printer=printer, media=beside, passes=passes)
    assert _EveryGap(job).of_order(list(job.passes)) == (1, 2.0)
    assert cost_with(job, (0, 1)) == (1, 4.0)


@settings(max_examples=effort(25), phases=NOT_SHRUNK)
@given(dial_jobs(passes=3, steps=16), st.data())
def test_of_an_order(job, data):
    has_the_cheapest_gaps(job, tuple(data.draw(st.permutations(range(len(job.passes))))))


@settings(max_examples=effort(15), phases=NOT_SHRUNK)
@given(dial_jobs(passes=4, steps=10), st.data())
def test_of_a_longer_order(job, data):
    has_the_cheapest_gaps(job, tuple(data.draw(st.permutations(range(len(job.passes))))))


@pytest.mark.parametrize(("stated", "tried"), [(1.5, [0.0, 1.5]), (1.25, [0.0])])
def test_a_plane_that_another_pass_states_is_tried_only_where_the_dial_has_it(stated, tried):
    """In steps of 0.5 mm there is 1.5 mm and no 1.25 mm; the least gap clears as it is."""
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["printer"]["max_throw"] = 9
    document["printer"]["gap"] = {"control": "dial", "max": 6, "step": 0.5}
    document["passes"] = [
        {"id": "stated", "ink": "black", "areas": [[0, 0, 9, 9]], "gap": {"extra": stated}},
        {"id": "open", "ink": "black", "areas": [[50, 0, 9, 9]], "gap": "auto"},
    ]
    machine = machine_of(job_from_dict(document))
    gaps = OpenGaps(machine, thorough=True)
    (fresh,) = gaps.fresh(1, machine.heights.standing())
    assert [gap.extra.nominal for gap in gaps.settable(fresh, 2.0)] == tried


@pytest.mark.parametrize("drops", [{}, {"drop_volume": "6 pL", "drop_density": "1050 kg/m3"}])
def test_the_least_extra_that_each_alignment_on_record_serves_is_tried(drops):
    """Looked for at every step of the dial; drops that the air slows are served over other throws
    than such as it does not.
    """
    on_record = (1.0, 2.0, 3.0)
    document = sign_job(standards=[], signs=[])
    document["printer"] |= drops
    document["printer"]["max_throw"] = 9
    document["printer"]["gap"] = {"control": "dial", "max": 4, "step": 0.05}
    document["passes"] = [{"id": "open", "ink": "black", "gap": "auto"}]
    document["alignments"] = [{"extra": extra} for extra in on_record]
    job = job_from_dict(document)
    machine, tolerance = machine_of(job), job.printer.allowed_landing_error
    gaps = OpenGaps(machine, thorough=False)
    (fresh,) = gaps.fresh(0, machine.heights.standing())
    least = set()
    for aligned_at in on_record:
        served = [
            extra
            for extra in job.printer.gap.extras()
            if landing_error(job.printer, fresh.crisp + EXACT(extra), aligned_at).high
            <= tolerance + GUARD
        ]
        least.add(served[0])
    assert len(least) == len(on_record)
    assert least <= {gap.extra.nominal for gap in gaps.settable(fresh, 1.49)}
