"""Gaps for an order that is given: the cheapest ones, even where a step of the order cannot be made safe."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.model.passes import Gap
from signrules.physics.machine import Machine
from signrules.planning.search import Search, State

Badness = tuple[int, float]


def cheapest_gaps(machine: Machine, order: Sequence[int]) -> dict[int, Gap | None]:
    """What each "auto" pass should be given in an order: fewest unsafe steps first, then least set-up.

    None in the result keeps the head plane as it stands.
    """
    search = Search(machine)
    ways: dict[State, tuple[Badness, tuple[int, ...], int]] = {State(): ((0, 0.0), (), 0)}
    for at in order:
        found: dict[State, tuple[Badness, tuple[int, ...], int]] = {}
        for state, (cost, path, gaps) in ways.items():
            for number, after, paid, unsafe in search.forced(state, at):
                weight = search.costs.weight(0, gaps + paid, search.alignments_to_make(after))
                way = ((cost[0] + unsafe, weight), (*path, number), gaps + paid)
                if after not in found or way < found[after]:
                    found[after] = way
        ways = found
    _, path, _ = min(ways.values())
    return {
        at: search.gap_of(at, number)
        for at, number in zip(order, path, strict=True)
        if machine.is_pass(at) and machine.job.passes[at].gap is None
    }
