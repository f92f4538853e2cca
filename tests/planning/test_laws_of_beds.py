"""Beds of alike sheets: what one sheet more may cost, and where printing in lock-step is as cheap
as anything.

The lemma: let all gaps be stated above the media or from the bed, let two sheets be alike, and let
no band of one meet the other. Then some cheapest plan prints each pass of the second right after
the same pass of the first. In any plan leave the second sheet out, then put each of its passes
beside its twin: the head plane is the same, nothing of one is in the way of the other, and one
alignment serves both.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

import pytest
from attrs import evolve
from benchmarks.beds import CONSTRUCTIVE
from drawn_beds import (
    BESIDE_MM,
    FAR_MM,
    NOT_SHRUNK,
    copies,
    cost_of_order,
    drawn_beds,
    machine_of,
    planned,
)
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from reference import BruteForce
from strategies import jobs

from signrules.model import Dial, Gap, Ink, Interval, Job, Media, Minutes, Pass, Printer
from signrules.planning.setup_cost import Cost

EXACT = Interval.exact
FIXED = ("media", "bed")
"""Gaps whose head plane is the same in every order."""

BESIDE, APART = (BESIDE_MM, 0.0), (0.0, FAR_MM)
fixed_jobs = jobs(
    stated_gaps_only=True, max_passes=6, signs=False, handling=False, references=FIXED
)
single_sheets = jobs(
    stated_gaps_only=True,
    max_passes=3,
    max_media=1,
    loads=1,
    signs=False,
    handling=False,
    references=FIXED,
)


# --- no dearer than what a shop would try ---------------------------------------------------------


def no_dearer_than_the_rules(job: Job) -> None:
    """The plan of a bed against the orders of the simple rules, each with its cheapest gaps."""
    orders = {name: rule(job) for name, rule in CONSTRUCTIVE.items()}
    costs = {name: cost_of_order(job, order) for name, order in orders.items()}
    plan = planned(job).plan
    for name, cost in costs.items():
        if cost is not None:
            assert plan is not None, name
            assert plan.cost <= cost, name
            assert plan.least is not None
            assert plan.least <= cost, name


@settings(max_examples=effort(14), phases=NOT_SHRUNK)
@given(drawn_beds())
def test_no_dearer_than_the_rules_with_stated_gaps(job):
    no_dearer_than_the_rules(job)


@settings(max_examples=effort(5), phases=NOT_SHRUNK)
@given(drawn_beds(stated=False, most=32))
def test_no_dearer_than_the_rules_with_open_gaps(job):
    no_dearer_than_the_rules(job)


# --- one sheet more -------------------------------------------------------------------------------


def no_dearer_than_a_sequence(job: Job, order: tuple[int, ...]) -> None:
    """The plan beside a sequence of the job's own, where that is safe."""
    names = tuple((*job.passes, *job.handling)[at].id for at in order)
    judged = planned(evolve(job, sequence=names)).plan
    assert judged is not None
    if cost_of_order(job, order) is not None:
        assert judged.best is not None
        assert judged.best.cost <= judged.cost


@pytest.mark.thorough
@settings(max_examples=effort(10), phases=NOT_SHRUNK)
@given(drawn_beds(stated=False, most=12), st.sampled_from(sorted(CONSTRUCTIVE)))
def test_no_dearer_than_the_sequence_that_is_judged(job, rule):
    no_dearer_than_a_sequence(job, CONSTRUCTIVE[rule](job))


def cost_of(job: Job) -> Cost | None:
    """The proven cost of a job; None where it is proven that no order is safe."""
    outcome = planned(job)
    if outcome.plan is None:
        assert outcome.conflict is not None
        assert outcome.conflict.proven
        return None
    assert outcome.plan.optimal
    return outcome.plan.cost


def never_lowers_the_cost(before: Job, after: Job) -> None:
    first, second = cost_of(before), cost_of(after)
    if first is None:
        assert second is None
    elif second is not None:
        assert second >= first


