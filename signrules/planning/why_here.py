"""Why each thing of a plan stands where it stands: what doing it one place earlier would cost."""

from __future__ import annotations

from attrs import frozen

from signrules.given_values import demand_given
from signrules.job_graphs import through_handling
from signrules.physics.replaying import replay_items
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.order.step_trouble import trouble_of_steps
from signrules.planning.plan import Plan
from signrules.planning.setup_cost import Cost, Costs


@frozen
class Placing:
    """An item of a plan, and why it does not stand ahead of the one just before it.

    `kind` is `first`, `edge` (one is declared to come before the other or lands on it), `unsafe`
    (the other way round is not safe), `dearer` or `cheaper` (it costs more, or less, which only a
    plan that is not proven can leave), `declared` (it costs the same, and so they are declared) or
    `same` (it costs the same, and they are declared the other way round).
    """

    item: str
    kind: str
    text: str


def account(plan: Plan) -> tuple[Placing, ...]:
    """The placing of each item of a plan, in order.

    Each is answered by replaying the plan with the item and the one before it exchanged, so it
    takes as many replays as there are items.
    """
    demand_given("account", (plan, Plan))
    declared = plan.timeline.machine.declared_order()
    place = {item_index: number for number, item_index in enumerate(declared)}
    return tuple(_placing(plan, position, place) for position in range(len(plan.timeline.order)))


def _placing(plan: Plan, position: int, declared: dict[int, int]) -> Placing:
    machine, order = plan.timeline.machine, plan.timeline.order
    name = machine.items[order[position]].id
    if not position:
        return Placing(name, "first", f"{name} comes first")
    before, own_item = order[position - 1], order[position]
    other = machine.items[before].id
    for edge in (*machine.precedence, *through_handling(machine)):
        if (edge.before, edge.then) == (before, own_item):
            return Placing(name, "edge", edge.said)
    # Nothing declared keeps them in this order, so what an exchange would bring is looked at.
    exchanged = (*order[: position - 1], own_item, before, *order[position + 1 :])
    # With gaps of its own: those of the plan were chosen for the plan's order.
    timeline = replay_items(machine, exchanged, cheapest_gaps(machine, exchanged))
    trouble = trouble_of_steps(machine, timeline)
    if trouble:
        return Placing(name, "unsafe", f"ahead of {other}, {trouble}")
    cost = Costs.of(machine.job.printer.minutes).of_timeline(timeline)
    if cost != plan.cost:
        kind = "dearer" if cost > plan.cost else "cheaper"
        return Placing(name, kind, f"ahead of {other} it would take {_difference(plan, cost)}")
    kind = "declared" if declared[before] < declared[own_item] else "same"
    return Placing(name, kind, f"ahead of {other} it would cost the same")


def _difference(plan: Plan, cost: Cost) -> str:
    """What another order takes more or less than a plan, in words: loads, else all the rest."""
    if cost[0] != plan.cost[0]:
        return _more(cost[0] - plan.cost[0], "bed loads")
    unit = "minutes of set-up" if plan.in_minutes else "gap settings and alignments"
    return _more(cost[1] - plan.cost[1], unit)


def _more(count: float, unit: str) -> str:
    which = "more" if count > 0 else "less"
    return f"{abs(count):g} {unit} {which}"
