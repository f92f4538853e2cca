"""Orders tried out: each with its cheapest gaps, replayed, and kept only where it is safe."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from signrules.model.passes import Gap
from signrules.physics.machine import Machine
from signrules.physics.timeline import Timeline, replay
from signrules.planning.costs import Cost, Costs
from signrules.planning.gaps.cheapest import CheapestGaps
from signrules.planning.order.soundness import keeps_precedence, trouble_of_steps

Order = tuple[int, ...]


@frozen(eq=False)
class Attempt:
    """A safe order with the gaps of the passes that leave theirs open, its replay and what it costs."""

    order: Order
    choices: Mapping[int, Gap | None]
    timeline: Timeline
    cost: Cost


class Attempts:
    """Tries orders of one machine, each once; `tried` counts the items that were replayed."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.tried = 0
        self._costs = Costs.of(machine.job.printer.minutes)
        self._gaps = CheapestGaps(machine)
        self._known: dict[Order, Attempt | None] = {}

    def of_order(self, order: Order) -> Attempt | None:
        """The order with its cheapest gaps; None where it is not safe."""
        if order not in self._known:
            self._known[order] = None
            if keeps_precedence(self.machine, order):
                self._known[order] = self.with_gaps(order, self._gaps.of_order(order))
        return self._known[order]

    def with_gaps(self, order: Order, choices: Mapping[int, Gap | None]) -> Attempt | None:
        """The order with gaps that are known already."""
        self.tried += len(order)
        timeline = replay(self.machine, order, choices)
        if trouble_of_steps(self.machine, timeline):
            return None
        return Attempt(order, choices, timeline, self._costs.of_timeline(timeline))
