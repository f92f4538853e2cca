"""Rectangles that cover what a layer inks: never less, and as little more as their number allows.

A pass prints within rectangles, and its coverage says which share of them gets ink. What lies
outside of them counts as bare, so every inked point must lie inside. A covered point from which the
ink is further away than a reach is excess: ink is taken to stand there though none is near.
Rectangles are cut in two, the worst one first, until the excess is small enough. Geometry.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Sequence
from itertools import count
from typing import Any

from attrs import frozen

from signrules.artwork.area_cuts import Cut, best_cut
from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import (
    has_straight_sides,
    inked_region,
    joined_regions,
    part_within,
    region_of,
)
from signrules.artwork.libraries import shapely_part
from signrules.model.limits import SMALLEST_MM
from signrules.model.passes import Area

FINEST_MM = 1e-3
"""Rectangles end at whole micrometres, rounded outwards."""

ARC_CHORDS = 4
"""Chords of a quarter circle around what is near ink; they lie within the arc, so that not too much
counts as near."""

NEAR_SLACK = 0.005
"""By this share of the reach chords may be off their curve where the region near ink is made."""

MITRE_LIMIT = 2.0
"""Ink that is grown by a tolerance reaches no further than so many times as far at its corners."""


@frozen
class AreaLimits:
    """How much more than the ink rectangles may cover.

    `reach` is how far in mm a covered point may lie from the ink before it counts as excess;
    `area_excess` the most of the covered area that may be excess; `height_excess` the most by which
    the rectangles may reach over the ink along y, as a share of its extent; `most` how many
    rectangles there may be. Common practice, no published source.
    """

    reach: float = 3.0
    area_excess: float = 0.02
    height_excess: float = 0.05
    most: int = 60


USUAL_LIMITS = AreaLimits()


@frozen
class CoveredAreas:
    """Rectangles that cover some shapes, disjoint but for their edges, from the lowest up.

    `inked` is the area of the ink in mm2, tints counted, and `coverage` its share of the
    rectangles. `area_excess` and `height_excess` are shares as in `AreaLimits`; `enough` says
    whether both are within the limits.
    """

    areas: tuple[Area, ...]
    inked: float
    coverage: float
    area_excess: float
    height_excess: float
    enough: bool


NO_AREAS = CoveredAreas((), 0.0, 0.0, 0.0, 0.0, True)


def covering_areas(
    shapes: Iterable[Shape],
    *,
    tolerance: float,
    everywhere: bool = False,
    within: Area | None = None,
    limits: AreaLimits = USUAL_LIMITS,
) -> CoveredAreas:
    """Rectangles that cover every point that shapes ink; none where they ink nothing.

    `tolerance` is how far in mm a true edge may lie from that of a shape: of chords, or of pixels.
    Shapes whose sides all run along x or y have no chords and are not grown, unless the tolerance
    holds `everywhere`. What lies outside of `within` is left out.
    """
    inked_shapes = [shape for shape in shapes if shape.tint > 0]
    frame = None if within is None else _box_of(within)
    inked = inked_region(inked_shapes, frame)
    ink = inked.region
    if ink.area <= 0:
        return NO_AREAS
    # Rectangles are laid around the grown ink and judged by the ink as drawn: to cover is a
    # promise, excess is a measure of how well.
    grown = _grown_ink(inked_shapes, tolerance, everywhere)
    if frame is not None:
        grown = part_within(grown, frame)
    near = _near_ink(ink, limits.reach)
    patches = _divided_patches(_Patch.around(grown, near), limits)
    areas = tuple(sorted((patch.area for patch in patches), key=lambda area: (area.y, area.x)))
    covered = math.fsum(area.width * area.height for area in areas)
    area_excess = math.fsum(patch.excess for patch in patches) / covered
    height_excess = _height_excess(areas, ink)
    enough = area_excess <= limits.area_excess and height_excess <= limits.height_excess
    coverage = min(inked.area / covered, 1.0)
    return CoveredAreas(areas, inked.area, coverage, area_excess, height_excess, enough)


def covered_together(parts: Iterable[CoveredAreas]) -> CoveredAreas:
    """Rectangles of several parts as those of one, such as of the signs of one pass."""
    some = [part for part in parts if part.areas]
    if len(some) == 1:
        return some[0]
    sizes = [math.fsum(area.width * area.height for area in part.areas) for part in some]
    covered = math.fsum(sizes)
    if not some:
        return NO_AREAS
    inked = math.fsum(part.inked for part in some)
    excess = math.fsum(part.area_excess * size for part, size in zip(some, sizes, strict=True))
    return CoveredAreas(
        tuple(area for part in some for area in part.areas),
        inked,
        min(inked / covered, 1.0),
        excess / covered,
        max(part.height_excess for part in some),
        all(part.enough for part in some),
    )


def _grown_ink(shapes: Sequence[Shape], tolerance: float, everywhere: bool) -> Any:
    """The union of shapes, grown by a tolerance where they may have chords of curves."""
    exact: list[Any] = []
    curved: list[Any] = []
    for shape in shapes:
        is_exact = not everywhere and has_straight_sides(shape)
        (exact if is_exact else curved).append(region_of(shape))
    grown = joined_regions(curved)
    if tolerance > 0:
        # Corners that are left sharp lie beyond what is nearer than the tolerance, never within.
        parts = shapely_part().get_parts(grown)
        sharp = {"join_style": "mitre", "mitre_limit": MITRE_LIMIT}
        grown = joined_regions(shapely_part().buffer(parts, tolerance, **sharp).tolist())
    if not exact:
        return grown
    return joined_regions([grown, *exact]) if curved else joined_regions(exact)


def _near_ink(ink: Any, reach: float) -> Any:
    """What lies nearer to ink than a reach, with few chords of its curves."""
    shapely = shapely_part()
    parts = shapely.get_parts(ink).tolist()
    # A buffer takes time by the corners of its input, and letters have hundreds; what is lost is a
    # small share of the reach. Not to preserve topology is faster, and a buffer mends what crosses.
    simpler = shapely.simplify(parts, reach * NEAR_SLACK, preserve_topology=False).tolist()
    pairs = zip(parts, simpler, strict=True)
    kept = [part if simple.is_empty else simple for part, simple in pairs]
    return joined_regions(shapely.buffer(kept, reach, quad_segs=ARC_CHORDS).tolist())


def _height_excess(areas: Sequence[Area], ink: Any) -> float:
    _, low, _, high = ink.bounds
    span = max(area.y + area.height for area in areas) - min(area.y for area in areas)
    return float(span / (high - low) - 1)


def _box_of(area: Area) -> Any:
    return shapely_part().box(area.x, area.y, area.x + area.width, area.y + area.height)


@frozen
class _Patch:
    """Some ink, the region that is near ink, and the rectangle around that ink."""

    ink: Any
    near: Any
    area: Area
    excess: float

    @classmethod
    def around(cls, ink: Any, near: Any) -> _Patch:
        area = _rounded_area(*ink.bounds)
        box = (area.x, area.y, area.x + area.width, area.y + area.height)
        here = shapely_part().clip_by_rect(near, *box)
        excess = max(area.width * area.height - float(here.area), 0.0)
        return cls(ink, here, area, excess)

    def halves(self, cut: Cut) -> list[_Patch]:
        """The patches on both sides of a cut; those that have ink."""
        left, low = self.area.x, self.area.y
        right, high = left + self.area.width, low + self.area.height
        if cut.along_x:
            boxes = [(left, low, cut.at, high), (cut.at, low, right, high)]
        else:
            boxes = [(left, low, right, cut.at), (left, cut.at, right, high)]
        clip = shapely_part().clip_by_rect
        inks = [clip(self.ink, *box) for box in boxes]
        return [_Patch.around(ink, self.near) for ink in inks if ink.area > 0]


def _rounded_area(left: float, low: float, right: float, high: float) -> Area:
    """The rectangle between four sides, rounded outwards to whole micrometres."""
    # Without the slack a side at 3.000 that is 2.9999999 in binary would be pushed out by a
    # micrometre.
    x, y = (math.floor(side / FINEST_MM + 1e-6) * FINEST_MM for side in (left, low))
    x_end, y_end = (math.ceil(side / FINEST_MM - 1e-6) * FINEST_MM for side in (right, high))
    x, y = round(x, 3), round(y, 3)
    width = max(round(x_end - x, 3), FINEST_MM, SMALLEST_MM)
    height = max(round(y_end - y, 3), FINEST_MM, SMALLEST_MM)
    return Area(x, y, width, height)


def _divided_patches(whole: _Patch, limits: AreaLimits) -> list[_Patch]:
    """Patches that hold the ink of one, cut until their excess is within the limits."""
    # Patches have no order of their own; the running number keeps the heap from comparing them, and
    # makes the same file give the same rectangles.
    numbers = count()
    waiting = [(-whole.excess, next(numbers), whole)]
    done: list[_Patch] = []
    excess, covered = whole.excess, whole.area.width * whole.area.height
    while waiting and excess > limits.area_excess * covered:
        if len(waiting) + len(done) >= limits.most:
            break
        _, _, patch = heapq.heappop(waiting)
        cut = best_cut(patch.ink, patch.near, patch.area)
        halves = patch.halves(cut) if cut is not None else []
        # All of the ink lies on one side, or no line is left to cut along: more cuts gain nothing
        # here.
        if len(halves) < 2:
            done.append(patch)
            continue
        for half in halves:
            heapq.heappush(waiting, (-half.excess, next(numbers), half))
        parts = [*done, *(each for _, _, each in waiting)]
        excess = math.fsum(part.excess for part in parts)
        covered = math.fsum(part.area.width * part.area.height for part in parts)
    return [*done, *(patch for _, _, patch in waiting)]
