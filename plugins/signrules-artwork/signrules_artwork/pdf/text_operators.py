"""Operators that write text (ISO 32000-1, 9.3 and 9.4, from memory)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pikepdf
import shapely
from attrs import define, evolve, field

from signrules_artwork.affine import (
    IDENTITY,
    Matrix,
    is_flat,
    joined,
    largest_stretch,
    moved_points,
)
from signrules_artwork.chords import CHORD_TOLERANCE_MM, track_points
from signrules_artwork.letter_setting import settings_of
from signrules_artwork.painted import Writing
from signrules_artwork.pdf.fonts import PdfFont, pdf_font
from signrules_artwork.pdf.objects import number_of, numbers_of, object_key
from signrules_artwork.pdf.walk import DOWNWARDS, Operator, Walk
from signrules_artwork.regions import NOWHERE, filled_region
from signrules_artwork.strokes import stroked_region

FILLS = frozenset({0, 2, 4, 6})
STROKES = frozenset({1, 2, 5, 6})
CLIPS = frozenset({4, 5, 6, 7})
INVISIBLE = 3

STEPS_OF_A_LETTER = 10
"""What a letter counts as: it takes as long as so many plain operators."""


@define
class TextObject:
    """Where the next letter goes (`matrix`), where its line starts, and what the text clips to."""

    matrix: Matrix = IDENTITY
    line: Matrix = IDENTITY
    clips: list[Any] = field(factory=list)


def _begin(walk: Walk, given: list[Any]) -> None:
    walk.text = TextObject()


def _end(walk: Walk, given: list[Any]) -> None:
    if walk.text is not None and walk.text.clips:
        walk.narrow(shapely.union_all(walk.text.clips))
    walk.text = None


def _set_lettering(name: str, scale: float = 1.0) -> Operator:
    def change(walk: Walk, given: list[Any]) -> None:
        setattr(walk.state.lettering, name, number_of(given[0]) * scale)

    return change


def _mode(walk: Walk, given: list[Any]) -> None:
    walk.state.lettering.mode = int(given[0])


def _font(walk: Walk, given: list[Any]) -> None:
    lettering = walk.state.lettering
    lettering.font = met_font(walk, walk.named("/Font", given[0]))
    lettering.size = number_of(given[1])


def met_font(walk: Walk, value: Any) -> PdfFont | None:
    """The font that a dictionary describes, read once."""
    if not isinstance(value, pikepdf.Dictionary):
        walk.reading.note("text in a font that the page does not have was left out")
        return None
    key = object_key(value)
    font: PdfFont = walk.fonts[key] if key in walk.fonts else pdf_font(value, walk.reading)
    if key:
        walk.fonts[key] = font
    return font


def _written(walk: Walk) -> TextObject:
    """The text object; begun where the file forgot to."""
    if walk.text is None:
        walk.text = TextObject()
    text: TextObject = walk.text
    return text


def _set_matrix(walk: Walk, given: list[Any]) -> None:
    a, b, c, d, e, f = numbers_of(given)
    text = _written(walk)
    text.matrix = text.line = (a, b, c, d, e, f)


def _next_line(walk: Walk, given: list[Any]) -> None:
    x, y = numbers_of(given)
    text = _written(walk)
    text.matrix = text.line = joined((1.0, 0.0, 0.0, 1.0, x, y), text.line)


def _next_line_setting_leading(walk: Walk, given: list[Any]) -> None:
    walk.state.lettering.leading = -number_of(given[1])
    _next_line(walk, given)


def _line_on(walk: Walk, given: list[Any]) -> None:
    _next_line(walk, [0.0, -walk.state.lettering.leading])


def _show(walk: Walk, given: list[Any]) -> None:
    show_strings(walk, [given[0]])


def _show_array(walk: Walk, given: list[Any]) -> None:
    show_strings(walk, list(given[0]))


def _show_on_next_line(walk: Walk, given: list[Any]) -> None:
    _line_on(walk, [])
    show_strings(walk, [given[0]])


def _show_spaced(walk: Walk, given: list[Any]) -> None:
    walk.state.lettering.word_space = number_of(given[0])
    walk.state.lettering.letter_space = number_of(given[1])
    _line_on(walk, [])
    show_strings(walk, [given[2]])


def show_strings(walk: Walk, parts: list[Any]) -> None:
    """Writes strings and moves between them, as one string of text."""
    lettering, text = walk.state.lettering, _written(walk)
    font = lettering.font
    if font is None:
        return
    walk.objects += 1
    if font.program is None and font.glyphs is None:
        walk.reading.note(f"font '{font.name}' is not in the file: its text has no shapes")
    start = _letter_matrix(walk, text)
    walk.writing = len(walk.writings)
    walk.writings.append(_writing(walk, "", start, start))
    read: list[str] = []
    for part in parts:
        if isinstance(part, pikepdf.String):
            for code, size in font.codes(bytes(part)):
                walk.reading.spend_steps(STEPS_OF_A_LETTER)
                _show_code(walk, text, font, code)
                read.append(font.text(code))
                _advance(walk, text, font.width(code), blank=size == 1 and code == 32)
        else:
            _move_on(walk, text, -number_of(part) / 1000 * lettering.size)
    end = _letter_matrix(walk, text)
    writing = _writing(walk, "".join(read), start, end)
    if walk.writing in walk.clipped_writings:
        writing = evolve(writing, altered=(*writing.altered, "partly clipped away"))
    walk.writings[walk.writing] = writing
    walk.writing = None
    if font.downwards:
        left, low, right, high = start[4], start[5], end[4], end[5]
        walk.not_followed[DOWNWARDS].append((left, low, right, high))
    if lettering.mode == INVISIBLE:
        walk.reading.note("invisible text inks nothing")


def _writing(walk: Walk, text: str, start: Matrix, end: Matrix) -> Writing:
    """A string from the maps of its first letter and of the one after its last, em to mm."""
    a, b, c, d, e, f = start
    lettering = walk.state.lettering
    side = walk.state.fill if lettering.mode in FILLS else walk.state.stroke
    return Writing(
        text,
        (e, f),
        (end[4], end[5]),
        math.hypot(c, d),
        math.degrees(math.atan2(b, a)),
        lettering.font.measures,
        tuple(walk.chains()),
        side.ink if lettering.mode in FILLS | STROKES else None,
        walk.place,
        (*settings_of(start), *_strokes_of(walk)),
    )


def _strokes_of(walk: Walk) -> Iterator[str]:
    """How strokes change the letters of their font, in words."""
    mode = walk.state.lettering.mode
    if mode not in STROKES or walk.state.stroke.ink is None:
        return
    wide = walk.state.pen.width * largest_stretch(walk.state.matrix)
    filled = mode in FILLS and walk.state.fill.ink is not None
    yield f"{'filled and ' if filled else ''}drawn with lines of {wide:.3f} mm"


def _letter_matrix(walk: Walk, text: TextObject) -> Matrix:
    """The map from the em of the next letter to mm."""
    lettering = walk.state.lettering
    size = lettering.size
    sized = (size * lettering.width_scale, 0.0, 0.0, size, 0.0, lettering.rise)
    return joined(joined(sized, text.matrix), walk.state.matrix)


def _advance(walk: Walk, text: TextObject, width: float, *, blank: bool) -> None:
    lettering = walk.state.lettering
    move = width * lettering.size + lettering.letter_space
    _move_on(walk, text, move + (lettering.word_space if blank else 0.0))


def _move_on(walk: Walk, text: TextObject, move: float) -> None:
    across = move * walk.state.lettering.width_scale
    text.matrix = joined((1.0, 0.0, 0.0, 1.0, across, 0.0), text.matrix)


def _show_code(walk: Walk, text: TextObject, font: PdfFont, code: int) -> None:
    """Paints one letter."""
    matrix = _letter_matrix(walk, text)
    if font.glyphs is not None:
        _show_stream(walk, font, code, matrix)
        return
    if font.program is None or is_flat(matrix):
        return
    mode = walk.state.lettering.mode
    scale = font.program.scale
    to_mm = joined((scale, 0.0, 0.0, scale, 0.0, 0.0), matrix)
    tracks = font.tracks(code)
    tolerance = CHORD_TOLERANCE_MM / max(largest_stretch(to_mm), 1e-12)
    region = NOWHERE
    if mode in FILLS | CLIPS:
        rings = [moved_points(to_mm, track_points(track, tolerance)) for track in tracks]
        region = filled_region(rings, even_odd=False, reading=walk.reading)
    if mode in FILLS:
        walk.paint(region, walk.state.fill)
    if mode in STROKES:
        pen = evolve(walk.state.pen, width=walk.state.pen.width * _pen_scale(walk, to_mm))
        walk.paint(stroked_region(tracks, pen, to_mm, walk.reading), walk.state.stroke)
    if mode in CLIPS:
        text.clips.append(region)


def _pen_scale(walk: Walk, to_mm: Matrix) -> float:
    """How much wider a pen is in units of a letter than in user space."""
    return largest_stretch(walk.state.matrix) / largest_stretch(to_mm)


def _show_stream(walk: Walk, font: PdfFont, code: int, matrix: Matrix) -> None:
    """Paints one letter of a font of type 3: drawing operators of its own."""
    glyph = font.glyphs.get("/" + font.names.get(code, ""))
    if not isinstance(glyph, pikepdf.Stream) or walk.state.lettering.mode == INVISIBLE:
        return
    kept = walk.state
    walk.state = kept.kept()
    walk.state.matrix = joined(font.glyph_matrix, matrix)
    writing = walk.writing
    try:
        walk.enter(glyph, font.resources)
    finally:
        walk.state, walk.writing = kept, writing


def _glyph_without_colour(walk: Walk, given: list[Any]) -> None:
    """The operator `d1`: the letter takes the colour of the text."""
    walk.state.fixed_colour = True
    walk.state.stroke = walk.state.fill


TEXT_OPERATORS: dict[str, Operator] = {
    "BT": _begin,
    "ET": _end,
    "Tc": _set_lettering("letter_space"),
    "Tw": _set_lettering("word_space"),
    "Tz": _set_lettering("width_scale", 0.01),
    "TL": _set_lettering("leading"),
    "Ts": _set_lettering("rise"),
    "Tr": _mode,
    "Tf": _font,
    "Tm": _set_matrix,
    "Td": _next_line,
    "TD": _next_line_setting_leading,
    "T*": _line_on,
    "Tj": _show,
    "TJ": _show_array,
    "'": _show_on_next_line,
    '"': _show_spaced,
    "d0": lambda walk, given: None,
    "d1": _glyph_without_colour,
}
