"""Gaps for a given order: the cheapest, even where a step of it cannot be made safe.

A dynamic programme along the order. A way through the first steps is told from others by its head
plane, by what the last pass stated and by the alignments that it needs; of ways that agree in these
the best is kept. What the rest of the order asks for at the least tells which ways can still become
the best.
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Hashable, Iterator, Mapping, Sequence
from functools import cache

from attrs import frozen

from signrules.model.passes import HeadSetting
from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine, may_be_kept
from signrules.physics.planes import StatedGap, settings_between
from signrules.planning.gaps.alignment_records import Needs, with_window
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.gaps.order_walk import Option, Place, Places
from signrules.planning.gaps.plane_reaches import SLACK_MM, Reach, fewest_planes
from signrules.planning.setup_cost import Costs

Choices = Mapping[int, HeadSetting | None]
"""For each pass with an open gap the gap that is set for it, or None where the head plane is kept.
"""

WAYS = 20_000
"""Ways that are tried, over all steps of an order, in search of the best; at each step never fewer
than `NARROW`.
"""

WAYS_A_STATE = 8
"""So many ways that are tried take about as long as one state of the planner's budget."""

NARROW = 4
"""Ways that are followed at each step at first; mostly they hold one that costs no more than the
bound.
"""

WIDE = 60
"""Ways that are followed next, before gaps are tried that serve an alignment of another pass."""

Rank = tuple[int, float]
"""Unsafe steps, then set-up."""


@frozen(eq=False)
class _Way:
    """A way through the first steps of an order."""

    unsafe: int = 0
    settings: int = 0
    plane: HeadPlane | None = None
    mark: StatedGap | None = None
    needs: Needs = frozenset()
    gap: HeadSetting | None = None
    earlier: _Way | None = None


def cheapest_gaps(machine: Machine, order: Sequence[int], ways: int = WAYS) -> Choices:
    """What each pass with an open gap is given: fewest unsafe steps, then least set-up.

    A step that no gap makes safe gets the gap with most room, set again. `ways` is about how many
    ways are tried at the most: where that suffices no other gaps have fewer unsafe steps and, where
    every step is safe, none have less set-up. Otherwise the gaps are good ones.
    """
    return CheapestGaps(machine).of_order(order, ways)


