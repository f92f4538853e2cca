"""Laws of the planner: what must hold between the plans of jobs that differ in one thing."""

from __future__ import annotations

import datetime
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from attrs import evolve
from benchmarks.cases import EXTRAS, rows_of_signs
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import sign_job
from strategies import jobs

import signrules
from signrules.model import Job, Spacers
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.pipeline import BUDGET
from signrules.planning.planner import Outcome, plan_job

FIXED = ("media", "bed")
"""Gaps whose head plane is the same in every order."""

fixed_jobs = jobs(
    stated_gaps_only=True, max_passes=7, signs=False, handling=False, references=FIXED
)
stated_jobs = jobs(stated_gaps_only=True, max_passes=7, signs=False, handling=False)
seeds = st.integers(0, 10_000)


def planned(job: Job, budget: int = BUDGET) -> Outcome:
    return plan_job(Machine(Heights(job)), budget)


def without_alignments(job: Job) -> Job:
    """A job whose landing tolerance is not known: what lies beneath a pass then changes no cost."""
    return evolve(job, printer=evolve(job.printer, landing_tolerance=None, resolution=None))


def without(job: Job, at: int) -> Job:
    """A job without one pass and without all that names it."""
    gone = job.passes[at].id

    def kept(names):
        return None if names is None else tuple(name for name in names if name != gone)

    passes = (
        evolve(
            item, over=kept(item.over), after=kept(item.after), registers_to=kept(item.registers_to)
        )
        for item in job.passes
        if item.id != gone
    )
    return evolve(job, passes=tuple(passes))


def loosened(passes: int, seed: int) -> Job:
    """Rows of signs with some layers let loose from their stack."""
    chance = random.Random(seed)
    job = rows_of_signs(passes, chance.choice((4, 5, 6)), seed)
    return evolve(
        job, passes=tuple(evolve(p, over=()) if chance.random() < 0.3 else p for p in job.passes)
    )


def never_dearer(before: Job, after: Job) -> None:
    """That a job keeps its safe order, and its cost or a lower one, when it asks for less."""
    first, second = planned(without_alignments(before)), planned(without_alignments(after))
    if first.plan is not None:
        assert first.plan.optimal
        assert second.plan is not None, second.conflict
        assert second.plan.optimal
        assert second.plan.cost <= first.plan.cost


# --- asking for less ------------------------------------------------------------------------------


@settings(max_examples=effort(100))
@given(fixed_jobs, st.data())
def test_without_a_pass(job, data):
    if len(job.passes) > 1:
        never_dearer(job, without(job, data.draw(st.integers(0, len(job.passes) - 1))))


@settings(max_examples=effort(25))
@given(seeds)
def test_without_a_pass_of_many(seed):
    job = loosened(40, seed)
    never_dearer(job, without(job, random.Random(seed).randrange(len(job.passes))))


@settings(max_examples=effort(100))
@given(stated_jobs, st.integers(1, 100))
def test_less_clearance_needed(job, less):
    least = max(0.0, job.printer.min_clearance - less / 100)
    never_dearer(job, evolve(job, printer=evolve(job.printer, min_clearance=least)))


@settings(max_examples=effort(100))
@given(stated_jobs)
def test_no_after(job):
    for at, item in enumerate(job.passes):
        if item.after:
            freed = evolve(item, after=item.after[1:])
            never_dearer(job, evolve(job, passes=(*job.passes[:at], freed, *job.passes[at + 1 :])))


@settings(max_examples=effort(100))
@given(fixed_jobs, st.data())
def test_fewer_layers(job, data):
    at = data.draw(st.integers(0, len(job.passes) - 1))
    item = job.passes[at]
    thinner = evolve(item, layers=data.draw(st.integers(1, item.layers)))
    never_dearer(job, evolve(job, passes=(*job.passes[:at], thinner, *job.passes[at + 1 :])))


# --- two jobs in one ------------------------------------------------------------------------------


def of_load(job: Job, load: str) -> Job | None:
    """What a job does on one bed load; None where that is nothing."""
    names = {sheet.id for sheet in job.media if sheet.load == load}
    passes = tuple(item for item in job.passes if item.media in names)
    return (
        evolve(job, media=tuple(m for m in job.media if m.id in names), passes=passes)
        if passes
        else None
    )


def apart(job: Job) -> Job:
    """A job whose bed loads have nothing to do with each other."""
    load = {item.id: job.media_of(item).load for item in job.passes}

    def own(item, names):
        return (
            None if names is None else tuple(name for name in names if load[name] == load[item.id])
        )

    passes = (
        evolve(
            item,
            media=job.media_of(item).id,
            over=own(item, item.over),
            after=own(item, item.after),
            registers_to=own(item, item.registers_to),
        )
        for item in job.passes
    )
    return evolve(job, passes=tuple(passes))


@settings(max_examples=effort(100))
@given(stated_jobs)
def test_independent_jobs_on_two_loads(job):
    job = apart(without_alignments(job))
    parts = [part for part in (of_load(job, load) for load in ("1", "2")) if part is not None]
    single, whole = [planned(part).plan for part in parts], planned(job).plan
    if None in single:
        assert whole is None
        return
    assert whole is not None
    assert whole.loads == sum(plan.loads for plan in single) == len(single)
    # What the first leaves set may serve the second: one setting less at the most.
    apart_settings = sum(plan.timeline.gap_settings for plan in single)
    if job.printer.minutes.gap != 0:
        assert apart_settings - (len(single) - 1) <= whole.timeline.gap_settings <= apart_settings


# --- declaration, budget, bound -------------------------------------------------------------------


