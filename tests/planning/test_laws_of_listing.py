"""How a document lists its passes, sheets, inks, areas and handling, and what it calls them,
decides nothing.

Neither whether there is a plan, nor what it costs, nor the bound, nor what is proven. What the
listing does decide is the tie: where the declared order is safe and costs what the plan costs, it
is the plan.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from benchmarks.beds import ganged_bed, relisted
from drawn_beds import (
    NOT_SHRUNK,
    cost_of_order,
    drawn_beds,
    machine_of,
    planned,
    redeclared,
    relisted_at_random,
)
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import jobs

from signrules.model import Job, Spacers
from signrules.planning.planner import Outcome

LISTINGS = (("sheet by sheet", 0), *(("shuffled", seed) for seed in range(6)))
BOTH = ("front", "back")
few_spacers = st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=3, unique=True).map(
    lambda found: Spacers(tuple(found))
)
stated_jobs = jobs(stated_gaps_only=True, max_passes=8, signs=False, sides=BOTH)
mixed_jobs = jobs(max_passes=5, signs=False, sides=BOTH)


def verdict(outcome: Outcome) -> tuple[object, ...]:
    """All that the listing must not change; the bound of what is not proven has a test
    of its own.
    """
    if outcome.plan is None:
        assert outcome.conflict is not None
        return "conflict", outcome.conflict.proven
    least = outcome.plan.least if outcome.plan.optimal else None
    return "plan", outcome.plan.cost, least, outcome.plan.optimal


def decides_nothing(job: Job, data: st.DataObject) -> None:
    other = relisted_at_random(data.draw, job)
    assert verdict(planned(other)) == verdict(planned(job))


def with_spacers(job: Job, spacers: Spacers) -> Job:
    return evolve(job, printer=evolve(job.printer, gap=spacers))


# --- the listing ----------------------------------------------------------------------------------


@pytest.mark.thorough
@settings(max_examples=effort(100))
@given(stated_jobs, st.data())
def test_of_drawn_jobs_with_stated_gaps(job, data):
    decides_nothing(job, data)


@settings(max_examples=effort(60))
@given(mixed_jobs, few_spacers, st.data())
def test_of_drawn_jobs_with_open_gaps(job, spacers, data):
    decides_nothing(with_spacers(job, spacers), data)


@settings(max_examples=effort(12), phases=NOT_SHRUNK)
@given(drawn_beds(), st.data())
def test_of_ganged_beds_with_stated_gaps(job, data):
    decides_nothing(job, data)


@pytest.mark.thorough
@settings(max_examples=effort(6), phases=NOT_SHRUNK)
@given(drawn_beds(stated=False, most=24), st.data())
def test_of_ganged_beds_with_open_gaps(job, data):
    decides_nothing(job, data)


UNPROVEN = {
    "thicknesses": (3.0, 4.0),
    "tolerance": 0.0,
    "control": "dial",
    "dial_steps": 3,
    "flips": 1,
    "stated": False,
    "records": (0.0,),
    "one_way": True,
}


@pytest.mark.slow
def test_the_bound_of_an_unproven_plan():
    job = ganged_bed(1, 8, **UNPROVEN)
    plans = [planned(relisted(job, listed, seed=seed)).plan for listed, seed in LISTINGS]
    assert len({plan.least for plan in plans}) == 1


# --- the tie --------------------------------------------------------------------------------------


def is_declared_where_that_is_as_cheap(job: Job) -> None:
    """The plan of a job, and that of the job declared in the plan's order."""
    first = planned(job).plan
    if first is None or not first.optimal:
        return
    for listed in (job, redeclared(job, first.order)):
        plan = planned(listed).plan
        assert plan is not None
        assert plan.cost == first.cost
        declared = machine_of(listed).declared_order()
        if cost_of_order(listed, declared) == plan.cost:
            assert plan.timeline.order == declared
    if not job.handling:
        assert plan.order == first.order


@settings(max_examples=effort(70))
@given(stated_jobs)
def test_the_declared_order_with_stated_gaps(job):
    is_declared_where_that_is_as_cheap(job)


@settings(max_examples=effort(40))
@given(mixed_jobs, few_spacers)
def test_the_declared_order_with_open_gaps(job, spacers):
    is_declared_where_that_is_as_cheap(with_spacers(job, spacers))


@settings(max_examples=effort(8), phases=NOT_SHRUNK)
@given(drawn_beds())
def test_the_declared_order_of_ganged_beds(job):
    is_declared_where_that_is_as_cheap(job)


@pytest.mark.thorough
@settings(max_examples=effort(4), phases=NOT_SHRUNK)
@given(drawn_beds(stated=False, most=24))
def test_the_declared_order_of_ganged_beds_with_open_gaps(job):
    is_declared_where_that_is_as_cheap(job)
