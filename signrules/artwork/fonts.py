"""What a font says of its own letters: stroke, proportion, style.

Outlines come from fontTools. What the numbers in the tables OS/2, head and post mean is from the
OpenType specification, from memory.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import pairwise
from typing import Any

from attrs import frozen

from signrules.artwork.drawing import FontMeasures, Point
from signrules.artwork.libraries import fonttools_part
from signrules.errors import ArtworkError, DocumentFault, SignrulesError

SERIF_CLASSES = frozenset({1, 2, 3, 4, 5, 7})
SANS_CLASS = 8
CLASS_STYLES = {9: "decorative", 10: "script"}
"""Classes in the high byte of sFamilyClass (OS/2)."""

LATIN_TEXT = 2
PANOSE_STYLES = {3: "script", 4: "decorative"}
FIRST_SERIF, FIRST_SANS, LAST_SANS = 2, 11, 15
"""Family and serif style of Panose (OS/2)."""

MAC_ITALIC = 1 << 1
SELECTED_ITALIC, SELECTED_OBLIQUE = 1 << 0, 1 << 9
"""Bits of macStyle (head) and of fsSelection (OS/2)."""

FLAT_CAPITALS = "IHLTEFKXZBDPR"
"""Capitals that end flat on the baseline and at the height of I, in the order in which they are
asked: a font that is embedded for one text holds the letters of that text alone. Common practice,
no published source.
"""

STEMS = "ILT"
"""Capitals that are one upright stem at half their height. Those of one font are alike (common
practice, no published source).
"""

CHORDS_PER_CURVE = 64
"""Chords that a curve of an outline is cut into where the stroke is measured."""


def measure_font(
    data: bytes, name: str, *, glyphs: Mapping[str, str | int] | None = None
) -> FontMeasures:
    """What a font says of its capitals, of x, and of its style; see `FontMeasures`.

    `data` is a TrueType or OpenType font, the first one of a collection, or a bare CFF font as PDF
    embeds it. `glyphs` are names or numbers of its glyphs by letter, where it has no character map
    of its own. Of a font without I, other capitals with flat ends tell the height. The stroke is
    that of the stem of I, else of L or T, at half its height, square to it.

    Raises ArtworkError for what is no such font, SignrulesError where fontTools is not installed.
    """
    with damage_told(name):
        return measures_of(name, opened_font(data), glyphs or {})


@contextmanager
def damage_told(name: str) -> Iterator[None]:
    """Raises ArtworkError for whatever fontTools fails on in a font of a name."""
    try:
        yield
    except SignrulesError:
        raise
    except Exception as error:
        # fontTools raises whatever it meets in a damaged file.
        found = f"data that fontTools cannot read ({type(error).__name__})"
        expected = "a whole font: TrueType, OpenType or CFF"
        raise ArtworkError([DocumentFault("", found, expected)], name) from None


@frozen
class OpenFont:
    """An open font: what draws its glyphs by name, their names by number, its tables, units of its
    em.
    """

    glyph_set: Any
    order: Sequence[str]
    characters: Mapping[int, str]
    tables: Mapping[str, Any]
    em: float


def opened_font(data: bytes) -> OpenFont:
    """A font of a whole file, or a bare CFF font. Raises whatever fontTools does for any other."""
    if data[:1] == b"\x01":
        return _opened_cff(data)
    # Lazy: a handful of letters is measured, and a whole font may hold tens of thousands.
    font = fonttools_part("ttLib").TTFont(io.BytesIO(data), fontNumber=0, lazy=True)
    characters = (font.getBestCmap() or {}) if "cmap" in font else {}
    em = float(font["head"].unitsPerEm)
    return OpenFont(font.getGlyphSet(), font.getGlyphOrder(), characters, font, em)


def _opened_cff(data: bytes) -> OpenFont:
    """A bare CFF font; it starts with the number of its version, 1."""
    font_set = fonttools_part("cffLib").CFFFontSet()
    font_set.decompile(io.BytesIO(data), None)
    font = font_set[0]
    return OpenFont(font.CharStrings, font.charset, {}, {}, 1 / font.FontMatrix[0])


def _outlines_of(font: OpenFont, glyphs: Mapping[str, str | int]) -> dict[str, list[list[Point]]]:
    """The closed lines of the letters that are measured; those that the font has."""
    found = {}
    for letter in dict.fromkeys(f"{FLAT_CAPITALS}{STEMS}Ox"):
        named = glyphs.get(letter, font.characters.get(ord(letter), letter))
        # A PDF that embeds a part of a font keeps numbers of glyphs and may drop their names.
        if isinstance(named, int):
            named = font.order[named]
        if named in font.glyph_set:
            found[letter] = glyph_rings(font.glyph_set[named], font.glyph_set)
    return found


def measures_of(name: str, font: OpenFont, glyphs: Mapping[str, str | int]) -> FontMeasures:
    """What an open font says of its letters; `glyphs` as those of `measure_font`."""
    outlines = _outlines_of(font, glyphs)
    sizes = {letter: _size_of(rings) for letter, rings in outlines.items() if rings}
    # Round letters reach over the line (overshoot), so that they look as tall: flat ones tell.
    height = next((sizes[each][1] for each in FLAT_CAPITALS if each in sizes), None)
    stem = next((each for each in STEMS if each in sizes), None)
    stroke = _stroke_of(outlines[stem], font.tables) if stem else None
    return FontMeasures(
        name,
        cap_height=height / font.em if height else None,
        x_height=sizes["x"][1] / font.em if "x" in sizes else None,
        stroke_share=stroke / height if height and stroke else None,
        width_share=sizes["O"][0] / height if height and "O" in sizes else None,
        serif=_is_serif(font.tables),
        slanted=_is_slanted(font.tables),
        flourish=_flourish_of(font.tables),
    )


def _size_of(rings: list[list[Point]]) -> tuple[float, float]:
    """Width and height from edge to edge. Chords of a curve leave out less than 0.03 % of it."""
    across = [x for ring in rings for x, _ in ring]
    along = [y for ring in rings for _, y in ring]
    return max(across) - min(across), max(along) - min(along)


def _stroke_of(rings: list[list[Point]], tables: Mapping[str, Any]) -> float:
    """How wide the stem of a letter is at half its height, square to itself."""
    lowest = min(y for ring in rings for _, y in ring)
    # Half way up, where no foot, serif or crossbar of I, L or T reaches.
    across = _inked_length(rings, lowest + _size_of(rings)[1] / 2)
    angle = float(tables["post"].italicAngle) if "post" in tables else 0.0
    return across * math.cos(math.radians(angle))


def glyph_rings(outline: Any, glyph_set: Any) -> list[list[Point]]:
    """The closed lines of a glyph, curves cut into `CHORDS_PER_CURVE` chords."""
    pen = fonttools_part("pens.recordingPen").DecomposingRecordingPen(glyph_set)
    outline.draw(pen)
    rings: list[list[Point]] = []
    for operator, points in pen.value:
        if operator == "moveTo":
            rings.append([points[0]])
        elif operator == "lineTo":
            rings[-1].append(points[0])
        elif operator in ("curveTo", "qCurveTo"):
            # How the pen marks a closed curve without a start: TrueType needs no point on the line
            # itself.
            if operator == "qCurveTo" and points[-1] is None:
                rings.append(_ring_of_curves(points[:-1]))
            else:
                rings[-1] += _chords(operator, rings[-1][-1], points)
    return [ring for ring in rings if len(ring) > 2]


def _ring_of_curves(points: tuple[Point, ...]) -> list[Point]:
    """A TrueType outline without any point on the line: it starts half way between two."""
    first, last = points[0], points[-1]
    start = ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)
    return [start, *_chords("qCurveTo", start, (*points, start))]


def _chords(operator: str, start: Point, points: tuple[Point, ...]) -> list[Point]:
    base_pen = fonttools_part("pens.basePen")
    found: list[Point] = []
    if operator == "qCurveTo":
        pieces: list[tuple[Point, ...]] = base_pen.decomposeQuadraticSegment(points)
    else:
        pieces = base_pen.decomposeSuperBezierSegment(points)
    for piece in pieces:
        controls = (start, *piece)
        steps = range(1, CHORDS_PER_CURVE + 1)
        found += [_on_curve(controls, step / CHORDS_PER_CURVE) for step in steps]
        start = piece[-1]
    return found


def _on_curve(controls: tuple[Point, ...], share: float) -> Point:
    """A point of a Bezier curve, after de Casteljau."""
    points = list(controls)
    while len(points) > 1:
        points = [
            (one[0] + share * (two[0] - one[0]), one[1] + share * (two[1] - one[1]))
            for one, two in pairwise(points)
        ]
    return points[0]


def _inked_length(rings: list[list[Point]], height: float) -> float:
    """How much of a level line is inked, by the winding number that fonts fill by."""
    crossings: list[tuple[float, int]] = []
    for ring in rings:
        for (x, y), (next_x, next_y) in zip(ring, ring[1:] + ring[:1], strict=True):
            # An end on the line counts as below it, so that a corner on the line is crossed once or
            # twice, never by half.
            if (y > height) != (next_y > height):
                at = x + (height - y) / (next_y - y) * (next_x - x)
                crossings.append((at, 1 if next_y > y else -1))
    inked, winding, before = 0.0, 0, 0.0
    for at, turn in sorted(crossings):
        if winding:
            inked += at - before
        winding, before = winding + turn, at
    return inked


def _is_serif(tables: Mapping[str, Any]) -> bool | None:
    if "OS/2" not in tables:
        return None
    # The family class is asked first; Panose only where the class tells of neither (from memory:
    # both are set by hand, and editors fill Panose in).
    of_class = tables["OS/2"].sFamilyClass >> 8
    if of_class in SERIF_CLASSES:
        return True
    if of_class == SANS_CLASS:
        return False
    panose = tables["OS/2"].panose
    if panose.bFamilyType != LATIN_TEXT:
        return None
    if FIRST_SERIF <= panose.bSerifStyle < FIRST_SANS:
        return True
    return False if FIRST_SANS <= panose.bSerifStyle <= LAST_SANS else None


def _is_slanted(tables: Mapping[str, Any]) -> bool | None:
    said: list[bool] = []
    if "post" in tables:
        said.append(tables["post"].italicAngle != 0)
    if "head" in tables:
        said.append(bool(tables["head"].macStyle & MAC_ITALIC))
    if "OS/2" in tables:
        said.append(bool(tables["OS/2"].fsSelection & (SELECTED_ITALIC | SELECTED_OBLIQUE)))
    # The tables are set by hand and may disagree. One that says slanted is believed: a standard
    # forbids slanted letters, and to miss them costs more than to ask.
    return any(said) if said else None


def _flourish_of(tables: Mapping[str, Any]) -> str | None:
    """ "script" or "decorative" where the tables say so."""
    if "OS/2" not in tables:
        return None
    of_class = CLASS_STYLES.get(tables["OS/2"].sFamilyClass >> 8)
    return of_class or PANOSE_STYLES.get(tables["OS/2"].panose.bFamilyType)


def style_of_font(font: FontMeasures) -> str | None:
    """The style of a font by its own tables, as signs name it; None where they do not say."""
    if font.flourish is not None:
        return font.flourish
    if font.slanted:
        return "italic"
    if font.serif is None:
        return None
    return "serif" if font.serif else "sans-serif"
