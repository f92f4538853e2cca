"""Which shapes are one letter, and which letters one line. Geometry, lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from attrs import evolve

from signrules.artwork.accents import is_mark_of, plain_chars
from signrules.artwork.drawing import Shape, TextRun
from signrules.artwork.geometry import joined_regions, region_of, turned
from signrules.artwork.libraries import shapely_part

SAME_LETTER = 0.5
"""Parts that share this much of the width of the narrower one are one letter: i and its dot."""

TWO_STROKES = frozenset('"\u201c\u201d\u201e\u00ab\u00bb')
"""Quotation marks that are two shapes beside each other."""

STEM_WIDTH, DOT_WIDTH, DOT_SIDES = 0.5, 1.6, 2.0
"""A stem is no wider than the first share of its height, and its dot no wider than so many times
the stem; no side of a dot is longer than so many times the other. Common practice, no published
source.
"""

ROOM_UNDER = 3.0
"""A stem begins no deeper under its dot than so many times the height of the dot."""

SAME_LINE = 0.3
"""Parts that share this much of the height of the lower one are of one line."""


def letters_of(shapes: Iterable[Shape], degrees: float = 0.0) -> list[Any]:
    """Letters from left to right: shapes that stand one above the other are one."""
    return _grouped([region_of(_turned_shape(shape, degrees)) for shape in shapes])


def _turned_shape(shape: Shape, degrees: float) -> Shape:
    if not degrees:
        return shape
    outline = tuple(turned(point, degrees) for point in shape.outline)
    holes = tuple(tuple(turned(point, degrees) for point in ring) for ring in shape.holes)
    return evolve(shape, outline=outline, holes=holes)


def _share_width(group: Sequence[Any], region: Any) -> bool:
    left, right = min(g.bounds[0] for g in group), max(g.bounds[2] for g in group)
    shared = min(right, region.bounds[2]) - max(left, region.bounds[0])
    narrower = min(right - left, region.bounds[2] - region.bounds[0])
    return bool(shared > SAME_LETTER * narrower)


def lines_of_shapes(shapes: Sequence[Shape]) -> list[list[Any]]:
    """Letters in lines from the top down, each from left to right."""
    solid = [region for shape in shapes if (region := region_of(shape)).area > 0]
    regions = sorted(_with_dots(solid), key=_tallest_first)
    lines: list[tuple[float, float, list[Any]]] = []
    for region in regions:
        low, high = region.bounds[1], region.bounds[3]
        for line_low, line_high, members in lines:
            # Lines begin with their tallest letter, so that a hyphen or a dot finds one to belong
            # to.
            if min(high, line_high) - max(low, line_low) > SAME_LINE * (high - low):
                members.append(region)
                break
        else:
            lines.append((low, high, [region]))
    ordered = sorted(lines, key=lambda line: -line[1])
    return [_grouped(members) for _, _, members in ordered]


def _with_dots(regions: Sequence[Any]) -> list[Any]:
    """Regions, each dot over a stem joined to it: an i or a j, whatever the text has there."""
    stems = [region for region in regions if _side_share(region) < STEM_WIDTH]
    dots = [region for region in regions if 1 / DOT_SIDES < _side_share(region) < DOT_SIDES]
    if not stems or not dots:
        return list(regions)
    tree = shapely_part().STRtree(stems)
    joined: dict[int, list[Any]] = {}
    for dot in dots:
        under = (int(at) for at in tree.query(_room_under(dot)))
        owner = next((stems[at] for at in under if _is_dot_of(dot, stems[at])), None)
        if owner is not None:
            joined.setdefault(id(owner), []).append(dot)
    aside = {id(dot) for some in joined.values() for dot in some}
    rest = [region for region in regions if id(region) not in aside]
    return [joined_regions([region, *joined.get(id(region), [])]) for region in rest]


def _side_share(region: Any) -> float:
    """The width of a region over its height."""
    left, low, right, high = region.bounds
    return float((right - left) / (high - low))


def _room_under(dot: Any) -> Any:
    left, low, right, high = dot.bounds
    return shapely_part().box(left, low - ROOM_UNDER * (high - low), right, low)


def _is_dot_of(dot: Any, stem: Any) -> bool:
    left, low, right, _ = dot.bounds
    stem_left, _, stem_right, stem_high = stem.bounds
    # The dot of a j stands over its right end.
    within = stem_left < (left + right) / 2 < stem_right
    as_wide = right - left < DOT_WIDTH * (stem_right - stem_left)
    over = low >= stem_high and is_mark_of(dot.bounds, stem.bounds)
    return bool(over and as_wide and within)


def with_whole_signs(line: Sequence[Any], text: str) -> list[Any]:
    """A line whose signs of two strokes are one region each, if it has as many as its text then."""
    chars = plain_chars(text)
    strokes = [2 if char in TWO_STROKES else 1 for char in chars]
    if len(line) != sum(strokes):
        return list(line)
    regions = iter(line)
    return [joined_regions([next(regions) for _ in range(count)]) for count in strokes]


def _tallest_first(region: Any) -> tuple[float, float, float]:
    """The order in which regions start lines, whatever the order in which they are drawn."""
    left, low, _, high = region.bounds
    return low - high, -high, left


def _grouped(regions: Sequence[Any]) -> list[Any]:
    return [joined_regions(group) for group in _region_groups(regions)]


def _region_groups(regions: Sequence[Any]) -> list[list[Any]]:
    """Regions by the letter that they are parts of, from left to right."""
    groups: list[list[Any]] = []
    solid = [region for region in regions if region.area > 0]
    # Only the letter before can share a width with it, since letters come from left to right.
    for region in sorted(solid, key=lambda each: each.bounds[0]):
        if groups and _share_width(groups[-1], region):
            groups[-1].append(region)
        else:
            groups.append([region])
    return groups


def shapes_by_letter(run: TextRun) -> list[list[Shape]]:
    """The shapes of a run by the letter that they draw, in the order of its text."""
    regions = [region_of(_turned_shape(shape, -run.angle)) for shape in run.shapes]
    drawn_by = {id(region): shape for region, shape in zip(regions, run.shapes, strict=True)}
    return [[drawn_by[id(region)] for region in group] for group in _region_groups(regions)]
