"""How many bins rectangles need at the least, whatever the way they are placed.

Dual feasible functions: each maps shares of a side so that shares that fit beside each other still
do. Areas after such a mapping can never exceed the number of bins (Fekete and Schepers, "New
classes of fast lower bounds for bin packing problems", 2001; from memory). A rectangle that may
lie either way counts with the smaller of its two areas, so the bound holds for both.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import chain

from signrules.composing.rectangles import Frame, Rectangle

Share = Callable[[int, int], int]
"""What a side counts in a bin of a length: the length times `SCALE` where it counts fully."""

SCALE = 12
"""Thirds and quarters of a side are whole numbers of it."""

MOST_LIMITS = 12
"""From so many different sides limits are taken, the largest first."""

MOST_SIDES, MOST_SUMS = 8, 2000
"""With more different sides, or more sums of them, it is taken that all of a bin can be covered."""


def fewest_bins(rectangles: Sequence[Rectangle], frame: Frame) -> int:
    """A number of bins of a size below which no placing of the rectangles can go.

    Each rectangle fits into the bin by itself.
    """
    if not rectangles:
        return 0
    # A smaller bin makes every area a larger share of it, and the bound sharper.
    used = _frame_that_is_used(rectangles, frame)
    counts = Counter(_sizes_that_fit(each, frame) for each in rectangles)
    whole = SCALE * used.width * SCALE * used.height
    along_x = [_counted(share, counts, 0, used.width) for share in _shares(counts, used, 0)]
    along_y = [_counted(share, counts, 1, used.height) for share in _shares(counts, used, 1)]
    return max(
        -(-_least_area(counts, widths, heights) // whole)
        for widths in along_x
        for heights in along_y
    )


def fewest_bins_of_bands(bands: Sequence[Sequence[Rectangle]], frame: Frame, between: int) -> int:
    """The same where rectangles of two bands keep so much free between them along y, in any bin.

    What a bin holds of a band can be moved into one strip, and the strips lie apart. Put a
    rectangle as wide as the bin and as high as the distance above each strip. The uppermost one
    may reach over the bin by its height, so let all bins be higher by that. Bins that hold the
    bands hold these rectangles too, then. There are at least as many of them as bins, and as many
    as the bands need bins if each is placed alone. Where no bin holds rectangles of two bands, each
    band needs its own.
    """
    rectangles = list(chain.from_iterable(bands))
    least = fewest_bins(rectangles, frame)
    if len(bands) < 2 or not between:
        return least
    strips = sum(fewest_bins(some, frame) for some in bands)
    if _no_bands_meet(bands, frame, between):
        return max(strips, least)
    width = _frame_that_is_used(rectangles, frame).width
    distance = Rectangle("", width, between)
    higher = Frame(width, frame.height + between)
    while fewest_bins([*rectangles, *[distance] * max(strips, least)], higher) > least:
        least += 1
    return least


def _no_bands_meet(bands: Sequence[Sequence[Rectangle]], frame: Frame, between: int) -> bool:
    """Whether no bin holds rectangles of two bands: the lowest of each are too high together."""
    lowest = sorted(
        min(height for each in some for _, height in _sizes_that_fit(each, frame)) for some in bands
    )
    return lowest[0] + between + lowest[1] > frame.height


Sizes = tuple[tuple[int, int], ...]
"""Width and height of a rectangle for each way that it fits."""


def _sizes_that_fit(rectangle: Rectangle, frame: Frame) -> Sizes:
    sizes = (rectangle.size(way) for way in rectangle.ways)
    return tuple(size for size in sizes if size[0] <= frame.width and size[1] <= frame.height)


def _counted(share: Share, counts: Counter[Sizes], axis: int, length: int) -> dict[int, int]:
    """What each side along an axis counts."""
    sides = {size[axis] for sizes in counts for size in sizes}
    return {side: share(side, length) for side in sides}


def _least_area(counts: Counter[Sizes], widths: dict[int, int], heights: dict[int, int]) -> int:
    """The area that all count, each in the way in which it counts least."""
    return sum(
        count * min(widths[width] * heights[height] for width, height in sizes)
        for sizes, count in counts.items()
    )


def _shares(counts: Counter[Sizes], frame: Frame, axis: int) -> Iterator[Share]:
    """The dual feasible functions along an axis."""
    # The plain length: with it along both axes the bound is that of the areas.
    yield lambda side, length: SCALE * side
    for parts in (1, 2, 3, 4):
        yield _rounded_to_parts(parts)
    length = (frame.width, frame.height)[axis]
    sides = {size[axis] for sizes in counts for size in sizes}
    small = sorted((side for side in sides if 2 * side <= length), reverse=True)
    # A limit between two sides says no more than the next side does.
    for limit in small[:MOST_LIMITS]:
        yield _without_small(limit)


def _rounded_to_parts(parts: int) -> Share:
    """A side of more than some whole number of (parts + 1)-ths counts as that many parts-ths."""

    def rounded(side: int, length: int) -> int:
        number, rest = divmod(side * (parts + 1), length)
        # Of exactly one (parts + 1)-th, parts + 1 fit beside each other: counted as a parts-th
        # each, they would be more than the bin.
        if rest == 0:
            return SCALE * side
        return SCALE * length * number // parts

    return rounded


def _without_small(limit: int) -> Share:
    """Sides below a limit count nothing; those that leave less than it beside them count fully."""

    def without(side: int, length: int) -> int:
        if side > length - limit:
            return SCALE * length
        return SCALE * side if side >= limit else 0

    return without


def _frame_that_is_used(rectangles: Sequence[Rectangle], frame: Frame) -> Frame:
    """The part of a bin that can be covered: pushed to the left and down, rectangles end at sums of
    their sides (normal patterns; Herz 1972, Christofides and Whitlock 1977; from memory).
    """
    sizes = {each.size(way) for each in rectangles for way in each.ways}
    width = _largest_sum({size[0] for size in sizes}, frame.width)
    height = _largest_sum({size[1] for size in sizes}, frame.height)
    return Frame(width, height)


def _largest_sum(sides: Collection[int], limit: int) -> int:
    """The largest sum of sides, each taken any number of times, up to a limit."""
    if len(sides) > MOST_SIDES:
        return limit
    sums = {0}
    # Large sides first keep the set small for longest: they have few multiples within the limit.
    for side in sorted(sides, reverse=True):
        sums |= {
            start + times * side
            for start in sums
            for times in range(1, (limit - start) // side + 1)
        }
        if len(sums) > MOST_SUMS:
            return limit
    return max(sums)
