"""Shapes beside each other that are parts of one letter, as the two of a K. Geometry.

Some typefaces draw K as a stem and an angle that stands free of it, or only touches it. The text
tells: together such parts can be the letter, and none of them can alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from signrules.artwork.accents import plain_chars
from signrules.artwork.geometry import joined_regions
from signrules.artwork.letter_regions import with_whole_signs
from signrules.artwork.letter_shapes import HOLES, can_be, first_misfit

MOST_PARTS = 3
"""A letter is drawn of no more parts than so many beside each other."""

NEAR_PARTS = 0.08
"""Parts of a letter stand nearer to each other than this share of their height. Common practice, no
published source.
"""


def as_letters(line: Sequence[Any], text: str) -> list[Any]:
    """A line whose quotation marks and letters of several shapes are one region each."""
    return with_whole_letters(with_whole_signs(line, text), text)


def with_whole_letters(line: Sequence[Any], text: str) -> list[Any]:
    """A line whose letters of several shapes are one region each, if it can be its text then; else
    the line as it is. Of several ways the one with the narrowest gaps in letters.
    """
    chars = plain_chars(text)
    more = len(line) - len(chars)
    if not 0 < more <= len(chars) * (MOST_PARTS - 1):
        return list(line)
    best: dict[int, tuple[float, list[Any]]] = {0: (0.0, [])}
    for char in chars:
        best = _with_next_letter(best, char, line)
    _, whole = best.get(len(line), (0.0, []))
    return whole if whole and can_be(text, whole) else list(line)


def _with_next_letter(
    best: dict[int, tuple[float, list[Any]]], char: str, line: Sequence[Any]
) -> dict[int, tuple[float, list[Any]]]:
    """The best ways to draw one more letter, by how many shapes are taken up then."""
    found: dict[int, tuple[float, list[Any]]] = {}
    for taken, (wide, letters) in best.items():
        for count, gaps, region in _possible_letters(char, line[taken : taken + MOST_PARTS]):
            there = found.get(taken + count)
            if there is None or wide + gaps < there[0]:
                found[taken + count] = (wide + gaps, [*letters, region])
    return found


def _possible_letters(char: str, shapes: Sequence[Any]) -> Iterator[tuple[int, float, Any]]:
    """What the first shapes can be of a letter: how many, the gaps in it, and their region."""
    if shapes:
        yield 1, 0.0, shapes[0]
    gaps = 0.0
    for count in range(2, len(shapes) + 1):
        gaps += float(shapes[count - 2].distance(shapes[count - 1]))
        if are_one_letter(char, shapes[:count]):
            yield count, gaps, joined_regions(shapes[:count])


def are_one_letter(char: str, parts: Sequence[Any]) -> bool:
    """Whether parts stand as near as those of a letter, can be it together, and not without any
    one of them.
    """
    if char not in HOLES or len(parts) < 2:
        return False
    whole = joined_regions(parts)
    _, low, _, high = whole.bounds
    near = NEAR_PARTS * (high - low)
    others = [[*parts[:at], *parts[at + 1 :]] for at in range(len(parts))]
    apart = (
        min(part.distance(other) for other in rest)
        for part, rest in zip(parts, others, strict=True)
    )
    if any(gap > near for gap in apart) or first_misfit(char, [whole]) is not None:
        return False
    return all(first_misfit(char, [joined_regions(rest)]) is not None for rest in others)
