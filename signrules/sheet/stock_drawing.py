"""Sheets from stock drawn to scale, with the pieces cut from them and the signs on these.

A sign is named where its name fits, else numbered. Where not even that fits, the sheet is drawn
larger and in several parts, so that nothing in it is smaller than 8 pt on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any
from xml.etree.ElementTree import Element

from attrs import frozen

from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.sheet_words import clean_text
from signrules.sheet.svg import put_box, put_words, svg_picture, svg_text

ROOM_X, ROOM_Y = 690.0, 560.0
"""What a picture may take within the margins of A4 and Letter, in pixels of CSS: 96 to the inch."""

EDGE = 3.0
LETTER, LINE = 6.6, 13.0
"""Width of a letter and height of a line of 11 px, rather too large than too small."""

MOST_PARTS = 24
"""Parts in which a sheet is drawn at most; signs that are smaller still stand in the key alone."""


_PxBox = tuple[float, float, float, float]
"""x, y, width and height in px, y downwards."""


@frozen
class _Part:
    """A part of a sheet, in mm from its corner, and the scale of its picture in px for a mm."""

    x: float
    y: float
    width: float
    height: float
    scale: float


@frozen
class StockPicture:
    """A sheet from stock: its pictures as SVG, its pieces in words, and the signs whose names stand
    in none of the pictures.
    """

    title: str
    pictures: tuple[str, ...]
    pieces: tuple[str, ...]
    key: tuple[str, ...]


def stock_picture(sheet: dict[str, Any], name: str, language: Language = ENGLISH) -> StockPicture:
    """The pictures of a sheet as `stock_places` gives it; `name` makes their ids unique."""
    parts = tuple(_parts_of(sheet))
    title = (
        f"{clean_text(sheet['id'])}: {clean_text(sheet['stock'])}, {_sides_text(sheet, language)}"
    )
    named: set[str] = set()
    pictures = []
    for number, part in enumerate(parts, start=1):
        which = title
        if len(parts) > 1:
            which = language.say(
                "{title}, part {number} of {count}", title=title, number=number, count=len(parts)
            )
        svg = _picture_of(sheet, part, f"{name}-{number}", which, language)
        named |= _put_signs(svg, sheet, part)
        _put_piece_names(svg, sheet, part)
        pictures.append(svg_text(svg))
    signs = [each for each in sheet["signs"] if each["id"] not in named]
    key = [f"{each['number']} {clean_text(each['id'])}" for each in signs]
    pieces = [
        language.say(
            "{piece} in {load}", piece=clean_text(each["id"]), load=clean_text(each["load"])
        )
        for each in sheet["pieces"]
    ]
    return StockPicture(title, tuple(pictures), tuple(pieces), tuple(key))


def _sides_text(sheet: dict[str, Any], language: Language) -> str:
    width, height = sheet["size"]
    return language.say(
        "{width} by {height}", width=language.figure(width), height=language.mm(height)
    )


def _parts_of(sheet: dict[str, Any]) -> Iterator[_Part]:
    """The whole sheet, if the number of every sign fits then; else parts, each at the scale that
    the smallest sign needs, left to right and from above.

    Parts overlap by the room of a number, so that one of them shows as much of every sign.
    """
    width, height = sheet["size"]
    whole = min((ROOM_X - 2 * EDGE) / width, (ROOM_Y - 2 * EDGE) / height)
    scale = max([whole, *(_scale_for_number(sign) for sign in sheet["signs"])])
    label = max([0.0, *(_words_width(str(sign["number"])) for sign in sheet["signs"])])
    columns, rows = _count_of_parts(scale, width, height, label)
    while columns * rows > MOST_PARTS:
        scale *= 0.9
        columns, rows = _count_of_parts(scale, width, height, label)
    across, along = width / columns, height / rows
    for row in reversed(range(rows)):
        for column in range(columns):
            x, y = column * across, row * along
            right = min(width, x + across + label / scale)
            top = min(height, y + along + LINE / scale)
            yield _Part(x, y, right - x, top - y, scale)


def _count_of_parts(scale: float, width: float, height: float, label: float) -> tuple[int, int]:
    """Columns and rows of parts at a scale, with room for labels on their edges."""
    return (
        _parts_along(width * scale, ROOM_X - 2 * EDGE, label),
        _parts_along(height * scale, ROOM_Y - 2 * EDGE, LINE),
    )


def _parts_along(length: float, room: float, overlap: float) -> int:
    """How many parts a length in px takes; a hair over the room is no reason for one more."""
    if length <= room + 1e-6:
        return 1
    return math.ceil(length / (room - overlap) - 1e-9)


def _scale_for_number(sign: dict[str, Any]) -> float:
    width: float = sign["area"][2]
    height: float = sign["area"][3]
    return max(_words_width(str(sign["number"])) / width, LINE / height)


def _words_width(text: str) -> float:
    return LETTER * len(text) + 2.0


def _picture_of(
    sheet: dict[str, Any], part: _Part, name: str, title: str, language: Language
) -> Element:
    """The sheet and its pieces."""
    width, height = part.width * part.scale + 2 * EDGE, part.height * part.scale + 2 * EDGE
    pieces, signs = sheet["pieces"], sheet["signs"]
    ids = ", ".join(clean_text(sign["id"]) for sign in signs)
    told = language.say(
        "Sheet of {sides}, from above, y upwards, with {pieces} and {signs}: {names}.",
        sides=_sides_text(sheet, language),
        pieces=language.say_count("{count} piece", "{count} pieces", len(pieces)),
        signs=language.say_count("{count} sign", "{count} signs", len(signs)),
        names=ids or language.say("none"),
    )
    svg = svg_picture(name, width, height, title, told)
    svg.set("class", "stock")
    svg.set("width", f"{width:.0f}")
    svg.set("height", f"{height:.0f}")
    svg.set("data-scale", repr(part.scale))
    _put_area(svg, "stock-sheet", part, (0.0, 0.0, *sheet["size"]))
    for piece in pieces:
        _put_area(svg, "piece", part, piece["area"])
    return svg


def _put_signs(svg: Element, sheet: dict[str, Any], part: _Part) -> set[str]:
    """The signs of a part with their names or numbers; the ids of those that are named in it."""
    named = set()
    for sign in sheet["signs"]:
        seen = _put_area(svg, "placed-sign", part, sign["area"])
        if seen is None:
            continue
        x, y, width, height = seen
        text = _fitting_text(sign, width, height)
        if not text:
            continue
        if text != str(sign["number"]):
            named.add(sign["id"])
        put_words(svg, "label mid", x + width / 2, y + height / 2 + 4, text)
    return named


def _fitting_text(sign: dict[str, Any], width: float, height: float) -> str:
    """The number and the name of a sign, or its number, whichever fits; else nothing."""
    if height < LINE - 1e-6:
        return ""
    name = clean_text(sign["id"])
    for text in (f"{sign['number']} {name}", str(sign["number"])):
        if _words_width(text) <= width + 1e-6:
            return text
    return ""


def _put_piece_names(svg: Element, sheet: dict[str, Any], part: _Part) -> None:
    """The names of pieces in a corner that no sign covers, where there is one."""
    signs = [_box_in_part(part, sign["area"]) for sign in sheet["signs"]]
    for piece in sheet["pieces"]:
        seen = _box_in_part(part, piece["area"])
        name = clean_text(piece["id"])
        if seen is None:
            continue
        for spot in _corners(seen, _words_width(name)):
            if not any(_overlaps(spot, sign) for sign in signs if sign is not None):
                put_words(svg, "label", spot[0] + 2, spot[1] + LINE - 2, name)
                break


def _corners(around: _PxBox, width: float) -> Iterator[_PxBox]:
    """Where a line of a width may stand in the corners of a box; none where it does not fit."""
    x, y, wide, high = around
    if width > wide or high < LINE:
        return
    for top in (y, y + high - LINE - 2):
        for left in (x, x + wide - width):
            yield left, top, width, LINE


def _overlaps(one: _PxBox, other: _PxBox) -> bool:
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    along = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    return across > 0 and along > 0


def _put_area(svg: Element, kind: str, part: _Part, area: Sequence[float]) -> _PxBox | None:
    """A rectangle as far as it lies in a part; None beside it."""
    box = _box_in_part(part, area)
    if box is not None:
        put_box(svg, kind, *box)
    return box


def _box_in_part(part: _Part, area: Sequence[float]) -> _PxBox | None:
    """What of an area lies in a part, in px from the upper left; None beside it."""
    x, y, width, height = area
    left, right = max(x, part.x), min(x + width, part.x + part.width)
    low, high = max(y, part.y), min(y + height, part.y + part.height)
    if right <= left or high <= low:
        return None
    return (
        EDGE + (left - part.x) * part.scale,
        EDGE + (part.y + part.height - high) * part.scale,
        (right - left) * part.scale,
        (high - low) * part.scale,
    )