class CheapestGaps:
    """The cheapest gaps for orders of one machine; what one order has taught serves the next.

    `states` counts the ways that were tried so far, in states of the planner's budget.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.states = 0
        self._usual = OpenGaps(machine, thorough=False)
        self._all = OpenGaps(machine, thorough=True)

    def of_order(self, order: Sequence[int], ways: int = WAYS) -> Choices:
        """What `cheapest_gaps` gives."""
        choices = self.cheaper(order, ways, None)
        assert choices is not None
        return choices

    def cheaper(
        self, order: Sequence[int], ways: int, below: Rank | None, enough: float = 0.0
    ) -> Choices | None:
        """The cheapest gaps for an order if they rank before `below`, else None.

        Safe gaps that cost no more than `enough`, bed loads left out, will do.
        """
        if not self.machine.has_open_gaps:
            return {}
        best: _Way | None = None
        widths = [(self._usual, 0)]
        if ways:
            widths += [(self._usual, WIDE), (self._all, ways // max(len(order), 1))]
        programmes: dict[OpenGaps, _Programme] = {}
        # Narrow first: mostly that already costs no more than what any gaps cost at the least.
        for gaps, width in widths:
            if gaps not in programmes:
                programmes[gaps] = _Programme(Places(self.machine, order, gaps))
            programme = programmes[gaps]
            before = programme.tried
            way = programme.through(width, below)
            self.states += (programme.tried - before) // WAYS_A_STATE
            if way is not None:
                best, below = way, programme.rank(way)
            if below is not None and below <= max(programme.least, (0, enough)):
                break
        if best is None:
            return None
        return _gaps_of_way(order, self.machine, best)


def _gaps_of_way(order: Sequence[int], machine: Machine, way: _Way | None) -> Choices:
    """The gaps of a way through an order."""
    gaps: dict[int, HeadSetting | None] = {}
    # A way knows the one before it alone, so the gaps are read off from the end.
    for item_index in reversed([item_index for item_index in order if machine.is_pass(item_index)]):
        assert way is not None
        if machine.job.passes[item_index].gap is None:
            gaps[item_index] = way.gap
        way = way.earlier
    return gaps


class _Programme:
    """The dynamic programme over the places of one order."""

    def __init__(self, places: Places) -> None:
        self.places = places
        self.tried = 0
        self.costs = Costs.of(places.job.printer.minutes)
        self._settings_from = self._fresh_settings()
        self._spans_from = self._serving_spans()
        # From which step to which a height serves, and a plane can be kept.
        self._level: dict[float, tuple[int, int]] = {}
        self._kept: dict[Hashable, tuple[int, int]] = {}
        self._alignments = cache(self._alignments_unshared)

    @property
    def least(self) -> Rank:
        """What any gaps cost at the least."""
        return self._rank(0, _Way())

    def rank(self, way: _Way) -> Rank:
        """What a way through the whole order costs."""
        return self._rank(len(self.places.places), way)

    def through(self, most: int, below: Rank | None) -> _Way | None:
        """The best way through the order that ranks before `below`.

        At each step about `most` ways are tried, and no fewer than `NARROW` followed.
        """
        ways = [_Way()]
        for number, place in enumerate(self.places.places):
            onward: dict[object, tuple[Rank, _Way]] = {}
            # Each goes on with every plane that may be set, so the more planes the fewer ways are
            # followed.
            ways = ways[: max(NARROW, most // len(place.anew))]
            for onward_way in self._onward_of_all(place, ways):
                self.tried += 1
                rank = self._rank_at_most(number + 1, onward_way)
                if below is not None and rank >= below:
                    continue
                assert onward_way.plane is not None
                # The rest of the order asks for nothing else of what came before.
                name = (onward_way.plane.key, onward_way.mark, onward_way.needs)
                if name not in onward or rank < onward[name][0]:
                    onward[name] = rank, onward_way
            ways = self._best_of(number + 1, list(onward.values()), max(NARROW, most))
        return ways[0] if ways else None

    def _best_of(self, number: int, ranked_ways: list[tuple[Rank, _Way]], width: int) -> list[_Way]:
        """The best `width` of some ways, which come with what they cost at the least.

        How long a plane can be kept is looked at closely only for those that might be among them.
        """
        queue = [(rank, serial, False) for serial, (rank, _) in enumerate(ranked_ways)]
        heapq.heapify(queue)
        best: list[_Way] = []
        while queue and len(best) < width:
            rank, serial, is_close = heapq.heappop(queue)
            way = ranked_ways[serial][1]
            # The first look never says too much, so only who leads by it is looked at closely.
            closer = rank if is_close else self._rank(number, way)
            if closer > rank:
                heapq.heappush(queue, (closer, serial, True))
            else:
                best.append(way)
        return best

    def _onward_of_all(self, place: Place, ways: list[_Way]) -> Iterator[_Way]:
        """How the ways may go on: with the plane that they have, or with one that is set again."""
        may_change = place.mark is None and place.anew[0].is_safe
        changing: list[_Way] = []
        for way in ways:
            kept = self._kept_option(place, way)
            if kept is not None:
                yield self._onward(way, kept, place.mark)
            # A stated gap that can be kept is kept: set again it gives a plane no lower, and costs
            # more.
            if kept is None or may_change:
                changing.append(way)
        # Once the plane is set again nothing else of a way counts, so that one of them will do.
        best = self._best_of_needs(changing)
        for option in place.anew:
            for way in changing:
                if way is best[way.needs] or option.plane.is_level_with(way.plane):
                    yield self._onward(way, option, place.mark)

    def _best_of_needs(self, ways: list[_Way]) -> dict[Needs, _Way]:
        """Of ways that need the same alignments the best: a plane is set again from there."""
        best: dict[Needs, _Way] = {}
        for way in ways:
            best_so_far = best.get(way.needs)
            if best_so_far is None or (way.unsafe, way.settings) < (
                best_so_far.unsafe,
                best_so_far.settings,
            ):
                best[way.needs] = way
        return best

    def _kept_option(self, place: Place, way: _Way) -> Option | None:
        """The plane of a way, where a pass may keep it; a stated gap only right after the same."""
        if way.plane is None:
            return None
        if place.mark is not None and not may_be_kept(place.mark.gap):
            return None
        if place.mark not in (None, way.mark):
            return None
        kept = self.places.option(place, way.plane)
        if not kept.is_safe:
            return None
        return kept

    def _onward(self, way: _Way, option: Option, mark: StatedGap | None) -> _Way:
        needs = way.needs
        if option.window is not None:
            needs = with_window(needs, option.window)
        return _Way(
            way.unsafe + (not option.is_safe),
            way.settings + settings_between(way.plane, option.plane),
            option.plane,
            mark,
            needs,
            option.gap,
            way,
        )

    # --- what the rest asks for at the least ---------------------------------------------------

    def _rank(self, number: int, way: _Way) -> Rank:
        """About what a way costs once all is done, `number` steps being done: to choose among ways.

        It may be too much, where a level plane that is set for nothing on the way goes on for
        longer than this one.
        """
        until = number
        if way.plane is not None:
            until = self._kept_until(number, way.plane)
        return self._rank_kept_until(number, way, until)

    def _rank_at_most(self, number: int, way: _Way) -> Rank:
        """What a way costs at the least, from the height of its plane alone."""
        until = number
        if way.plane is not None:
            until = self._level_until(number, way.plane.height.nominal)
        return self._rank_kept_until(number, way, until)

    def _rank_kept_until(self, number: int, way: _Way, until: int) -> Rank:
        settings = way.settings + self._settings_from[until]
        return way.unsafe, self.costs.weight(0, settings, self._alignments(number, way.needs))

    def _level_until(self, number: int, height: float) -> int:
        """The first step from one on for which no safe plane lies at a height."""
        places = self.places.places
        # What serves from one step on to another serves from each step between them as far.
        first, until = self._level.get(height, (0, -1))
        if not first <= number <= until:
            until = number
            while until < len(places) and _reach_holds(places[until].heights, height):
                until += 1
            self._level[height] = number, until
        return until

    def _kept_until(self, number: int, plane: HeadPlane) -> int:
        """The first step from one on for which a plane can be neither kept nor set for nothing."""
        places = self.places.places
        first, until = self._kept.get(plane.key, (0, -1))
        if not first <= number <= until:
            last = self._level_until(number, plane.height.nominal)
            until = number
            while until < last and self._may_keep(places[until], plane):
                until += 1
            self._kept[plane.key] = number, until
        return until

    def _may_keep(self, place: Place, plane: HeadPlane) -> bool:
        if place.mark is not None or self.places.option(place, plane).is_safe:
            return True
        return any(plane.is_level_with(option.plane) for option in place.anew)

    def _fresh_settings(self) -> list[int]:
        """From each step on, the fewest settings that the rest takes, the first one set again."""
        # Going on with a plane as long as any serves takes the fewest settings (the greedy of
        # stabbing intervals), so that each step on needs only the step where its run must end.
        ends = run_ends([place.heights for place in self.places.places])
        settings_from = [0] * (len(ends) + 1)
        for number in reversed(range(len(ends))):
            settings_from[number] = 1 + settings_from[ends[number]]
        return settings_from

    def _serving_spans(self) -> list[frozenset[Reach]]:
        """From each step on, the extras between which the alignments of the rest lie."""
        spans = frozenset[Reach]()
        spans_from = [spans]
        for place in reversed(self.places.places):
            if place.serves is not None:
                spans |= {place.serves}
            spans_from.append(spans)
        spans_from.reverse()
        return spans_from

    def _alignments_unshared(self, number: int, needs: Needs) -> int:
        wanted = ((need.low, need.high) for need in needs)
        return fewest_planes([*self._spans_from[number], *wanted])


def _reach_holds(reach: Reach, height: float) -> bool:
    return reach[0] - SLACK_MM <= height <= reach[1] + SLACK_MM


def run_ends(reaches: Sequence[Reach]) -> list[int]:
    """For each of some reaches in a row the first one that shares no height with all before it."""
    ends: list[int] = []
    # Places of reaches from the present one on: rising ones whose low end, or high end, limits what
    # they share.
    lows, highs = deque[int](), deque[int]()
    end = 0
    for start in range(len(reaches)):
        end = max(end, start)
        while end < len(reaches) and _share_with(reaches, end, lows, highs):
            while lows and reaches[lows[-1]][0] <= reaches[end][0]:
                lows.pop()
            while highs and reaches[highs[-1]][1] >= reaches[end][1]:
                highs.pop()
            lows.append(end)
            highs.append(end)
            end += 1
        ends.append(end)
        if lows and lows[0] == start:
            lows.popleft()
        if highs and highs[0] == start:
            highs.popleft()
    return ends


def _share_with(reaches: Sequence[Reach], number: int, lows: deque[int], highs: deque[int]) -> bool:
    """Whether one more reach still has a height in common with those whose limits are known."""
    low, high = reaches[number]
    if not lows:
        return True
    highest_low = max(low, reaches[lows[0]][0])
    lowest_high = min(high, reaches[highs[0]][1])
    return highest_low <= lowest_high + SLACK_MM
