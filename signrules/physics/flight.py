"""How drops fly: at constant speed, and slowed by air.

A drop that leaves a moving head flies in one of two kinds of air, and the truth lies between them.
In air at rest the drag points straight against the drop's path, so the path stays straight and the
drop lands exactly carriage speed x throw / drop speed further along, whatever the drag. In air that
moves with the head the drop loses speed downwards only, flies longer and lands carriage speed x
flight time further along. (Both follow from the direction of the drag; the linear flow between a
moving head and a resting sheet lies in between.)

Drag of a single sphere after Schiller and Naumann (1933): coefficient 24 / Re x (1 + 0.15 x Re **
0.687), fitted for Reynolds numbers below 1000; inkjet drops start at 5 to 15. Without the bracket
it is Stokes' law. Drops fired close behind each other drag the air along and lose less speed than a
single one, so this is an upper bound (from memory). Gravity adds 0.1 um over 3 mm at 20 m/s and is
left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from attrs import field, frozen

from signrules.physics.number_checks import not_negative, positive_number

AIR_VISCOSITY = 1.81e-5
"""Viscosity of air at 20 degrees C, in Pa s. From memory."""

AIR_DENSITY = 1.204
"""Density of air at 20 degrees C, in kg/m3. From memory."""

GRAVITY = 9.80665
"""Standard gravity in m/s2: 3rd General Conference on Weights and Measures, 1901."""

FACTOR, EXPONENT = 0.15, 0.687
"""Schiller and Naumann's."""

_PANELS = 64
"""Into so many panels Simpson's rule cuts an integral."""

_ALMOST_STOPPED = 1 - 1e-9
"""The share of the stop distance from which no flight time is given any more."""


def one_way_offset(carriage_speed: float, throw: float, drop_speed: float) -> float:
    """How far along the travel a drop of constant speed lands, in mm; speeds in mm/s, throw in mm.

    Carriage speed x throw / drop speed: elementary kinematics. Raises ValueError unless the drop
    speed is above 0 and the others are at least 0.
    """
    # The same quantities are in US patent 6,629,747.
    not_negative("carriage_speed", carriage_speed, "mm/s")
    return (
        carriage_speed
        * not_negative("throw", throw, "mm")
        / positive_number("drop_speed", drop_speed, "mm/s")
    )


def _volume(instance: object, attribute: object, value: float) -> None:
    positive_number("volume", value, "pL")


def _density(instance: object, attribute: object, value: float) -> None:
    positive_number("density", value, "kg/m3")


def _speed(instance: object, attribute: object, value: float) -> None:
    positive_number("speed", value, "mm/s")


def _drag_factor(instance: object, attribute: object, value: float) -> None:
    not_negative("drag_factor", value, "")


@frozen
class Drop:
    """A drop as it leaves the head: volume in pL, density in kg/m3, speed in mm/s.

    `drag_factor` is Schiller and Naumann's 0.15; 0 leaves Stokes' law. Raises ValueError unless all
    are above 0 (the factor: at least 0).
    """

    volume: float = field(validator=_volume)
    density: float = field(validator=_density)
    speed: float = field(validator=_speed)
    drag_factor: float = field(default=FACTOR, validator=_drag_factor)

    @property
    def diameter(self) -> float:
        """The diameter in mm of the sphere: (6 V / pi) ** (1/3). 1 pL is 1e-6 mm3. Geometry."""
        return math.cbrt(6 * self.volume * 1e-6 / math.pi)

    @property
    def reynolds(self) -> float:
        """Reynolds number at the start: air density x speed x diameter / viscosity."""
        return AIR_DENSITY * self.speed * 1e-3 * self.diameter * 1e-3 / AIR_VISCOSITY

    @property
    def relaxation(self) -> float:
        """Relaxation time in s, density x diameter**2 / (18 x viscosity): Stokes' law."""
        return self.density * (self.diameter * 1e-3) ** 2 / (18 * AIR_VISCOSITY)

    @property
    def _excess_drag(self) -> float:
        """0.15 x Re**0.687 at the start: the share by which drag then exceeds Stokes' law."""
        return self.drag_factor * float(self.reynolds**EXPONENT)

    def speed_after(self, time: float) -> float:
        """The speed in mm/s after a time in s.

        Closed form of du/dt = -(1 + 0.15 Re**0.687) u / relaxation. Raises ValueError for a time
        below 0.
        """
        # With w = u**-0.687 the slope of w is linear in w, so w is an exponential plus a constant.
        share_left = math.exp(-EXPONENT * not_negative("time", time, "s") / self.relaxation)
        return self.speed * math.pow(
            share_left / (1 + self._excess_drag * (1 - share_left)), 1 / EXPONENT
        )

    def distance_after(self, time: float) -> float:
        """The distance flown in mm after a time in s: the integral of u / (du/dt) over the speeds u
        that the drop has had, by Simpson's rule.

        Raises ValueError for a time below 0.
        """
        return self._distance(self.speed_after(time) / self.speed)

    @property
    def stop_distance(self) -> float:
        """How far a drop flies before air has stopped it, in mm."""
        return _stop_distance(self)

    def flight_time(self, throw: float) -> float:
        """Seconds over a throw in mm in air that moves with the head.

        Newton's method on `distance_after`; from h / v0 it climbs to the answer without passing it,
        since a drop only slows down. Raises ValueError unless the throw is at least 0 and short of
        the stop distance.
        """
        return _flight_time(self, not_negative("throw", throw, "mm"))

    def _distance(self, speed_left: float) -> float:
        """The distance in mm until only a share of the speed is left."""

        # Over the cube root the integrand is smooth down to 0, where Simpson's rule needs it; over
        # speed rather than time it stays so for fast drops, which are slowed at once.
        def slowing(root: float) -> float:
            return 3 * root * root / (1 + self._excess_drag * math.pow(root, 3 * EXPONENT))

        whole = _simpson_integral(slowing, math.cbrt(speed_left), 1.0)
        return self.relaxation * self.speed * whole


@lru_cache(maxsize=256)
def _stop_distance(drop: Drop) -> float:
    return drop._distance(0.0)


@lru_cache(maxsize=4096)
def _flight_time(drop: Drop, throw: float) -> float:
    # Near the end the drop creeps, and Newton would divide by a speed of next to nothing.
    if throw >= drop.stop_distance * _ALMOST_STOPPED:
        raise ValueError(
            f"throw: expected less than the stop distance of {drop.stop_distance:.4g} mm, got"
            f" {throw!r}"
        )
    # At the speed of the start: no drop is there sooner.
    time = throw / drop.speed
    for _ in range(200):  # pragma: no branch - a handful of steps is enough
        step = (throw - drop.distance_after(time)) / drop.speed_after(time)
        time += step
        # Converged: a further step would be below what floats resolve.
        if step <= 1e-13 * time:
            break
    return time


def _simpson_integral(function: Callable[[float], float], start: float, end: float) -> float:
    """The integral of a function from a start to an end."""
    width = (end - start) / _PANELS
    total = function(start) + function(end)
    for index in range(1, _PANELS):
        weight = 4 if index % 2 else 2
        total += weight * function(start + index * width)
    return total * width / 3
