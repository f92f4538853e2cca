"""Rectangles placed in as few bins as can be found. Whole micrometres throughout.

The placing itself is rectpack's: maximal free rectangles, with Jylänki's rules of which one to take
("A thousand ways to pack the bin", 2010; from memory). Here stand what may share a bin, which way
round a rectangle lies, and which sequences are tried.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from itertools import islice, product
from typing import Any

from attrs import define, field, frozen

from signrules.errors import SignrulesError
from signrules.model.work_order import TURNED, UPRIGHT

FEW = 8
"""Of up to so many rectangles all sequences are tried, `MOST_SEQUENCES` at the most."""

MOST_SEQUENCES = 720

MOST_PLACINGS = 60_000
"""So many rectangles are placed in all trials together, and all of them once at the least."""


@frozen
class Rectangle:
    """What is to be placed; `ways` are those in which it may lie, `kind` says what it may join."""

    id: str
    width: int
    height: int
    ways: tuple[str, ...] = (UPRIGHT,)
    kind: Hashable = None

    def size(self, way: str) -> tuple[int, int]:
        """Width and height as it lies."""
        if way == TURNED:
            return self.height, self.width
        return self.width, self.height

    @property
    def area(self) -> int:
        """In square micrometres."""
        return self.width * self.height


@frozen
class Frame:
    """An empty rectangle to place others in, its lower left corner at (x, y)."""

    width: int
    height: int
    x: int = 0
    y: int = 0


@frozen
class Spot:
    """Where a rectangle came to lie: its lower left corner, and which way round."""

    rectangle: Rectangle
    x: int
    y: int
    way: str

    @property
    def top(self) -> int:
        """Its upper edge."""
        return self.y + self.rectangle.size(self.way)[1]


Packed = tuple[tuple[Spot, ...], ...]
"""What lies in each bin."""

Admits = Callable[[Sequence[Spot], Rectangle], bool]
"""Whether a rectangle may join those that a bin holds."""


def admit_all(held: Sequence[Spot], rectangle: Rectangle) -> bool:
    """Every rectangle may join."""
    return True


def _algorithms() -> tuple[Any, ...]:
    try:
        from rectpack.maxrects import MaxRectsBaf, MaxRectsBl, MaxRectsBssf
    except ImportError:
        raise SignrulesError(
            "placing signs on sheets needs rectpack: pip install 'signrules[compose]'"
        ) from None
    return MaxRectsBssf, MaxRectsBl, MaxRectsBaf


@define
class _Bin:
    """One bin while it is filled: the free space of each of its frames."""

    frames: Sequence[Frame]
    spaces: Sequence[Any]
    spots: list[Spot] = field(factory=list)
    _too_large: set[tuple[int, int, tuple[str, ...]]] = field(factory=set)

    def add(self, rectangle: Rectangle) -> bool:
        """Place a rectangle where it fits best; False where there is no room."""
        size = (rectangle.width, rectangle.height, rectangle.ways)
        # Room only shrinks, so what did not fit once never will.
        if size in self._too_large:
            return False
        found = list(self._fits(rectangle))
        if not found:
            self._too_large.add(size)
            return False
        # Compared without the way, so that of two that fit as well the first, upright, is kept.
        _, number, way = min(found, key=lambda fit: fit[:2])
        placed = self.spaces[number].add_rect(*rectangle.size(way))
        frame = self.frames[number]
        self.spots.append(Spot(rectangle, frame.x + placed.x, frame.y + placed.y, way))
        return True

    def _fits(self, rectangle: Rectangle) -> Iterator[tuple[int, int, str]]:
        """How well it fits into each frame each way round; less is better."""
        for number, space in enumerate(self.spaces):
            for way in rectangle.ways:
                fitness = space.fitness(*rectangle.size(way))
                if fitness is not None:
                    yield fitness, number, way


def _new_bin(frames: Sequence[Frame], algorithm: Any) -> _Bin:
    # Which ways a sign may lie is ours to say: rectpack turns all or nothing.
    spaces = [algorithm(frame.width, frame.height, rot=False) for frame in frames]
    return _Bin(frames, spaces)


def packed_in_turn(
    rectangles: Sequence[Rectangle],
    frames: Sequence[Frame],
    *,
    algorithm: Any = None,
    admits: Admits = admit_all,
) -> Packed | None:
    """Each rectangle in its turn in the first bin that admits it and has room, else in a new one.

    Every bin has these `frames`. None where one does not even fit into an empty bin.
    """
    algorithm = algorithm or _algorithms()[0]
    bins: list[_Bin] = []
    # Bins only fill up, so those that refused one refuse all that are like it.
    first_open: dict[tuple[Hashable, ...], int] = {}
    for rectangle in rectangles:
        alike = (rectangle.width, rectangle.height, rectangle.ways, rectangle.kind)
        position = first_open.get(alike, 0)
        while position < len(bins):
            candidate = bins[position]
            if admits(candidate.spots, rectangle) and candidate.add(rectangle):
                break
            position += 1
        else:
            opened = _new_bin(frames, algorithm)
            if not opened.add(rectangle):
                return None
            bins.append(opened)
        first_open[alike] = position
    return tuple(tuple(each.spots) for each in bins)


def filled_up(rectangles: Sequence[Rectangle], frames: Sequence[Frame]) -> tuple[Spot, ...]:
    """Of some rectangles those that found room in frames, the largest first."""
    if not rectangles or not frames:
        return ()
    space = _new_bin(frames, _algorithms()[0])
    for rectangle in sorted(rectangles, key=_MEASURES[0], reverse=True):
        space.add(rectangle)
    return tuple(space.spots)


def packed(
    rectangles: Sequence[Rectangle],
    frames: Sequence[Frame],
    *,
    at_least: int = 1,
    admits: Admits = admit_all,
    most_sequences: int = MOST_SEQUENCES,
) -> Packed | None:
    """The fewest bins that any of the tried sequences needs; it stops at `at_least`.

    None where some rectangle does not even fit into an empty bin.
    """
    if not rectangles:
        return ()
    best: Packed | None = None
    sequences = islice(sequences_of(rectangles), most_sequences)
    # A bound on rectangles placed and not on trials, so that many signs take no longer than few.
    trials = islice(product(sequences, _algorithms()), max(1, MOST_PLACINGS // len(rectangles)))
    for sequence, algorithm in trials:
        found = packed_in_turn(sequence, frames, algorithm=algorithm, admits=admits)
        if found is None:
            return None
        if best is None or len(found) < len(best):
            best = found
        if len(best) <= at_least:
            return best
    return best


def sequences_of(rectangles: Sequence[Rectangle]) -> Iterator[Sequence[Rectangle]]:
    """The sequences to try: from large to small by several measures, then all, if they are few."""
    for measure in _MEASURES:
        yield sorted(rectangles, key=measure, reverse=True)
    if len(rectangles) <= FEW:
        yield from _unlike_sequences(rectangles)


_MEASURES: tuple[Callable[[Rectangle], tuple[int, ...]], ...] = (
    lambda each: (each.area, max(each.width, each.height)),
    lambda each: (max(each.width, each.height), min(each.width, each.height)),
    lambda each: (min(each.width, each.height), max(each.width, each.height)),
    lambda each: (each.width + each.height, each.width),
    lambda each: (each.height, each.width),
    lambda each: (each.width, each.height),
)


def _unlike_sequences(rectangles: Sequence[Rectangle]) -> Iterator[Sequence[Rectangle]]:
    """All sequences, those left out that differ only in rectangles of one size and kind."""
    if not rectangles:
        yield ()
    first: dict[tuple[object, ...], int] = {}
    for position, each in enumerate(rectangles):
        first.setdefault((each.width, each.height, each.ways, each.kind), position)
    for position in first.values():
        others = (*rectangles[:position], *rectangles[position + 1 :])
        for sequence in _unlike_sequences(others):
            yield (rectangles[position], *sequence)
