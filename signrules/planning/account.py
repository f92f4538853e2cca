"""Why each thing of a plan stands where it stands: what would come of doing it one place earlier."""

from __future__ import annotations

from attrs import frozen

from signrules.graph import through_handling
from signrules.physics.timeline import replay
from signrules.planning.costs import Costs
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.order.soundness import trouble_of_steps
from signrules.planning.plan import Plan


@frozen
class Place:
    """An item of a plan, the one just before it, and why they do not stand the other way round.

    `kind` is `first`, `edge` (one is declared to come before the other or lands on it), `unsafe` (the other way round
    is not safe), `saving` (it costs more), or `declared` (it costs the same, and the declared order decides).
    """

    item: str
    kind: str
    text: str


def account(plan: Plan) -> tuple[Place, ...]:
    """A place for each item of a plan, in order.

    Each is answered by replaying the plan with the item and the one before it exchanged, so it takes as many replays
    as there are items.
    """
    return tuple(_place(plan, position) for position in range(len(plan.timeline.order)))


def _place(plan: Plan, position: int) -> Place:
    machine, order = plan.timeline.machine, plan.timeline.order
    name = machine.items[order[position]].id
    if not position:
        return Place(name, "first", f"{name} comes first")
    before, here = order[position - 1], order[position]
    other = machine.items[before].id
    for edge in (*machine.precedence, *through_handling(machine)):
        if (edge.before, edge.then) == (before, here):
            return Place(name, "edge", edge.said)
    exchanged = (*order[: position - 1], here, before, *order[position + 1 :])
    timeline = replay(machine, exchanged, cheapest_gaps(machine, exchanged))
    trouble = trouble_of_steps(machine, timeline)
    if trouble:
        return Place(name, "unsafe", f"ahead of {other}, {trouble}")
    loads, weight = Costs.of(machine.job.printer.minutes).of_timeline(timeline)
    if loads != plan.cost[0]:
        return Place(
            name, "saving", f"ahead of {other} it would take {loads - plan.cost[0]:+d} bed loads"
        )
    if weight != plan.cost[1]:
        unit = "minutes of set-up" if plan.in_minutes else "gap settings and alignments"
        return Place(
            name, "saving", f"ahead of {other} it would take {weight - plan.cost[1]:+g} {unit}"
        )
    return Place(name, "declared", f"ahead of {other} it would cost the same")
