"""Heat: how far a sheet grows, how warm it gets, how long it cools.

Coefficients of expansion are in millionths per kelvin (ppm/K), lengths in mm, temperatures in
degrees C or K.
"""

from __future__ import annotations

import math

from signrules.model.quantities import Interval
from signrules.physics.number_checks import not_negative, positive_number


def thermal_growth(expansion: Interval, distance: float, warming: float) -> Interval:
    """By how much a point moves away from the one that stays put, in mm.

    Coefficient x distance x warming. `distance` in mm and `warming` in K, whichever way: only sizes
    count. Linear thermal expansion, any handbook of physics. Raises ValueError for a coefficient or
    distance below 0, or a warming that is no number.
    """
    not_negative("expansion", expansion.low, "ppm/K")
    factor = not_negative("distance", distance, "mm") * not_negative("warming", abs(warming), "K")
    return expansion.scaled(factor * 1e-6)


def warming_of_layer(dose: float, density: float, heat_capacity: float, thickness: float) -> float:
    """By how much a sheet of a thickness in mm warms evenly when it absorbs a dose in J/m2, in K.

    dose / (density x heat capacity x thickness), density in kg/m3, heat capacity in J/(kg K):
    energy balance. Raises ValueError unless all are above 0 (the dose: at least 0).
    """
    return not_negative("dose", dose, "J/m2") / _heat_content(density, heat_capacity, thickness)


def cooling_time_constant(
    cooling: float, density: float, heat_capacity: float, thickness: float
) -> float:
    """Seconds in which a sheet loses 63 % of its warmth.

    Density x heat capacity x thickness / heat transfer. `cooling` in W/(m2 K), through one face:
    Newton's law of cooling. Raises ValueError unless all are above 0.
    """
    return _heat_content(density, heat_capacity, thickness) / positive_number(
        "cooling", cooling, "W/m2K"
    )


def _heat_content(density: float, heat_capacity: float, thickness: float) -> float:
    """The heat that warms a square metre of a sheet by 1 K, in J/(m2 K)."""
    volume = (
        positive_number("density", density, "kg/m3")
        * positive_number("thickness", thickness, "mm")
        * 1e-3
    )
    return volume * positive_number("heat_capacity", heat_capacity, "J/kgK")


def warmth_of_sheet(
    start: float, per_layer: float, layers: int, period: float, time_constant: float
) -> float:
    """How far above the room a sheet is, in K, right after the last of some layers.

    There is one every `period` seconds. Each layer adds `per_layer` kelvins; in between a share q =
    exp(-period / time constant) of the warmth stays, all of it where the constant is infinite.
    After n layers it is start x q**n + per_layer x (1 - q**n) / (1 - q): geometric series over
    Newton's law of cooling. Raises ValueError unless the time constant is above 0, and period and
    layers are at least 0.
    """
    if layers < 0:
        raise ValueError(f"layers: expected at least 0, got {layers!r}")
    if not time_constant > 0:
        raise ValueError(f"time_constant: expected a number of s above 0, got {time_constant!r}")
    rate = not_negative("period", period, "s") / time_constant
    # The series is q + q + ... with q = 1, where its closed form divides 0 by 0.
    if rate == 0:
        return start + per_layer * layers
    # `expm1` keeps its digits where the warmth hardly falls from layer to layer.
    from_layers = per_layer * math.expm1(-layers * rate) / math.expm1(-rate)
    return start * math.exp(-layers * rate) + from_layers


def cooling_time(warmth_now: float, allowed: float, time_constant: float) -> float:
    """Seconds until a sheet is no more than `allowed` kelvins above the room.

    time constant x ln(now / allowed): Newton's law of cooling. 0 where it is cool enough already,
    without end where nothing above the room is allowed. Raises ValueError unless the time constant
    is above 0.
    """
    positive_number("time_constant", time_constant, "s")
    # An exponential never reaches the room itself, so to ask for that takes for ever.
    if warmth_now <= max(allowed, 0.0):
        return 0.0
    if allowed <= 0:
        return math.inf
    return time_constant * math.log(warmth_now / allowed)
