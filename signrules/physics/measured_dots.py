"""What measured dots tell: their mean and spread, how many lie outside a range, how many more
would.

In mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.ink import layer_from_dots, sample_deviation


@frozen
class MeasuredDots:
    """A summary of measured heights in mm; shares are from 0 to 1.

    `spread` is the standard deviation of the sample and None for a single height, and so is
    `expected_outside`.
    `outside` is the share of the measured heights that lie outside the range; `layer` is the layer
    that they show in mm, where the number of layers is known.
    """

    count: int
    mean: float
    spread: float | None
    least: float
    most: float
    outside: float
    expected_outside: float | None
    layer: Interval | None = None


def measured_dots(
    heights: Sequence[float],
    least: float | None = None,
    most: float | None = None,
    layers: int | None = None,
) -> MeasuredDots:
    """The summary of measured heights in mm against a range from `least` to `most`, either of them
    open when None.

    `expected_outside` is the share of all dots that would lie outside if heights were normally
    distributed with the mean and the spread of the sample. Take it as a hint: a handful of dots
    says little of mean and spread and less of the ends of a distribution, and dots that differ
    for a reason (a worn nozzle, an edge of the sheet) are not normal. Where all heights are alike
    within a nanometre it is all or none. A height within a nanometre of a limit is on it.

    Raises ValueError for no height or one that is no finite number, for a range upside down, and
    with `layers` for what
    `layer_from_dots` refuses.
    """
    if not heights or not all(math.isfinite(height) for height in heights):
        raise ValueError(
            f"expected at least one measured height, each a finite number, got {tuple(heights)!r}"
        )
    if least is not None and most is not None and least > most:
        raise ValueError(f"expected a range with its lower end first, got {least!r} to {most!r}")
    values = tuple(heights)
    low, high = min(values), max(values)
    mean = min(max(math.fsum(values) / len(values), low), high)
    outside = sum(_is_outside(value, least, most) for value in values) / len(values)
    deviation = None if len(values) < 2 else 0.0 if low == high else sample_deviation(values)
    expected = None
    if deviation is not None:
        alike = high - low <= GUARD_MM
        expected = (
            float(_is_outside(mean, least, most))
            if alike
            else normal_outside(mean, deviation, least, most)
        )
    layer = None if layers is None else layer_from_dots(values, layers)
    return MeasuredDots(len(values), mean, deviation, low, high, outside, expected, layer)


def normal_outside(mean: float, deviation: float, least: float | None, most: float | None) -> float:
    """The share, from 0 to 1, of a normal distribution that lies below `least` or above `most`;
    None is open.

    Raises ValueError unless the deviation is above 0.
    """
    if not deviation > 0:
        raise ValueError(f"deviation: expected a number above 0, got {deviation!r}")
    below = 0.0 if least is None else math.erfc((mean - least) / (deviation * math.sqrt(2))) / 2
    above = 0.0 if most is None else math.erfc((most - mean) / (deviation * math.sqrt(2))) / 2
    return below + above


def _is_outside(value: float, least: float | None, most: float | None) -> bool:
    return (least is not None and value < least - GUARD_MM) or (
        most is not None and value > most + GUARD_MM
    )
