"""What lies on the bed and what is laid on it: media and inks."""

from __future__ import annotations

from attrs import frozen

from signrules.model.quantities import Interval

FLAT = Interval.exact(0.0)
ONLY_LOAD = "1"
"""The bed load of media that name none."""

HOLDS = ("vacuum", "tack", "tape", "pins", "none")
ROLES = ("colour", "white", "clear")
SHEET_TYPES = ("cast-acrylic", "extruded-acrylic")
"""Kinds of sheet whose thickness tolerance a published standard gives."""


@frozen
class Media:
    """One rigid sheet. Lengths in mm; `at` is its lower corner on the bed, x along the carriage.

    `bow` is the most by which the sheet may stand off the bed; `hold` is one of `HOLDS`, None where the job does not
    say; `load` names the bed load, the media that lie on the bed together. `up` is the side that lies up when the
    sheet first goes on the bed, one of `passes.SIDES`.

    `sheet_type` is one of `SHEET_TYPES`: where `thickness` carries no tolerance, that of the standard is taken.
    `located_at` is the point that stays put when the sheet grows, from its lower corner. What its material's table
    does not say, or says otherwise: `expansion` in millionths per kelvin, `density` in kg/m3, `heat_capacity` in
    J/(kg K). Hold: `vacuum_pressure` in Pa, `vacuum_share` of the sheet's area on which it acts, static `friction`.
    """

    id: str
    thickness: Interval
    size: tuple[float, float]
    at: tuple[float, float] = (0.0, 0.0)
    material: str | None = None
    bow: Interval = FLAT
    hold: str | None = None
    load: str = ONLY_LOAD
    up: str = "front"
    sheet_type: str | None = None
    located_at: tuple[float, float] | None = None
    expansion: Interval | None = None
    density: float | None = None
    heat_capacity: float | None = None
    vacuum_pressure: float | None = None
    vacuum_share: float | None = None
    friction: float | None = None


@frozen
class Ink:
    """One ink; `layer` is the cured thickness in mm of one layer at full coverage; `role` is one of `ROLES`."""

    id: str
    layer: Interval
    role: str | None = None
