"""Orders tried out: each with its cheapest gaps, replayed, and kept only where it is safe."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from attrs import frozen

from signrules.model.passes import HeadSetting
from signrules.physics.machine import Machine
from signrules.physics.replaying import count_settings, replay_items
from signrules.physics.timeline import Timeline
from signrules.planning.gaps.cheapest import WAYS, CheapestGaps, Rank
from signrules.planning.order.step_trouble import keeps_precedence, trouble_of_steps
from signrules.planning.setup_cost import Cost, Costs

Order = tuple[int, ...]


@frozen(eq=False)
class Attempt:
    """A safe order with a gap for each pass that leaves it open, its replay and its cost."""

    order: Order
    choices: Mapping[int, HeadSetting | None]
    timeline: Timeline
    cost: Cost


class Attempts:
    """Tries orders of one machine; gaps that cost no more than `least` are good enough."""

    def __init__(self, machine: Machine, least: Cost = (0, 0.0)) -> None:
        self.machine, self.least = machine, least
        self._replayed = 0
        self._costs = Costs.of(machine.job.printer.minutes)
        self._gaps = CheapestGaps(machine)

    @property
    def states(self) -> int:
        """How many states were reached so far: items replayed, and the search for their gaps."""
        return self._replayed + self._gaps.states

    def of_order(self, order: Order, ways: int = WAYS, below: Cost | None = None) -> Attempt | None:
        """The order with its cheapest gaps; None where it is unsafe or costs as much as `below`.

        `ways` is for `cheapest_gaps`.
        """
        # The cheapest test first: orders changed at random mostly fail it.
        if not keeps_precedence(self.machine, order):
            return None
        # Loads are known before any gap: an order that takes too many is not looked at further.
        loads = self._loads_of(order)
        limit: Rank | None = None
        if below is not None and loads >= below[0]:
            # With as many loads the gaps must cost less than the rest of `below`; with fewer,
            # anything will do.
            limit = (0, below[1] - self._costs.weight(loads, 0, 0))
            if loads > below[0] or limit[1] <= 0:
                return None
        enough = self.least[1] - self._costs.weight(self.least[0], 0, 0)
        choices = self._gaps.cheaper(order, ways, limit, enough)
        if choices is None:
            self._replayed += len(order)
            return None
        # Most changes to an order cost more settings, which is known before any clearance.
        if below is not None and self._least_cost(order, loads, choices) >= below:
            self._replayed += len(order)
            return None
        found = self.with_gaps(order, choices)
        if found is not None and below is not None and found.cost >= below:
            return None
        return found

    def _loads_of(self, order: Order) -> int:
        """How many bed loads, reloads and flips an order takes."""
        loads = [self.machine.load_of[item_index] for item_index in order]
        known_loads = [load for load in loads if load is not None]
        changes = sum(load != other for load, other in pairwise(known_loads))
        return (
            bool(known_loads)
            + changes
            + sum(self.machine.counts_as_load(item_index) for item_index in order)
        )

    def _least_cost(
        self, order: Order, loads: int, choices: Mapping[int, HeadSetting | None]
    ) -> Cost:
        """What an order costs without its alignments."""
        return loads, self._costs.weight(loads, count_settings(self.machine, order, choices), 0)

    def with_gaps(self, order: Order, choices: Mapping[int, HeadSetting | None]) -> Attempt | None:
        """The order with gaps that are known already."""
        self._replayed += len(order)
        timeline = replay_items(self.machine, order, choices)
        # Gaps are chosen for an order even where a step of it is not safe. The replay has the last
        # word.
        if trouble_of_steps(self.machine, timeline):
            return None
        return Attempt(order, choices, timeline, self._costs.of_timeline(timeline))
