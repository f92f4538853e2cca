"""Signs of sign types in their places on a sheet, and what each pass of a type prints of them.

Lengths in mm; geometry. A sign lies upright or turned by a quarter to the left, its lower left
corner, as it lies, at a place on its sheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.braille.dot_layout import Point
from signrules.documents.table_reader import write_table
from signrules.errors import DocumentFault
from signrules.model.passes import FEATURES, SIDES, Area
from signrules.model.quantities import GUARD_MM
from signrules.model.sign import Braille
from signrules.model.sign_types import SECTIONS, TypePass
from signrules.model.wording import number_text
from signrules.schedules.cells import LENGTHS, dot_layout, shown_text
from signrules.schedules.filling import FilledType

DECIMALS = 6
"""Places and shares are stated to a millionth: a nanometre, which is the guard of lengths."""


@frozen
class SignPlace:
    """Where a sign lies: the id of the sheet, its lower left corner on it, and how wide it is.

    Turned over, around an axis along y, a sheet has its right edge where its left one was. A sign
    with passes on the back cannot be `turned`.
    """

    media: str
    at: Point
    sheet_width: float
    turned: bool = False


@frozen
class PrintedPart:
    """What one pass of a type prints of one sign; `share` of the areas gets ink. `artwork` is the
    layer that it was read from.
    """

    item: TypePass
    row: Mapping[str, Any]
    areas: tuple[Area, ...]
    share: float
    artwork: Mapping[str, Any] | None = None


@frozen
class PlacedSign:
    """A sign at its place: its row of a job document, and what each pass of its type prints."""

    type: str
    media: str
    sign: Mapping[str, Any]
    parts: tuple[PrintedPart, ...]
    read_notes: tuple[str, ...] = ()


def placed_sign(
    filled: FilledType, braille: Braille | None, id: str, place: SignPlace, size: Point
) -> PlacedSign:
    """A sign of a filled type, with an id, of a width and height, at a place on a sheet.

    `braille` is that of the sign: with its cells, some dot among them, and with all lengths where
    the type says where its dots begin.
    """
    places = _feature_places(filled, braille)
    own = _own_parts(filled, places, size)
    parts = tuple(_moved_part(part, place, size) for part in own)
    frame = _area_on_sheet(Area(0.0, 0.0, *size), place, size)
    sign: dict[str, Any] = {"id": id, "media": place.media, "area": area_row(frame)}
    if place.turned:
        sign["top"] = "left"
    sign_type = filled.sign_type
    if sign_type.kind is not None:
        sign["kind"] = sign_type.kind
    if sign_type.text:
        sign["text"] = list(sign_type.text)
    for name in SECTIONS:
        if name in filled.table:
            sign[name] = dict(filled.table[name])
    if braille is not None:
        sign["braille"] = _braille_row(sign["braille"], braille)
    for name, (areas, _) in places.items():
        sign[name]["area"] = area_row(_area_on_sheet(_around(areas), place, size))
    return PlacedSign(filled.id, place.media, sign, parts, filled.read_notes)


def _braille_row(stated: Mapping[str, Any], braille: Braille) -> dict[str, Any]:
    """The braille of a sign as its type states it, with its cells and lengths."""
    row = dict(stated)
    made = write_table(braille)
    for key in ("cells", *LENGTHS):
        if key in made and (key == "cells" or key not in row):
            row[key] = made[key]
    return row


Places = Mapping[str, tuple[tuple[Area, ...], float]]
"""Where each feature lies on its sign, and which share of that gets ink."""


def _feature_places(filled: FilledType, braille: Braille | None) -> Places:
    found: dict[str, tuple[tuple[Area, ...], float]] = {}
    sign_type = filled.sign_type
    if sign_type.dots is not None and braille is not None:
        layout = dot_layout(braille, sign_type.dots)
        # A rectangle for each line and not for each dot: the planner plans with areas, and coverage
        # says how much of them is dots.
        areas = layout.areas(per="line")
        found["braille"] = (areas, layout.base_area / total_area(areas))
    for name in ("braille", "raised", "visual"):
        section = getattr(sign_type, name)
        if section is not None and section.area is not None:
            found[name] = ((section.area,), filled.shares.get(name, 1.0))
    return found


def _own_parts(filled: FilledType, places: Places, size: Point) -> list[PrintedPart]:
    """What each pass prints, from the corner of the sign."""
    parts: dict[str, PrintedPart] = {}
    rows = filled.table["passes"]
    waiting = list(zip(filled.sign_type.passes, rows, strict=True))
    while waiting:
        # Those first whose areas hang on no pass that is still to come; in a circle, any.
        ready = [each for each in waiting if _is_ready(each[0], parts)] or waiting[:1]
        for item, row in ready:
            areas, share = _printed_areas(item, places, parts, size)
            if item.coverage is not None:
                share = item.coverage
            source = filled.sources.get(item.id)
            parts[item.id] = PrintedPart(item, row, areas, share, source)
        waiting = [each for each in waiting if each[0].id not in parts]
    return [parts[item.id] for item in filled.sign_type.passes]


def _is_ready(item: TypePass, parts: Mapping[str, PrintedPart]) -> bool:
    return item.areas is not None or bool(item.builds) or all(id in parts for id in item.over)


def _printed_areas(
    item: TypePass, places: Places, parts: Mapping[str, PrintedPart], size: Point
) -> tuple[tuple[Area, ...], float]:
    """The areas of a pass on its sign, and the share of them that gets ink."""
    if item.areas is not None:
        return item.areas, 1.0
    some = [places[name] for name in item.builds if name in places]
    if not item.builds:
        some = [(parts[id].areas, parts[id].share) for id in item.over if id in parts]
    if not some:
        return (Area(0.0, 0.0, *size),), 1.0
    # Passes over two others that print in the same place cover it once.
    areas = tuple(dict.fromkeys(area for own, _ in some for area in own))
    return areas, min(sum(total_area(own) * share for own, share in some) / total_area(areas), 1.0)


def _moved_part(part: PrintedPart, place: SignPlace, size: Point) -> PrintedPart:
    side = part.item.side
    areas = tuple(_area_on_sheet(area, place, size, side) for area in part.areas)
    return evolve(part, areas=areas)


def _area_on_sheet(area: Area, place: SignPlace, size: Point, side: str = "front") -> Area:
    """An area of a sign of a width and height on its sheet, which lies with a side up."""
    x, y = place.at
    if side == "back":
        return _moved_area(area, (place.sheet_width - x - size[0], y))
    if place.turned:
        # A quarter to the left takes x to y, and y to the left from the height of the sign.
        area = Area(size[1] - area.y - area.height, area.x, area.height, area.width)
    return _moved_area(area, (x, y))


def parts_off_the_sign(
    placed: PlacedSign, filled: FilledType, place: SignPlace, size: Point
) -> Iterable[DocumentFault]:
    """What would be printed beyond the edge of the sign, by how much."""
    whole = Area(0.0, 0.0, *size)
    frames = {side: _area_on_sheet(whole, place, size, side) for side in SIDES}
    parts = [
        (_place_of_feature(name, filled), Area(*placed.sign[name]["area"]), frames["front"])
        for name in FEATURES
        if "area" in placed.sign.get(name, {})
    ]
    for at, part in enumerate(placed.parts):
        if part.item.areas is not None:
            where = f"passes[{at}].areas"
            parts += [(where, area, frames[part.item.side]) for area in part.areas]
    farthest: dict[str, float] = {}
    for where, area, frame in parts:
        farthest[where] = max(_beyond(area, frame), farthest.get(where, 0.0))
    text = shown_text(filled.sign_type.text)
    for where, beyond in farthest.items():
        # Where an area begins and how long it is are both rounded to the guard.
        if beyond <= 2 * GUARD_MM:
            continue
        found = f"ink for {text!r} that reaches {number_text(beyond)} mm over the edge of the sign"
        wide, high = (number_text(each) for each in size)
        expected = f"all of it on the sign, {wide} mm by {high} mm: another text, place or type"
        yield DocumentFault(f"{filled.path}.{where}", found, expected)


def _place_of_feature(name: str, filled: FilledType) -> str:
    """What of a type says where a feature lies."""
    if name == "braille" and filled.sign_type.dots is not None:
        return "dots"
    if filled.sign_type.letters_of(name) is not None:
        return f"lettering.{name}"
    return f"{name}.area"


def _beyond(area: Area, frame: Area) -> float:
    """How far an area reaches over the edge of another."""
    right = area.x + area.width - frame.x - frame.width
    top = area.y + area.height - frame.y - frame.height
    return max(frame.x - area.x, frame.y - area.y, right, top)


def _moved_area(area: Area, by: Point) -> Area:
    return Area(area.x + by[0], area.y + by[1], area.width, area.height)


def _around(areas: Sequence[Area]) -> Area:
    left, low = min(area.x for area in areas), min(area.y for area in areas)
    right = max(area.x + area.width for area in areas)
    high = max(area.y + area.height for area in areas)
    return Area(left, low, right - left, high - low)


def total_area(areas: Iterable[Area]) -> float:
    """The area in mm2 of some that do not overlap."""
    return sum(area.width * area.height for area in areas)


def area_row(area: Area) -> list[float]:
    """An area as a document states it."""
    return [round(each, DECIMALS) for each in (area.x, area.y, area.width, area.height)]
