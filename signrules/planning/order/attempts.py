"""Orders tried out: each with its cheapest gaps, replayed, and kept only where it is safe."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from signrules.model.passes import Gap
from signrules.physics.machine import Machine
from signrules.physics.timeline import Timeline, replay
from signrules.planning.costs import Cost, Costs
from signrules.planning.gaps.cheapest import WAYS, CheapestGaps
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
    """Tries orders of one machine."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self._replayed = 0
        self._costs = Costs.of(machine.job.printer.minutes)
        self._gaps = CheapestGaps(machine)

    @property
    def states(self) -> int:
        """How many states were reached so far: items replayed, and the search for their gaps."""
        return self._replayed + self._gaps.states

    def of_order(self, order: Order, ways: int = WAYS) -> Attempt | None:
        """The order with its cheapest gaps; None where it is not safe. `ways` is for `cheapest_gaps`."""
        if not keeps_precedence(self.machine, order):
            return None
        return self.with_gaps(order, self._gaps.of_order(order, ways))

    def with_gaps(self, order: Order, choices: Mapping[int, Gap | None]) -> Attempt | None:
        """The order with gaps that are known already."""
        self._replayed += len(order)
        timeline = replay(self.machine, order, choices)
        if trouble_of_steps(self.machine, timeline):
            return None
        return Attempt(order, choices, timeline, self._costs.of_timeline(timeline))
