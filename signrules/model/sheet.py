"""What lies on the bed and what is laid on it: media and inks."""

from __future__ import annotations

from attrs import frozen

from signrules.model.quantities import Interval

FLAT = Interval.exact(0.0)
ONLY_LOAD = "1"
"""The bed load of media that name none."""

HOLDS = ("vacuum", "tack", "tape", "pins", "none")
ROLES = ("colour", "white", "clear")


@frozen
class Media:
    """One rigid sheet. Lengths in mm; `at` is its lower corner on the bed, x along the carriage.

    `bow` is the most by which the sheet may stand off the bed; `hold` is one of `HOLDS`, None where the job does not
    say; `load` names the bed load, the media that lie on the bed together.
    """

    id: str
    thickness: Interval
    size: tuple[float, float]
    at: tuple[float, float] = (0.0, 0.0)
    material: str | None = None
    bow: Interval = FLAT
    hold: str | None = None
    load: str = ONLY_LOAD


@frozen
class Ink:
    """One ink; `layer` is the cured thickness in mm of one layer at full coverage; `role` is one of `ROLES`."""

    id: str
    layer: Interval
    role: str | None = None
