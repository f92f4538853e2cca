"""Ganged beds with stated gaps against a CP-SAT model that shares no code with the planner.

The model itself is held against the brute force on tiny jobs. A small fixed set always (where
ortools is installed), some 300 beds with SIGNRULES_LONG=1 in the environment.
"""

from __future__ import annotations

import random

import pytest
from attrs import evolve
from benchmarks.beds import ganged_bed
from effort import LONG, effort
from hypothesis import given, settings
from reference import BruteForce
from strategies import jobs

from signrules.model import Gap, Interval, Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.planner import plan_job

pytest.importorskip("ortools")

from benchmarks.cpsat_beds import least_setup, serves

SECONDS = 60.0
TINY = ((1, 4), (2, 3), (3, 2), (1, 6))
SMALL = ((2, 4), (3, 4), (2, 6), (4, 4))
LARGER = ((2, 8), (3, 5), (5, 3)) if LONG else ()
EXTRAS = (0.0, 0.5, 1.0)


def varied(sheets: int, passes: int, seed: int) -> Job:
    """A bed with some gaps, references and orders other than a careful shop's; it may have no safe
    order.
    """
    chance = random.Random(seed)
    job = ganged_bed(
        sheets,
        passes,
        columns=chance.choice((1, 2)),
        tolerance=chance.choice((0.0, 0.1, 0.2)),
        thicknesses=chance.choice(((3.0,), (3.0, 3.5))),
        colour_over=chance.choice(("media", "build-up")),
        landing=0.5,
    )
    made = []
    for item in job.passes:
        assert item.gap is not None
        extra, reference = item.gap.extra.nominal, item.gap.above
        if chance.random() < 0.15:
            extra = chance.choice(EXTRAS)
        if chance.random() < 0.15:
            reference = "media" if reference == "build-up" else "build-up"
        if chance.random() < 0.3:
            item = evolve(item, over=(), after=())
        made.append(evolve(item, gap=Gap(Interval.exact(extra), reference)))
    return evolve(job, passes=tuple(made))


def proven_cost(job: Job) -> tuple[int, float] | None:
    """What CP-SAT proves to be the least cost; None where it proves that there is no safe order."""
    answer = least_setup(job, SECONDS)
    if not answer.proven:  # That depends on the machine.
        pytest.skip(f"CP-SAT has proven nothing in {SECONDS:g} s")
    return answer.cost


def agrees(job: Job) -> bool:
    """Whether the plan of a job costs the least, where there is any; what it says of itself must
    hold either way.
    """
    outcome, least = plan_job(Machine(Heights(job))), proven_cost(job)
    if least is None:
        assert outcome.plan is None
        return outcome.conflict is not None and outcome.conflict.proven
    assert outcome.conflict is None or not outcome.conflict.proven
    if outcome.plan is None:
        return False
    assert outcome.plan.least is not None
    assert outcome.plan.least <= least <= outcome.plan.cost
    return outcome.plan.cost == least


@pytest.mark.parametrize(
    "job",
    [
        ganged_bed(2, 2, stated=False),
        ganged_bed(2, 2, flips=1),
        ganged_bed(2, 2, landing=0.001),
    ],
    ids=["open gaps", "handling", "alignments that depend on the order"],
)
def test_what_the_model_does_not_know_it_does_not_serve(job):
    assert not serves(job)


@pytest.mark.parametrize(("sheets", "passes"), TINY)
def test_the_model_finds_what_the_brute_force_finds(sheets, passes):
    found = []
    for seed in range(max(effort(6), 3)):
        job = varied(sheets, passes, seed)
        if serves(job):
            expected = BruteForce(job).run()
            assert proven_cost(job) == expected, seed
            found.append(expected)
    assert any(cost is not None for cost in found)


def test_the_model_finds_what_the_brute_force_finds_for_jobs_of_any_kind():
    """Coverage, directions, exact and uncertain gaps, base gaps and inks as they come."""
    found = []

    @settings(max_examples=60)
    @given(jobs(stated_gaps_only=True, max_passes=5, signs=False, handling=False, loads=1))
    def compare(job):
        if serves(job):
            expected, least = BruteForce(job).run(), proven_cost(job)
            assert least == (
                None if expected is None else (expected[0], pytest.approx(expected[1], abs=1e-6))
            )
            found.append(least)

    compare()
    assert any(cost is not None for cost in found)
    assert any(cost is None for cost in found)


@pytest.mark.parametrize(("sheets", "passes"), SMALL + LARGER)
@pytest.mark.parametrize("colour_over", ["build-up", "media"])
def test_the_plan_of_a_bed_costs_the_least(sheets, passes, colour_over):
    job = ganged_bed(sheets, passes, colour_over=colour_over)
    assert serves(job)
    assert agrees(job)


@pytest.mark.parametrize("seed", range(300 if LONG else 20))
def test_the_plan_of_a_bed_of_any_gaps_costs_the_least(seed):
    job = varied(*SMALL[seed % len(SMALL)], seed)
    if not serves(job):
        pytest.skip("the alignments that it needs depend on the order")
    assert agrees(job)
