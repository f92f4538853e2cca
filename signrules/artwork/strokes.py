"""How thick the strokes of letters are, from their outlines alone. Geometry.

A level line crosses a stem square to it, so stems show as lengths that come up again and again. No
stroke is wider than the largest circle that fits into its letter, which tells where a letter has no
stem.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from signrules.artwork.libraries import shapely_part

LEVELS = (0.3, 0.5, 0.7)
"""At which shares of its height a letter is crossed."""

SAME_STROKE = 0.01
"""Lengths that differ by less than this share are one."""

CIRCLE_TOLERANCE_MM = 5e-4
"""How near the largest circle in a letter is found."""

MOST_LETTERS = 100
"""As many letters of a line are looked at."""


def stroke_of(letters: Sequence[Any]) -> float | None:
    """The stroke of letters in mm; None where they have none."""
    looked_at = letters[:MOST_LETTERS]
    crossings = sorted(length for letter in looked_at for length in _crossings(letter))
    circles = [_largest_circle(letter) for letter in looked_at]
    if not circles:
        return None
    thinnest = min(circles)
    usual = _most_common(crossings)
    # The circle is found from below: what is wider by no more than its tolerance is no wider.
    if usual is None or usual > thinnest + 2 * CIRCLE_TOLERANCE_MM:
        return thinnest
    return usual


def _crossings(letter: Any) -> Iterator[float]:
    """The lengths of the pieces that level lines cut out of a letter."""
    shapely = shapely_part()
    left, low, right, high = letter.bounds
    for level in LEVELS:
        y = low + level * (high - low)
        line = shapely.LineString([(left - 1, y), (right + 1, y)])
        for piece in shapely.get_parts(letter.intersection(line)):
            if piece.length > 0:
                yield float(piece.length)


def _most_common(lengths: Sequence[float]) -> float | None:
    """The length that most of some sorted lengths are alike to; None where no two are."""
    best: list[float] = []
    for at, length in enumerate(lengths):
        alike = [each for each in lengths[at:] if each <= length * (1 + SAME_STROKE)]
        if len(alike) > len(best):
            best = alike
    return best[len(best) // 2] if len(best) > 1 else None


def _largest_circle(letter: Any) -> float:
    """The diameter of the largest circle in a letter."""
    radius = shapely_part().maximum_inscribed_circle(letter, tolerance=CIRCLE_TOLERANCE_MM)
    return 2 * float(radius.length)
