"""Ink: how thick a layer is, how many make a height, how much that takes, what a dome can be.

Drop volumes in pL, heights and lengths in mm, areas in mm2, ink volumes in mm3 (1 mm3 is 1 uL)
unless said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from signrules.model.quantities import GUARD_MM, Interval, clamped_interval
from signrules.physics.number_checks import not_negative, positive_number, share_of_one

INCH_MM = 25.4
"""Exactly: international inch of 1959."""


def layer_thickness(
    resolution_x: float,
    resolution_y: float,
    drop_volume: float,
    coverage: float = 1.0,
    shrinkage: float = 0.0,
) -> float:
    """Thickness of one layer in mm: drops for each area x drop volume x coverage x (1 - shrinkage).

    Resolutions in dots per inch. `coverage` counts several drops for each dot as more than 1. A
    film cannot shrink sideways, so all of its shrinkage shows in its height. Geometry. Raises
    ValueError for a value out of its range.
    """
    drops = (
        positive_number("resolution_x", resolution_x, "dpi")
        * positive_number("resolution_y", resolution_y, "dpi")
        / INCH_MM**2
    )
    # What leaves on curing leaves upwards: the film is held by what it lies on.
    share_left = 1 - share_of_one("shrinkage", shrinkage)
    return (
        drops
        * positive_number("drop_volume", drop_volume, "pL")
        * 1e-6
        * not_negative("coverage", coverage, "")
        * share_left
    )


def layers_for(height: float, layer: float) -> int:
    """The fewest layers that reach a height, flat on top; both in mm.

    Raises ValueError unless both are above 0, and for a layer of which no number reaches it.
    """
    # Less the guard, so that 24 layers that reach a height exactly are not made 25 by rounding.
    count = max(0.0, positive_number("height", height, "mm") - GUARD_MM) / positive_number(
        "layer", layer, "mm"
    )
    # A layer of 1e-320 mm is a float above 0, and a division by it overflows.
    if math.isinf(count):
        raise ValueError(
            f"layer: expected one of which some number reaches {height!r} mm, got {layer!r}"
        )
    return max(1, math.ceil(count))


def layer_from_dots(heights: Sequence[float], layers: int) -> Interval:
    """The layer in mm that measured dots show, from the lowest to the highest, nominal the mean.

    Raises ValueError unless there is a height, all are above 0, and the layers at least 1.
    """
    if not heights or layers < 1:
        raise ValueError("expected at least one measured height and one layer")
    layer_heights = [positive_number("height", height, "mm") / layers for height in heights]
    mean = math.fsum(layer_heights) / len(layer_heights)
    return clamped_interval(min(layer_heights), mean, max(layer_heights))


def sample_deviation(values: Sequence[float]) -> float:
    """The standard deviation of a sample of two or more (divided by n - 1).

    Raises ValueError for fewer.
    """
    if len(values) < 2:
        raise ValueError(f"expected at least two values, got {len(values)}")
    mean = math.fsum(values) / len(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))


def cap_volume(base: float, height: float) -> float:
    """Volume in mm3 of a dome on a round base of a diameter: pi h (3 a**2 + h**2) / 6.

    Geometry of a spherical cap. Raises ValueError unless both are above 0.
    """
    radius = positive_number("base", base, "mm") / 2
    return (
        math.pi
        * positive_number("height", height, "mm")
        * (3 * radius * radius + height * height)
        / 6
    )


def cap_limit(base: float) -> float:
    """The most in mm that a plain dome can stand on a base of a diameter: half of it (geometry).

    What is higher overhangs, or is a cylinder with a dome on top. Raises ValueError unless the base
    is above 0.
    """
    return positive_number("base", base, "mm") / 2


def ink_volume(
    area: float, thickness: float, coverage: float = 1.0, shrinkage: float = 0.0
) -> float:
    """Ink in mL for an area in mm2 under a cured thickness in mm.

    area x coverage x thickness / (1 - shrinkage). 1 mL is 1000 mm3. With a wet thickness leave the
    shrinkage at 0. Geometry. Raises ValueError for a value out of its range.
    """
    if share_of_one("shrinkage", shrinkage) == 1:
        raise ValueError("shrinkage: expected a share below 1, got 1: nothing would be left")
    cured = (
        not_negative("area", area, "mm2")
        * not_negative("thickness", thickness, "mm")
        * share_of_one("coverage", coverage)
    )
    return cured / (1 - shrinkage) / 1000


def ink_mass(volume: float, density: float) -> float:
    """Ink in g from mL and kg/m3: volume x density.

    Raises ValueError unless the density is above 0 and the volume at least 0.
    """
    return (
        not_negative("volume", volume, "mL") * positive_number("density", density, "kg/m3") / 1000
    )


def volume_of_drops(area: float, drops_per_area: float, drop_volume: float) -> float:
    """Ink in mL of so many drops for each mm2 of an area in mm2, each of a volume in pL.

    Raises ValueError for a value below 0.
    """
    drops = not_negative("area", area, "mm2") * not_negative(
        "drops_per_area", drops_per_area, "drops/mm2"
    )
    return drops * not_negative("drop_volume", drop_volume, "pL") * 1e-9
