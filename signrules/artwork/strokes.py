"""How thick the strokes of letters are, from their outlines alone. Geometry.

A stem is ink between two straight sides that run beside each other, upright or as slanted as
italics are. Of the stems of a font those of I, and of letters like it, are the thickest; those of
M, N and 1 are often thinner (common practice, no published source). So the thickest stem counts.
Letters without any are measured where level lines cross them, and by the largest circle that fits
in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.artwork.libraries import shapely_part

STEEPEST_SLANT = math.tan(math.radians(18))
"""How far a stem may lean, x over y."""

SAME_LEAN = 0.01
"""Sides of one stem lean alike, x over y, but for so much."""

LEAST_SIDE = 0.08
"""A side of a stem is at least this share of the height of its letter."""

LEAST_STEM = 0.25
"""All parts of a stem together are at least this share of the height of its letter."""

THICKEST_STEM = 0.45
"""No stem is thicker than this share of the height of its letter."""

FLAT_MM = 1e-3
"""Corners that lie nearer to a straight line are on it."""

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
    stems = [stem.thick for letter in looked_at if (stem := stem_of(letter)) is not None]
    return max(stems) if stems else _stroke_without_stems(looked_at)


@frozen
class Stem:
    """A stem, or a piece of one: how thick and how long it is, how far it leans (x over y)."""

    thick: float
    length: float
    lean: float


def stem_of(letter: Any) -> Stem | None:
    """The thickest stem of a letter; None where it has none."""
    _, low, _, high = letter.bounds
    height = high - low
    pieces = sorted(_pieces_of_stems(letter, height), key=lambda piece: -piece.thick)
    for piece in pieces:
        length = sum(each.length for each in pieces if _is_alike(each.thick, piece.thick))
        # Pieces, because crossbars cut a stem of E or H in parts. A piece wider than all of them
        # are long is a bar, not a stem.
        if length >= max(piece.thick, LEAST_STEM * height):
            return evolve(piece, length=length)
    return None


def _is_alike(length: float, other: float) -> bool:
    return abs(length - other) <= SAME_STROKE * other


@frozen
class _Side:
    """A straight side of a letter: the lower end, how far it leans (x over y), its upper y."""

    x: float
    low: float
    high: float
    lean: float

    def at(self, y: float) -> float:
        """The x of the side at a height."""
        return self.x + (y - self.low) * self.lean


def _pieces_of_stems(letter: Any, height: float) -> Iterator[Stem]:
    """Ink between two sides of a letter, as far as they run beside each other."""
    shapely = shapely_part()
    left_sides, right_sides = _upright_sides(letter, LEAST_SIDE * height)
    for left in left_sides:
        for right in right_sides:
            low, high = max(left.low, right.low), min(left.high, right.high)
            middle = (low + high) / 2
            across = right.at(middle) - left.at(middle)
            if low >= high or not 0 < across <= THICKEST_STEM * height:
                continue
            if abs(left.lean - right.lean) > SAME_LEAN:
                continue
            line = shapely.LineString([(left.at(middle), middle), (right.at(middle), middle)])
            # Two sides may face each other across a counter: between them must be ink and nothing
            # else.
            if letter.intersection(line).length > across * (1 - SAME_STROKE):
                lean = (left.lean + right.lean) / 2
                square = math.cos(math.atan(lean))
                yield Stem(across * square, (high - low) / square, lean)


def _upright_sides(letter: Any, least: float) -> tuple[list[_Side], list[_Side]]:
    """The sides of a letter that run upwards, those with ink to their right and to their left."""
    shapely = shapely_part()
    left_sides: list[_Side] = []
    right_sides: list[_Side] = []
    # Chords and stray corners on a straight side would cut it into pieces too short to count.
    outline = shapely.orient_polygons(shapely.simplify(letter, FLAT_MM))
    for part in shapely.get_parts(outline):
        for ring in (part.exterior, *part.interiors):
            # Ink lies to the left of whoever walks along a ring that is oriented so.
            places = shapely.get_coordinates(ring)
            across, along = (places[1:] - places[:-1]).T
            upright = (abs(along) >= least) & (abs(across) <= STEEPEST_SLANT * abs(along))
            for at in upright.nonzero()[0].tolist():
                (x, y), (next_x, next_y) = places[at].tolist(), places[at + 1].tolist()
                lean = (next_x - x) / (next_y - y)
                if next_y > y:
                    right_sides.append(_Side(x, y, next_y, lean))
                else:
                    left_sides.append(_Side(next_x, next_y, y, lean))
    return left_sides, right_sides


def _stroke_without_stems(letters: Sequence[Any]) -> float | None:
    """The length that level lines cut out of letters most often, no wider than the largest circle
    that fits into each.
    """
    crossings = sorted(length for letter in letters for length in _crossings(letter))
    circles = [_largest_circle(letter) for letter in letters]
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
    # One that comes once may be that of a bowl or of a crossbar, and no stroke.
    return best[len(best) // 2] if len(best) > 1 else None


def _largest_circle(letter: Any) -> float:
    """The diameter of the largest circle in a letter."""
    radius = shapely_part().maximum_inscribed_circle(letter, tolerance=CIRCLE_TOLERANCE_MM)
    return 2 * float(radius.length)
