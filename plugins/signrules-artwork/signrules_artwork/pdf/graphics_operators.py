"""Operators that set the state, build paths, paint and clip (ISO 32000-1, 8.4 and 8.5, from
memory).
"""

from __future__ import annotations

from typing import Any

import pikepdf
from attrs import evolve

from signrules_artwork.affine import is_flat, largest_stretch, moved_points
from signrules_artwork.chords import CHORD_TOLERANCE_MM, Track, track_points
from signrules_artwork.painted import Ink
from signrules_artwork.pdf.colours import CMYK, GRAY, PATTERN, RGB, ColourSpace, colour_space
from signrules_artwork.pdf.objects import entry, number_of, numbers_of, plain_name
from signrules_artwork.pdf.state import Side
from signrules_artwork.pdf.walk import Operator, Walk
from signrules_artwork.regions import NOWHERE, filled_region
from signrules_artwork.strokes import stroked_region

CAPS = ("flat", "round", "square")
JOINS = ("miter", "round", "bevel")


def _set_pen(walk: Walk, **changes: Any) -> None:
    walk.state.pen = evolve(walk.state.pen, **changes)


def _dash(walk: Walk, given: list[Any]) -> None:
    _set_pen(walk, dashes=tuple(numbers_of(given[0])), phase=number_of(given[1]))


def _state_dictionary(walk: Walk, given: list[Any]) -> None:
    """The operator `gs`."""
    values = walk.named("/ExtGState", given[0])
    if not isinstance(values, pikepdf.Dictionary):
        walk.reading.note("a graphics state that the page does not have was left out")
        return
    for key, change in _STATE_ENTRIES.items():
        value = values.get(key)
        if value is not None:
            change(walk, value)
    if values.get("/SMask") is not None:
        walk.state.soft_mask = plain_name(values.get("/SMask")) != "None"


def _blend(walk: Walk, value: Any) -> None:
    names = [plain_name(each) for each in value] if isinstance(value, pikepdf.Array) else []
    name = names[0] if names else plain_name(value)
    walk.state.plain_blend = name in {"Normal", "Compatible"}


def _overprint(walk: Walk, value: Any) -> None:
    walk.state.stroke.overprint = bool(value)
    walk.state.fill.overprint = bool(value)


_STATE_ENTRIES: dict[str, Any] = {
    "/LW": lambda walk, value: _set_pen(walk, width=number_of(value)),
    "/LC": lambda walk, value: _set_pen(walk, cap=CAPS[int(value)]),
    "/LJ": lambda walk, value: _set_pen(walk, join=JOINS[int(value)]),
    "/ML": lambda walk, value: _set_pen(walk, miter_limit=number_of(value, 10.0)),
    "/D": lambda walk, value: _dash(walk, list(value)),
    "/CA": lambda walk, value: setattr(walk.state.stroke, "alpha", number_of(value, 1.0)),
    "/ca": lambda walk, value: setattr(walk.state.fill, "alpha", number_of(value, 1.0)),
    "/BM": _blend,
    "/OP": _overprint,
    "/op": lambda walk, value: setattr(walk.state.fill, "overprint", bool(value)),
}


def _line(walk: Walk, given: list[Any]) -> None:
    x, y = numbers_of(given)
    _running(walk).pieces.append(((x, y),))


def _curve(walk: Walk, given: list[Any]) -> None:
    a, b, c, d, e, f = numbers_of(given)
    _running(walk).pieces.append(((a, b), (c, d), (e, f)))


def _curve_from_here(walk: Walk, given: list[Any]) -> None:
    c, d, e, f = numbers_of(given)
    track = _running(walk)
    track.pieces.append((track.end, (c, d), (e, f)))


def _curve_to_there(walk: Walk, given: list[Any]) -> None:
    a, b, e, f = numbers_of(given)
    _running(walk).pieces.append(((a, b), (e, f), (e, f)))


def _running(walk: Walk) -> Track:
    """The track that is being drawn; a new one from the start of one that was closed."""
    if not walk.tracks:
        raise ValueError("a path without a start")
    if walk.tracks[-1].closed:
        walk.tracks.append(Track(walk.tracks[-1].start))
    return walk.tracks[-1]


def _rectangle(walk: Walk, given: list[Any]) -> None:
    x, y, width, height = numbers_of(given)
    corners = [((x + width, y),), ((x + width, y + height),), ((x, y + height),)]
    walk.tracks.append(Track((x, y), list(corners), closed=True))


def _start(walk: Walk, given: list[Any]) -> None:
    x, y = numbers_of(given)
    walk.tracks.append(Track((x, y)))


def _close(walk: Walk, given: list[Any]) -> None:
    if walk.tracks:
        walk.tracks[-1].closed = True


def path_region(walk: Walk, *, even_odd: bool) -> Any:
    """What the present path fills, in mm."""
    matrix = walk.state.matrix
    if is_flat(matrix):
        return NOWHERE
    tolerance = CHORD_TOLERANCE_MM / largest_stretch(matrix)
    rings = [moved_points(matrix, track_points(track, tolerance)) for track in walk.tracks]
    return filled_region(rings, even_odd=even_odd, reading=walk.reading)


def _painter(*, fill: str = "", stroke: bool = False, close: bool = False) -> Operator:
    """An operator that paints a path: `fill` is "", "nonzero" or "evenodd"."""

    def paint(walk: Walk, given: list[Any]) -> None:
        if close:
            _close(walk, [])
        try:
            _paint_path(walk, fill, stroke)
        finally:
            walk.tracks, walk.clip_rule = [], None

    return paint


