"""Gaps for an order that is given: the cheapest ones, even where a step of the order cannot be made safe."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from attrs import frozen

from signrules.model.passes import Gap
from signrules.physics.machine import Machine
from signrules.planning.search import Search, State

BUDGET = 20_000
"""Ways that are followed at the most before only the best few of each step are kept."""

WIDTH = 64


@frozen(order=True)
class _Way:
    """A way through the first steps of an order: unsafe steps, set-up so far, the gaps taken."""

    unsafe: int
    weight: float
    path: tuple[int, ...]
    settings: int


def cheapest_gaps(machine: Machine, order: Sequence[int], budget: int = BUDGET) -> dict[int, Gap | None]:
    """What each "auto" pass should be given in an order: fewest unsafe steps first, then least set-up.

    None in the result keeps the head plane as it stands. Past `budget` ways, only the best of each step are followed.
    """
    search = Search(machine)
    path = _best_first(search, order, budget) or _beam(search, order)
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


def _beam(search: Search, order: Sequence[int]) -> tuple[int, ...]:
    ways = {State(): _Way(0, 0.0, (), 0)}
    for at in order:
        found: dict[State, _Way] = {}
        for state, way in ways.items():
            for onward, after in _onward(search, way, state, at):
                if after not in found or onward < found[after]:
                    found[after] = onward
        ways = dict(sorted(found.items(), key=lambda one: one[1])[:WIDTH])
    return min(ways.values()).path
