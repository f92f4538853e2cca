"""How tall the letters of a line are, and where they stand. Geometry, lengths in mm.

The height that standards limit is that of the capital I. It is told by letters with flat ends, and
never by a tail under the line, a mark over a letter or the overshoot of round letters.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import Any

from attrs import evolve, frozen

from signrules.artwork.known_letters import (
    KnownLetter,
    differ_as_no_capitals,
    letters_by_text,
)
from signrules.artwork.libraries import shapely_part

ROUND_OVERSHOOT = 0.04
"""Round letters reach over flat ones by no more than this share of their height. Common practice,
no published source.
"""

FLAT_LETTERS = (frozenset("EFHIKLPRTXYZ"), frozenset("BD"), frozenset("147"))
"""Capitals and digits that are flat at both ends, those first that are so in most typefaces; M and
N end in points in some. Common practice, no published source.
"""

FLAT_END, FLAT_DEPTH = 0.05, 1e-5
"""An end is flat where straight edges of it are in all at least as long as the first share of the
height, and lie within the second share of its outermost place: chords of round ends are shorter.
Common practice, no published source.
"""

SMALL_SIGN = 0.5
"""What is lower than this share of the tallest letter of its line is no letter. Common practice, no
published source.
"""

FEWEST_LETTERS = 3
"""Of so many letters one can be odd."""


@frozen
class LineHeight:
    """The heights of a line, from the least to the most, and where its letters stand.

    `round_alone` says that it has no flat letter, so that its height holds their overshoot.
    `odd_one` is a letter that alone is taller than all others, of which no text tells why.
    """

    low: float
    high: float
    foot: float
    round_alone: bool = False
    odd_one: Any = None


def height_of_line(line: Sequence[Any], text: str | None, *, fits: bool = True) -> LineHeight:
    """The height of a line that says a text; `fits` is False where its shapes are other letters."""
    letters = letters_by_text(line, text) if fits else []
    if not letters:
        return height_of_unknown(line)
    if not differ_as_no_capitals(letters):
        return height_of_known(letters)
    odd_one = odd_letter(letters)
    if odd_one is None:
        return _uneven_height(letters)
    return height_of_known([letter for letter in letters if letter is not odd_one])


def _uneven_height(letters: Sequence[KnownLetter]) -> LineHeight:
    """The height of letters of several sizes: that of all, so that none is hidden."""
    upright = [letter.region for letter in letters if letter.tells_height]
    heights = _heights_of(upright)
    return LineHeight(min(heights), max(heights), _common_foot(upright))


def odd_letter(letters: Sequence[KnownLetter]) -> KnownLetter | None:
    """The only letter that is not as tall as the others, as an arrow in its place; None where there
    are several.
    """
    heights = _heights_of([letter.region for letter in letters])
    if len(letters) < FEWEST_LETTERS:
        return None
    usual = median(heights)
    odd = [
        letter
        for letter, height in zip(letters, heights, strict=True)
        if not _is_alike(min(height, usual), max(height, usual)) and letter.tells_height
    ]
    return odd[0] if len(odd) == 1 else None


def height_of_known(letters: Sequence[KnownLetter]) -> LineHeight:
    """The height of a line by letters that are known.

    Flat capitals tell it; without any flat digits, then letters that are drawn flat at both ends,
    and else the letters that most are as tall as.
    """
    unmarked = [letter for letter in letters if not letter.marked and letter.char.isalnum()]
    kinds = ([each.region for each in unmarked if each.char in kind] for kind in FLAT_LETTERS)
    if flat := next(filter(None, kinds), None):
        heights = _heights_of(flat)
        return LineHeight(_flat_least(heights), _flat_most(heights), _common_foot(flat))
    standing = [letter.region for letter in letters if letter.tells_height]
    # Those that are not so in all typefaces may be so in this one.
    capitals = bool(unmarked) and not any(letter.char.islower() for letter in unmarked)
    if capitals and (flat := list(filter(_is_flat, standing))):
        heights = _heights_of(flat)
        return LineHeight(_flat_least(heights), _flat_most(heights), _common_foot(flat))
    found = height_of_unknown(standing or [letter.region for letter in letters])
    # Small letters have an overshoot too, and their height is not the one that is asked for.
    return evolve(found, round_alone=capitals, odd_one=None)


def _is_flat(letter: Any) -> bool:
    """Whether straight level edges lie at both ends of a letter."""
    _, low, _, high = letter.bounds
    reach, least = FLAT_DEPTH * (high - low), FLAT_END * (high - low)
    at_foot = at_top = 0.0
    for part in shapely_part().get_parts(letter):
        for (x, y), (next_x, next_y) in pairwise(part.exterior.coords):
            if max(y, next_y) <= low + reach:
                at_foot += abs(next_x - x)
            elif min(y, next_y) >= high - reach:
                at_top += abs(next_x - x)
    return bool(min(at_foot, at_top) >= least)


def height_of_unknown(letters: Sequence[Any]) -> LineHeight:
    """The height of a line of which nobody knows the letters.

    Those that stand where most do tell it: the tallest of them. One that alone is taller than all
    others may have a mark on it, or be the only capital: then the height is either.
    """
    foot, standing = _standing_letters(_no_small_signs(letters))
    heights = _heights_of(standing)
    tallest = _flat_least(_band_of(heights, max(heights)))
    others = [height for height in heights if not _is_alike(height, max(heights))]
    if len(heights) - len(others) > 1 or len(others) < 2:
        return LineHeight(tallest, tallest, foot)
    common = _largest_band(others)
    if len(common) < 2:
        return LineHeight(tallest, tallest, foot)
    odd_one = max(standing, key=lambda letter: letter.bounds[3] - letter.bounds[1])
    return LineHeight(_flat_least(common), tallest, foot, odd_one=odd_one)


def _no_small_signs(letters: Sequence[Any]) -> list[Any]:
    """Regions without those that are much lower than the tallest, as quotation marks are."""
    heights = _heights_of(letters)
    least = SMALL_SIGN * max(heights)
    return [letter for letter, height in zip(letters, heights, strict=True) if height >= least]


def _heights_of(letters: Sequence[Any]) -> list[float]:
    return [float(letter.bounds[3] - letter.bounds[1]) for letter in letters]


def _is_alike(height: float, tallest: float) -> bool:
    return height >= (1 - ROUND_OVERSHOOT) * tallest


def _band_of(heights: Sequence[float], tallest: float) -> list[float]:
    """Those of some heights that are about as tall as one, and no taller."""
    return [height for height in heights if height <= tallest and _is_alike(height, tallest)]


def _largest_band(heights: Sequence[float]) -> list[float]:
    """The heights that most letters have, but for their overshoot; of two the lower ones."""
    bands = [_band_of(heights, tallest) for tallest in sorted(heights)]
    return max(bands, key=len)


def _flat_least(heights: Sequence[float]) -> float:
    return min(heights)


def _flat_most(heights: Sequence[float]) -> float:
    """The largest height, or the least where all are alike but for the overshoot of one."""
    least, most = min(heights), max(heights)
    return least if _is_alike(least, most) else most


def _common_foot(letters: Sequence[Any]) -> float:
    return _standing_letters(letters)[0]


def _standing_letters(letters: Sequence[Any]) -> tuple[float, list[Any]]:
    """Where letters with flat ends stand, and the letters that stand there.

    It is the highest of the feet that most letters have, but for the overshoot of round ones.
    """
    reach = ROUND_OVERSHOOT * median(_heights_of(letters))
    feet = sorted(float(letter.bounds[1]) for letter in letters)
    alike = [[other for other in feet if 0 <= foot - other <= reach] for foot in feet]
    # Of two that are as common the upper one: what hangs under it are tails.
    common = max(reversed(alike), key=len)
    low, high = common[0], common[-1]
    return high, [letter for letter in letters if low <= letter.bounds[1] <= high]