def _paint_path(walk: Walk, fill: str, stroke: bool) -> None:
    if fill or stroke:
        walk.objects += 1
    if fill:
        region = path_region(walk, even_odd=fill == "evenodd")
        if region.is_empty and walk.tracks:
            walk.reading.note("a filled shape of no size was left out")
        walk.paint(region, walk.state.fill)
    if stroke:
        region = stroked_region(walk.tracks, walk.state.pen, walk.state.matrix, walk.reading)
        walk.paint(region, walk.state.stroke)
    if walk.clip_rule is not None:
        walk.narrow(path_region(walk, even_odd=walk.clip_rule == "evenodd"))


def _clip(rule: str) -> Operator:
    def clip(walk: Walk, given: list[Any]) -> None:
        walk.clip_rule = rule

    return clip


def _set_space(walk: Walk, side: Side, space: ColourSpace) -> None:
    if not walk.state.fixed_colour:
        side.space = space
        side.ink = space.ink(space.start)
        side.is_pattern = False


def _space_operator(which: str) -> Operator:
    def choose(walk: Walk, given: list[Any]) -> None:
        space = colour_space(given[0], _spaces_with(walk, given[0]), walk.reading)
        _set_space(walk, getattr(walk.state, which), space)

    return choose


def _spaces_with(walk: Walk, name: Any) -> Any:
    """The colour spaces in force; those of the page where a form names one that only the page has,
    as common viewers do (common practice, no published source).
    """
    own, of_page = (
        entry(resources, "/ColorSpace") for resources in (walk.resources, walk.page_resources)
    )
    if entry(own, name) is not None or entry(of_page, name) is None:
        return own
    if walk.open_forms:
        walk.reading.note("a form uses a colour space that only its page has: taken from there")
    return of_page


def _colour_operator(which: str) -> Operator:
    def choose(walk: Walk, given: list[Any]) -> None:
        side = getattr(walk.state, which)
        if walk.state.fixed_colour:
            return
        side.is_pattern = bool(given and isinstance(given[-1], pikepdf.Name))
        if side.is_pattern:
            side.ink = _pattern_ink(walk, given)
        else:
            side.ink = side.space.ink(numbers_of(given))

    return choose


def _pattern_ink(walk: Walk, given: list[Any]) -> Ink:
    """The ink of a pattern: its whole area counts as inked."""
    pattern = walk.named("/Pattern", given[-1])
    shading = entry(pattern, "/Shading")
    return shading_ink(walk, shading) if shading is not None else Ink({PATTERN.name: 1.0})


def shading_ink(walk: Walk, shading: Any) -> Ink:
    """The ink of a shading: each of its colorants in full."""
    spaces = entry(walk.resources, "/ColorSpace")
    space = colour_space(entry(shading, "/ColorSpace"), spaces, walk.reading)
    full = (0.0,) * 4 if space in {GRAY, RGB} else (1.0,) * len(space.start)
    return space.ink(full) or Ink({})


def _device_colour(which: str, space: ColourSpace) -> Operator:
    def choose(walk: Walk, given: list[Any]) -> None:
        side = getattr(walk.state, which)
        _set_space(walk, side, space)
        if not walk.state.fixed_colour:
            side.ink = space.ink(numbers_of(given))

    return choose


def _nothing(walk: Walk, given: list[Any]) -> None:
    """What an operator does that inks nothing."""


GRAPHICS_OPERATORS: dict[str, Operator] = {
    "q": lambda walk, given: walk.keep_state(),
    "Q": lambda walk, given: walk.restore_state(),
    "cm": lambda walk, given: walk.move(given),
    "w": lambda walk, given: _set_pen(walk, width=abs(number_of(given[0]))),
    "J": lambda walk, given: _set_pen(walk, cap=CAPS[int(given[0])]),
    "j": lambda walk, given: _set_pen(walk, join=JOINS[int(given[0])]),
    "M": lambda walk, given: _set_pen(walk, miter_limit=number_of(given[0], 10.0)),
    "d": _dash,
    "gs": _state_dictionary,
    "i": _nothing,
    "ri": _nothing,
    "BX": _nothing,
    "EX": _nothing,
    "MP": _nothing,
    "DP": _nothing,
    "m": _start,
    "l": _line,
    "c": _curve,
    "v": _curve_from_here,
    "y": _curve_to_there,
    "h": _close,
    "re": _rectangle,
    "S": _painter(stroke=True),
    "s": _painter(stroke=True, close=True),
    "f": _painter(fill="nonzero"),
    "F": _painter(fill="nonzero"),
    "f*": _painter(fill="evenodd"),
    "B": _painter(fill="nonzero", stroke=True),
    "B*": _painter(fill="evenodd", stroke=True),
    "b": _painter(fill="nonzero", stroke=True, close=True),
    "b*": _painter(fill="evenodd", stroke=True, close=True),
    "n": _painter(),
    "W": _clip("nonzero"),
    "W*": _clip("evenodd"),
    "CS": _space_operator("stroke"),
    "cs": _space_operator("fill"),
    "SC": _colour_operator("stroke"),
    "SCN": _colour_operator("stroke"),
    "sc": _colour_operator("fill"),
    "scn": _colour_operator("fill"),
    "G": _device_colour("stroke", GRAY),
    "g": _device_colour("fill", GRAY),
    "RG": _device_colour("stroke", RGB),
    "rg": _device_colour("fill", RGB),
    "K": _device_colour("stroke", CMYK),
    "k": _device_colour("fill", CMYK),
}
