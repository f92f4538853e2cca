"""Marks above and below letters that are outlines, as of É and Ü: parts of their letters.

They are no letters, no lines and no ornaments, and the height of a letter is that without them.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from typing import Any

from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of

ABOVE, BELOW = 230, 220
"""Combining classes of marks that stand apart from their letter (Unicode Standard, 4.3)."""

TWO_SHAPES = frozenset("\u0308\u030b")
"""Marks of two shapes each: two dots, two strokes."""

MARK_HEIGHT = 0.45
"""A mark is lower than this share of its letter, and stands nearer to it than that. Common
practice, no published source.
"""

MARK_WIDTH = 1.2
"""It is no wider than so many times its letter."""


def plain_text(text: Iterable[str]) -> tuple[str, ...]:
    """Lines of a text without the marks of its letters."""
    return tuple("".join(filter(_is_no_mark, _decomposed(line))) for line in text)


def _is_no_mark(char: str) -> bool:
    return not unicodedata.combining(char)


def _decomposed(line: str) -> str:
    return unicodedata.normalize("NFD", line)


def marks_in(text: Iterable[str]) -> int:
    """Of how many shapes the marks of a text consist that stand apart from their letters."""
    marks = [char for line in text for char in _decomposed(line)]
    apart = [char for char in marks if unicodedata.combining(char) in (ABOVE, BELOW)]
    return len(apart) + sum(char in TWO_SHAPES for char in apart)


def without_marks(shapes: Sequence[Shape], text: Sequence[str]) -> tuple[list[Shape], list[Shape]]:
    """Outlines that are letters, and the marks above and below them that the text has.

    Where more could be marks than it has, none is taken for one.
    """
    most = marks_in(text)
    if not most:
        return list(shapes), []
    boxes = [region_of(shape).bounds for shape in shapes]
    marks = [
        shape
        for shape, box in zip(shapes, boxes, strict=True)
        if any(_is_mark_of(box, letter) for letter in boxes)
    ]
    if len(marks) > most:
        return list(shapes), []
    aside = set(map(id, marks))
    return [shape for shape in shapes if id(shape) not in aside], marks


def _is_mark_of(box: Sequence[Any], letter: Sequence[Any]) -> bool:
    left, low, right, high = box
    letter_left, letter_low, letter_right, letter_high = letter
    most = MARK_HEIGHT * (letter_high - letter_low)
    apart = max(low - letter_high, letter_low - high)
    middle = (left + right) / 2
    if high - low >= most or not 0 <= apart < most or not letter_left < middle < letter_right:
        return False
    return bool(right - left <= MARK_WIDTH * (letter_right - letter_left))
