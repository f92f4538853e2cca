"""Of orders that cost the same the one that stands nearest to the declared order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from signrules.planning.order.attempts import Attempt, Attempts, Order

FEW_ITEMS = 14
"""Ties of longer jobs are left as they are: so many orders would have to be tried."""


def nearest_to_declared(attempts: Attempts, best: Attempt, declared: Order) -> Attempt:
    """The best order with each item, the first declared first, as early as it can come for nothing."""
    if len(declared) > FEW_ITEMS:
        return best
    place = {at: number for number, at in enumerate(declared)}
    for position in range(len(declared)):
        for order in _with_an_earlier_one(best.order, position, place):
            found = attempts.of_order(order, ways=0)
            if found is not None and found.cost <= best.cost:
                best = found
                break
    return best


def _with_an_earlier_one(order: Order, position: int, place: dict[int, int]) -> Iterator[Order]:
    """The orders in which an item that was declared before the one at a position stands there in its place."""
    here = order[position]
    rest: Sequence[int] = order[position + 1 :]
    for at in sorted(rest, key=place.__getitem__):
        if place[at] > place[here]:
            return
        others = tuple(other for other in order[position:] if other != at)
        yield (*order[:position], at, *others)
