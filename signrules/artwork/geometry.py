"""Shapes as geometry of shapely: unions, ink, distances. Lengths in mm, areas in mm2.

shapely is loaded when it is needed; geometry of it is `Any` here.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from attrs import frozen

from signrules.artwork.drawing import Point, Shape
from signrules.artwork.libraries import shapely_part
from signrules.errors import ArtworkError, DocumentFault

MOST_DISTANT_MM = 1e6
"""No place of a drawing lies further from its page."""


KEPT_REGIONS = 16_384
"""So many regions are kept, since areas, letters and distances ask for the same ones: those of a
sheet of some hundred signs.
"""


@lru_cache(maxsize=KEPT_REGIONS)
def region_of(shape: Shape) -> Any:
    """The region that a shape inks, valid whatever its outline does.

    Raises ArtworkError where a place of it is no finite number, or too far away.
    """
    least, most = -MOST_DISTANT_MM, MOST_DISTANT_MM
    for ring in (shape.outline, *shape.holes):
        for x, y in ring:
            # Written so that NaN fails it too, which is neither more nor less than anything.
            if not (least <= x <= most and least <= y <= most):
                expected = f"places within {MOST_DISTANT_MM:,.0f} mm of the page"
                raise ArtworkError([DocumentFault(shape.place, f"a point at {x}, {y}", expected)])
    shapely = shapely_part()
    if len(shape.outline) < 3:
        return shapely.Polygon()
    holes = [shapely.linearrings(ring) for ring in shape.holes if len(ring) >= 3]
    region = shapely.polygons(shapely.linearrings(shape.outline), holes or None)
    if not region.is_valid:
        # Outlines that cross themselves are common in drawings, and every union of an invalid one
        # raises.
        region = only_areas(shapely.make_valid(region))
    return region


def only_areas(geometry: Any) -> Any:
    """What of a geometry has an area; lines and points of it are left out."""
    shapely = shapely_part()
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type == "Polygon"]
    for part in shapely.get_parts(geometry):
        if part.geom_type == "MultiPolygon":
            parts += part.geoms
    return shapely.union_all(parts)


def union_of(shapes: Iterable[Shape]) -> Any:
    """Everything that some shapes ink."""
    return joined_regions([region_of(shape) for shape in shapes])


def joined_regions(regions: Sequence[Any]) -> Any:
    """Regions as one. Those whose boxes touch no other one are taken as they are: to find out what
    regions have in common takes most of the time.
    """
    shapely = shapely_part()
    touching = _touched_ones(regions)
    alone = [region for at, region in enumerate(regions) if at not in touching]
    together = shapely.union_all([regions[at] for at in sorted(touching)])
    parts = [part for each in (*alone, together) for part in shapely.get_parts(each)]
    solid = [part for part in parts if part.area > 0]
    if not solid:
        return shapely.Polygon()
    return solid[0] if len(solid) == 1 else shapely.multipolygons(solid)


def _touched_ones(regions: Sequence[Any]) -> set[int]:
    """Positions of regions whose boxes touch another one's; all of them where many do."""
    tree = shapely_part().STRtree(regions)
    touched: set[int] = set()
    for start in range(0, len(regions), TRIED_AT_ONCE):
        some = regions[start : start + TRIED_AT_ONCE]
        ones, others = tree.query(some).tolist()
        # Where nearly all touch, to sort out the few that do not gains nothing.
        if len(ones) > CROWDED * len(some):
            return set(range(len(regions)))
        pairs = zip(ones, others, strict=True)
        touched.update(other for one, other in pairs if start + one != other)
    return touched


TRIED_AT_ONCE = 64
CROWDED = 8
"""Where boxes touch more than so many others in the middle, none is looked at further."""


def part_within(region: Any, frame: Any) -> Any:
    """What of a region lies in a rectangle."""
    left, low, right, high = region.bounds
    frame_left, frame_low, frame_right, frame_high = frame.bounds
    if left < frame_left or low < frame_low or right > frame_right or high > frame_high:
        return region.intersection(frame)
    return region


@frozen
class InkedRegion:
    """What some shapes ink, and its area with each part at its tint."""

    region: Any
    area: float


def inked_region(shapes: Iterable[Shape], within: Any = None) -> InkedRegion:
    """What shapes ink; where they overlap, the darkest counts once.

    `within` leaves out what lies outside of a rectangle.
    """
    by_tint: dict[float, list[Shape]] = defaultdict(list)
    for shape in shapes:
        by_tint[min(shape.tint, 1.0)].append(shape)
    taken, total = shapely_part().Polygon(), 0.0
    # The darkest first, so that what comes after counts only where nothing darker lies.
    for tint in sorted(by_tint, reverse=True):
        region = union_of(by_tint[tint])
        if within is not None:
            region = part_within(region, within)
        if taken.is_empty:
            total, taken = tint * float(region.area), region
        else:
            total += tint * float(region.difference(taken).area)
            taken = taken.union(region)
    return InkedRegion(taken, total)


def least_distance(geometry: Any, shapes: Iterable[Shape]) -> float:
    """How far the nearest of some shapes lies from a geometry."""
    return min(float(geometry.distance(region_of(shape))) for shape in shapes)


def has_straight_sides(shape: Shape) -> bool:
    """Whether all sides run along x or y: no chord of it stands for a curve."""
    return all(_runs_along_axes(ring) for ring in (shape.outline, *shape.holes))


def _runs_along_axes(ring: Sequence[Point]) -> bool:
    following = [*ring[1:], *ring[:1]]
    return all(a[0] == b[0] or a[1] == b[1] for a, b in zip(ring, following, strict=True))


def turned(point: Point, degrees: float) -> Point:
    """A point turned about the origin, from x towards y."""
    angle = math.radians(degrees)
    x, y = point
    return (
        x * math.cos(angle) - y * math.sin(angle),
        x * math.sin(angle) + y * math.cos(angle),
    )
