"""The exact search for the cheapest safe order, over passes, handling and gaps step by step.

Best first (A*) over what has been done, with the least that is left as bound. Of sheets that are
alike only the count matters: two states that differ by which of them got how far are one. The bound
never says too much, but it may say less after a move than before it, so a state that comes up again
at less cost is looked at once more. Nothing that costs as much as a plan that is known already is
looked at, so where the search ends by itself, that plan or the one it found is proven.
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable

from attrs import frozen

from signrules.model.passes import HeadSetting
from signrules.physics.machine import Machine
from signrules.planning.bitmasks import all_of, bits_of
from signrules.planning.order.bounds import Head, LeastLeft
from signrules.planning.order.next_items import NextItem, NextItems, State
from signrules.planning.order.twins import TwinStates
from signrules.planning.setup_cost import Cost

Choices = dict[int, HeadSetting | None]
"""For each pass with an open gap the gap that is set for it, or None where the head plane is kept.
"""


@frozen
class Searched:
    """What came of a search.

    `order` is None where no order was found that costs less than what was known; `bound` is what
    any order costs at the least, None where there is none at all. `ended` says whether everything
    was looked at.
    """

    order: tuple[int, ...] | None
    choices: Choices
    bound: Cost | None
    states: int
    ended: bool


@frozen
class _Way:
    """How a state was reached: the move and the way before it."""

    move: NextItem
    earlier: _Way | None


class StepSearch:
    """A search over some of the items of a machine: the bitmask `active`, else all of them.

    `thorough` says which gaps are tried for open ones, see `OpenGaps`: without it nothing is proven
    by the search's end, though what it finds counts.
    """

    def __init__(
        self, machine: Machine, active: int | None = None, *, thorough: bool = True
    ) -> None:
        self.machine = machine
        everything = all_of(len(machine.items))
        self.active = everything if active is None else active
        self.next_items = NextItems(machine, self.active, thorough=thorough)
        self.least = LeastLeft(machine, bits_of(self.active))
        self.twins = TwinStates(machine, self.active, self.next_items)

    def cheapest(self, most_states: int, below: Cost | None = None) -> Searched:
        """The cheapest order, if any costs less than `below`, within about `most_states` states."""
        return self._search(most_states, below, cheapest=True)

    def any_order(self, most_states: int) -> Searched:
        """Any safe order; the bound says nothing where one is found."""
        return self._search(most_states, None, cheapest=False)

    def _search(self, most_states: int, below: Cost | None, *, cheapest: bool) -> Searched:
        start = State()
        bound = self._bound(start, 0, 0)
        queue: list[tuple[Cost, int, int, State, int, int, _Way | None]] = []
        # The least bound at which each state has been queued. Twin states share a name here, so of
        # those only one is opened.
        best: dict[Hashable, Cost] = {self.twins.key(start): bound}
        states = serial = 0
        if below is None or bound < below:
            queue.append((bound, self.active.bit_count(), serial, start, 0, 0, None))
        while queue:
            bound, _, _, state, loads, settings, way = heapq.heappop(queue)
            # It has been reached for less since it was put into the queue.
            if bound > best[self.twins.key(state)]:
                continue
            # Where the cheapest is looked for, all that still waits has at least this bound, and
            # with nothing left the bound is the cost.
            if state.done == self.active:
                return self._found(way, bound, states)
            # The least bound of all that waits: no order that is still open costs less.
            if states >= most_states:
                return Searched(None, {}, bound, states, ended=False)
            repeated = self.twins.repeated(state)
            for move in self.next_items.following(state):
                # An alike sheet got as far: the same done to that one leads to a state of the same
                # name.
                if repeated >> move.item_index & 1:
                    continue
                states += 1
                after, taken = move.after, (loads + move.loads, settings + move.settings)
                name_after = self.twins.key(after)
                cost = self._bound(after, *taken)
                # The bound never says too much, so nothing that follows on this state can come out
                # cheaper.
                if below is not None and cost >= below:
                    continue
                remaining = (self.active & ~after.done).bit_count()
                # For any order at all, whoever has least left goes first: depth first, in effect.
                if not cheapest:
                    cost = (remaining, 0.0)
                if name_after not in best or cost < best[name_after]:
                    best[name_after] = cost
                    # The serial number keeps states from being compared, which have no order.
                    serial += 1
                    onward = _Way(move, way)
                    heapq.heappush(queue, (cost, remaining, serial, after, *taken, onward))
        # All that was left out costs at least `below`. Without such a limit nothing was left out,
        # and there is no safe order with the gaps that are tried.
        return Searched(None, {}, below, states, ended=True)

    def _bound(self, state: State, loads: int, settings: int) -> Cost:
        left = self.active & ~state.done
        head = Head(self.next_items.height(state), state.stated)
        return self.least.cost(left, loads, settings, state.load, head, state.needs)

    def _found(self, way: _Way | None, bound: Cost, states: int) -> Searched:
        order: list[int] = []
        choices: Choices = {}
        while way is not None:
            item_index = way.move.item_index
            order.append(item_index)
            if self.machine.is_pass(item_index) and self.machine.job.passes[item_index].gap is None:
                choices[item_index] = way.move.gap
            way = way.earlier
        return Searched(tuple(reversed(order)), choices, bound, states, ended=True)
