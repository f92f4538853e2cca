"""Solves the changeover core.

A bar only ever gets worse as more is done, so the order is built from its end: whatever may stand
last can be put last without losing a solution (Lawler's back-to-front rule, 1973, for one machine
with precedence), and of a class that is to stand last it is never worse to take all that may
(dropping items from the rest of an order keeps it sound, and with costs that obey the triangle
inequality never makes it dearer). So the search goes over runs of one class, from the back; a state
is the set of items left and the class that follows.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping

from attrs import frozen

from signrules.planning.bitmasks import all_of, as_mask, bits_of, masks_of, union_of
from signrules.planning.order.changeover import (
    Bar,
    Changeover,
    Solved,
    Stack,
    all_behind,
    ends_among,
    transposed_masks,
)
from signrules.planning.order.run_items import Run, items_of_runs
from signrules.planning.order.subsets import cheapest_by_subsets

WIDTHS = (1, 8, 24, 64, 256)
"""How many states the beams keep after each run, one beam after another."""

BEAM_STATES = 1_000
"""So many states the widest beam may keep, however few the search for the proof may open."""

ARCHIVE = 2_000
"""How many states of each class are kept for the comparison of subsets."""


Kept = tuple[int, int, int | None]
"""A state in the archive: the items left, what it cost to come there, and the group begun."""


@frozen(eq=False)
class _Tail:
    """What may stand last of some items, and what only bars keep from it.

    The latter stand by the stack that is too heavy.
    """

    items: int
    barred: Mapping[Stack, int]


class Solver:
    """Solves one problem, or the part of it that a bitmask of items says."""

    def __init__(self, problem: Changeover) -> None:
        self.problem = problem
        self.everything = all_of(len(problem.classes))
        self.class_count = len(problem.start)
        self.of_class = masks_of(problem.classes, self.class_count)
        self.of_group = masks_of(problem.groups, max(problem.groups, default=-1) + 1)
        self.before = transposed_masks(problem.after)
        # The stack that was too heavy the last time is asked first the next time: it mostly is
        # still.
        self._suspects: dict[Bar, Stack] = {}

    # --- is there an order at all -----------------------------------------------------------------

    def stuck(self, active: int) -> int:
        """The items of `active` left when no further one may stand last; 0 if there is an order.

        With one group it is a proof that there is none. With several it proves that no order keeps
        them together: of those groups that are left, none can stand last as a whole.
        """
        left = active
        pending = [group for group, mask in enumerate(self.of_group) if mask & active]
        while left:
            # A group comes last as a whole or not at all. Which of several goes first makes no
            # difference: what may come last still may when less is left.
            for group in pending:
                rest = self._peeled(left, self.of_group[group] & left)
                if not rest & self.of_group[group]:
                    left = rest
                    pending.remove(group)
                    break
            else:
                if len(pending) == 1:
                    return rest
                return left
        return 0

    def _peeled(self, left: int, members: int) -> int:
        """What is left when as many members as may stand last have been taken, one by one."""
        return left & ~self._tail(left, members, self._ends_among(members, left), {}).items

    def _ends_among(self, candidates: int, left: int) -> list[int]:
        return ends_among(self.problem, candidates, left)

    def _tail(self, left: int, members: int, ends: list[int], waiting: dict[Stack, int]) -> _Tail:
        """All members that may stand last one by one, and those that bars alone keep from it.

        `ends` holds members that nothing left must follow, to be looked at; those in `waiting`,
        which becomes a part of the answer, are looked at when something is taken from the stack
        that is too heavy for them. So it goes from the ends towards the front, and looks only at
        what it takes and at what lies next to that.
        """
        # A bar that does not bar stays so when less is left.
        tail, clear = 0, set[Bar]()
        while ends:
            taken, heavy = list[int](), dict[Bar, Stack]()
            for item in ends:
                stack = self._too_heavy(item, left, clear, heavy)
                if stack is None:
                    taken.append(item)
                else:
                    waiting[stack] = waiting.get(stack, 0) | 1 << item
            gone = as_mask(taken)
            tail |= gone
            left &= ~gone
            ends = self._ends_among(self._next_to(taken) & members & left, left) + self._released(
                waiting, gone
            )
        return _Tail(tail, waiting)

    def _next_to(self, taken: Iterable[int]) -> int:
        """The items that some must follow at once."""
        return union_of(self.before[item] for item in taken)

    def _released(self, waiting: dict[Stack, int], taken: int) -> list[int]:
        """Those that wait for a stack from which something has been taken; they wait no longer."""
        touched = [stack for stack in waiting if stack.items & taken]
        return list(bits_of(union_of(waiting.pop(stack) for stack in touched)))

    def _too_heavy(
        self, item: int, left: int, clear: set[Bar], heavy: dict[Bar, Stack]
    ) -> Stack | None:
        """A stack that bars an item from being the last of what is left.

        What each bar says of that is kept: `clear` are those that do not bar, `heavy` has the
        stacks of those that do.
        """
        for bar in self.problem.bars[item]:
            if bar in clear:
                continue
            stack = heavy.get(bar) or self._heavy(bar, left)
            if stack is not None:
                heavy[bar] = stack
                return stack
            clear.add(bar)
        return None

    def _heavy(self, bar: Bar, left: int) -> Stack | None:
        suspect = self._suspects.get(bar)
        if suspect is not None and suspect.weight(left) > bar.most:
            return suspect
        stack = bar.too_heavy(left)
        if stack is not None:
            self._suspects[bar] = stack
        return stack

    # --- the cheapest order -----------------------------------------------------------------------

    def solve(self, budget: int) -> Solved:
        """The cheapest order, proven where `budget` states suffice, else a bound and a good order.

        For the latter, of the states that remain after each run only so many are kept, more each
        time; see `WIDTHS`.
        """
        stuck = self.stuck(self.everything)
        if stuck:
            return Solved(None, None, 0, 0, stuck)
        self._prepare()
        single = len(set(self.problem.classes)) == len(self.problem.classes)
        if single:
            least = self.least(self.everything, -1)
            # Runs of one item each save nothing, and sets of items are fewer than sequences of
            # runs.
            solved = cheapest_by_subsets(self.problem, budget, least)
        else:
            solved = self._best_first(budget)
        if solved.order is not None:
            return solved
        best = self._by_beams(solved.bound, max(2 * budget, BEAM_STATES))
        if best is None:
            return solved
        cost, runs = best
        order = items_of_runs(self.problem, runs)
        return Solved(order, cost, solved.bound, solved.expansions)

    def _by_beams(self, bound: int, most: int) -> tuple[int, list[Run]] | None:
        """The best of what beams find, each wider than the last, while they keep few states."""
        best: tuple[int, list[Run]] | None = None
        for width in WIDTHS:
            # A beam takes width states for each run of the order, so that is what the next one will
            # cost.
            if best is not None and (best[0] == bound or width * len(best[1]) > most):
                break
            beam_order = self._beam(width)
            if beam_order is not None and (best is None or beam_order[0] < best[0]):
                best = beam_order
        return best

    def _prepare(self) -> None:
        problem = self.problem
        classes, groups = problem.classes, problem.groups
        self.kinds = sorted({(groups[item], classes[item]) for item in range(len(classes))})
        self.of_kind = {
            kind: self.of_group[kind[0]] & self.of_class[kind[1]] for kind in self.kinds
        }
        self.levels = self._levels(all_behind(problem.after, self.before))
        count = self.class_count
        self.cheapest_out: list[int] = []
        for class_number in range(count):
            changes = [
                cost for to, cost in enumerate(problem.cost[class_number]) if to != class_number
            ]
            self.cheapest_out.append(min(changes, default=0))
        self.grouped = len(set(groups)) > 1
        self._tails: dict[int, dict[tuple[int, int], _Tail]] = {}
        # Of what is left, the set from which it came and what lay next to the run that was taken
        # from that.
        self._origin: dict[int, tuple[int, int]] = {}

    def _levels(self, behind: list[int]) -> list[list[int]]:
        """For each class, bitmasks of items at least in its first, second... run of any order."""
        levels: list[list[int]] = []
        for items_of_class in self.of_class:
            levels.append([])
            # What comes behind an item of another class that comes behind one of this class is in a
            # later run, whatever the order.
            level = items_of_class
            while level:
                levels[-1].append(level)
                between = union_of(behind[item] & ~items_of_class for item in bits_of(level))
                level = union_of(behind[item] & items_of_class for item in bits_of(between))
        return levels

    def least(self, left: int, follows: int) -> int:
        """What the items left cost at the least when class `follows` comes behind (-1: nothing)."""
        if not left:
            return self.problem.start[follows] if follows >= 0 else 0
        total = 0
        starts, outs = [], []
        for class_number, masks in enumerate(self.levels):
            runs = sum(1 for mask in masks if mask & left)
            if runs:
                out = self.cheapest_out[class_number]
                # What follows was taken as far as it could be; only another group may go on with it
                # for nothing.
                total += (runs - (class_number == follows and self.grouped)) * out
                outs.append(out)
                starts.append(self.problem.start[class_number])
        # Before nothing, the last run changes into nothing.
        if follows < 0:
            total -= max(outs)
        # Some class begins the order, and none begins for less than the cheapest of them.
        return total + min(starts)

    def _runs(self, left: int) -> list[Run]:
        """The runs that may stand last: (class, items), each as long as it can be."""
        tails = self._tails.get(left)
        if tails is None:
            open_group = self._open_group(left)
            kinds = [kind for kind in self.kinds if open_group is None or kind[0] == open_group]
            tails = self._tails[left] = {kind: self._longest(left, kind) for kind in kinds}
            for tail in tails.values():
                if tail.items:
                    self._take(left, tail.items)
        return [
            (class_number, tail.items) for (_, class_number), tail in tails.items() if tail.items
        ]

    def _longest(self, left: int, kind: tuple[int, int]) -> _Tail:
        """The longest run of one kind that may stand last."""
        members = self.of_kind[kind] & left
        earlier, next_to_taken = self._origin.get(left, (0, 0))
        known_tail = self._tails.get(earlier, {}).get(kind)
        if known_tail is None:
            return self._tail(left, members, self._ends_among(members, left), {})
        # What could stand last when more was left still can; only what was barred or was followed
        # is looked at again.
        sure, waiting = known_tail.items & left, dict(known_tail.barred)
        unsure = left & ~sure
        ends = self._released(waiting, earlier & ~left) + self._ends_among(
            next_to_taken & members & unsure, unsure
        )
        tail = self._tail(unsure, members, ends, waiting)
        return _Tail(sure | tail.items, tail.barred)

    def _open_group(self, left: int) -> int | None:
        """The group of which some items have been taken and some have not."""
        if not self.grouped:
            return None
        taken = self.everything & ~left
        for group, mask in enumerate(self.of_group):
            if mask & left and mask & taken:
                return group
        return None

    def _take(self, left: int, tail: int) -> None:
        """Keep from where the items come that remain once a tail has been taken."""
        remaining = left & ~tail
        if remaining not in self._origin:
            self._origin[remaining] = left, self._next_to(bits_of(tail))

    def _change(self, class_number: int, follows: int) -> int:
        """What it costs to change from one class to the one that follows (-1: nothing does)."""
        if follows < 0 or class_number == follows:
            return 0
        return self.problem.cost[class_number][follows]

    def _is_outdone(self, archive: list[Kept], left: int, paid: int) -> bool:
        """Whether a state before the same class had less left and was no dearer to come to.

        Items can be dropped from an order at no cost, so nothing cheaper comes of this one; unless
        the other one has to finish a group first. If it is not outdone, it is kept in the archive.
        """
        group = self._open_group(left)
        for fewer, other_paid, other_group in archive:
            if fewer & ~left == 0 and other_paid <= paid and other_group in (None, group):
                return True
        archive.append((left, paid, group))
        # To forget one costs time and nothing else: less is seen to be outdone.
        if len(archive) > ARCHIVE:
            del archive[0]
        return False

    def _best_first(self, budget: int) -> Solved:
        start = (self.everything, -1)
        parents: dict[tuple[int, int], tuple[int, int]] = {}
        spent = {start: 0}
        queue = [(self.least(*start), len(self.problem.classes), *start)]
        closed_states: set[tuple[int, int]] = set()
        archive: dict[int, list[Kept]] = {}
        expansions = 0
        while queue:
            bound, _, left, follows = heapq.heappop(queue)
            state = (left, follows)
            if state in closed_states:
                continue
            closed_states.add(state)
            paid_so_far = spent[state]
            if not left:
                order = items_of_runs(self.problem, self._word(state, parents))
                return Solved(order, bound, bound, expansions)
            if expansions >= budget:
                return Solved(None, None, bound, expansions)
            if self._is_outdone(archive.setdefault(follows, []), left, paid_so_far):
                continue
            expansions += 1
            for class_number, tail in self._runs(left):
                following = (left & ~tail, class_number)
                paid = paid_so_far + self._change(class_number, follows)
                if following not in spent or paid < spent[following]:
                    spent[following] = paid
                    parents[following] = state
                    # Of two that may cost the same, the one with less left comes to an end sooner.
                    remaining = following[0].bit_count()
                    heapq.heappush(queue, (paid + self.least(*following), remaining, *following))
        raise AssertionError("expected an order, since nothing is stuck")

    def _beam(self, width: int) -> tuple[int, list[Run]] | None:
        """The best order found by keeping only promising states after each run: cost and runs."""
        # Each state: its bound, what was paid, what is left, what follows, and the runs so far.
        layer: list[tuple[int, int, int, int, tuple[Run, ...]]] = [(0, 0, self.everything, -1, ())]
        best: tuple[int, list[Run]] | None = None
        while layer:
            following: dict[tuple[int, int], tuple[int, int, int, int, tuple[Run, ...]]] = {}
            for _, paid_so_far, left, follows, word in layer:
                for class_number, tail in self._runs(left):
                    remaining = left & ~tail
                    paid = paid_so_far + self._change(class_number, follows)
                    total = paid + self.least(remaining, class_number)
                    # An order that costs as much is known.
                    if best is not None and total >= best[0]:
                        continue
                    if not remaining:
                        best = (total, [*word, (class_number, tail)])
                    elif (remaining, class_number) not in following or paid < following[
                        remaining, class_number
                    ][1]:
                        following[remaining, class_number] = (
                            total,
                            paid,
                            remaining,
                            class_number,
                            (*word, (class_number, tail)),
                        )
            layer = sorted(
                following.values(),
                # Down to the items themselves, so that what is kept depends on nothing else.
                key=lambda state: (state[0], state[2].bit_count(), state[2], state[3]),
            )[:width]
        return best

    def _word(
        self, state: tuple[int, int], parents: dict[tuple[int, int], tuple[int, int]]
    ) -> list[Run]:
        """The runs that lead to a state, the last of the order first."""
        word = []
        while state in parents:
            parent = parents[state]
            word.append((state[1], parent[0] & ~state[0]))
            state = parent
        word.reverse()
        return word
