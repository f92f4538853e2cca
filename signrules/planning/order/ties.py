"""Choose the order nearest to the declared one among those that cost the same."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.physics.machine import Machine
from signrules.planning.order.attempts import Attempt, Attempts, Order
from signrules.planning.setup_cost import Cost

FEW_ITEMS = 14
"""Ties of longer jobs are left as they are: so many orders would have to be tried."""


LITTLE = 1e-6
"""In minutes, or settings and alignments: far less than any two costs differ."""


def just_above(cost: Cost) -> Cost:
    """A cost above one by so little that what is below it costs no more."""
    return cost[0], cost[1] + LITTLE


def nearest_to_declared(attempts: Attempts, best: Attempt, declared: Order) -> Attempt:
    """The best order with each item, the first declared first, as early as it can come for nothing.

    An item is moved alone, with the rest of its run, or with all that is left of its bed load.
    """
    if len(declared) > FEW_ITEMS:
        return best
    place = {item_index: number for number, item_index in enumerate(declared)}
    for position in range(len(declared)):
        for order in _with_an_earlier_one(attempts.machine, best, position, place):
            attempt = attempts.of_order(order, ways=0, below=just_above(best.cost))
            if attempt is not None:
                best = attempt
                break
    return best


def _with_an_earlier_one(
    machine: Machine, best: Attempt, position: int, place: dict[int, int]
) -> Iterator[Order]:
    """The orders in which an item declared before the one at a position takes its place."""
    order = best.order
    kept, remaining = order[:position], order[position:]
    for item_index in sorted(remaining, key=place.__getitem__):
        # Sorted by declared place, so no further one is declared before the one that stands here.
        if place[item_index] >= place[remaining[0]]:
            return
        load = (
            other for other in remaining if machine.load_of[other] == machine.load_of[item_index]
        )
        together = (item_index, *(other for other in load if other != item_index))
        # Alone an item may cost a setting or a load more, which it does not with those around it.
        for moved in dict.fromkeys(
            ((item_index,), _run_from(best, remaining, item_index, place), together)
        ):
            yield (*kept, *moved, *(other for other in remaining if other not in moved))


def _run_from(best: Attempt, remaining: Order, pass_index: int, place: dict[int, int]) -> Order:
    """The passes of the rest with the head plane of one, that one first, then as declared."""
    printings = best.timeline.printings
    if pass_index not in printings:
        return (pass_index,)
    plane = printings[pass_index].plane
    printed = (other for other in remaining if other in printings)
    level = [other for other in printed if plane.is_level_with(printings[other].plane)]
    return (
        pass_index,
        *sorted((other for other in level if other != pass_index), key=place.__getitem__),
    )
