"""The items of an order that the changeover core knows as runs."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain

from signrules.planning.bitmasks import all_of, bits_of
from signrules.planning.order.changeover import (
    Bar,
    Changeover,
    Stack,
    ends_among,
    transposed_masks,
)

Run = tuple[int, int]
"""A class, and the bitmask of its items that stand together."""


def items_of_runs(problem: Changeover, runs: Sequence[Run]) -> tuple[int, ...]:
    """The items in order; within a run the first declared comes as early as it may.

    `runs` come from the end of the order: the last of it first.
    """
    before, bars = transposed_masks(problem.after), problem.bars
    items_left = all_of(len(problem.classes))
    # Followed from item to item: to weigh every stack again for each of them would take far longer.
    weights, weighed = _weights_of_stacks(problem, items_left)
    backwards = []
    for _, run in runs:
        # From the end the last declared goes first; a heap gives the least.
        ready = [-item for item in ends_among(problem, run, items_left)]
        heapq.heapify(ready)
        waiting: dict[Stack, list[int]] = {}
        while ready:
            item = -heapq.heappop(ready)
            heavy = _first_too_heavy(bars[item], weights)
            if heavy is not None:
                waiting.setdefault(heavy, []).append(item)
                continue
            backwards.append(item)
            items_left ^= 1 << item
            for stack, weight in weighed[item]:
                weights[stack] -= weight
                # Whoever waits for this stack may have room now.
                for other in waiting.pop(stack, ()):
                    heapq.heappush(ready, -other)
            for earlier in ends_among(problem, before[item] & run & items_left, items_left):
                heapq.heappush(ready, -earlier)
        # The solver found that the run may stand last, so one of the two would be wrong.
        if items_left & run:
            raise AssertionError("a run that cannot stand last")
    return tuple(reversed(backwards))


def _weights_of_stacks(
    problem: Changeover, standing: int
) -> tuple[dict[Stack, int], list[list[tuple[Stack, int]]]]:
    """What each stack weighs with all that stands, and for each item what it adds to which."""
    weights: dict[Stack, int] = {}
    weighed: list[list[tuple[Stack, int]]] = [[] for _ in problem.classes]
    bars = dict.fromkeys(chain.from_iterable(problem.bars))
    for stack in dict.fromkeys(chain.from_iterable(bar.stacks for bar in bars)):
        weights[stack] = stack.weight(standing)
        for weight, mask in stack.weights:
            for item in bits_of(mask):
                weighed[item].append((stack, weight))
    return weights, weighed


def _first_too_heavy(bars: Iterable[Bar], weights: Mapping[Stack, int]) -> Stack | None:
    """The first stack that weighs more than its bar allows; None where none does."""
    for bar in bars:
        for stack in bar.stacks:
            if weights[stack] > bar.most:
                return stack
    return None
