"""What shares a bin: as few bins as can be found, and of those ways the one that takes the fewest
gap settings.

An item knows the gaps that it is printed with. A bin is set to each gap of its items once, so items
of like gaps belong together where that costs no bin.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from itertools import chain, combinations

from attrs import evolve, field, frozen

from signrules.composing.exact_packing import packed_exactly
from signrules.composing.packing_bounds import fewest_bins, fewest_bins_of_bands
from signrules.composing.rectangles import (
    FEW,
    Admits,
    Frame,
    Packed,
    Rectangle,
    Spot,
    admit_all,
    packed,
    packed_in_turn,
)

FEW_SEQUENCES = 24
"""Where a question is asked again and again, no more sequences than these are tried."""

Settings = frozenset[float]
"""The heights of the head above the bed that something is printed with, in mm."""

Spots = tuple[Spot, ...]

Content = tuple[int, int, tuple[str, ...], Hashable]
"""Of a rectangle its size, the ways in which it may lie, and its kind."""


@frozen
class Likeness:
    """What tells items apart, besides their size.

    `band` names what may lie beside what: items of two bands never share a stretch along y.
    """

    settings: Settings = frozenset()
    band: str = ""


@frozen
class Room:
    """An empty bin. Between two bands so many micrometres are kept free along y."""

    frames: tuple[Frame, ...]
    between_bands: int = 0

    def place(self, rectangles: Sequence[Rectangle]) -> Spots | None:
        """All of them in one bin; None where no way was found."""
        bands = sorted({likeness_of(each).band for each in rectangles})
        if len(bands) > 1:
            return self._stacked(rectangles, bands)
        if self._surely_too_many(rectangles):
            return None
        found = packed(rectangles, self.frames, most_sequences=FEW_SEQUENCES)
        return found[0] if found is not None and len(found) == 1 else None

    def fewest(self, rectangles: Sequence[Rectangle]) -> int:
        """A bound below which the number of bins cannot go."""
        if len(self.frames) > 1:
            # The bounds know one frame and not the free corners of a sheet that is filled already.
            return min(1, len(rectangles))
        bands: dict[str, list[Rectangle]] = defaultdict(list)
        for each in rectangles:
            bands[likeness_of(each).band].append(each)
        return fewest_bins_of_bands(list(bands.values()), self.frames[0], self.between_bands)

    @property
    def area(self) -> int:
        """In square micrometres."""
        return sum(frame.width * frame.height for frame in self.frames)

    def _surely_too_many(self, rectangles: Sequence[Rectangle]) -> bool:
        if sum(each.area for each in rectangles) > self.area:
            return True
        return len(self.frames) == 1 and fewest_bins(rectangles, self.frames[0]) > 1

    def _stacked(self, rectangles: Sequence[Rectangle], bands: Sequence[str]) -> Spots | None:
        """Each band in a strip of its own, one above the other."""
        if len(self.frames) > 1:
            return None
        (frame,) = self.frames
        found: list[Spot] = []
        bottom = 0
        for band in bands:
            own = [each for each in rectangles if likeness_of(each).band == band]
            strip = _lowest_strip(own, frame)
            if strip is None:
                return None
            found += (evolve(spot, y=spot.y + bottom) for spot in strip)
            bottom = max(spot.top for spot in found) - frame.y
            if bottom > frame.height:
                return None
            bottom += self.between_bands
        return tuple(found)


def likeness_of(rectangle: Rectangle) -> Likeness:
    """What tells a rectangle apart from others."""
    kind = rectangle.kind
    return kind if isinstance(kind, Likeness) else Likeness()


def _lowest_strip(rectangles: Sequence[Rectangle], frame: Frame) -> Spots | None:
    """One bin as low as can be found: the frame is lowered for as long as all still fit."""
    best: Spots | None = None
    height = frame.height
    while True:
        lowered = [evolve(frame, height=height)]
        found = packed(rectangles, lowered, most_sequences=FEW_SEQUENCES)
        if found is None or len(found) != 1:
            return best
        best = found[0]
        # A micrometre less than what was needed, so each round must find a lower way or end.
        height = max(spot.top for spot in best) - frame.y - 1
        # No strip is lower than the lowest way in which its tallest piece can lie.
        if height < max(min(each.size(way)[1] for way in each.ways) for each in rectangles):
            return best


def all_settings(spots: Iterable[Spot]) -> Settings:
    """The gaps of everything in a bin."""
    found: Settings = frozenset()
    for spot in spots:
        found |= likeness_of(spot.rectangle).settings
    return found


def cost_of(bins: Packed) -> tuple[int, int]:
    """How many bins, and how many gap settings they take in all."""
    return len(bins), sum(len(all_settings(spots)) for spots in bins)


@frozen
class Grouping:
    """Bins that hold everything, and a number of them below which no way can go."""

    bins: Packed = ()
    at_least: int = 0


def grouped(rectangles: Sequence[Rectangle], room: Room) -> Grouping | None:
    """Bins that hold everything: the fewest that were found, and of these with the fewest gap
    settings.

    None where something does not even fit into an empty bin.
    """
    if not rectangles:
        return Grouping()
    if packed_in_turn(rectangles, room.frames, admits=_same_band) is None:
        return None
    at_least = room.fewest(rectangles)
    # Of ways that cost the same the first counts: what need not turn lies upright.
    ways = [*_tried_ways(_upright(rectangles), room), *_tried_ways(rectangles, room)]
    best = min(ways, key=cost_of)
    # Each gap of all items is set at least once, so nothing can be cheaper than this.
    if cost_of(best) == (at_least, len(all_settings(chain.from_iterable(best)))):
        return Grouping(best, at_least)
    if len(rectangles) <= FEW and len(best) > 1:
        best = min(best, _best_split(rectangles, room), key=cost_of)
    return _with_fewer_bins(Grouping(best, at_least), rectangles, room)


def _upright(rectangles: Sequence[Rectangle]) -> list[Rectangle]:
    """The rectangles, all that may lie upright doing so."""
    return [evolve(each, ways=each.ways[:1]) for each in rectangles]


def _tried_ways(rectangles: Sequence[Rectangle], room: Room) -> Iterator[Packed]:
    """Ways to share out rectangles: as they fit, each kind by itself, and one kind after another;
    then what can be merged is.
    """
    at_least = room.fewest(rectangles)
    for admits in (_same_band, _same_likeness):
        found = packed(rectangles, room.frames, at_least=at_least, admits=admits)
        if found is not None:
            yield _merged(found, room)
    in_turn = _by_likeness(rectangles, room)
    if in_turn is not None:
        yield _merged(in_turn, room)


def _with_fewer_bins(grouping: Grouping, rectangles: Sequence[Rectangle], room: Room) -> Grouping:
    """Fewer bins where a solver finds them, or a bound that it proves."""
    bands = {likeness_of(each).band for each in rectangles}
    if len(room.frames) > 1 or len(bands) > 1:
        return grouping
    while len(grouping.bins) > grouping.at_least:
        answer = packed_exactly(rectangles, room.frames[0], len(grouping.bins) - 1)
        if answer.proven_none:
            return evolve(grouping, at_least=len(grouping.bins))
        if answer.bins is None:
            return grouping
        grouping = evolve(grouping, bins=answer.bins)
    return grouping


def _same_band(held: Sequence[Spot], rectangle: Rectangle) -> bool:
    band = likeness_of(rectangle).band
    # All in a bin are of one band, so the first speaks for them.
    return all(likeness_of(spot.rectangle).band == band for spot in held[:1])


def _same_likeness(held: Sequence[Spot], rectangle: Rectangle) -> bool:
    return all(spot.rectangle.kind == rectangle.kind for spot in held[:1])


def _by_likeness(rectangles: Sequence[Rectangle], room: Room) -> Packed | None:
    """Alike ones one after the other, those with the most gaps first; the next ones fill up."""

    def sequence_key(each: Rectangle) -> tuple[object, ...]:
        likeness = likeness_of(each)
        gaps = sorted(likeness.settings)
        return (likeness.band, -len(gaps), gaps, -each.area, -each.height, each.id)

    admits: Admits = _same_band if room.between_bands else admit_all
    return packed_in_turn(sorted(rectangles, key=sequence_key), room.frames, admits=admits)


def _merged(bins: Packed, room: Room) -> Packed:
    """Pairs of bins become one wherever one holds both, those first that have most in common."""
    merged = list(bins)
    refused: set[frozenset[tuple[Content, int]]] = set()
    while True:
        for one, other in _pairs_to_merge(merged, room):
            both = (*merged[one], *merged[other])
            # Large work has many bins of one content, and what was refused once is not tried again.
            content = _content_of(both)
            if content in refused:
                continue
            together = room.place([spot.rectangle for spot in both])
            if together is not None:
                del merged[other], merged[one]
                merged.append(together)
                break
            refused.add(content)
        else:
            return tuple(merged)


def _content_of(spots: Iterable[Spot]) -> frozenset[tuple[Content, int]]:
    """What lies in a bin, whatever its name and wherever it lies: each size and kind, how often."""
    rectangles = (spot.rectangle for spot in spots)
    counts = Counter((each.width, each.height, each.ways, each.kind) for each in rectangles)
    return frozenset(counts.items())


def _pairs_to_merge(bins: Sequence[Spots], room: Room) -> list[tuple[int, int]]:
    """The positions of bins that might fit into one by their areas, most alike first.

    Of bins with one content no more than the first two are looked at: the others are like them.
    """
    areas = [sum(spot.rectangle.area for spot in spots) for spots in bins]
    least = min(areas, default=0)
    loose: list[int] = []
    seen: Counter[frozenset[tuple[Content, int]]] = Counter()
    for number, area in enumerate(areas):
        if area + least <= room.area:
            content = _content_of(bins[number])
            seen[content] += 1
            if seen[content] <= 2:
                loose.append(number)
    settings = {number: all_settings(bins[number]) for number in loose}
    pairs = [
        (one, other)
        for one, other in combinations(loose, 2)
        if areas[one] + areas[other] <= room.area
    ]
    # Bins that share their settings save most when they become one.
    return sorted(pairs, key=lambda pair: len(settings[pair[0]] ^ settings[pair[1]]))


def _best_split(rectangles: Sequence[Rectangle], room: Room) -> Packed:
    """Of all ways to share out a few rectangles, the best.

    `left` is a set of them as the bits of a number. The first one left goes into some bin, so each
    choice of what shares that bin with it is tried.
    """
    splitter = _Splitter(tuple(rectangles), room)
    return splitter.best((1 << len(rectangles)) - 1)


@frozen(eq=False)
class _Splitter:
    rectangles: tuple[Rectangle, ...]
    room: Room
    _bins: dict[int, Spots | None] = field(factory=dict)
    _refused: list[Counter[object]] = field(factory=list)
    _best: dict[int, Packed] = field(factory=dict)

    def best(self, left: int) -> Packed:
        """The best bins for what is left."""
        if not left:
            return ()
        if left not in self._best:
            self._best[left] = min(self._ways(left), key=cost_of)
        return self._best[left]

    def _ways(self, left: int) -> Iterable[Packed]:
        first = left & -left
        others = left ^ first
        # From all others down to none, so that full bins are met before half empty ones.
        chosen = others
        while True:
            spots = self._bin(first | chosen)
            if spots is not None:
                yield (spots, *self.best(others ^ chosen))
            if not chosen:
                return
            # The next smaller subset of the others.
            chosen = (chosen - 1) & others

    def _bin(self, bits: int) -> Spots | None:
        if bits not in self._bins:
            self._bins[bits] = self._placed(bits)
        return self._bins[bits]

    def _placed(self, bits: int) -> Spots | None:
        some = [each for number, each in enumerate(self.rectangles) if bits >> number & 1]
        sizes = Counter(_shape(each) for each in some)
        # What did not fit does not fit with more beside it.
        if any(refused <= sizes for refused in self._refused):
            return None
        found = self.room.place(some)
        if found is None:
            self._refused.append(sizes)
        return found


def _shape(rectangle: Rectangle) -> object:
    """What matters of a rectangle for whether it fits."""
    return rectangle.width, rectangle.height, rectangle.ways, likeness_of(rectangle).band
