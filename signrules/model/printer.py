"""The printer: what it can set, how fast it moves, what its set-up costs."""

from __future__ import annotations

import datetime
from bisect import bisect_left
from functools import cached_property
from typing import Any

from attrs import field, frozen

from signrules.model.quantities import Interval


@frozen
class Spacers:
    """A gap control by loose spacers, one at a time; each thickness in mm. Without a spacer the offset is 0."""

    spacers: tuple[float, ...] = ()

    def offsets(self) -> tuple[float, ...]:
        """Every offset that can be set, in mm, ascending."""
        return self._offsets

    @cached_property
    def _offsets(self) -> tuple[float, ...]:
        return tuple(sorted({0.0, *self.spacers}))


@frozen
class Dial:
    """A gap control by a dial: every `step` from 0 to `max`, in mm."""

    max: float
    step: float

    def offsets(self) -> tuple[float, ...]:
        """Every offset that can be set, in mm, ascending; rounded to the nanometre so that 3 x 0.1 is 0.3."""
        return self._offsets

    @cached_property
    def _offsets(self) -> tuple[float, ...]:
        count = int(self.max / self.step + 1e-9)
        return tuple(round(index * self.step, 6) for index in range(count + 1))


def nearest_offset(gap: Spacers | Dial, offset: float) -> float:
    """The offset in mm that can be set and is nearest to another one, the lower of two that are equally near."""
    offsets = gap.offsets()
    place = bisect_left(offsets, offset)
    return min(offsets[max(place - 1, 0) : place + 1], key=lambda each: (abs(each - offset), each))


def offsets_beside(gap: Spacers | Dial, offset: float) -> tuple[float | None, float | None]:
    """The offsets in mm that can be set next below another one and next above it; None where there is none."""
    offsets = gap.offsets()
    place = bisect_left(offsets, offset)
    below = offsets[place - 1] if place else None
    return below, offsets[place] if place < len(offsets) else None


@frozen
class Minutes:
    """What set-up costs on this printer, in minutes each; None where the shop has not said."""

    load: float | None = None
    gap: float | None = None
    alignment: float | None = None


@frozen
class MovingBed:
    """A bed that moves under the head; `acceleration` in mm/s2 is what the sheets on it must bear."""

    acceleration: float | None = None


def _by_name(methods: Any) -> Any:
    """In order of name, so that printers that say the same are equal; what is no tuple of pairs stays as it is."""
    try:
        return tuple(sorted(methods)) if isinstance(methods, tuple) else methods
    except TypeError:
        return methods


@frozen
class Printer:
    """One flatbed printer. Lengths in mm, speeds in mm/s, resolution in dots per inch.

    `base_gap` is head to reference surface as the machine sets it when the operator adds nothing. `head_length` is
    along y. `locating` holds pairs of a method's name and its error in mm: how far a sheet may lie from where it
    lay when it is put back by that method.

    All that follows may be left out; what needs it is then not assessed. Drops: volumes in pL, density in kg/m3, a
    satellite's speed. `head_work` is the day on which heads were last moved or replaced: older alignments are void.
    Time: the height of a swath along y, how many passes of the carriage fill it, accelerations in mm/s2, how far the
    carriage runs beyond the print on each side, the speed of an empty return (that of printing where left out). Heat:
    `absorbed_dose` in J/m2 is what the sheet takes up from the lamps with each layer, `cooling` in W/(m2 K) what it
    gives off. `moving_bed` is None where the bed stands still.
    """

    bed: tuple[float, float]
    base_gap: Interval
    min_clearance: float
    gap: Spacers | Dial
    head_length: float
    carriage_speed: float
    drop_speed: float
    max_throw: float | None = None
    resolution: float | None = None
    landing_tolerance: float | None = None
    locating: tuple[tuple[str, float], ...] = field(default=(), converter=_by_name)
    minutes: Minutes = field(factory=Minutes)
    name: str | None = None
    drop_volume: float | None = None
    drop_density: float | None = None
    satellite_volume: float | None = None
    satellite_speed: float | None = None
    head_work: datetime.date | None = None
    moving_bed: MovingBed | None = None
    swath: float | None = None
    swath_passes: int | None = None
    carriage_acceleration: float | None = None
    overrun: float | None = None
    return_speed: float | None = None
    absorbed_dose: float | None = None
    cooling: float | None = None

    def locating_error(self, method: str) -> float | None:
        """The error in mm of a locating method, or None where the printer states none."""
        return self._errors.get(method)

    @cached_property
    def _errors(self) -> dict[str, float]:
        return dict(self.locating)

    @property
    def allowed_landing_error(self) -> float | None:
        """`landing_tolerance`, or one dot pitch (25.4 mm / resolution); None where neither is stated. In mm."""
        if self.landing_tolerance is not None:
            return self.landing_tolerance
        return None if self.resolution is None else 25.4 / self.resolution
