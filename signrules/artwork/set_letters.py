"""Lines of text set in a font: where their ink lies, how much of it there is, how far letters lie
apart.

Letters stand one beside the other, from left to right, as far apart as the font says, with its
kerning of pairs. There are no ligatures, and scripts that need more than that are refused.
Lengths in mm; geometry.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from statistics import median
from typing import Any

from attrs import define, field, frozen

from signrules.artwork.drawing import FontMeasures, Point
from signrules.artwork.fonts import (
    OpenFont,
    damage_told,
    glyph_rings,
    measures_of,
    opened_font,
)
from signrules.artwork.kerning import Kerning, kerning_of
from signrules.artwork.letter_gaps import SortedGaps, sorted_gaps
from signrules.artwork.libraries import fonttools_part, shapely_part
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.passes import Area
from signrules.model.quantities import Interval
from signrules.model.sign_types import SHARE_BEFORE, LetterPlace

RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})
"""Bidirectional classes (Unicode Standard Annex 9)."""


@frozen
class Glyph:
    """A letter as a font draws it, in units of the font; `bounds` is None where it has no ink."""

    name: str
    advance: float
    bounds: tuple[float, float, float, float] | None
    region: Any


@define
class LetterFont:
    """A font that letters are set in. Glyphs that were asked for are kept."""

    measures: FontMeasures
    kerning: Kerning
    _font: OpenFont
    _glyphs: dict[str, Glyph] = field(factory=dict)

    @property
    def units(self) -> float:
        """How many units of the font its em has."""
        return self._font.em

    def glyph(self, character: str) -> Glyph:
        """The glyph of a character that the font has. Raises ArtworkError where it is damaged."""
        if character not in self._glyphs:
            name = self._font.characters[ord(character)]
            with damage_told(self.measures.name):
                self._glyphs[character] = _drawn_glyph(name, self._font.glyph_set)
        return self._glyphs[character]

    def kerned(self, left: Glyph, right: Glyph) -> float:
        """What kerning adds between two glyphs, in units of the font."""
        with damage_told(self.measures.name):
            return self.kerning.between(left.name, right.name)

    def lacking(self, lines: Iterable[str]) -> str:
        """The characters of some lines that the font does not have."""
        characters = dict.fromkeys("".join(lines))
        return "".join(each for each in characters if ord(each) not in self._font.characters)


@frozen
class SetLetters:
    """Lines of letters on a sign: the rectangle around their ink, and which share of it is inked.

    `spacing` and `word_spacing` are gaps between neighbouring characters and between words, at
    their nearest points; None where there are none.
    """

    area: Area
    share: float
    spacing: Interval | None
    word_spacing: Interval | None


def letter_font(data: bytes, name: str) -> LetterFont:
    """A font of a whole file: TrueType or OpenType.

    Raises ArtworkError for any other data, SignrulesError where fontTools is not installed.
    """
    with damage_told(name):
        font = opened_font(data)
        if not font.characters:
            expected = "a font that says which of its glyphs each character is"
            raise ArtworkError(
                [DocumentFault("", "a font without a character map", expected)], name
            )
        return LetterFont(measures_of(name, font, {}), kerning_of(font.tables), font)


def characters_of_other_scripts(lines: Iterable[str]) -> str:
    """Those characters of some lines that are not set one beside the other from left to right."""
    characters = dict.fromkeys("".join(lines))
    return "".join(
        each
        for each in characters
        if unicodedata.bidirectional(each) in RIGHT_TO_LEFT or unicodedata.category(each)[0] == "M"
    )


def set_letters(
    font: LetterFont, lines: Sequence[str], place: LetterPlace, em: float, down: float
) -> SetLetters | None:
    """Lines at their place on a sign, from baseline to baseline `down`; None without any ink.

    The font has all of their characters. The rectangle is that of the curves themselves; for the
    inked share they are cut into chords, by which it is less than 0.1 % too small.

    Raises ArtworkError where the font turns out to be damaged.
    """
    gaps: list[SortedGaps] = []
    boxes: list[tuple[float, float, float, float]] = []
    regions: list[Any] = []
    for number, line in enumerate(lines):
        letters = list(_letters_in_line(font, line, place, em / font.units))
        if not letters:
            continue
        start = _start_of_line(letters, place)
        base = place.at[1] - number * down
        boxes += [_moved_box(letter.box, (start, base)) for letter in letters]
        inked = [_moved_region(letter, em / font.units, (start, base)) for letter in letters]
        gaps.append(sorted_gaps(inked, em, line))
        regions += inked
    if not boxes:
        return None
    left, low = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, high = max(box[2] for box in boxes), max(box[3] for box in boxes)
    area = Area(left, low, right - left, high - low)
    inked_area = float(shapely_part().union_all(regions).area)
    share = min(inked_area / (area.width * area.height), 1.0)
    within = [gap for each in gaps for gap in each.within]
    between = [gap for each in gaps for gap in each.between]
    return SetLetters(area, share, _spread(within), _spread(between))


@frozen
class _PlacedGlyph:
    """A letter with ink in its line: where it starts, and the box of its ink, in mm."""

    glyph: Glyph
    x: float
    box: tuple[float, float, float, float]


def _letters_in_line(
    font: LetterFont, line: str, place: LetterPlace, scale: float
) -> Iterator[_PlacedGlyph]:
    """The letters of a line that starts at 0; `scale` is how many mm a unit of the font is."""
    glyphs = [font.glyph(character) for character in line]
    kerned = [font.kerned(one, other) for one, other in pairwise(glyphs)]
    x = 0.0
    for glyph, kern in zip(glyphs, [*kerned, 0.0], strict=True):
        if glyph.bounds is not None:
            left, low, right, high = (scale * each for each in glyph.bounds)
            yield _PlacedGlyph(glyph, x, (x + left, low, x + right, high))
        x += scale * (glyph.advance + kern) + place.extra_spacing


def _start_of_line(letters: Sequence[_PlacedGlyph], place: LetterPlace) -> float:
    """Where a line starts, so that the part of its ink that `align` names lies at the place."""
    left = min(letter.box[0] for letter in letters)
    right = max(letter.box[2] for letter in letters)
    return place.at[0] - left - SHARE_BEFORE[place.align] * (right - left)


def _moved_box(
    box: tuple[float, float, float, float], by: Point
) -> tuple[float, float, float, float]:
    left, low, right, high = box
    return left + by[0], low + by[1], right + by[0], high + by[1]


def _moved_region(letter: _PlacedGlyph, scale: float, by: Point) -> Any:
    """What a letter inks, in mm."""
    matrix = [scale, 0.0, 0.0, scale, letter.x + by[0], by[1]]
    return shapely_part("affinity").affine_transform(letter.glyph.region, matrix)


def _spread(gaps: Sequence[float]) -> Interval | None:
    return Interval(min(gaps), median(gaps), max(gaps)) if gaps else None


def _drawn_glyph(name: str, glyph_set: Any) -> Glyph:
    pen = fonttools_part("pens.boundsPen").BoundsPen(glyph_set)
    outline = glyph_set[name]
    outline.draw(pen)
    region = inked_by_winding(glyph_rings(outline, glyph_set))
    bounds = None if region.is_empty else pen.bounds
    return Glyph(name, float(outline.width), bounds, region)


def inked_by_winding(rings: Sequence[Sequence[Point]]) -> Any:
    """The region that closed lines ink: all that they wind around, which is how fonts are filled.

    Lines may cross and lie on each other, as those of letters made of several strokes do.
    """
    shapely = shapely_part()
    lines = [shapely.LineString([*ring, ring[0]]) for ring in rings]
    # Taken as a polygon with holes, a letter would be bare where two of its strokes overlap.
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(lines)]))
    inside = shapely.point_on_surface(faces)
    inked = [
        face
        # No line runs through a face, so one point of it tells how often the lines wind around all
        # of it.
        for face, point in zip(faces, inside, strict=True)
        if sum(_winding_of(ring, (point.x, point.y)) for ring in rings)
    ]
    return shapely.union_all(inked)


def _winding_of(ring: Sequence[Point], point: Point) -> int:
    """How often a closed line runs around a point that does not lie on it, against the clock."""
    at_x, at_y = point
    turns = 0
    for (x, y), (next_x, next_y) in pairwise([*ring, ring[0]]):
        if (y > at_y) == (next_y > at_y):
            continue
        crossing = x + (at_y - y) / (next_y - y) * (next_x - x)
        if crossing > at_x:
            turns += 1 if next_y > y else -1
    return turns
