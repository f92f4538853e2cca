"""The changeover core against CP-SAT, on jobs that are too large for a brute force.

A small fixed set always (where ortools is installed), more than 200 jobs with SIGNRULES_LONG=1 in
the environment.
"""

from __future__ import annotations

import random

import pytest
from attrs import evolve
from benchmarks.cases import EXTRAS, rows_of_signs
from effort import LONG
from hypothesis import given, settings
from strategies import jobs

from signrules.model import Gap, Interval, Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.reduction import reduced_problems
from signrules.planning.order.solver import Solver
from signrules.planning.planner import plan_job

pytest.importorskip("ortools")

SECONDS = 60.0
SIZES = (8, 16, 24, 32, 40, 48) if LONG else (8, 12, 16, 24)


def varied(passes: int, setups: int, seed: int) -> Job:
    """A job of rows of signs with some layers let loose from their stack, others tied, other gaps:
    more to choose.

    One in five may have no safe order; the others keep one, being tied along it and their gaps only
    raised.
    """
    chance = random.Random(seed)
    job = rows_of_signs(passes, setups, seed)
    safe = seed % 5 > 0
    plan = plan_job(Machine(Heights(job))).plan
    assert plan is not None
    along = plan.order if safe else [item.id for item in job.passes]
    position = {name: at for at, name in enumerate(along)}
    made = []
    for item in job.passes:
        if chance.random() < 0.3:
            item = evolve(item, over=())
        if chance.random() < 0.2:
            other = chance.choice(job.passes).id
            if position[other] < position[item.id]:
                item = evolve(item, after=(other,))
        if chance.random() < 0.2:
            assert item.gap is not None
            least = item.gap.extra.nominal if safe else 0.0
            extra = chance.choice([extra for extra in EXTRAS[:setups] if extra >= least])
            item = evolve(item, gap=Gap(Interval.exact(extra)))
        made.append(item)
    return evolve(job, passes=tuple(made))


def agree(job: Job) -> bool:
    """Whether CP-SAT had something to say; and if so, it says what the planner does."""
    from benchmarks.cpsat import fewest

    machine = Machine(Heights(job))
    both = reduced_problems(machine)
    if both is None:
        return False
    problem = both.strict
    if problem is None:
        return False
    loads, _ = machine.loads_taken(range(len(machine.items)))
    solved = Solver(problem).solve(200_000)
    outcome = plan_job(machine)
    if solved.order is None:
        assert solved.stuck
        if loads == 1:
            assert outcome.conflict is not None
            assert outcome.conflict.proven
        answer = fewest(problem, min(len(problem.classes), 12), SECONDS)
        assert answer.cost is None
        return answer.proven
    assert solved.cost == solved.bound
    if both.loose is problem:
        assert outcome.plan is not None
        assert outcome.plan.optimal
        assert outcome.plan.timeline.gap_settings == solved.cost
    # An order that costs less has no more runs than it has settings and changes of load.
    answer = fewest(problem, min(len(problem.classes), solved.cost + loads), SECONDS)
    assert answer.bound <= solved.cost
    if answer.cost is None:
        assert not answer.proven
        return False
    assert answer.cost >= solved.cost
    if answer.proven:
        assert answer.cost == solved.cost
    return answer.proven


@pytest.mark.parametrize("passes", SIZES)
def test_rows_of_signs(passes):
    seeds = 24 if LONG else 5
    proven = 0
    for seed in range(seeds):
        proven += agree(rows_of_signs(passes, 4 + seed % 3, seed))
        proven += agree(varied(passes, 3 + seed % 4, 1000 + seed))
    print(f"{passes} passes: {proven} of {2 * seeds} proven by CP-SAT")
    assert proven


def test_generated_jobs():
    proven = []

    @settings(max_examples=150 if LONG else 20)
    @given(jobs(stated_gaps_only=True, max_passes=14, signs=False, handling=False))
    def compare(job):
        proven.append(agree(job))

    compare()
    print(f"generated jobs: {sum(proven)} of {len(proven)} reduced, and proven by CP-SAT")
    assert any(proven)