@settings(max_examples=effort(70))
@given(fixed_jobs, st.data())
def test_a_sheet_more_never_lowers_the_cost(job, data):
    sheet = data.draw(st.sampled_from([one.id for one in job.media]))
    more = data.draw(st.integers(1, 2))
    never_lowers_the_cost(job, copies(job, sheet, more, step=BESIDE))


@settings(max_examples=effort(70))
@given(fixed_jobs, st.data())
def test_a_sheet_more_that_no_band_meets_costs_nothing(job, data):
    sheet = data.draw(st.sampled_from([one.id for one in job.media]))
    more = data.draw(st.integers(1, 3))
    assert cost_of(copies(job, sheet, more, step=APART)) == cost_of(job)


@settings(max_examples=effort(8), phases=NOT_SHRUNK)
@given(drawn_beds(most=40, colour_over="media", flips=0), st.integers(1, 3))
def test_a_sheet_more_of_a_bed(job, more):
    """Beside the last one, where bands meet; far from all others, where none does."""
    last = job.media[-1].id
    alone, beside, apart = (
        planned(one).plan
        for one in (job, *(copies(job, last, more, step=s) for s in (BESIDE, APART)))
    )
    if alone is None:
        return
    assert apart is not None
    if alone.optimal:
        assert apart.cost == alone.cost
    if beside is not None and alone.optimal:
        assert beside.cost >= alone.cost


# --- lock-step ------------------------------------------------------------------------------------


def doubled(job: Job, step: tuple[float, float]) -> Job:
    return copies(job, job.media[0].id, 1, step=step)


def lock_step_orders(job: Job, pair: Job) -> Iterator[tuple[int, ...]]:
    """Every order of one sheet, with each pass of its twin right after the same pass."""
    place = {item.id: at for at, item in enumerate(pair.passes)}
    for order in permutations(item.id for item in job.passes):
        yield tuple(place[name] for one in order for name in (one, f"{one}~1"))


def cheapest_in_lock_step(job: Job, pair: Job) -> Cost | None:
    machine = machine_of(pair)
    in_order = [
        order
        for order in lock_step_orders(job, pair)
        if all(machine.before[at] <= set(order[:place]) for place, at in enumerate(order))
    ]
    costs = (cost_of_order(pair, order) for order in in_order)
    return min((cost for cost in costs if cost is not None), default=None)


@settings(max_examples=effort(60))
@given(single_sheets)
def test_lock_step_is_as_cheap_as_anything(job):
    pair = doubled(job, APART)
    expected = BruteForce(pair).run()
    assert cheapest_in_lock_step(job, pair) == (
        None if expected is None else pytest.approx(expected, abs=1e-6)
    )
    assert cost_of(pair) == (None if expected is None else pytest.approx(expected, abs=1e-6))


def test_lock_step_ends_with_gaps_above_the_build_up():
    """Two layers on each of two sheets, both at no gap above the build-up. The second of a sheet
    may keep the plane of the first if it comes right after it, so that all four print at one plane:
    a load of 4 minutes and a setting of 2. In lock-step the twin stands between them: the second
    layers are set again over the first ones, 2 minutes more.
    """
    gap = Gap(EXACT(0.0), "build-up")
    printer = Printer(
        bed=(100.0, 100.0),
        base_gap=EXACT(1.5),
        min_clearance=0.5,
        gap=Dial(3.0, 0.5),
        head_length=5.0,
        carriage_speed=800.0,
        drop_speed=6000.0,
        minutes=Minutes(4, 2, 12),
    )
    sheet = Media("sheet", EXACT(3.0), (40.0, 20.0), (0.0, 0.0))
    passes = (Pass("first", "ink", gap=gap), Pass("second", "ink", gap=gap))
    job = Job(printer, (sheet,), (Ink("ink", EXACT(0.03)),), passes, name="an invented pair")
    pair = doubled(job, APART)
    assert BruteForce(pair).run() == (1, 6.0)
    assert cost_of(pair) == (1, 6.0)
    assert cheapest_in_lock_step(job, pair) == (1, 8.0)
