"""Laws of going on: the plan that is cut and planned on, and all orders of what remains."""

from __future__ import annotations

from itertools import permutations

import pytest
from attrs import evolve
from effort import effort
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from signrules import Alignment, evaluate
from signrules.continuing.next_steps import next_steps
from signrules.errors import RecordError
from signrules.testing.job_strategies import jobs

SMALL = jobs(max_passes=4, max_media=2, signs=False, stated_gaps_only=True, loads=1)
OPEN = jobs(max_passes=4, max_media=2, signs=False)


@pytest.mark.thorough
@settings(max_examples=effort(200), deadline=None)
@given(st.data())
def test_a_plan_that_is_cut_anywhere_goes_on_at_no_more_cost(data):
    job = data.draw(OPEN)
    whole = evaluate(job)
    assume(whole.order_is_safe)
    count = data.draw(st.integers(0, len(whole.order)))
    found = next_steps(job, whole.order[:count])
    assert found.can_go_on, found.lost
    assert sorted(found.remaining.order) == sorted(whole.order[count:])
    # The alignments of the whole plan are made, else the cost is that of the whole plan.
    plan = found.result.plan
    if whole.plan.optimal and not whole.plan.judged:
        made = len(whole.plan.timeline.new_alignments) if count else 0
        costs = job.printer.minutes
        minutes = costs.alignment if whole.plan.in_minutes else 1.0
        loads, weight = whole.plan.cost
        assert plan.cost[0] == loads
        assert plan.cost[1] == pytest.approx(weight - made * minutes)


@settings(max_examples=effort(150), deadline=None)
@given(st.data())
def test_it_goes_on_exactly_where_some_order_of_the_rest_is_safe(data):
    """Brute force: every order of the rest, judged as a sequence."""
    job = evolve(data.draw(SMALL), sequence=None)
    ids = [item.id for item in job.items]
    assume(len(ids) <= 5)
    order = data.draw(st.permutations(ids))
    done = tuple(order[: data.draw(st.integers(1, len(ids)))])
    try:
        found = next_steps(job, done)
    except RecordError:
        return
    rest = [name for name in ids if name not in done]
    whole = evaluate(job)
    made = () if whole.plan is None else whole.plan.timeline.new_alignments
    known = evolve(job, alignments=(*job.alignments, *map(Alignment, made)))
    safe = [
        tail
        for tail in permutations(rest)
        if evaluate(evolve(known, sequence=(*done, *tail))).order_is_safe
    ]
    assert found.can_go_on == bool(safe)
    if found.can_go_on:
        assert found.remaining.order in safe
