"""The plan of a job, or the reason why no order is safe."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.physics.timeline import Timeline
from signrules.planning.bitmasks import bits_of
from signrules.planning.conflict.finding import (
    conflict_of_many,
    gave_up,
)
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.gaps.own_sheet import over_own_sheet
from signrules.planning.order.attempts import Attempt, Order
from signrules.planning.order.canonical import Canonical, as_declared, canonical_machine
from signrules.planning.pipeline import BUDGET, Pipeline
from signrules.planning.plan import Conflict, Plan
from signrules.planning.predecessors import LARGE
from signrules.planning.setup_cost import Costs


@frozen(eq=False)
class Outcome:
    """A plan or a conflict, never both, and the replay on which the rules judge.

    That is the plan's, else that of the declared order. `states` is how many states were reached
    for it.
    """

    plan: Plan | None
    conflict: Conflict | None
    timeline: Timeline
    states: int = 0


def plan_job(machine: Machine, budget: int = BUDGET, known: Outcome | None = None) -> Outcome:
    """The cheapest safe order, the job's own sequence replayed, or the reason why no order is safe.

    `known` is what came of a job with the same items: its order is tried among the first.
    """
    # So many items are only ordered greedily, and to sort them would take a tenth of that again.
    view = canonical_machine(machine) if len(machine.items) <= LARGE else as_declared(machine)
    declared = view.from_origin(machine.declared_order())
    pipeline = Pipeline(view.machine, declared, budget)
    best = pipeline.run([view.from_origin(order) for order in _known_orders(machine, known)])
    if machine.job.sequence is not None:
        # A sequence is judged as the job has it; what was planned only stands beside it.
        order = tuple(machine.index[name] for name in machine.job.sequence)
        chosen_plan = None if best is None else _plan_of(view, pipeline, best)
        judged = _judged_sequence(machine, order, chosen_plan)
        return Outcome(judged, None, judged.timeline, pipeline.states)
    if best is None:
        # Rules other than the order can still be judged, on the order that the author had in mind.
        timeline = replay_order(machine, machine.declared_order())
        conflict = _conflict_of(view, pipeline)
        return Outcome(None, conflict, timeline, pipeline.states)
    plan = _plan_of(view, pipeline, best)
    return Outcome(plan, None, plan.timeline, pipeline.states)


def replay_order(machine: Machine, order: Order) -> Timeline:
    """An order as it stands, with the cheapest gaps for the passes that leave theirs open.

    A plane is set over the sheet that is printed on where that costs nothing.
    """
    choices = cheapest_gaps(machine, order)
    timeline = replay_items(machine, order, choices)
    own_choices = over_own_sheet(machine, order, choices, timeline)
    if own_choices == choices:
        return timeline
    return replay_items(machine, order, own_choices)


def _known_orders(machine: Machine, known: Outcome | None) -> Iterator[Order]:
    """The job's own sequence, beside which no dearer plan should stand; the order of an earlier
    plan, if it is one of the same items.
    """
    if machine.job.sequence is not None:
        yield tuple(machine.index[name] for name in machine.job.sequence)
    if known is not None and known.plan is not None:
        names = known.plan.order
        # A pass that came or went since then leaves nothing to try.
        if set(names) == machine.index.keys():
            yield tuple(machine.index[name] for name in names)


# --- plans and conflicts --------------------------------------------------------------------------


def _plan_of(view: Canonical, pipeline: Pipeline, best: Attempt) -> Plan:
    """The plan of an order that was found in canonical order."""
    machine = view.origin
    order, choices = view.to_origin(best.order), view.choices_to_origin(best.choices)
    # The replay of the copy has other numbers for its items.
    timeline = best.timeline
    if machine is not view.machine:
        timeline = replay_items(machine, order, choices)
    costs = Costs.of(machine.job.printer.minutes)
    cost = costs.of_timeline(timeline)
    # Bound and cost are sums of floats made in two ways; the bound must not come out above.
    least_cost = min(pipeline.least, cost)
    return Plan(timeline, cost, least_cost, cost <= pipeline.least, costs.stated)


def _judged_sequence(machine: Machine, order: Order, best: Plan | None) -> Plan:
    """The replay of a sequence that the job brought along, with the best plan beside it."""
    timeline = replay_order(machine, order)
    costs = Costs.of(machine.job.printer.minutes)
    least_cost = None if best is None else best.least
    return Plan(timeline, costs.of_timeline(timeline), least_cost, False, costs.stated, True, best)


def _conflict_of(view: Canonical, pipeline: Pipeline) -> Conflict:
    """Why there is no order, in words of the document."""
    from signrules.planning.conflict.conflict_words import conflict_in_words

    if pipeline.deadlock is not None:
        members = sorted(view.to_origin(bits_of(pipeline.deadlock.items)))
        return conflict_in_words(view.origin, members, smallest=pipeline.deadlock.is_smallest)
    if pipeline.stuck_of_many:
        return conflict_of_many(view.origin, pipeline.stuck_of_many, LARGE)
    return gave_up(view.origin, pipeline.states)
