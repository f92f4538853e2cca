"""Areas as a sign is read: turned so that its top points to the largest y. Lengths in mm; geometry.

A turned area lies elsewhere than on its sheet, so only differences between areas that are turned
alike mean anything.
"""

from __future__ import annotations

from collections.abc import Iterable

from signrules.model.passes import Area
from signrules.model.quantities import GUARD_MM


def upright_area(area: Area, top: str) -> Area:
    """The area as it lies once the sheet is turned so that a side of the bed, `top`, is far."""
    x, y, width, height = area.x, area.y, area.width, area.height
    if top == "near":
        # About the corner of the sheet and not about the sign: see the head of the module.
        return Area(-x - width, -y - height, width, height)
    if top == "left":
        return Area(y, -x - width, height, width)
    if top == "right":
        return Area(-y - height, x, height, width)
    return area


def bounding_area(areas: Iterable[Area]) -> Area:
    """The rectangle around some areas, of which there is at least one."""
    all_areas = tuple(areas)
    x, y = min(area.x for area in all_areas), min(area.y for area in all_areas)
    right = max(area.x + area.width for area in all_areas)
    top = max(area.y + area.height for area in all_areas)
    return Area(x, y, right - x, top - y)


def tallest_stretch(areas: Iterable[Area]) -> float:
    """The longest stretch of y that areas take without a break: nothing in one piece is taller."""
    longest, start, end = 0.0, 0.0, -float("inf")
    # A gap within the guard is none: areas are drawn edge to edge.
    for low, high in sorted((area.y, area.y + area.height) for area in areas):
        if low > end + GUARD_MM:
            start = low
        end = max(high, end)
        longest = max(longest, end - start)
    return longest


def distance_apart(one: Area, other: Area) -> float:
    """How far apart two areas are along x or y, the larger of both; below 0 where they overlap."""
    across = max(one.x - other.x - other.width, other.x - one.x - one.width)
    along = max(one.y - other.y - other.height, other.y - one.y - one.height)
    return max(across, along)


def inside_by(inner: Area, outer: Area) -> float:
    """How far an area stays from the edge of one around it; below 0 where it reaches out."""
    left, low = inner.x - outer.x, inner.y - outer.y
    right = outer.x + outer.width - inner.x - inner.width
    high = outer.y + outer.height - inner.y - inner.height
    return min(left, low, right, high)
