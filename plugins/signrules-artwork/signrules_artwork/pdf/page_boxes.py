"""Where a page of a PDF lies: its boxes, turn and unit, and the map from them to millimetres."""

from __future__ import annotations

from typing import Any

import pikepdf
from attrs import frozen

from signrules_artwork.affine import Matrix, joined, moved_point
from signrules_artwork.faults import Reading, artwork_error
from signrules_artwork.pdf.objects import entry, number_of, numbers_of

POINT_MM = 25.4 / 72
"""User space counts in 1/72 in (ISO 32000-1, 8.3.2.3, from memory)."""

LETTER = (0.0, 0.0, 612.0, 792.0)
"""What a page without any box is taken to be, as common viewers do (common practice, no published
source).
"""

MOST_PAGE_MM = 100_000.0

Box = tuple[float, float, float, float]


@frozen
class PageFrame:
    """A page as seen: its size in mm, the map from user space to mm, and the box of user space
    that may show anything at all (`media`). `origin_box` names the box whose lower left corner, as
    seen, is the origin; `turn` is clockwise in degrees, `unit` in mm.
    """

    width: float
    height: float
    to_mm: Matrix
    media: Box
    origin_box: str
    turn: int
    unit: float


def page_frame(page: Any, reading: Reading) -> PageFrame:
    """The frame of a page: from its TrimBox, its CropBox where it has none, or its MediaBox."""
    media = _box(page, "/MediaBox") or LETTER
    crop = _met(_box(page, "/CropBox") or media, media)
    trim = _box(page, "/TrimBox")
    box, name = crop, "CropBox" if _box(page, "/CropBox") else "MediaBox"
    if trim is not None:
        box, name = _met(trim, media), "TrimBox"
    turn = round(number_of(_inherited(page, "/Rotate")) / 90) * 90 % 360
    unit = number_of(entry(page, "/UserUnit"), 1.0) * POINT_MM
    if unit <= 0 or not (box[2] - box[0]) * (box[3] - box[1]) > 0:
        found = f"a {name} of {box[2] - box[0]:g} by {box[3] - box[1]:g} units"
        raise artwork_error(reading.where, found, "a page with an area")
    turned = _turned(box, turn)
    to_mm = joined(turned, (unit, 0.0, 0.0, unit, 0.0, 0.0))
    corner = moved_point(to_mm, box[2], box[3])
    opposite = moved_point(to_mm, box[0], box[1])
    width, height = max(corner[0], opposite[0]), max(corner[1], opposite[1])
    if max(width, height) > MOST_PAGE_MM:
        found = f"a page of {width:,.0f} by {height:,.0f} mm"
        raise artwork_error(reading.where, found, f"at most {MOST_PAGE_MM:,.0f} mm to a side")
    return PageFrame(width, height, to_mm, media, name, turn, unit)


def _turned(box: Box, turn: int) -> Matrix:
    """The map from user space to the page as seen, its lower left corner at 0, in user units."""
    left, bottom, right, top = box
    if turn == 90:
        return (0.0, -1.0, 1.0, 0.0, -bottom, right)
    if turn == 180:
        return (-1.0, 0.0, 0.0, -1.0, right, top)
    if turn == 270:
        return (0.0, 1.0, -1.0, 0.0, top, -left)
    return (1.0, 0.0, 0.0, 1.0, -left, -bottom)


def _met(box: Box, media: Box) -> Box:
    """The part of a box within the media box."""
    left, bottom = max(box[0], media[0]), max(box[1], media[1])
    return left, bottom, max(left, min(box[2], media[2])), max(bottom, min(box[3], media[3]))


def _box(page: Any, key: str) -> Box | None:
    numbers = numbers_of(_inherited(page, key))
    if len(numbers) != 4:
        return None
    left, right = sorted((numbers[0], numbers[2]))
    bottom, top = sorted((numbers[1], numbers[3]))
    return left, bottom, right, top


def _inherited(page: Any, key: str) -> Any:
    """An entry of a page, or of the nodes above it."""
    holder, depth = page, 0
    while isinstance(holder, pikepdf.Dictionary) and depth < 50:
        value = holder.get(key)
        if value is not None:
            return value
        holder, depth = holder.get("/Parent"), depth + 1
    return None
