"""What is done at the machine: passes with their gaps and areas, and handling."""

from __future__ import annotations

from attrs import frozen

from signrules.model.quantities import Interval

REFERENCES = ("media", "build-up", "bed")
SIDES = ("front", "back")
SURFACES = ("lowest", "highest")
HANDLINGS = ("reload", "flip", "release", "pause")
FEATURES = ("braille", "raised", "visual")


@frozen
class Area:
    """A rectangle in mm from the lower corner of the media, as it lies with that side up: x, y, width, height."""

    x: float
    y: float
    width: float
    height: float


@frozen
class Gap:
    """How far above which surface the head is set: an offset in mm over one of `REFERENCES`."""

    offset: Interval
    reference: str = "media"


@frozen
class Pass:
    """One print sent to the machine.

    `media` may be None where the job has one sheet, `areas` None for the whole sheet, `gap` None to let the planner
    choose. `coverage` is the share of the areas that gets ink. `over` names passes on whose ink this one lands;
    `registers_to` is None for every pass on the same media and side. `sheet_temperature` in degrees C.
    """

    id: str
    ink: str
    media: str | None = None
    areas: tuple[Area, ...] | None = None
    layers: int = 1
    coverage: float = 1.0
    gap: Gap | None = None
    side: str = "front"
    directions: int = 2
    crisp_on: str = "lowest"
    sheet_temperature: float | None = None
    over: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    registers_to: tuple[str, ...] | None = None
    builds: str | None = None


@frozen
class Handling:
    """Anything else that is done at the machine once: one of `HANDLINGS`.

    `locates_by` names the method that puts the sheet back where it lay; None where nothing does.
    """

    id: str
    does: str
    media: str | None = None
    locates_by: str | None = None
    after: tuple[str, ...] = ()
