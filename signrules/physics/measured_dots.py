"""What measured dots tell: mean and spread, and how many lie, or would lie, outside a range.

Heights are in mm.
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
    `expected_outside`. `outside` is the share of the measured heights that lie outside the range;
    `layer` is the layer that they show in mm, where the number of layers is known.
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
    """The summary of measured heights in mm against a range from `least` to `most`.

    Either end is open when None. `expected_outside` is the share of all dots that would lie outside
    if heights were normally distributed with the mean and the spread of the sample. Take it as a
    hint: a handful of dots says little of mean and spread and less of the ends of a distribution,
    and dots that differ for a reason (a worn nozzle, an edge of the sheet) are not normal. Where
    all heights are alike within a nanometre it is all or none. A height within a nanometre of a
    limit is on it.

    Raises ValueError for no height or one that is no finite number, for a range upside down, and
    with `layers` for what `layer_from_dots` refuses.
    """
    if not heights or not all(math.isfinite(height) for height in heights):
        raise ValueError(
            f"expected at least one measured height, each a finite number, got {tuple(heights)!r}"
        )
    if least is not None and most is not None and least > most:
        raise ValueError(f"expected a range with its lower end first, got {least!r} to {most!r}")
    values = tuple(heights)
    low, high = min(values), max(values)
    # Rounding may put the mean of alike heights beside all of them.
    mean = min(max(math.fsum(values) / len(values), low), high)
    outside = sum(_is_outside(value, least, most) for value in values) / len(values)
    deviation = _spread_of(values)
    expected = None
    if deviation is not None:
        # Within the guard there is no spread to speak of: either none would lie outside, or all.
        expected = float(_is_outside(mean, least, most))
        if high - low > GUARD_MM:
            expected = normal_outside(mean, deviation, least, most)
    layer = None if layers is None else layer_from_dots(values, layers)
    return MeasuredDots(len(values), mean, deviation, low, high, outside, expected, layer)


def _spread_of(values: Sequence[float]) -> float | None:
    """The standard deviation of measured heights; None for a single one."""
    if len(values) < 2:
        return None
    # The mean of equal numbers may differ from them in the last bit, and leave a spread.
    if min(values) == max(values):
        return 0.0
    return sample_deviation(values)


def normal_outside(mean: float, deviation: float, least: float | None, most: float | None) -> float:
    """The share, from 0 to 1, of a normal distribution that lies below `least` or above `most`.

    An end that is None is open. Raises ValueError unless the deviation is above 0.
    """
    if not deviation > 0:
        raise ValueError(f"deviation: expected a number above 0, got {deviation!r}")
    below = above = 0.0
    if least is not None:
        # erfc and not 1 - erf, which keeps no digits of the small shares that are asked for here.
        below = math.erfc((mean - least) / (deviation * math.sqrt(2))) / 2
    if most is not None:
        above = math.erfc((most - mean) / (deviation * math.sqrt(2))) / 2
    return below + above


def _is_outside(value: float, least: float | None, most: float | None) -> bool:
    return (least is not None and value < least - GUARD_MM) or (
        most is not None and value > most + GUARD_MM
    )