def reordered(job: Job, names: tuple[str, ...]) -> Job:
    by_id = {item.id: item for item in job.passes}
    return evolve(job, passes=tuple(by_id[name] for name in names))


def returned_unchanged(job: Job) -> None:
    plan = planned(job).plan
    if plan is not None and plan.optimal:
        again = planned(reordered(job, plan.order)).plan
        assert again.order == plan.order
        assert again.cost == plan.cost
        assert again.optimal


few_spacers = st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=3, unique=True).map(
    lambda found: Spacers(tuple(found))
)


@settings(max_examples=effort(100))
@given(stated_jobs)
def test_a_planned_order_is_planned_again(job):
    returned_unchanged(job)


@settings(max_examples=effort(60))
@given(jobs(max_passes=4, signs=False, handling=False), few_spacers)
def test_a_planned_order_with_open_gaps_is_planned_again(job, spacers):
    returned_unchanged(evolve(job, printer=evolve(job.printer, gap=spacers)))


@settings(max_examples=effort(20))
@given(seeds)
def test_a_planned_order_of_many_is_planned_again(seed):
    returned_unchanged(loosened(60, seed))


@settings(max_examples=effort(100))
@given(stated_jobs, st.data())
def test_the_order_of_declaration_changes_no_cost(job, data):
    names = data.draw(st.permutations([item.id for item in job.passes]))
    media = [job.media_of(item).id for item in job.passes]
    job = evolve(
        job, passes=tuple(evolve(p, media=m) for p, m in zip(job.passes, media, strict=True))
    )
    one, two = planned(job), planned(reordered(job, tuple(names)))
    assert (one.plan is None) == (two.plan is None)
    if one.plan is not None:
        assert one.plan.cost == two.plan.cost


def grows_with_budget(job: Job, budgets: tuple[int, ...]) -> None:
    """That more budget never gives a worse plan or bound, and that every plan is honest about
    itself.
    """
    best = planned(job)
    cost, least = None, None
    for budget in budgets:
        found = planned(job, budget)
        plan = found.plan
        if plan is None:
            assert cost is None
            assert found.conflict is not None
            assert best.plan is None or not found.conflict.proven
            continue
        assert best.plan is not None
        assert signrules.audit(job, plan) == []
        assert plan.least <= plan.cost
        assert not plan.optimal or plan.least == plan.cost
        assert plan.least <= best.plan.cost <= plan.cost
        if plan.optimal:
            assert plan.cost == best.plan.cost
        if cost is not None:
            assert plan.cost <= cost
            assert plan.least >= least
        cost, least = plan.cost, plan.least


@settings(max_examples=effort(40))
@given(seeds)
@pytest.mark.slow
def test_more_budget_on_many_passes(seed):
    grows_with_budget(loosened(60, seed), (1, 3, 10, 30, 100, 300, 1_000, 10_000))


@settings(max_examples=effort(60))
@given(jobs(max_passes=4, signs=False), few_spacers)
def test_more_budget_with_open_gaps(job, spacers):
    job = evolve(job, printer=evolve(job.printer, gap=spacers))
    grows_with_budget(job, (1, 2, 3, 4, 5, 50, 500))


def test_a_cost_as_low_as_the_bound_is_proven():
    document = sign_job(standards=[], signs=[], handling=[{"id": "wait", "does": "pause"}])
    document["passes"] = [{"id": "one", "ink": "black", "layers": 1}]
    plans = [planned(signrules.job_from_dict(document), budget).plan for budget in range(1, 10)]
    assert all(plan is None or plan.optimal == (plan.cost == plan.least) for plan in plans)
    assert plans[-1].optimal


@settings(max_examples=effort(60))
@given(jobs(max_passes=5, signs=False), few_spacers, st.integers(1, 5))
def test_short_searches_over_open_gaps_are_honest(job, spacers, budget):
    passes = tuple(evolve(item, gap=None) for item in job.passes)
    job = evolve(job, passes=passes, printer=evolve(job.printer, gap=spacers))
    grows_with_budget(job, (budget,))


# --- the same everywhere --------------------------------------------------------------------------

SCRIPT = """
from test_laws import loosened, planned
for seed in range(3):
    plan = planned(loosened(60, seed)).plan
    print(plan.order, plan.cost, plan.least)
    print([(s.kind, s.subject, s.extra, s.above) for s in plan.steps])
"""


@pytest.mark.slow
def test_no_order_of_hashing_changes_a_plan():
    here = Path(__file__).parent
    said = set()
    for seed in ("0", "1", "4242"):
        path = os.pathsep.join(
            [str(here), str(here.parent), str(Path(signrules.__file__).parents[1])]
        )
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path}
        run = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        )
        said.add(run.stdout)
    assert len(said) == 1
    assert len(said.pop()) > 1_000


@pytest.mark.parametrize("seed", range(6))
def test_rows_of_signs_are_sound(seed):
    job = rows_of_signs(30, 6, seed)
    assert {item.gap.extra.nominal for item in job.passes} <= set(EXTRAS[:6])
    plan = planned(job).plan
    assert plan is not None
    assert plan.optimal
    assert signrules.audit(job, plan) == []


def test_a_stale_alignment_does_not_lower_the_bound():
    """The least that any order costs counts an alignment that work on the heads has made void as
    one to be made.
    """
    job = rows_of_signs(20, 2, 1)
    printer = evolve(job.printer, head_work=datetime.date(2026, 6, 1))
    stale = tuple(evolve(a, date=datetime.date(2026, 1, 1)) for a in job.alignments)
    plan = planned(evolve(job, printer=printer, alignments=stale)).plan
    assert plan.timeline.new_alignments
    assert plan.optimal
    assert plan.cost == plan.least
