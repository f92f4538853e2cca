"""The planner against a brute force over all orders and gaps (tests/reference.py), on generated
jobs.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from reference import BruteForce
from strategies import jobs

from signrules.model import Spacers
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.attempts import Attempts
from signrules.planning.order.facing import front_up
from signrules.planning.order.plane_runs import order_of_runs
from signrules.planning.order.reduction import reduced_problems
from signrules.planning.planner import plan_job
from signrules.planning.setup_cost import Costs


def cost_of(plan):
    weight = plan.setup_minutes
    if weight is None:
        weight = plan.timeline.gap_settings + len(plan.timeline.new_alignments)
    return plan.loads, pytest.approx(weight, abs=1e-6)


def agree(job):
    outcome = plan_job(Machine(Heights(job)))
    expected = BruteForce(job).run()
    if expected is None:
        assert outcome.plan is None
        assert outcome.conflict is not None
        assert outcome.conflict.proven
    else:
        assert outcome.plan is not None, outcome.conflict
        assert outcome.plan.optimal
        assert cost_of(outcome.plan) == expected


@settings(max_examples=effort(100))
@given(jobs(stated_gaps_only=True, max_passes=6, signs=False, sides=("front", "back")))
def test_stated_gaps(job):
    agree(job)


@settings(max_examples=effort(70))
@given(
    jobs(max_passes=4, signs=False),
    st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=3, unique=True),
)
def test_auto_gaps(job, spacers):
    agree(evolve(job, printer=evolve(job.printer, gap=Spacers(tuple(spacers)))))


@settings(max_examples=effort(100))
@given(jobs(stated_gaps_only=True, max_passes=6, signs=False, sides=("front", "back"), loads=1))
def test_the_changeover_core_alone(job):
    """Where a job reduces to the core, the core by itself finds what the brute force finds; no
    search mends it.
    """
    machine = front_up(Machine(Heights(job)))
    problem = reduced_problems(machine)
    if problem is None:
        return
    runs = order_of_runs(problem, 100_000)
    expected = BruteForce(job).run()
    if runs.stuck:
        assert expected is None
    if runs.order is None:
        return
    attempt = Attempts(machine).of_order(runs.order)
    assert attempt is not None
    assert expected is not None
    assert attempt.cost[0] == expected[0] == machine.loads_taken(range(len(machine.items)))[0]
    assert attempt.cost[1] >= expected[1] - 1e-6
    costs = Costs.of(job.printer.minutes)
    assert expected[1] >= costs.weight(expected[0], runs.settings, 0) - 1e-6
    if attempt.timeline.gap_settings == runs.settings and not attempt.timeline.new_alignments:
        assert attempt.cost[1] == pytest.approx(expected[1], abs=1e-6)
