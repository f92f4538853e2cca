"""The greedy peeling of very many passes: sound orders, and certificates where there is none."""

from __future__ import annotations

import pytest
from attrs import evolve
from benchmarks.cases import rows_of_signs
from effort import effort
from hypothesis import given, settings
from strategies import jobs

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning import pipeline, planner
from signrules.planning.audit import audit
from signrules.planning.order.peeling import peel_from_end
from signrules.planning.order.reduction import setup_classes
from signrules.planning.order.step_search import StepSearch


@settings(max_examples=effort(130))
@given(jobs(stated_gaps_only=True, max_passes=6, signs=False, handling=False, loads=1))
def test_it_finds_an_order_where_there_is_one_and_what_is_stuck_is_a_proof(job):
    machine = Machine(Heights(job))
    kinds = setup_classes(machine)
    if kinds is None:
        return
    peeled = peel_from_end(machine, kinds.classes, kinds.watched)
    found = StepSearch(machine).any_order(100_000)
    assert found.ended
    assert (peeled.order is None) == (found.order is None)
    if peeled.order is None:
        core = sum(1 << at for at in peeled.stuck)
        alone = StepSearch(machine, core).any_order(100_000)
        assert alone.ended
        assert alone.order is None
    else:
        assert sorted(peeled.order) == list(range(len(machine.items)))


def planned_as_large(job, monkeypatch):
    for module in (planner, pipeline):
        monkeypatch.setattr(module, "LARGE", 50)
    return planner.plan_job(Machine(Heights(job)))


@pytest.mark.thorough
def test_large_jobs_are_sound_and_near_the_optimum(monkeypatch):
    for seed in range(5):
        job = rows_of_signs(150, 6, seed)
        exact = planner.plan_job(Machine(Heights(job))).plan
        assert exact.optimal
        with monkeypatch.context() as patch:
            large = planned_as_large(job, patch).plan
        assert signrules.audit(job, large) == []
        assert large.least <= exact.cost <= large.cost
        assert large.timeline.gap_settings <= 1.5 * exact.timeline.gap_settings


def test_a_large_conflict_is_still_a_small_one(monkeypatch):
    job = rows_of_signs(150, 6, 1)
    tall = max(
        range(150), key=lambda at: job.passes[at].layers * job.ink_of(job.passes[at]).layer.high
    )
    place = job.passes[tall].areas
    low = evolve(job.passes[0], id="low", areas=place, over=(), after=(job.passes[tall].id,))
    low = evolve(low, gap=signrules.Gap(signrules.Interval.exact(0.0)), layers=1)
    broken = evolve(job, passes=(*job.passes, low))
    expected = planner.plan_job(Machine(Heights(broken))).conflict
    found = planned_as_large(broken, monkeypatch).conflict
    assert found.proven
    assert found.subjects == expected.subjects
    assert "passes.low" in found.subjects


def test_a_pause_keeps_its_place(monkeypatch):
    job = rows_of_signs(60, 4, 2)
    first, second = job.passes[0].id, job.passes[20].id
    wait = signrules.Handling("wait", "pause", after=(first,))
    passes = [evolve(p, after=("wait",)) if p.id == second else p for p in job.passes]
    job = evolve(job, passes=tuple(passes), handling=(wait,))
    plan = planned_as_large(job, monkeypatch).plan
    place = {name: at for at, name in enumerate(plan.order)}
    assert place[first] < place["wait"] < place[second]


def test_what_only_a_search_could_order_is_not_looked_for(monkeypatch):
    job = rows_of_signs(60, 4, 2)
    sheet = evolve(job.media[0], hold="none")
    outcome = planned_as_large(evolve(job, media=(sheet,)), monkeypatch)
    assert outcome.plan is None
    assert not outcome.conflict.proven
    assert "split the job" in outcome.conflict.message


@pytest.mark.parametrize("reach", [6.0, 2.6, 2.2])
@pytest.mark.slow
def test_open_gaps_of_very_many_passes_are_planned(monkeypatch, reach):
    job = rows_of_signs(60, 4, 2, auto=True)
    job = evolve(job, printer=evolve(job.printer, max_throw=reach))
    plan = planned_as_large(job, monkeypatch).plan
    assert audit(job, plan) == []
    best = planner.plan_job(Machine(Heights(job))).plan
    assert plan.timeline.gap_settings <= best.timeline.gap_settings + 1
