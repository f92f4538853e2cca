"""Finding what waits for itself: a shortest cycle among things that come after others."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence

_MOST_STEPS = 2_000_000
"""How long to look for a shorter cycle once there is one; very large tangles may show one that is
not the shortest.
"""


def shortest_cycle(earlier: Mapping[str, Sequence[str]]) -> list[str] | None:
    """A shortest cycle, in the order in which one would wait for the other, or None.

    `earlier` says for each name what must come before it; names that are not its keys are passed
    over. The cycle begins with the one of its names that stands first in `earlier`.
    """
    tangle = _Tangle(_followers_on_cycles(earlier))
    best: list[str] | None = None
    for start in tangle.following:
        # What waits for itself alone is as short as a cycle can be.
        if best is not None and (tangle.steps > _MOST_STEPS or len(best) == 1):
            break
        if start not in tangle.gone:
            best = tangle.cycle_through(start, best)
            # All cycles through it have been looked at: without it the rest becomes smaller each
            # time.
            tangle.take_out(start)
    if best is None:
        return None
    # The same cycle begins with the same name, wherever the search came upon it.
    rank = {name: index for index, name in enumerate(earlier)}
    first = min(range(len(best)), key=lambda index: rank[best[index]])
    return best[first:] + best[:first]


class _Tangle:
    """Names that lie on cycles, without those looked at already, and what follows each."""

    def __init__(self, following: Mapping[str, Sequence[str]]) -> None:
        self.following = following
        self.gone: set[str] = set()
        self.steps = 0
        self._preceding: dict[str, list[str]] = {name: [] for name in following}
        for name, others in following.items():
            for other in others:
                self._preceding[other].append(name)
        self._before = {name: len(others) for name, others in self._preceding.items()}
        self._behind = {name: len(others) for name, others in following.items()}

    def cycle_through(self, start: str, best: list[str] | None) -> list[str] | None:
        """A shortest cycle through a name, where it is shorter than the best so far, else that."""
        came_from = {start: ""}
        depth = {start: 1}
        waiting = deque([start])
        # In breadth: the first way back is a shortest, and what is no shorter than the best need
        # not be followed.
        while waiting and (best is None or depth[waiting[0]] < len(best)):
            name = waiting.popleft()
            for other in self.following[name]:
                self.steps += 1
                if other == start:
                    return _walked_back(name, start, came_from)
                if other not in came_from and other not in self.gone:
                    came_from[other] = name
                    depth[other] = depth[name] + 1
                    waiting.append(other)
        return best

    def take_out(self, start: str) -> None:
        """Take a name out, and with it all that lies on no other cycle.

        Nothing leads to it then, or from it.
        """
        waiting = [start]
        while waiting:
            name = waiting.pop()
            if name in self.gone:
                continue
            self.gone.add(name)
            for others, left in (
                (self.following[name], self._before),
                (self._preceding[name], self._behind),
            ):
                for other in others:
                    left[other] -= 1
                    if left[other] == 0:
                        waiting.append(other)


def _walked_back(name: str, start: str, came_from: Mapping[str, str]) -> list[str]:
    cycle = [name]
    while cycle[-1] != start:
        cycle.append(came_from[cycle[-1]])
    return cycle[::-1]


def _followers_on_cycles(earlier: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """What follows each name on some cycle, of those names only that lie on one."""
    before = {
        name: [other for other in dict.fromkeys(others) if other in earlier]
        for name, others in earlier.items()
    }
    after: dict[str, list[str]] = {name: [] for name in before}
    for name, others in before.items():
        for other in others:
            after[other].append(name)
    knots = _strong_components(before, after)
    within = {
        name: [other for other in after[name] if knots[other] == knots[name]] for name in before
    }
    return {name: others for name, others in within.items() if others}


def _strong_components(
    before: Mapping[str, Sequence[str]], after: Mapping[str, Sequence[str]]
) -> dict[str, int]:
    """A number for each name: the same where each waits for the other (strongly connected).

    By a walk in each direction, as S. R. Kosaraju and M. Sharir found.
    """
    numbers: dict[str, int] = {}
    for name in reversed(_by_end_of_walk(after)):
        if name in numbers:
            continue
        number = len(numbers)
        numbers[name] = number
        waiting = [name]
        while waiting:
            for other in before[waiting.pop()]:
                if other not in numbers:
                    numbers[other] = number
                    waiting.append(other)
    return numbers


def _by_end_of_walk(following: Mapping[str, Sequence[str]]) -> list[str]:
    """The names in the order in which a walk in depth leaves them for the last time."""
    ended: list[str] = []
    seen: set[str] = set()
    for start in following:
        if start in seen:
            continue
        seen.add(start)
        # A stack of its own in place of recursion, which ends at some thousand passes in a row.
        way = [(start, iter(following[start]))]
        while way:
            name, others = way[-1]
            onward = next((other for other in others if other not in seen), None)
            if onward is None:
                ended.append(name)
                way.pop()
            else:
                seen.add(onward)
                way.append((onward, iter(following[onward])))
    return ended
