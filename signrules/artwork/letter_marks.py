"""Whether the letters of a text have the marks that it has on them, as É and Ç. Geometry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules.artwork.accents import (
    APART,
    DOTTED,
    MarkedLetter,
    classes_of,
    is_mark_of,
    letters_with_marks,
    marks_in,
)
from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.line_heights import height_of_line
from signrules.artwork.stray_shapes import place_of

LEAST_REACH = 0.06
"""A mark that touches its letter makes it taller by at least this share of the line, over it or
under it. Common practice, no published source.
"""

BESIDE_LETTER = frozenset("DLTdlt")
"""Letters whose caron stands beside them, not over them, in some typefaces."""


@frozen
class Marks:
    """The boxes of shapes that are marks, and of how many the text consists at most."""

    boxes: tuple[Any, ...]
    most: int

    @classmethod
    def of(cls, shapes: Iterable[Shape], text: Iterable[str]) -> Marks:
        """The marks that were found of a text."""
        return cls(tuple(region_of(shape).bounds for shape in shapes), marks_in(text))

    def by_letter(self, letters: Sequence[Any]) -> Counter[int]:
        """How many of them are marks of each letter, by its number: the nearest that it may be of.

        A mark between two lines may be under a letter of the one or over one of the other.
        """
        found: Counter[int] = Counter()
        for mark in self.boxes:
            boxes = [(at, letter.bounds) for at, letter in enumerate(letters)]
            possible = [(_apart(mark, box), at) for at, box in boxes if is_mark_of(mark, box)]
            if possible:
                found[min(possible)[1]] += 1
        return found


def _apart(mark: Sequence[float], letter: Sequence[float]) -> tuple[float, float]:
    """How far a mark lies over a letter or under it, and how far from its middle."""
    upright = max(mark[1] - letter[3], letter[1] - mark[3], 0.0)
    aside = abs((mark[0] + mark[2]) / 2 - (letter[0] + letter[2]) / 2)
    return upright, aside


def wrong_marks(
    lines: Sequence[Sequence[Any]], told: Sequence[str | None], marks: Marks
) -> list[str]:
    """The letters that lack a mark of the text, or have one that it does not have, in words."""
    if not marks.most:
        return []
    # Of all lines together, since a mark between two of them is of the nearer one.
    counts = marks.by_letter([region for line in lines for region in line])
    found: list[str] = []
    first = 0
    for line, text in zip(lines, told, strict=True):
        letters = letters_with_marks(text or "")
        drawn = [counts[at] for at in range(first, first + len(line))]
        first += len(line)
        if len(letters) == len(line):
            found += _wrong_in_line(letters, line, text or "", drawn)
    return found


def _wrong_in_line(
    letters: Sequence[MarkedLetter], line: Sequence[Any], text: str, counts: Sequence[int]
) -> Iterator[str]:
    height = height_of_line(line, text)
    reach = LEAST_REACH * height.high
    for letter, region, drawn in zip(letters, line, counts, strict=True):
        _, low, _, high = region.bounds
        reaches = high > height.foot + height.high + reach or low < height.foot - reach
        said = marks_in([letter.whole])
        where = f"the letter drawn {place_of(region)} for {letter.whole!r} of {text!r} has"
        if _must_show(letter) and drawn < said and not reaches:
            lacking = f"{drawn} of the {said} marks" if drawn else "no mark"
            yield f"{where} {lacking} on it"
        elif letter.marks and drawn > said:
            yield f"{where} another mark on it"
        elif not letter.marks and letter.char not in DOTTED and drawn:
            yield f"{where} a mark on it"


def _must_show(letter: MarkedLetter) -> bool:
    """Whether a mark of a letter stands over it or under it in every typeface."""
    return letter.char not in BESIDE_LETTER and any(
        each in APART for each in classes_of(letter.marks)
    )
