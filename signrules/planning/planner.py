"""From a machine to a plan or a conflict."""

from __future__ import annotations

from attrs import frozen

from signrules.physics.machine import Machine
from signrules.physics.timeline import Timeline, replay
from signrules.planning.conflicts import explain_conflict, gave_up
from signrules.planning.costs import Costs
from signrules.planning.judging import cheapest_gaps
from signrules.planning.plan import Conflict, Plan
from signrules.planning.search import Cost, Found, Search

BUDGET = 200_000
"""States that one search opens at the most: a count and not a time, so that no answer depends on the machine."""


@frozen(eq=False)
class Outcome:
    """A plan or a conflict, never both, and the replay on which the rules judge: the plan's or the declared order's."""

    plan: Plan | None
    conflict: Conflict | None
    timeline: Timeline


def plan_job(machine: Machine, budget: int = BUDGET) -> Outcome:
    """The cheapest safe order, the job's own sequence replayed, or the reason why no order is safe."""
    found = Search(machine).run(budget)
    if machine.job.sequence is not None:
        return _judged(machine, found)
    if found.order is None and not found.exhausted:
        quick = Search(machine).run(budget, any_order=True)
        if quick.order is None:
            conflict = gave_up(machine, budget)
            return Outcome(None, conflict, replay_order(machine, machine.declared_order()))
        found = Found(quick.order, quick.choices, False, found.bound, found.expansions + quick.expansions)
    if found.order is None:
        return Outcome(None, explain_conflict(machine, budget), replay_order(machine, machine.declared_order()))
    timeline = replay(machine, found.order, found.choices)
    plan = _plan(machine, timeline, found.bound, optimal=found.optimal)
    return Outcome(plan, None, timeline)


def replay_order(machine: Machine, order: tuple[int, ...]) -> Timeline:
    """An order as it stands, with the cheapest gaps for the passes that leave theirs open."""
    return replay(machine, order, cheapest_gaps(machine, order))


def _judged(machine: Machine, best: Found) -> Outcome:
    assert machine.job.sequence is not None
    timeline = replay_order(machine, tuple(machine.index[name] for name in machine.job.sequence))
    return Outcome(_plan(machine, timeline, best.bound, optimal=False, judged=True), None, timeline)


def _plan(machine: Machine, timeline: Timeline, bound: Cost | None, *, optimal: bool, judged: bool = False) -> Plan:
    costs = Costs.of(machine.job.printer.minutes)
    loads, weight = costs.of_timeline(timeline)
    least_loads, least_weight = (loads, weight) if bound is None else bound
    return Plan(
        timeline,
        loads,
        weight if costs.stated else None,
        optimal,
        (least_loads, least_weight if costs.stated else None),
        judged,
    )
