"""Whether the shapes of a line can be the letters of a text, and whether they are turned over.

Outlines are not read. What can be seen is what no plain typeface draws: an A without a hole, a
stem on the right of an E. All of it is geometry, on the shapes of capitals and digits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from signrules.artwork.accents import letters_with_marks
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

LEFT_STEMS = frozenset("BDEFKLPR")
"""Capitals with an upright stem on the left alone."""

TOP_BARS, FOOT_BARS = frozenset("FPT7"), frozenset("L2")
"""Capitals and digits that are wide at one end alone."""

NARROW, WIDE = frozenset("I"), frozenset("ACDEGHKMNOQRUVWXYZ")
"""A letter of the first kind is no wider than one of the second of its line."""

WHOLE, PART = 0.85, 0.7
"""A run of ink of more than the first share of a side is a stem or a bar, and one of less than the
second is none. Common practice, no published source.
"""

LEVELS = (0.02, 0.06, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4)
"""At which shares of the width, from either side, a letter is crossed to find its stem."""

BAR_LEVEL = 0.02
"""At which share of the height, from either end, a letter is crossed to find its bar. Further in
the arc of a 2 would look like one.
"""

TURNS: tuple[tuple[int, int, str], ...] = (
    (-1, 1, "mirrored"),
    (1, -1, "turned top to bottom"),
    (-1, -1, "on its head"),
)
"""Along x and along y, 1 or -1 where the line is turned over, and in words."""


def misfit_of(text: str, line: Sequence[Any]) -> str | None:
    """Where the shapes of a line cannot be the letters of a text that has as many, in words; None
    where they can.
    """
    chars = _judged_chars(text)
    if len(chars) != len(line) or not chars:
        return None
    wrong = first_misfit(chars, line)
    if wrong is None:
        return None
    for across, along, words in TURNS:
        turned = [_turned_over(region, across, along) for region in line]
        ordered = turned if across > 0 else turned[::-1]
        if first_misfit(chars, ordered) is None:
            return f"the line drawn for {text!r} may be {words}: so turned its shapes fit the text"
    at, why = wrong
    left, low, right, high = line[at].bounds
    return (
        f"the shapes drawn for {text!r} do not fit it: the one at {(left + right) / 2:.1f},"
        f" {(low + high) / 2:.1f} mm, number {at + 1} of the line, should be {chars[at]!r} and"
        f" {why}"
    )


def _judged_chars(text: str) -> str:
    """The characters of a text; those with marks, which may change their shape, stand as they are,
    so that nothing is asked of them.
    """
    return "".join(letter.whole[0] for letter in letters_with_marks(text))


def can_be(text: str, line: Sequence[Any]) -> bool:
    """Whether shapes can be the letters of a text: so many, of which none is another letter's."""
    chars = _judged_chars(text)
    return len(chars) == len(line) and first_misfit(chars, line) is None


def _turned_over(region: Any, across: int, along: int) -> Any:
    shapely = shapely_part()
    return shapely.transform(region, lambda places: places * (across, along))


def first_misfit(chars: str, line: Sequence[Any]) -> tuple[int, str] | None:
    """The first shape that cannot be its letter, and why, in words."""
    for at, (char, region) in enumerate(zip(chars, line, strict=True)):
        for telling in TELLING:
            if why := telling(char, region):
                return at, why
    return _too_wide(chars, line)


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


def _stem_side(char: str, region: Any) -> str | None:
    if char not in LEFT_STEMS:
        return None
    left = _longest_upright(region, LEVELS)
    right = _longest_upright(region, [1 - level for level in LEVELS])
    return "has its stem on the right" if left < PART and right > WHOLE else None


def _bar_end(char: str, region: Any) -> str | None:
    if char in TOP_BARS and _level_run(region, BAR_LEVEL) > WHOLE:
        return "is as wide at its foot"
    if char in FOOT_BARS and _level_run(region, 1 - BAR_LEVEL) > WHOLE:
        return "is as wide at its top"
    return None


TELLING: tuple[Callable[[str, Any], str | None], ...] = (_holes, _hole_level, _stem_side, _bar_end)
"""What tells that a shape is not the letter that it should be."""


def _too_wide(chars: str, line: Sequence[Any]) -> tuple[int, str] | None:
    """The first I that is wider than a letter that is wider in every plain typeface."""
    widths = [region.bounds[2] - region.bounds[0] for region in line]
    wide = [width for char, width in zip(chars, widths, strict=True) if char in WIDE]
    for at, char in enumerate(chars):
        if char in NARROW and wide and PART * widths[at] > min(wide):
            return at, "is wider than its neighbours"
    return None


def _longest_upright(region: Any, shares: Sequence[float]) -> float:
    """The longest run of ink along upright lines at shares of the width, over the height."""
    left, low, right, high = region.bounds
    places = [left + share * (right - left) for share in shares]
    runs = [_longest_run(region, (x, low), (x, high)) for x in places]
    return float(max(runs) / (high - low))


def _level_run(region: Any, share: float) -> float:
    """The longest run of ink along a level line at a share of the height, over the width."""
    left, low, right, high = region.bounds
    y = low + share * (high - low)
    return float(_longest_run(region, (left, y), (right, y)) / (right - left))


def _longest_run(region: Any, one: tuple[float, float], other: tuple[float, float]) -> float:
    shapely = shapely_part()
    parts = shapely.get_parts(region.intersection(shapely.LineString([one, other])))
    return max((float(part.length) for part in parts), default=0.0)
