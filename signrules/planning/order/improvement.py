"""Small changes that make a safe order cheaper: a run moved to another, or a pass out of its run.

A run is a stretch of passes with one head plane. What saves set-up is that a run is joined with
another one, or that its passes find a place in other runs one by one. The first change that makes
the order cheaper is taken, and it goes on from there until none does or as much was tried as may
be.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.physics.planes import HeadPlane
from signrules.planning.order.attempts import Attempt, Attempts, Order
from signrules.planning.setup_cost import Cost


@frozen
class Stretch:
    """The stretch from `start` up to `stop` of an order."""

    start: int
    stop: int


def improved_order(
    attempts: Attempts, best: Attempt, least: Cost, most_states: int, ways: int = 0
) -> Attempt:
    """The cheapest order found from one by small changes; one that costs `least` is left as it is.

    `most_states` is how many states may be reached for it, `ways` how closely the gaps of each
    changed order are looked at.
    """
    end = attempts.states + most_states
    seen = {best.order}
    better: Attempt | None = best
    while better is not None:
        best, better = better, None
        for order in _changed_orders(best):
            if best.cost <= least or attempts.states >= end:
                return best
            # From a better order many of the same changes lead to orders that were tried already.
            if order in seen:
                continue
            seen.add(order)
            better = attempts.of_order(order, ways, below=best.cost)
            if better is not None:
                break
    return best


def _changed_orders(best: Attempt) -> Iterator[Order]:
    """The orders to try: runs moved, the shortest first; then single items of short runs moved."""
    # Short runs first: whoever is alone in its run gains most by joining another one.
    runs = sorted(_runs_of_order(best), key=lambda run: (run.stop - run.start, run.start))
    for run in runs:
        for other in runs:
            if other is not run:
                yield _stretch_moved(best.order, run, other.start)
                yield _stretch_moved(best.order, run, other.stop)
    for run in runs:
        for position in range(run.start, run.stop):
            alone = Stretch(position, position + 1)
            for other in runs:
                if other is not run:
                    yield _stretch_moved(best.order, alone, other.start)
                    yield _stretch_moved(best.order, alone, other.stop)


def _stretch_moved(order: Order, run: Stretch, to: int) -> Order:
    """The order with a stretch of it moved before place `to`, which lies outside of it."""
    piece, rest = order[run.start : run.stop], (*order[: run.start], *order[run.stop :])
    # The piece is taken out before it is put in, which moves the place to the front.
    if to >= run.stop:
        to -= len(piece)
    return (*rest[:to], *piece, *rest[to:])


def _runs_of_order(best: Attempt) -> list[Stretch]:
    """The stretches of an order with one head plane; handling belongs to the run before it."""
    starts = [0]
    plane: HeadPlane | None = None
    for position, item_index in enumerate(best.order):
        printing = best.timeline.printings.get(item_index)
        if printing is None:
            continue
        if plane is not None and not printing.plane.is_level_with(plane):
            starts.append(position)
        plane = printing.plane
    stops = [*starts[1:], len(best.order)]
    return [Stretch(start, stop) for start, stop in zip(starts, stops, strict=True)]
