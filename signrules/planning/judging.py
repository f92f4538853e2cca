"""Gaps for an order that is given: the cheapest ones, even where a step of the order cannot be made safe."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from attrs import frozen

from signrules.physics.machine import Machine
from signrules.planning.keeping import Choices, kept_longest
from signrules.planning.search import Search, State

BUDGET = 20_000
"""Ways that are followed at the most before the quick choice must do."""


@frozen(order=True)
class _Way:
    """A way through the first steps of an order: unsafe steps, set-up so far, the gaps taken."""

    unsafe: int
    weight: float
    path: tuple[int, ...]
    settings: int


def cheapest_gaps(machine: Machine, order: Sequence[int], budget: int = BUDGET) -> Choices:
    """What each "auto" pass should be given in an order: fewest unsafe steps first, then least set-up.

    None in the result keeps the head plane as it stands. Where more than `budget` ways would have to be followed, the
    head plane is kept as long as any gap allows it.
    """
    if not machine.has_open_gaps:
        return {}
    search = Search(machine)
    # A step of a long order takes longer, and an order of n steps has at least n.
    most = min(budget, budget * 100 // max(len(order), 1))
    path = _best_first(search, order, most) if len(order) <= most else None
    if path is None:
        return kept_longest(machine, order)
    return {
        at: search.gap_of(at, number)
        for at, number in zip(order, path, strict=True)
        if machine.is_pass(at) and machine.job.passes[at].gap is None
    }


def _onward(search: Search, way: _Way, state: State, at: int) -> list[tuple[_Way, State]]:
    found = []
    for number, after, paid, unsafe in search.forced(state, at):
        settings = way.settings + paid
        weight = search.costs.weight(0, settings, search.alignments_to_make(after))
        found.append((_Way(way.unsafe + unsafe, weight, (*way.path, number), settings), after))
    return found


def _best_first(search: Search, order: Sequence[int], budget: int) -> tuple[int, ...] | None:
    start = (_Way(0, 0.0, (), 0), 0, State())
    queue = [start]
    closed: set[State] = set()
    counter = 0
    while True:  # There is a way through every order, safe or not.
        way, _, state = heapq.heappop(queue)
        if state in closed:
            continue
        closed.add(state)
        if len(way.path) == len(order):
            return way.path
        for onward, after in _onward(search, way, state, order[len(way.path)]):
            counter += 1
            heapq.heappush(queue, (onward, counter, after))
        if counter > budget:
            return None
