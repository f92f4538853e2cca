"""Braille as artwork: the dots of a job's signs in their places on a sheet.

Each line of cells is laid out by what its sign states, and for what it does not state by the middle
of what the job's standards allow. x runs to the right and y up from the corner of the sheet, in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from signrules.artwork.drawing import Point
from signrules.artwork.placing import area_around
from signrules.braille.dot_layout import BrailleLayout, braille_layout
from signrules.errors import SignrulesError
from signrules.given_values import demand_given
from signrules.model.built_areas import areas_building
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Area
from signrules.model.sign import Braille, Sign
from signrules.model.wording import listed_names
from signrules.standards.common_ranges import Together, together
from signrules.standards.dimension_tables import Standard

LAYER = "Braille"
"""The name of the layer that holds the dots, as ISO 19593-1 calls the processing step (second
hand)."""

LENGTHS = ("dot_diameter", "dot_spacing", "cell_spacing", "line_spacing")


@frozen
class DrawnSign:
    """The dots of one sign, and what its drawing does not agree with, in a sentence each."""

    sign: str
    layout: BrailleLayout
    notes: tuple[str, ...] = ()


@frozen
class DotDrawing:
    """The dots of all signs of one sheet: its size, and the signs that have cells."""

    sheet: str
    width: float
    height: float
    signs: tuple[DrawnSign, ...]

    @property
    def dots(self) -> tuple[tuple[Point, float], ...]:
        """The centre and the diameter of every dot."""
        return tuple(
            (dot, drawn.layout.dot_diameter) for drawn in self.signs for dot in drawn.layout.dots
        )


def drawn_dots(
    job: Job, *, sheet: str | None = None, standards: Sequence[Standard] = ()
) -> DotDrawing:
    """The braille of a job's signs as dots on a sheet; its only sheet where none is named.

    Dots lie in the middle of the areas of the passes that build them, else of the sign's area, else
    of the sheet. `standards` are those of the job. Raises SignrulesError where no sign of the sheet
    has cells, where neither a sign nor a standard says a spacing, and where a sign does not stand
    upright on its sheet.
    """
    demand_given("drawn_dots", (job, Job))
    media = _sheet_of(job, sheet)
    signs = [sign for sign in job.signs if job.media_of(sign).id == media.id]
    with_cells = [sign for sign in signs if sign.braille is not None and sign.braille.cells]
    if not with_cells:
        raise SignrulesError(f"media.{media.id}: no sign on it has braille cells to draw")
    ranges = together(standards) if standards else None
    drawn = tuple(_drawn_sign(job, sign, media, ranges) for sign in with_cells)
    return DotDrawing(media.id, *media.size, drawn)


def _sheet_of(job: Job, sheet: str | None) -> Media:
    ids = [media.id for media in job.media]
    if sheet is None and len(ids) > 1:
        raise SignrulesError(f"expected one sheet, by --sheet: {listed_names(ids)}")
    if sheet is not None and sheet not in ids:
        raise SignrulesError(f"found no sheet {sheet!r}, expected one of {listed_names(ids)}")
    return job.media_named(sheet)


def _drawn_sign(job: Job, sign: Sign, media: Media, ranges: Together | None) -> DrawnSign:
    if sign.top != "far":
        raise SignrulesError(
            f"signs.{sign.id}.top: found {sign.top!r}, expected 'far': only upright signs are drawn"
        )
    assert sign.braille is not None
    assert sign.braille.cells is not None
    room, place = _room_of(job, sign, media)
    lengths = {name: _length_of(sign, sign.braille, name, ranges) for name in LENGTHS}
    # Laid out twice: the extents of the dots are known only then, and centring needs them.
    free = braille_layout(sign.braille.cells, at=(0.0, 0.0), **lengths)
    around = free.extents
    if around is None:
        raise SignrulesError(f"signs.{sign.id}.braille.cells: found no dots, expected some to draw")
    x = room.x + (room.width - around.width) / 2 - around.x
    y = room.y + (room.height - around.height) / 2 - around.y
    notes: tuple[str, ...] = ()
    if not free.fits(room.width + FITS_MM, room.height + FITS_MM):
        notes = (
            f"the dots of {sign.id} need {around.width:.2f} mm by {around.height:.2f} mm, and"
            f" {place} {room.width:.2f} mm by {room.height:.2f} mm",
        )
    layout = braille_layout(sign.braille.cells, at=(x, y), **lengths)
    return DrawnSign(sign.id, layout, notes)


FITS_MM = 0.01
"""Dots that reach further over their room are told."""


def _room_of(job: Job, sign: Sign, media: Media) -> tuple[Area, str]:
    """Where the braille of a sign goes, and what says so."""
    feature = f"{sign.id}.braille"
    for item in job.passes:
        if feature in item.builds and item.areas is not None:
            # One pass may build the dots of many signs, and only the areas of this one count.
            own = areas_building(job, item, feature) or item.areas
            return area_around(own), f"the areas of passes.{item.id} are"
    if sign.area is not None:
        return sign.area, f"the area of signs.{sign.id} is"
    return Area(0.0, 0.0, *media.size), f"media.{media.id} is"


def _length_of(sign: Sign, braille: Braille, name: str, ranges: Together | None) -> float:
    stated = getattr(braille, name)
    if stated is not None:
        return float(stated.nominal)
    if name == "line_spacing" and "\n" not in (braille.cells or ""):
        return ANY_LINE_SPACING
    if ranges is None:
        raise SignrulesError(
            f"signs.{sign.id}.braille.{name}: found nothing, expected a length, or a standard that"
            " says it"
        )
    return ranges.target(f"braille.{name}")


ANY_LINE_SPACING = 10.0
"""In mm; where there is one line it makes no difference."""


def dots_svg(drawing: DotDrawing) -> str:
    """The dots as SVG, in mm, on a group called `Braille` that is marked as that step.

    SVG has no processing steps; the step stands in `data-step`, an attribute of our own.
    """
    width, height = _number(drawing.width), _number(drawing.height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">',
        f'<g id="{LAYER}" data-step="{LAYER}" fill="#000000">',
    ]
    for (x, y), diameter in drawing.dots:
        # SVG counts y downwards from the top of its page.
        place = f'cx="{_number(x)}" cy="{_number(drawing.height - y)}"'
        lines.append(f'<circle {place} r="{_number(diameter / 2)}"/>')
    return "\n".join([*lines, "</g>", "</svg>", ""])


def _number(value: float) -> str:
    return f"{value:.5f}".rstrip("0").rstrip(".")
