"""How many layers bring dots that were measured too low into their range."""

from __future__ import annotations

import math
from collections.abc import Iterator

from signrules.model.quantities import GUARD_MM, Interval


def more_layers(
    lowest_mm: float, highest_mm: float, least_mm: float, most_mm: float, layer: Interval
) -> int | None:
    """The fewest whole layers that bring the lowest dot to `least_mm` and leave the highest within
    `most_mm`: 0 where both are within already, None where no number does.

    Heights in mm; `layer` is what one layer adds, in mm. The lowest dot gets layers as thin as they
    may be and the highest dot layers as thick. An end of the range may be infinite. Geometry.
    Raises ValueError for dots with the higher one first, or a layer that is not above 0.
    """
    if not lowest_mm <= highest_mm:
        raise ValueError(f"expected the lowest dot first, got {lowest_mm!r} and {highest_mm!r}")
    if not layer.low > 0:
        raise ValueError(f"layer: expected a thickness above 0, got {layer.low!r}")
    if highest_mm > most_mm + GUARD_MM:
        return None
    missing = least_mm - GUARD_MM - lowest_mm
    if missing <= 0:
        return 0
    if math.isinf(missing) or math.isinf(missing / layer.low):
        return None
    count = math.ceil(missing / layer.low)
    return count if highest_mm + count * layer.high <= most_mm + GUARD_MM else None


def ranges_for_layers(
    least: float | None, most: float | None, layers: int
) -> Iterator[tuple[float, float, int]]:
    """Between which heights dots of so many layers must lie for 1, 2 and so on further layers to
    bring them from `least` to `most`, all in mm: the lowest height, the highest, and how many.

    A dot of h mm and L layers becomes one of h (L + n) / L mm with n further ones, by simple
    proportion: each adds to it what those there have added.
    """
    for count in range(1, layers + 1):
        share = layers / (layers + count)
        low = 0.0 if least is None else least * share
        high = math.inf if most is None else most * share
        yield low, high, count
