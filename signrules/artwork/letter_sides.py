"""Where the ink of capitals and digits begins, seen from each side. Geometry.

Nothing but its outline says which letter a shape is. In whatever plain typeface a letter is drawn,
its ink begins within some range of depths below the sides of its box: at the left of a T far in, at
its top at once. A shape whose ink begins elsewhere is no such letter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from signrules.artwork.libraries import shapely_part

LEVELS = (0.1, 0.3, 0.5, 0.7, 0.9)
"""At which shares of the height, from the foot up, a letter is crossed to see it from the left and
the right; and of the width, from left to right, to see it from its top and its foot.
"""

SIDES: Mapping[str, str] = MappingProxyType(
    {
        "A": "00112-23455 00112-23455 50005-97279 00000-34443",
        "B": "00000-33333 00000-31423 00000-11117 00000-11112",
        "C": "00000-42124 00600-89999 00000-42113 00000-42113",
        "D": "00000-22222 00000-42114 00000-11124 00000-11124",
        "E": "00000-33333 00000-99999 00000-11119 00000-11112",
        "F": "00000-33333 31000-99999 00000-11111 00023-66699",
        "G": "00000-42124 00000-32999 00000-42127 00000-42126",
        "H": "00000-22222 00000-22222 00000-66666 00000-66666",
        "I": "00000-55555 00000-55555 00000-11111 00000-11111",
        "J": "00330-99999 00000-54333 00000-99999 00000-31199",
        "K": "00000-22222 00200-36974 00000-76539 00000-66641",
        "L": "00000-33333 00552-99999 00005-99999 00000-11112",
        "M": "00000-22222 00000-22222 00300-47974 00000-98489",
        "N": "00000-22222 00000-22222 00100-24689 00100-98649",
        "O": "00000-31113 00000-31113 00000-31113 00000-31113",
        "P": "00000-33333 31000-99413 00000-11113 00023-55567",
        "Q": "00000-94113 00000-54224 00000-31129 00000-53335",
        "R": "00000-22222 00000-35734 00000-11129 00000-66642",
        "S": "00000-99923 00000-31699 00000-91117 00000-31112",
        "T": "12200-66666 12200-66666 00000-11111 60006-99999",
        "U": "00000-42222 00000-42222 00000-99999 00000-92129",
        "V": "21100-65432 21100-55432 00000-37973 50005-97279",
        "W": "00000-43322 00000-43322 00000-69496 00200-94949",
        "X": "00200-34643 00200-34653 00000-24649 00000-24642",
        "Y": "13200-66543 13200-66543 00000-25752 60006-98589",
        "Z": "00200-24689 00200-98642 00000-91118 00000-11111",
        "0": "00000-31113 00000-31113 00000-31113 00000-31113",
        "1": "02200-99999 00000-55555 00000-93299 00000-99999",
        "2": "00000-36993 00000-97423 00000-31119 00000-11112",
        "3": "00100-99999 00000-41563 00000-91117 00000-21123",
        "4": "20001-88357 00000-44476 10000-75688 10000-44444",
        "5": "00000-99934 00010-41399 00000-92116 00000-31123",
        "6": "00000-31257 00000-31398 00000-64356 00000-31113",
        "7": "01300-56799 32100-86542 00000-21111 00025-99589",
        "8": "00000-31523 00000-31523 00000-71117 00000-21112",
        "9": "00000-89313 00000-75213 00000-31113 00000-65356",
    }
)
"""The least and the most depth at each level, in tenths, from the left, the right, the top and the
foot; 9 is as far in as can be. Measured by ourselves on 78 upright fonts for general use, with and
without serifs, from thin to black and from narrow to fixed width. So that it holds for others too,
each level was taken from 0.04 below it to 0.04 above, and ranges were widened by 0.03 and rounded
outwards. No published source.
"""

LEAST_WIDTH = 0.3
"""Depths from the left and the right are shares of the width, of narrow letters of this share of
the height.
"""

SLANTS = (0.0, *(share / 100 for share in range(10, 32, 2)))
"""How far letters may lean, x over y: not at all, or as those of italics do."""

LEAST_SAME = 1e-6
"""A depth is beyond its range by more than so much, which is that of rounding."""

X, Y = range(2)
LEFT, RIGHT, TOP, FOOT = range(4)
SEEN_FROM = ("the left", "the right", "the top", "the foot")


def side_misfit(char: str, region: Any) -> str | None:
    """Where the ink of a shape begins as that of a capital or digit does in no typeface, in words;
    None where it may be that letter, or of one nothing is known of.
    """
    ranges = RANGES.get(char)
    if ranges is None:
        return None
    rings = _outer_rings(region)
    upright = _first_beyond(ranges, rings)
    if upright is None:
        return None
    slanted = ([_leaned_back(ring, slant) for ring in rings] for slant in SLANTS[1:])
    if any(_first_beyond(ranges, each) is None for each in slanted):
        return None
    return upright


Range = tuple[float, float]


def _ranges_of(row: str) -> tuple[tuple[Range, ...], ...]:
    """The least and the most of each level of each side, as shares."""
    sides = [side.split("-") for side in row.split()]
    return tuple(
        tuple((int(least) / 10, _most_of(most)) for least, most in zip(*side, strict=True))
        for side in sides
    )


def _most_of(digit: str) -> float:
    return 1.0 if digit == "9" else int(digit) / 10


RANGES = {char: _ranges_of(row) for char, row in SIDES.items()}


def _outer_rings(region: Any) -> list[Any]:
    """The places of the outer edges of a region: an array of x and y for each."""
    shapely = shapely_part()
    return [shapely.get_coordinates(part.exterior) for part in shapely.get_parts(region)]


def _leaned_back(ring: Any, slant: float) -> Any:
    leaned = ring.copy()
    leaned[:, 0] -= slant * ring[:, 1]
    return leaned


def _first_beyond(ranges: Iterable[Iterable[Range]], rings: Sequence[Any]) -> str | None:
    for side, (expected, depths) in enumerate(zip(ranges, _depths(rings), strict=True)):
        for level, (least, most), depth in zip(LEVELS, expected, depths, strict=True):
            if not least - LEAST_SAME <= depth <= most + LEAST_SAME:
                return _in_words(side, level, depth, (least, most))
    return None


def _in_words(side: int, level: float, depth: float, expected: Range) -> str:
    least, most = (f"{100 * share:.0f}" for share in expected)
    along = "height" if side in (LEFT, RIGHT) else "width"
    return (
        f"has its ink {100 * depth:.0f} % in from {SEEN_FROM[side]}, at {100 * level:.0f} % of its"
        f" {along}, where typefaces have it {least} to {most} % in"
    )


def _depths(rings: Sequence[Any]) -> Iterator[list[float]]:
    """How far in the ink begins at each level, seen from the left, the right, the top and the foot:
    shares of the width, of the width, of the height and of the height.
    """
    left, low = (min(float(ring[:, axis].min()) for ring in rings) for axis in (X, Y))
    right, high = (max(float(ring[:, axis].max()) for ring in rings) for axis in (X, Y))
    width, height = right - left, high - low
    across = [_ends_at(rings, Y, low + share * height) for share in LEVELS]
    along = [_ends_at(rings, X, left + share * width) for share in LEVELS]
    room = max(width, LEAST_WIDTH * height)
    yield [min((first - left) / room, 1.0) for first, _ in across]
    yield [min((right - last) / room, 1.0) for _, last in across]
    yield [min((high - last) / height, 1.0) for _, last in along]
    yield [min((first - low) / height, 1.0) for first, _ in along]


def _ends_at(rings: Iterable[Any], axis: int, level: float) -> tuple[float, float]:
    """The first and the last place at which outlines cross a level: of y along x, or of x along y.

    Infinitely far off where none does, as between an i and its dot.
    """
    first, last = math.inf, -math.inf
    for ring in rings:
        starts, ends = ring[:-1], ring[1:]
        crossing = ((starts[:, axis] <= level) != (ends[:, axis] <= level)).nonzero()[0]
        for start, end in zip(starts[crossing].tolist(), ends[crossing].tolist(), strict=True):
            share = (level - start[axis]) / (end[axis] - start[axis])
            place = start[1 - axis] + share * (end[1 - axis] - start[1 - axis])
            first, last = min(first, place), max(last, place)
    return first, last
