"""Where in a picture words can stand without touching a line or each other. Lengths in px."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, floor

from attrs import frozen


@frozen
class Box:
    """A rectangle of a picture, from its upper left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of its lower edge."""
        return self.y + self.height

    @property
    def middle(self) -> tuple[float, float]:
        """The point in its middle."""
        return self.x + self.width / 2, self.y + self.height / 2


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes have some area in common."""
    across = min(one.right, other.right) - max(one.x, other.x)
    along = min(one.bottom, other.bottom) - max(one.y, other.y)
    return across > 0 and along > 0


GAP, APART = 3.0, 7.0
"""How far words stand from what they name, where they stand beside it, and at least from others of
its kind.
"""


class FreeRoom:
    """The px of a picture that nothing takes; a row of them is kept as the bits of a number."""

    def __init__(self, width: float, height: float) -> None:
        self._width = floor(width)
        self._rows = [0] * ceil(height)

    def take(self, box: Box) -> None:
        """Let no words stand in a box, nor closer than a px to it."""
        first, last = max(floor(box.x) - 1, 0), min(ceil(box.right) + 1, self._width)
        if last <= first:
            return
        bits = ((1 << (last - first)) - 1) << first
        top, bottom = max(floor(box.y) - 1, 0), min(ceil(box.bottom) + 1, len(self._rows))
        for row in range(top, bottom):
            self._rows[row] |= bits

    def take_edges(self, box: Box) -> None:
        """Let no words stand on the outline of a box."""
        self.take(Box(box.x, box.y, box.width, 0))
        self.take(Box(box.x, box.bottom, box.width, 0))
        self.take(Box(box.x, box.y, 0, box.height))
        self.take(Box(box.right, box.y, 0, box.height))

    def place(
        self, width: float, height: float, inside: Box, near: tuple[float, float]
    ) -> Box | None:
        """A free box of a size inside another, about as near to a point as can be.

        None where there is none.
        """
        wide, high = ceil(width), ceil(height)
        first, last = max(ceil(inside.x), 0), min(floor(inside.right), self._width) - wide
        top, bottom = max(ceil(inside.y), 0), min(floor(inside.bottom), len(self._rows)) - high
        if last < first or bottom < top:
            return None
        wanted = min(max(round(near[0] - wide / 2), first), last)
        rows = sorted(range(top, bottom + 1), key=lambda row: abs(row + high / 2 - near[1]))
        for row in rows:
            x = self._nearest_start(row, wide, high, (first, last), wanted)
            if x is not None:
                return Box(x, row, wide, high)
        return None

    def place_beside(
        self, width: float, height: float, box: Box, others: Iterable[Box]
    ) -> Box | None:
        """A free box of a size right of a box, above, below or left of it.

        None where there is none that the other boxes of its kind do not come near.
        """
        wide = ceil(width)
        x, y = box.middle
        spots = (
            (box.right + GAP, y - height / 2),
            (x - wide / 2, box.y - GAP - height),
            (x - wide / 2, box.bottom + GAP),
            (box.x - GAP - wide, y - height / 2),
        )
        near = [other for other in others if other != box]
        for left, top in spots:
            around = Box(left - APART, top - APART, wide + 2 * APART, height + 2 * APART)
            if any(overlap(around, other) for other in near):
                continue
            exact = Box(left - 1, top - 1, wide + 2, height + 2)
            place = self.place(wide, height, exact, exact.middle)
            if place is not None and not overlap(place, box):
                return place
        return None

    def _nearest_start(
        self, row: int, wide: int, high: int, span: tuple[int, int], wanted: int
    ) -> int | None:
        """The x nearest to a wanted one at which so many px are free in so many rows."""
        taken = 0
        for each in self._rows[row : row + high]:
            taken |= each
        starts = ~taken & ((1 << self._width) - 1)
        # A bit that stays set has as many free ones behind it as were asked for.
        found = 1
        while found < wide:
            step = min(found, wide - found)
            starts &= starts >> step
            found += step
        first, last = span
        starts &= ((1 << (last - first + 1)) - 1) << first
        after = starts >> wanted
        before = starts & ((1 << wanted) - 1)
        nearest = []
        if after:
            nearest.append(wanted + (after & -after).bit_length() - 1)
        if before:
            nearest.append(before.bit_length() - 1)
        return min(nearest, key=lambda x: abs(x - wanted), default=None)
