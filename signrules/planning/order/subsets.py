"""The changeover core where every item is a class of its own: item by item from the front.

Nothing is gained by runs then, and the costs need not obey the triangle inequality. A state is the
set of items done and the last of them (the dynamic programme of Held and Karp, 1962, over the sets
that the precedence allows).
"""

from __future__ import annotations

from signrules.planning.bitmasks import all_of, bits_of, masks_of
from signrules.planning.order.changeover import Changeover, Solved, transposed_masks

Ends = dict[int, tuple[int, int]]
"""For each item that was done last what the cheapest way to it costs, and the item before it."""

Level = dict[int, Ends]
"""For each set of so many items done, as a bitmask, the ways to it."""

NOTHING = -1
"""The item before the first one."""


def cheapest_by_subsets(problem: Changeover, budget: int, least: int) -> Solved:
    """The cheapest order; none where it takes more than `budget` states.

    Then `least` is the bound.
    """
    return _Subsets(problem).solved(budget, least)


class _Subsets:
    def __init__(self, problem: Changeover) -> None:
        self.problem = problem
        self.everything = all_of(len(problem.classes))
        self.before = transposed_masks(problem.after)
        self.of_group = masks_of(problem.groups, max(problem.groups, default=-1) + 1)
        self.grouped = len(set(problem.groups)) > 1

    def solved(self, budget: int, least: int) -> Solved:
        # All sets of one size are done before any larger one, so that each has its cheapest ways.
        levels: list[Level] = [{0: {NOTHING: (0, NOTHING)}}]
        opened = 0
        for _ in self.problem.classes:
            opened += sum(len(ends) for ends in levels[-1].values())
            if opened > budget:
                return Solved(None, None, least, opened)
            levels.append(self._following(levels[-1]))
        cost, last = min((paid, item) for item, (paid, _) in levels[-1][self.everything].items())
        return Solved(self._order(levels, last), cost, cost, opened)

    def _following(self, level: Level) -> Level:
        """The sets of one item more."""
        larger_sets: Level = {}
        for done, ends in level.items():
            for item in bits_of(self.everything & ~done):
                # It depends on what is done and not on the order in which, so that it is asked once
                # a set.
                if self._may_come_next(item, done):
                    best = self._cheapest_before(item, done, ends)
                    if best is not None:
                        larger_sets.setdefault(done | 1 << item, {})[item] = best
        return larger_sets

    def _may_come_next(self, item: int, done: int) -> bool:
        if self.before[item] & ~done:
            return False
        # With the item itself: what it adds counts for whether its own head clears.
        return not any(bar.too_heavy(done | 1 << item) for bar in self.problem.bars[item])

    def _cheapest_before(self, item: int, done: int, ends: Ends) -> tuple[int, int] | None:
        """What an item costs next at the least, and after which one; None where none may be."""
        classes = self.problem.classes
        best: tuple[int, int] | None = None
        for last, (paid, _) in ends.items():
            if last == NOTHING:
                total = paid + self.problem.start[classes[item]]
            elif self.grouped and self._splits(done, last, item):
                continue
            else:
                total = paid + self.problem.cost[classes[last]][classes[item]]
            # Of two that are as cheap the one of the lower item, so that the order is the same each
            # time.
            if best is None or (total, last) < best:
                best = (total, last)
        return best

    def _splits(self, done: int, last: int, item: int) -> bool:
        """Whether going on with an item leaves the group of the last one before it is done."""
        groups = self.problem.groups
        return groups[item] != groups[last] and bool(self.of_group[groups[last]] & ~done)

    def _order(self, levels: list[Level], last: int) -> tuple[int, ...]:
        """The order that ends with an item, from the end on."""
        order: list[int] = []
        done, item = self.everything, last
        for level in reversed(levels[1:]):
            order.append(item)
            _, earlier = level[done][item]
            done, item = done ^ 1 << item, earlier
        return tuple(reversed(order))
