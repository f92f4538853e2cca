"""Shapes on a line of letters that are none of them: arrows and stars beside a text, and what is
drawn into a letter. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Any

from attrs import frozen

from signrules.artwork.accents import plain_chars
from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.known_letters import differ_as_no_capitals, letters_by_text
from signrules.artwork.letter_shapes import can_be, first_misfit
from signrules.artwork.libraries import shapely_part
from signrules.model.wording import counted_things

MOST_STRAYS = 2
"""Of more shapes than these that a line of a text does not have, none is taken for a stray one."""

SAME_SHAPE = 0.99
"""Shapes that share more than this of their area are one that is drawn twice."""


def strays_of(line: Sequence[Any], text: str) -> list[Any]:
    """The shapes of a line without which the others are its letters; none where more than one
    choice of them leaves shapes that can be the text. Those at its ends go before others then.
    """
    chars = plain_chars(text)
    more = len(line) - len(chars)
    if not 0 < more <= MOST_STRAYS:
        return []
    choices = []
    for aside in combinations(range(len(line)), more):
        kept = [region for at, region in enumerate(line) if at not in aside]
        known = letters_by_text(kept, text)
        if not differ_as_no_capitals(known) and can_be(text, kept):
            choices.append(aside)
    if len(choices) > 1:
        inner = range(more, len(line) - more)
        choices = [aside for aside in choices if not set(aside) & set(inner)]
    return [line[at] for at in choices[0]] if len(choices) == 1 else []


def too_many_in_words(line: Sequence[Any], text: str) -> str | None:
    """That a line has more shapes than letters, and where the first is that does not fit."""
    chars = plain_chars(text)
    if len(line) <= len(chars):
        return None
    wrong = first_misfit(chars, line[: len(chars)])
    left, low, right, high = line[len(chars) if wrong is None else wrong[0]].bounds
    return (
        f"{len(line)} letters are drawn for {text!r}, which has {len(chars)}. Its height and stroke"
        " are those of all of them; the first that does not fit is at"
        f" {(left + right) / 2:.1f}, {(low + high) / 2:.1f} mm. Draw what is no letter elsewhere"
    )


@frozen
class Touching:
    """Shapes that lie on or against others, in words. `overlaps` says that some are no copies, as a
    disc that is drawn into a letter is none.
    """

    words: tuple[str, ...]
    overlaps: bool


def touching_shapes(shapes: Sequence[Shape], beside: Sequence[Shape] = ()) -> Touching:
    """Which shapes lie on or against others, or against some that are drawn beside them."""
    regions = [region_of(shape) for shape in (*shapes, *beside)]
    tree = shapely_part().STRtree(regions)
    touching = _touching(tree, regions[: len(shapes)])
    pairs = [(one, other) for one, other in touching if one < other]
    twice = [pair for pair in pairs if _is_twice(regions[pair[0]], regions[pair[1]])]
    again = set(twice)
    others = [pair for pair in pairs if pair not in again]
    words = []
    if twice:
        drawn = counted_things(len(twice), "shape")
        words.append(f"{drawn} drawn twice, the first {place_of(regions[twice[0][1]])}")
    if others:
        drawn = counted_things(len(others), "place")
        words.append(
            f"letters are drawn of shapes that overlap or touch, in {drawn}, the first"
            f" {place_of(regions[others[0][1]])}: they are measured as one. Nothing tells whether"
            " each is a part of its letter"
        )
    return Touching(tuple(words), bool(others))


def _touching(tree: Any, regions: Sequence[Any]) -> list[tuple[int, int]]:
    ones, others = tree.query(regions, "intersects").tolist()
    return sorted(zip(ones, others, strict=True))


def _is_twice(one: Any, other: Any) -> bool:
    return bool(one.intersection(other).area > SAME_SHAPE * max(one.area, other.area))


def place_of(region: Any) -> str:
    """Where a region lies, in words."""
    left, low, right, high = region.bounds
    return f"at {(left + right) / 2:.1f}, {(low + high) / 2:.1f} mm"
