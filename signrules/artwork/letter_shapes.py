"""Whether the shapes of a line can be the letters of a text.

Outlines are not read. What can be seen is what no plain typeface draws: an A without a hole, a
stem on the right of an E, an arrow in the place of a U. All of it is geometry, on the shapes of
capitals and digits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from signrules.artwork.accents import letters_with_marks
from signrules.artwork.letter_sides import side_misfit
from signrules.artwork.libraries import shapely_part
from signrules.model.wording import counted_things

HOLES: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        **dict.fromkeys("CEFGHIJKLMNSTUVWXYZ12357", (0,)),
        **dict.fromkeys("ADOPQR69", (1,)),
        # Some typefaces leave 4 open, and some put a stroke through 0.
        "4": (0, 1),
        "0": (1, 2),
        **dict.fromkeys("B8", (2,)),
    }
)
"""How many enclosed holes capitals and digits have: geometry of their shapes in plain typefaces."""

HOLE_LEVELS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        **dict.fromkeys("PR9", (0.55, 1.0)),
        **dict.fromkeys("DO", (0.4, 0.6)),
        "6": (0.0, 0.45),
    }
)
"""At which shares of the height the middle of the only hole lies. Geometry; the room around the
halves is common practice, no published source.
"""

NOTCHED = frozenset(char for char, holes in HOLES.items() if 0 in holes) - {"I"}
"""Letters whose hull is not filled: those without a hole but for the I have notches."""

FILLED = 0.95
"""A shape that fills more than this share of its hull has no notch. Common practice, no published
source.
"""

NARROW, WIDE = frozenset("I"), frozenset("ACDEGHKMNOQRUVWXYZ")
"""A letter of the first kind is no wider than one of the second of its line."""

MUCH_WIDER = 0.7
"""An I is no wider than its neighbours, but for so much. Common practice, no published source."""

SAME_LETTER, SAME_HEIGHT = 0.1, 0.96
"""Two letters of a line that are the same, and as tall but for the second share, differ by no more
than the first one of their area. Common practice, no published source.
"""


def misfit_of(text: str, line: Sequence[Any]) -> str | None:
    """Where the shapes of a line cannot be the letters of a text that has as many, in words; None
    where they can.
    """
    chars = _judged_chars(text)
    wrong = first_misfit(chars, line) if len(chars) == len(line) else None
    if wrong is None:
        return None
    at, why = wrong
    left, low, right, high = line[at].bounds
    return (
        f"the shapes drawn for {text!r} do not fit it: the one at {(left + right) / 2:.1f},"
        f" {(low + high) / 2:.1f} mm, number {at + 1} of the line, should be {chars[at]!r} and"
        f" {why}"
    )


def without_misfits(text: str, line: Sequence[Any]) -> list[Any]:
    """The shapes of a line of which each by itself can be its letter."""
    chars = _judged_chars(text)
    return [
        region
        for char, region in zip(chars, line, strict=True)
        if first_misfit(char, [region]) is None
    ]


def _judged_chars(text: str) -> str:
    """The characters of a text; those with marks, which may change their shape, stand as they are,
    so that nothing is asked of them.
    """
    return "".join(letter.whole[0] for letter in letters_with_marks(text))


def can_be(text: str, line: Sequence[Any]) -> bool:
    """Whether shapes can be the letters of a text: so many, of which none is another letter's."""
    chars = _judged_chars(text)
    return len(chars) == len(line) and first_misfit(chars, line) is None


def first_misfit(chars: str, line: Sequence[Any]) -> tuple[int, str] | None:
    """The first shape that cannot be its letter, and why, in words."""
    for at, (char, region) in enumerate(zip(chars, line, strict=True)):
        for telling in TELLING:
            if why := telling(char, region):
                return at, why
    return _too_wide(chars, line) or _unlike_twin(chars, line)


def _holes(char: str, region: Any) -> str | None:
    possible = HOLES.get(char)
    holes = _holes_of(region)
    if possible is None or len(holes) in possible:
        return None
    return f"has {counted_things(len(holes), 'hole')}"


def _hole_level(char: str, region: Any) -> str | None:
    holes = _holes_of(region)
    if char not in HOLE_LEVELS or len(holes) != 1:
        return None
    least, most = HOLE_LEVELS[char]
    _, low, _, high = region.bounds
    _, hole_low, _, hole_high = shapely_part().bounds(holes[0]).tolist()
    level = ((hole_low + hole_high) / 2 - low) / (high - low)
    return None if least <= level <= most else f"has its hole at {100 * level:.0f} % of its height"


def _holes_of(region: Any) -> list[Any]:
    shapely = shapely_part()
    return [ring for part in shapely.get_parts(region) for ring in part.interiors]


def _notch(char: str, region: Any) -> str | None:
    if char not in NOTCHED:
        return None
    shapely = shapely_part()
    filled = sum(shapely.Polygon(part.exterior).area for part in shapely.get_parts(region))
    return "has no notch" if filled > FILLED * region.convex_hull.area else None


TELLING: tuple[Callable[[str, Any], str | None], ...] = (_holes, _hole_level, _notch, side_misfit)
"""What tells that a shape is not the letter that it should be."""


def _too_wide(chars: str, line: Sequence[Any]) -> tuple[int, str] | None:
    """The first I that is wider than a letter that is wider in every plain typeface."""
    widths = [region.bounds[2] - region.bounds[0] for region in line]
    wide = [width for char, width in zip(chars, widths, strict=True) if char in WIDE]
    for at, char in enumerate(chars):
        if char in NARROW and wide and MUCH_WIDER * widths[at] > min(wide):
            return at, "is wider than its neighbours"
    return None


def _unlike_twin(chars: str, line: Sequence[Any]) -> tuple[int, str] | None:
    """The first letter that is drawn otherwise than the same letter before it."""
    first: dict[str, int] = {}
    for at, char in enumerate(chars):
        before = first.setdefault(char, at)
        if before != at and char in HOLES and not _is_same(line[before], line[at]):
            return at, f"is not drawn as number {before + 1}, which should be the same letter"
    return None


def _is_same(one: Any, other: Any) -> bool:
    """Whether two shapes are one, laid on each other by the corners of their boxes."""
    across, along = one.bounds[0] - other.bounds[0], one.bounds[1] - other.bounds[1]
    height, other_height = (box[3] - box[1] for box in (one.bounds, other.bounds))
    # Letters of several heights are told by their heights.
    if min(height, other_height) < SAME_HEIGHT * max(height, other_height):
        return True
    moved = shapely_part("affinity").translate(other, across, along)
    return bool(one.symmetric_difference(moved).area <= SAME_LETTER * one.area)
