"""How many bins rectangles need at the least, whatever the way they are placed.

Dual feasible functions: each maps shares of a side so that shares that fit beside each other still
do. Areas after such a mapping can never exceed the number of bins (Fekete and Schepers, "New
classes of fast lower bounds for bin packing problems", 2001; from memory). A rectangle that may
lie either way counts with the smaller of its two areas, so the bound holds for both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from signrules.composing.rectangles import Frame, Rectangle

Share = Callable[[Fraction], Fraction]

MOST_SIZES = 12
"""From so many different sides limits are taken, the largest first."""


def fewest_bins(rectangles: Sequence[Rectangle], frame: Frame) -> int:
    """A number of bins of a size below which no placing of the rectangles can go.

    Each rectangle fits into the bin by itself.
    """
    if not rectangles:
        return 0
    sizes = _shares_by_size(rectangles, frame)
    shares = list(_share_functions(sizes))
    return max(
        math.ceil(sum(count * _least_area(ways, along_x, along_y) for ways, count in sizes.items()))
        for along_x in shares
        for along_y in shares
    )


Ways = tuple[tuple[Fraction, Fraction], ...]
"""The shares of both sides of the bin that a rectangle takes, for each way that it fits."""


def _shares_by_size(rectangles: Sequence[Rectangle], frame: Frame) -> dict[Ways, int]:
    counts: dict[Ways, int] = {}
    for rectangle in rectangles:
        sizes = (rectangle.size(way) for way in rectangle.ways)
        ways = tuple(
            (Fraction(width, frame.width), Fraction(height, frame.height))
            for width, height in sizes
            if width <= frame.width and height <= frame.height
        )
        counts[ways] = counts.get(ways, 0) + 1
    return counts


def _least_area(ways: Ways, along_x: Share, along_y: Share) -> Fraction:
    return min(along_x(width) * along_y(height) for width, height in ways)


def _share_functions(sizes: dict[Ways, int]) -> Iterator[Share]:
    yield lambda share: share
    for parts in (1, 2, 3, 4):
        yield _rounded_to_parts(parts)
    sides = {side for ways in sizes for pair in ways for side in pair}
    small = sorted((side for side in sides if side <= Fraction(1, 2)), reverse=True)
    for limit in small[:MOST_SIZES]:
        yield _without_small(limit)


def _rounded_to_parts(parts: int) -> Share:
    """A share of more than some whole number of (parts + 1)-ths counts as that many parts-ths."""

    def rounded(share: Fraction) -> Fraction:
        if (share * (parts + 1)).denominator == 1:
            return share
        return Fraction(math.floor(share * (parts + 1)), parts)

    return rounded


def _without_small(limit: Fraction) -> Share:
    """Shares below a limit count nothing; those that leave less than it beside them count fully."""

    def without(share: Fraction) -> Fraction:
        if share > 1 - limit:
            return Fraction(1)
        return share if share >= limit else Fraction(0)

    return without
