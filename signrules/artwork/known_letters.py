"""What outlines tell of a font where it is known which letter each of them is. Geometry."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules.artwork.accents import letters_with_marks
from signrules.artwork.libraries import shapely_part
from signrules.artwork.strokes import stem_of, stroke_of

UPRIGHT = frozenset("BDEFHILPTU")
"""Capitals with an upright stem as thick as that of I, and no slanted stroke. Common practice, no
published source.
"""

STEMMED = UPRIGHT | {"R"}
"""Those, and the one whose slanted stroke is about as thick."""

STROKE_DOUBT = 0.003
"""The stems of those are as thick as that of I, but for this share of the height. Measured by
ourselves on 59 fonts without serifs for general use, where B, D and R of one are off by up to three
times as much. No published source.
"""

FREE_FEET = frozenset("FHIPT")
"""Capitals that stand on stems alone, so that a foot wider than its stem is a serif."""

FOOT_LEVEL, STEM_LEVEL = 0.02, 0.25
"""At which shares of the height feet and stems are crossed."""

LEAST_SERIF = 1.2
"""A foot with serifs is at least so many times as wide as its stem. Common practice, no published
source.
"""

LEAST_SLANT = math.tan(math.radians(3))
"""Stems that lean further, x over y, are those of slanted letters. Common practice, no published
source.
"""


HANGING = frozenset("JQ")
"""Capitals that reach under the line in some typefaces."""


@frozen
class KnownLetter:
    """A letter without its marks, and the region that it inks.

    `marked` says that the text has a mark on it, which the region may hold where it touches.
    """

    char: str
    region: Any
    marked: bool = False

    @property
    def tells_height(self) -> bool:
        """Whether it reaches from the baseline to the top of capitals and no further, if it is a
        capital or a digit.
        """
        return self.char.isalnum() and self.char not in HANGING and not self.marked


def known_letters(line: Sequence[Any], text: str | None) -> list[KnownLetter]:
    """The letters of a line by its text; none where their numbers differ, or their heights are not
    those of the capitals that the text has.
    """
    known = letters_by_text(line, text)
    return [] if differ_as_no_capitals(known) else known


def letters_by_text(line: Sequence[Any], text: str | None) -> list[KnownLetter]:
    """The letters of a line as its text has them; none where their numbers differ."""
    said = letters_with_marks(text or "")
    if len(said) != len(line):
        return []
    return [
        KnownLetter(letter.char, region, bool(letter.marks))
        for letter, region in zip(said, line, strict=True)
    ]


def strokes_of_line(
    letters: Sequence[KnownLetter], drawn: Sequence[Any], height: float
) -> list[float]:
    """The stroke of I in mm: that of an I, else the least, the likely and the most by letters like
    it; of a line without them the stroke of what is drawn.
    """
    by_i = stroke_of([letter.region for letter in letters if letter.char == "I"])
    if by_i is not None:
        return [by_i]
    # Bowls and diagonals are drawn thinner or thicker than stems, so stems tell where there are
    # any.
    stroke = stroke_of([letter.region for letter in letters if letter.char in STEMMED])
    if stroke is not None:
        doubt = STROKE_DOUBT * height
        return [max(stroke - doubt, 0.0), stroke, stroke + doubt]
    of_all = stroke_of(drawn)
    return [] if of_all is None else [of_all]


def widths_of_o(letters: Iterable[KnownLetter]) -> list[float]:
    """How wide each O is, from edge to edge."""
    boxes = [letter.region.bounds for letter in letters if letter.char == "O"]
    return [right - left for left, _, right, _ in boxes]


def style_of_known(letters: Iterable[KnownLetter]) -> str | None:
    """ "italic" or "serif" where letters show that they are. None where they do not: that they are
    plain is for the eye.
    """
    telling = [letter for letter in letters if letter.char in UPRIGHT]
    stems = [stem for letter in telling if (stem := stem_of(letter.region)) is not None]
    # One that leans is enough: what is italic breaks the clause wherever in the text it stands.
    if any(abs(stem.lean) > LEAST_SLANT for stem in stems):
        return "italic"
    feet = (letter.region for letter in telling if letter.char in FREE_FEET)
    return "serif" if any(map(_has_serifs, feet)) else None


def _has_serifs(letter: Any) -> bool:
    feet, stems = (_inked_length(letter, level) for level in (FOOT_LEVEL, STEM_LEVEL))
    return feet > LEAST_SERIF * stems


def _inked_length(letter: Any, level: float) -> float:
    """How much of a level line through a letter is inked, at a share of its height."""
    left, low, right, high = letter.bounds
    y = low + level * (high - low)
    line = shapely_part().LineString([(left, y), (right, y)])
    return float(letter.intersection(line).length)


TALL_SMALL_LETTERS = frozenset("bdfghijklpqty")
"""Small letters that reach over the height of x, or under the line."""

SHOWN_BY_HEIGHT = 0.08
"""Capitals and digits of one line differ by less than this share of their height. Common practice,
no published source.
"""


def all_show_capitals(lines: Iterable[Sequence[KnownLetter]]) -> bool:
    """Whether letters known as capitals show by their heights that they are no small ones.

    Small letters of both kinds, such as t and o, would differ in height; where a line has letters
    of one kind alone, as MEN, nothing tells. One line that shows it shows it for all.
    """
    checked = list(lines)
    return all(checked) and any(_of_both_kinds(line) for line in checked)


def differ_as_no_capitals(line: Iterable[KnownLetter]) -> bool:
    """Whether letters that are to be capitals and digits differ in height as those do not."""
    letters = list(line)
    # Small letters of one line differ in height by nature, and tell nothing of a mistake.
    if any(letter.char.islower() for letter in letters):
        return False
    boxes = [letter.region.bounds for letter in letters if letter.tells_height]
    heights = [high - low for _, low, _, high in boxes]
    return bool(heights) and min(heights) < (1 - SHOWN_BY_HEIGHT) * max(heights)


def _of_both_kinds(line: Iterable[KnownLetter]) -> bool:
    # Asked of the small forms: had the line been drawn in them, these would be of two heights.
    small = {letter.char.lower() for letter in line if letter.char.isalpha()}
    beside_digits = any(letter.char.isdigit() for letter in line)
    return bool(small - TALL_SMALL_LETTERS) and (bool(small & TALL_SMALL_LETTERS) or beside_digits)


def not_told_by(letters: Sequence[KnownLetter], *, shows_case: bool = True) -> Iterator[str]:
    """What is not measured of letters that are outlines, in words."""
    if not letters:
        yield "which letters they are, and so their style and the width of O"
        yield "the stroke of I, in whose place the thickest stem of the letters drawn stands"
        return
    chars = {letter.char for letter in letters}
    if not shows_case and any(char.isupper() for char in chars):
        yield "whether they are capitals, which their heights do not show"
    if not chars & STEMMED:
        yield "the stroke of I, since no letter has a stem like it; it is that of the letters drawn"
    elif "I" not in chars:
        yield (
            "the stroke of I, which the text does not have; letters like it tell it within"
            f" {100 * STROKE_DOUBT:g} % of the height"
        )
    if "O" not in chars:
        yield "the width of O, which the text does not have"
    if style_of_known(letters) is None and chars & FREE_FEET:
        yield "whether they are ornate; they have no serifs and do not slant"
    elif style_of_known(letters) is None:
        yield "their style, since no letter shows whether it has serifs"
