"""Marks above and below letters that are outlines, as of É and Ü: parts of their letters.

They are no letters, no lines and no ornaments, and the height of a letter is that without them.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from typing import Any

from attrs import frozen

ABOVE, BELOW, ATTACHED_BELOW = 230, 220, 202
"""Combining classes of marks above a letter, below it, and below it where they touch it, as the
cedilla does in many typefaces (Unicode Standard, 4.3).
"""

APART = (ABOVE, BELOW, ATTACHED_BELOW)
"""Classes of marks that may be shapes of their own."""

CEDILLA_ABOVE = frozenset("g")
"""Letters that have the mark above which Unicode names a cedilla: there is no room under them."""

TWO_SHAPES = frozenset("\u0308\u030b")
"""Marks of two shapes each: two dots, two strokes."""

MARK_HEIGHT = 0.45
"""A mark is lower than this share of its letter, and stands nearer to it than that. Common
practice, no published source.
"""

MARK_WIDTH = 1.2
"""It is no wider than so many times its letter."""

LEAST_ROOM = 0.45
"""A letter as narrow as I has marks as if it were as wide as this share of its height. Common
practice, no published source.
"""


def plain_text(text: Iterable[str]) -> tuple[str, ...]:
    """Lines of a text without the marks of its letters."""
    return tuple("".join(filter(_is_no_mark, _decomposed(line))) for line in text)


def _is_no_mark(char: str) -> bool:
    return not unicodedata.combining(char)


def _decomposed(line: str) -> str:
    return unicodedata.normalize("NFD", line)


@frozen
class MarkedLetter:
    """A character of a text, spaces left out, and the marks that the text has on it."""

    char: str
    marks: str = ""

    @property
    def whole(self) -> str:
        """The letter with its marks."""
        return unicodedata.normalize("NFC", self.char + self.marks)


def letters_with_marks(line: str) -> list[MarkedLetter]:
    """The characters of a line, each with its marks."""
    letters: list[MarkedLetter] = []
    for char in _decomposed("".join(line.split())):
        if letters and not _is_no_mark(char):
            before = letters.pop()
            letters.append(MarkedLetter(before.char, before.marks + char))
        else:
            letters.append(MarkedLetter(char))
    return letters


@frozen
class Sides:
    """How many of something there are over a letter, and how many under it."""

    above: int = 0
    below: int = 0

    @property
    def total(self) -> int:
        """On both sides."""
        return self.above + self.below


def shapes_asked_by(letter: MarkedLetter) -> Sides:
    """Of how many shapes the marks of a letter consist at most, where each stands apart."""
    above = below = 0
    for mark in letter.marks:
        side = unicodedata.combining(mark)
        shapes = 2 if mark in TWO_SHAPES else 1
        if side == ABOVE or (side in APART and letter.char in CEDILLA_ABOVE):
            above += shapes
        elif side in APART:
            below += shapes
    return Sides(above, below)


def plain_chars(line: str) -> str:
    """The characters of a line without their marks, spaces left out."""
    return "".join(letter.char for letter in letters_with_marks(line))


DOTTED = frozenset("ij")
"""Letters whose own dot looks like a mark."""


def marks_in(text: Iterable[str]) -> int:
    """Of how many shapes the marks of a text consist at most, where each stands apart."""
    marks = [char for line in text for char in _decomposed(line)]
    apart = [char for char in marks if unicodedata.combining(char) in APART]
    return len(apart) + sum(char in TWO_SHAPES for char in apart)


def is_mark_of(box: Sequence[Any], letter: Sequence[Any]) -> bool:
    """Whether one box is that of a mark of a letter, by the box of the letter.

    A mark may touch its letter: its middle lies over the letter or under it.
    """
    left, low, right, high = box
    letter_left, letter_low, letter_right, letter_high = letter
    height, width = letter_high - letter_low, letter_right - letter_left
    across, along = (left + right) / 2, (low + high) / 2
    outside = along > letter_high or along < letter_low
    apart = max(low - letter_high, letter_low - high)
    if high - low >= MARK_HEIGHT * height or not outside or apart >= MARK_HEIGHT * height:
        return False
    room = max(width, LEAST_ROOM * height)
    aside = abs(across - (letter_left + letter_right) / 2)
    return bool(aside < room / 2 and right - left <= MARK_WIDTH * room)
