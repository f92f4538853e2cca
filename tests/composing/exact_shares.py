"""An exact answer for a few rectangles, by trying everything: the oracle of the packing tests.

It shares no code with the library. In some best placing every rectangle is pushed left and down, so
its left edge lies at a sum of widths of others and its lower edge at a sum of heights (normal
patterns; Herz 1972). So only these corners are tried.
"""

from __future__ import annotations

from functools import cache


def fits(sizes, width, height) -> bool:
    """Whether all rectangles fit into one bin; each is the tuple of its (width, height) ways."""
    xs = sums([size[0] for ways in sizes for size in ways], width)
    ys = sums([size[1] for ways in sizes for size in ways], height)
    if sum(ways[0][0] * ways[0][1] for ways in sizes) > width * height:
        return False
    ordered = sorted(sizes, key=lambda ways: -ways[0][0] * ways[0][1])
    return placed(ordered, (), width, height, xs, ys)


def sums(sides, limit):
    found = {0}
    for side in sides:
        found |= {start + side for start in found if start + side < limit}
    return sorted(found)


def placed(left, lying, width, height, xs, ys) -> bool:
    if not left:
        return True
    first, *others = left
    for wide, high in dict.fromkeys(first):
        for x in xs:
            for y in ys:
                if x + wide > width or y + high > height:
                    continue
                if any(
                    x < px + pw and px < x + wide and y < py + ph and py < y + high
                    for px, py, pw, ph in lying
                ):
                    continue
                if placed(others, (*lying, (x, y, wide, high)), width, height, xs, ys):
                    return True
    return False


def cheapest(items, width, height) -> tuple[int, int]:
    """The fewest bins, and of these the fewest gap settings; items are (ways, settings)."""

    @cache
    def holds(bits: int) -> bool:
        return fits([items[at][0] for at in range(len(items)) if bits >> at & 1], width, height)

    @cache
    def cost(left: int) -> tuple[int, int]:
        if not left:
            return 0, 0
        lowest = left & -left
        others, found = left ^ lowest, []
        chosen = others
        while True:
            bits = lowest | chosen
            if holds(bits):
                gaps = frozenset().union(
                    *(items[at][1] for at in range(len(items)) if bits >> at & 1)
                )
                bins, settings = cost(others ^ chosen)
                found.append((bins + 1, settings + len(gaps)))
            if not chosen:
                return min(found)
            chosen = (chosen - 1) & others

    return cost((1 << len(items)) - 1)


def fewest_of_bands(items, width, height, between) -> int:
    """The fewest bins of items (ways, band), two bands of which keep a distance along y.

    Whatever lies in a bin can be sorted by bands, so each band of a bin takes one strip.
    """

    @cache
    def strip(bits: int, band: str) -> int:
        sizes = [ways for at, (ways, own) in enumerate(items) if bits >> at & 1 and own == band]
        heights = (high for high in range(height + 1) if fits(sizes, width, high))
        return next(heights, height + 1)

    @cache
    def holds(bits: int) -> bool:
        bands = {band for at, (_, band) in enumerate(items) if bits >> at & 1}
        return sum(strip(bits, band) + between for band in bands) - between <= height

    @cache
    def fewest(left: int) -> int:
        if not left:
            return 0
        lowest = left & -left
        others = left ^ lowest
        found, chosen = [], others
        while True:
            if holds(lowest | chosen):
                found.append(1 + fewest(others ^ chosen))
            if not chosen:
                return min(found)
            chosen = (chosen - 1) & others

    return fewest((1 << len(items)) - 1)
