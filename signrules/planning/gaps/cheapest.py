"""Gaps for an order that is given: the cheapest ones, even where a step of the order cannot be made safe.

A dynamic programme along the order. A way through the first steps is told from others by its head plane, by what the
last pass stated and by the alignments that it needs; of ways that agree in these the best is kept. What the rest of
the order asks for at the least tells which ways can still become the best.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from functools import cache

from attrs import frozen

from signrules.model.passes import Gap
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine
from signrules.planning.costs import Costs
from signrules.planning.gaps.candidates import OpenGaps
from signrules.planning.gaps.needs import Needs, with_window
from signrules.planning.gaps.places import Mark, Option, Place, Places
from signrules.planning.gaps.reaches import SLACK_MM, Reach, fewest_planes

Choices = Mapping[int, Gap | None]
"""For each pass with an open gap the gap that is set for it, or None where the head plane is kept."""

WAYS = 10_000
"""Ways that are followed at the most, over all steps of an order, in the search for the best."""

NARROW = 4
"""Ways that are followed at each step at first; mostly they hold one that costs no more than the bound."""

Rank = tuple[int, float]
"""Unsafe steps, then set-up."""


@frozen(eq=False)
class _Way:
    """A way through the first steps of an order."""

    unsafe: int = 0
    settings: int = 0
    plane: HeadPlane | None = None
    mark: Mark | None = None
    needs: Needs = frozenset()
    gap: Gap | None = None
    earlier: _Way | None = None


def cheapest_gaps(machine: Machine, order: Sequence[int], ways: int = WAYS) -> Choices:
    """What each pass with an open gap should be given in an order: fewest unsafe steps, then least set-up.

    `ways` is how many ways are followed at the most: where that suffices no other gaps are better, otherwise the
    gaps are good ones.
    """
    return CheapestGaps(machine).of_order(order, ways)


class CheapestGaps:
    """The cheapest gaps for orders of one machine; what one order has taught serves the next."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self._usual = OpenGaps(machine, thorough=False)
        self._all = OpenGaps(machine, thorough=True)

    def of_order(self, order: Sequence[int], ways: int = WAYS) -> Choices:
        """What `cheapest_gaps` gives."""
        if not self.machine.has_open_gaps:
            return {}
        narrow = _Programme(Places(self.machine, order, self._usual))
        found = narrow.through(NARROW, None)
        assert found is not None
        if ways and narrow.least < narrow.rank(found):
            thorough = _Programme(Places(self.machine, order, self._all))
            width = max(NARROW, ways // max(len(order), 1))
            found = thorough.through(width, narrow.rank(found)) or found
        return _gaps(narrow.places, found)


def _gaps(places: Places, way: _Way | None) -> Choices:
    """The gaps of a way through an order."""
    found: dict[int, Gap | None] = {}
    for place in reversed(places.places):
        assert way is not None
        if place.mark is None:
            found[place.at] = way.gap
        way = way.earlier
    return found


class _Programme:
    """The dynamic programme over the places of one order."""

    def __init__(self, places: Places) -> None:
        self.places = places
        self.costs = Costs.of(places.job.printer.minutes)
        self._settings_from = self._fresh_settings()
        self._spans_from = self._serving_spans()
        self._kept: dict[Hashable, tuple[int, int]] = {}
        self._alignments = cache(self._alignments_unshared)

    @property
    def least(self) -> Rank:
        """What any gaps cost at the least."""
        return self._rank(0, _Way())

    def rank(self, way: _Way) -> Rank:
        """What a way through the whole order costs."""
        return self._rank(len(self.places.places), way)

    def through(self, width: int, below: Rank | None) -> _Way | None:
        """The best way through the order that ranks before `below`, `width` ways being followed at each step."""
        ways = [_Way()]
        for number, place in enumerate(self.places.places):
            onward: dict[object, tuple[Rank, _Way]] = {}
            for way in ways:
                for option in self._options(place, way):
                    then = self._onward(place, way, option)
                    rank = self._rank(number + 1, then)
                    assert then.plane is not None
                    name = (then.plane.key, then.mark, then.needs)
                    if below is not None and rank >= below:
                        continue
                    if name not in onward or rank < onward[name][0]:
                        onward[name] = rank, then
            best = sorted(onward.values(), key=lambda found: found[0])[:width]
            ways = [way for _, way in best]
        return ways[0] if ways else None

    def _options(self, place: Place, way: _Way) -> Iterable[Option]:
        """The planes with which a way may go on: safe ones, or where there are none the least bad."""
        kept = None if way.plane is None else self.places.option(place, way.plane)
        keeps = kept is not None and kept.is_safe
        if place.mark is None:
            return self._open_options(place, kept if keeps else None)
        is_same = way.mark == place.mark and place.mark[0].reference == "build-up"
        if kept is not None and keeps and is_same:
            return (kept,)
        return place.anew

    def _open_options(self, place: Place, kept: Option | None) -> Iterator[Option]:
        if kept is not None:
            yield kept
        for option in place.anew:
            if option.is_safe or kept is None:
                yield option

    def _onward(self, place: Place, way: _Way, option: Option) -> _Way:
        window = self.places.window(place, option.plane)
        return _Way(
            way.unsafe + (not option.is_safe),
            way.settings + (not _is_level(way.plane, option.plane)),
            option.plane,
            place.mark,
            way.needs if window is None else with_window(way.needs, window),
            option.gap,
            way,
        )

    # --- what the rest asks for at the least ---------------------------------------------------

    def _rank(self, number: int, way: _Way) -> Rank:
        """What a way costs at the least once all is done; `number` steps of it are."""
        kept_until = number if way.plane is None else self._kept_until(number, way.plane)
        settings = way.settings + self._settings_from[kept_until]
        return way.unsafe, self.costs.weight(0, settings, self._alignments(number, way.needs))

    def _kept_until(self, number: int, plane: HeadPlane) -> int:
        """The first step from one on for which a head plane cannot be kept, nor set anew for nothing."""
        places = self.places.places
        first, until = self._kept.get(plane.key, (0, -1))
        if not first <= number <= until:
            until = number
            while until < len(places) and self._may_keep(places[until], plane):
                until += 1
            self._kept[plane.key] = number, until
        return until

    def _may_keep(self, place: Place, plane: HeadPlane) -> bool:
        low, high = place.heights
        height = plane.height.nominal
        if not low - SLACK_MM <= height <= high + SLACK_MM:
            return False
        if place.mark is not None or self.places.option(place, plane).is_safe:
            return True
        return any(_is_level(plane, option.plane) for option in place.anew)

    def _fresh_settings(self) -> list[int]:
        """From each step on, the settings that the rest takes at the least where the first one is set anew."""
        places = self.places.places
        found = [0] * (len(places) + 1)
        for number in reversed(range(len(places))):
            low, high = places[number].heights
            then = number + 1
            while then < len(places):
                low = max(low, places[then].heights[0])
                high = min(high, places[then].heights[1])
                if low > high + SLACK_MM:
                    break
                then += 1
            found[number] = 1 + found[then]
        return found

    def _serving_spans(self) -> list[frozenset[Reach]]:
        """From each step on, the offsets between which the alignments of the rest lie."""
        spans = frozenset[Reach]()
        found = [spans]
        for place in reversed(self.places.places):
            if place.serves is not None:
                spans |= {place.serves}
            found.append(spans)
        found.reverse()
        return found

    def _alignments_unshared(self, number: int, needs: Needs) -> int:
        wanted = ((need.low, need.high) for need in needs)
        return fewest_planes([*self._spans_from[number], *wanted])


def _is_level(one: HeadPlane | None, other: HeadPlane) -> bool:
    if one is None:
        return False
    return abs(one.height.nominal - other.height.nominal) <= GUARD_MM
