"""The changeover core: which order of many items needs the cheapest changes of set-up.

Items have a class (their set-up), come after others, and may be barred once too much stands before
them. Everything is integers: sets are bitmasks, so sums and comparisons are exact and no order of
hashing matters. `solver.py` solves it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from attrs import frozen

from signrules.planning.bitmasks import bits_of, lowest_bit, union_of


@frozen(eq=False)
class Stack:
    """Items that weigh on one place: pairs of a weight and the bitmask of the items that have it.

    Many bars share a stack, and many items a bar, so each is kept once and told from others by
    which object it is.
    """

    weights: tuple[tuple[int, int], ...]

    @cached_property
    def items(self) -> int:
        """All that weigh on the place, as a bitmask."""
        return union_of(mask for _, mask in self.weights)

    @cached_property
    def _first(self) -> int:
        return lowest_bit(self.items) if self.items else 0

    @cached_property
    def _from_first(self) -> tuple[tuple[int, int], ...]:
        """The weights from the first item on: items that are close together take small numbers."""
        return tuple((weight, mask >> self._first) for weight, mask in self.weights)

    def weight(self, standing: int) -> int:
        """What those items weigh together that stand."""
        # Masks of very many items are long numbers, and most stacks lie in a short stretch of them.
        standing >>= self._first
        total = 0
        for weight, mask in self._from_first:
            total += weight * (standing & mask).bit_count()
        return total


@frozen(eq=False)
class Bar:
    """A limit: an item may not be done where one of some stacks then weighs more than `most`.

    What the item adds counts.
    """

    most: int
    stacks: tuple[Stack, ...]

    def too_heavy(self, standing: int) -> Stack | None:
        """The first stack that weighs too much when `standing` is done.

        None where an item may be the last of that.
        """
        return next((stack for stack in self.stacks if stack.weight(standing) > self.most), None)


@frozen
class Changeover:
    """A problem: each item's class and group, what must come after it, and its bars.

    `cost[a][b]` is what it takes to change from class a to class b, `start[a]` to begin with a;
    both obey the triangle inequality (`closed` sees to it). The items of a group stand together
    in one stretch of the order.
    """

    classes: tuple[int, ...]
    groups: tuple[int, ...]
    after: tuple[int, ...]
    bars: tuple[tuple[Bar, ...], ...]
    cost: tuple[tuple[int, ...], ...]
    start: tuple[int, ...]


@frozen
class Solved:
    """An order with its cost, and what any order costs at the least.

    Both are None where there is no order, or none was found. `stuck` is a bitmask of items of which
    none may stand last among them: a proof that there is no order.
    """

    order: tuple[int, ...] | None
    cost: int | None
    bound: int
    expansions: int
    stuck: int = 0


def closed_costs(
    cost: Sequence[Sequence[int]], start: Sequence[int]
) -> tuple[tuple[tuple[int, ...], ...], tuple[int, ...]]:
    """The cost of each change and each start, by way of any other classes if that is cheaper.

    The first is the algorithm of Floyd and Warshall.
    """
    # The solver relies on it that an order gets no dearer when an item is dropped from it.
    best = [list(row) for row in cost]
    for via in range(len(best)):
        for row in best:
            for to, onward in enumerate(best[via]):
                row[to] = min(row[to], row[via] + onward)
    first = tuple(
        min(start[to], min(start[via] + best[via][to] for via in range(len(best))))
        for to in range(len(best))
    )
    return tuple(tuple(row) for row in best), first


def all_behind(after: Sequence[int], before: Sequence[int]) -> list[int]:
    """For each item the bitmask of all that comes behind it.

    `before` is `after` transposed, and has no cycle.
    """
    missing = [mask.bit_count() for mask in after]
    ready = [item for item, count in enumerate(missing) if not count]
    behind = [0] * len(missing)
    while ready:
        item = ready.pop()
        reach = 1 << item | behind[item]
        for earlier in bits_of(before[item]):
            behind[earlier] |= reach
            missing[earlier] -= 1
            if not missing[earlier]:
                ready.append(earlier)
    return behind


def transposed_masks(after: Sequence[int]) -> list[int]:
    """For each item the bitmask of what must come before it."""
    before = [0] * len(after)
    for item, mask in enumerate(after):
        for later in bits_of(mask):
            before[later] |= 1 << item
    return before


def ends_among(problem: Changeover, candidates: int, left: int) -> list[int]:
    """Those of the candidates that nothing left must follow."""
    return [item for item in bits_of(candidates) if not problem.after[item] & left]
