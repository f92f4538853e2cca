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
from itertools import accumulate, count
from typing import Any

from attrs import frozen

from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import has_straight_sides, inked_region, region_of
from signrules.artwork.libraries import shapely_part
from signrules.model.limits import SMALLEST_MM
from signrules.model.passes import Area

FINEST_MM = 1e-3
"""Rectangles end at whole micrometres, rounded outwards."""

GRID_CELLS = 32
"""How many steps a rectangle is divided into along its longer side to find where to cut it."""

MOST_SIDES = 6
"""So many of the longest straight sides are tried as cuts as well."""

ARC_CHORDS = 4
"""Chords of a quarter circle around what is near ink; they lie within the arc, so that not too much
counts as near."""

TOLERANCE_CHORDS = 8
"""Chords of a quarter circle around ink that is grown by a tolerance; they lie beyond the arc."""


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
    grown = _grown_ink(inked_shapes, tolerance, everywhere)
    if frame is not None:
        grown = grown.intersection(frame)
    near = _grown(ink, limits.reach, ARC_CHORDS)
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
    shapely = shapely_part()
    grown = shapely.union_all(curved)
    if tolerance > 0:
        # Chords of the round ends lie inside their arcs: set out so far that none is within it.
        # GEOS rounds their number, so one may span one and a half times its share of the circle.
        outside = tolerance / math.cos(1.5 * math.pi / 4 / TOLERANCE_CHORDS)
        grown = _grown(grown, outside, TOLERANCE_CHORDS)
    return grown.union(shapely.union_all(exact))


def _grown(region: Any, distance: float, chords: int) -> Any:
    """A region grown by a distance; part by part, which takes less time where parts are many."""
    shapely = shapely_part()
    parts = shapely.get_parts(region)
    return shapely.union_all(shapely.buffer(parts, distance, quad_segs=chords))


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

    def halves(self, cut: _Cut) -> list[_Patch]:
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
    x, y = (math.floor(side / FINEST_MM + 1e-6) * FINEST_MM for side in (left, low))
    x_end, y_end = (math.ceil(side / FINEST_MM - 1e-6) * FINEST_MM for side in (right, high))
    x, y = round(x, 3), round(y, 3)
    width = max(round(x_end - x, 3), FINEST_MM, SMALLEST_MM)
    height = max(round(y_end - y, 3), FINEST_MM, SMALLEST_MM)
    return Area(x, y, width, height)


def _divided_patches(whole: _Patch, limits: AreaLimits) -> list[_Patch]:
    """Patches that hold the ink of one, cut until their excess is within the limits."""
    numbers = count()
    waiting = [(-whole.excess, next(numbers), whole)]
    done: list[_Patch] = []
    excess, covered = whole.excess, whole.area.width * whole.area.height
    while waiting and excess > limits.area_excess * covered:
        if len(waiting) + len(done) >= limits.most:
            break
        _, _, patch = heapq.heappop(waiting)
        cut = _best_cut(patch)
        halves = patch.halves(cut) if cut is not None else []
        if len(halves) < 2:
            done.append(patch)
            continue
        for half in halves:
            heapq.heappush(waiting, (-half.excess, next(numbers), half))
        parts = [*done, *(each for _, _, each in waiting)]
        excess = math.fsum(part.excess for part in parts)
        covered = math.fsum(part.area.width * part.area.height for part in parts)
    return [*done, *(patch for _, _, patch in waiting)]


@frozen
class _Cut:
    """Where a rectangle is cut: at an x, or at a y.

    `empty` is the area that is not near ink in the rectangles around the ink on both sides, and
    `clean` the area of those among them that have next to nothing of it.
    """

    along_x: bool
    at: float
    empty: float
    clean: float


CLEAN_SHARE = 0.02
"""A rectangle of which less than this share is not near ink needs no further cut."""


def _best_cut(patch: _Patch) -> _Cut | None:
    """The cut along a grid line after which least is not near ink.

    Where one cut alone changes nothing, as in a frame, it is the one that leaves the largest clean
    rectangle, or else the one nearest to the middle; None where there is no line to cut along.
    """
    grid = _Grid.over(patch)
    cuts = [*grid.cuts(along_x=True), *grid.transposed().cuts(along_x=False)]
    if not cuts:
        return None
    best = min(cuts, key=lambda cut: cut.empty)
    if best.empty < (1 - CLEAN_SHARE) * grid.empty_area((0, grid.columns, 0, grid.rows)):
        return best
    cleanest = max(cuts, key=lambda cut: cut.clean)
    if cleanest.clean > 0:
        return cleanest
    return min(cuts, key=lambda cut: _off_middle(cut, patch.area))


def _off_middle(cut: _Cut, area: Area) -> tuple[bool, float]:
    """How far a cut lies from the middle; those across the shorter side come last."""
    if cut.along_x:
        return area.width < area.height, abs(cut.at - area.x - area.width / 2)
    return area.height <= area.width, abs(cut.at - area.y - area.height / 2)


_Extent = tuple[int, int, int, int]
"""Columns and rows from one up to another, that one left out."""


@frozen
class _Grid:
    """A rectangle in steps: which of its cells have ink, and how much in them is not near ink.

    `edges` lie between columns, `other_edges` between rows. `inked` and `sums` go by column and
    row; `sums` add up what is empty from the corner on.
    """

    edges: tuple[float, ...]
    other_edges: tuple[float, ...]
    inked: Sequence[Sequence[bool]]
    sums: Sequence[Sequence[float]]

    @property
    def columns(self) -> int:
        return len(self.inked)

    @property
    def rows(self) -> int:
        return len(self.inked[0])

    @classmethod
    def over(cls, patch: _Patch) -> _Grid:
        shapely = shapely_part()
        area = patch.area
        step = max(area.width, area.height) / GRID_CELLS
        corners = shapely.get_coordinates(patch.ink)
        xs = _steps(area.x, area.width, step, _side_places(corners, 0, step))
        ys = _steps(area.y, area.height, step, _side_places(corners, 1, step))
        places = [(column, row) for column in range(len(xs) - 1) for row in range(len(ys) - 1)]
        left, low = [xs[column] for column, _ in places], [ys[row] for _, row in places]
        right = [xs[column + 1] for column, _ in places]
        high = [ys[row + 1] for _, row in places]
        shapely.prepare(patch.ink)
        boxes = shapely.box(left, low, right, high)
        inked = shapely.intersects(patch.ink, boxes).tolist()
        shapely.prepare(patch.near)
        across = [(one + other) / 2 for one, other in zip(left, right, strict=True)]
        along = [(one + other) / 2 for one, other in zip(low, high, strict=True)]
        near = shapely.contains_xy(patch.near, across, along).tolist()
        sizes = shapely.area(boxes).tolist()
        empty = [0.0 if is_near else size for is_near, size in zip(near, sizes, strict=True)]
        rows = len(ys) - 1
        return cls(xs, ys, _in_columns(inked, rows), _summed(_in_columns(empty, rows)))

    def transposed(self) -> _Grid:
        """The same with x and y in each other's place."""
        inked = list(zip(*self.inked, strict=True))
        sums = list(zip(*self.sums, strict=True))
        return _Grid(self.other_edges, self.edges, inked, sums)

    def empty_area(self, extent: _Extent) -> float:
        """What is not near ink in some columns and rows."""
        first, last, low, high = extent
        sums = self.sums
        return sums[last][high] - sums[first][high] - sums[last][low] + sums[first][low]

    def cuts(self, *, along_x: bool) -> list[_Cut]:
        """A cut for each line between columns that has ink on both sides."""
        before = self._extents(range(self.columns))
        after = self._extents(range(self.columns - 1, -1, -1))[::-1]
        found = []
        for line in range(1, self.columns):
            one, other = before[line - 1], after[line]
            if one is not None and other is not None:
                empty = self.empty_area(one) + self.empty_area(other)
                clean = self._clean_area(one) + self._clean_area(other)
                found.append(_Cut(along_x, self.edges[line], empty, clean))
        return found

    def _clean_area(self, extent: _Extent) -> float:
        """The area of columns and rows, if next to nothing in them is not near ink."""
        first, last, low, high = extent
        across = self.edges[last] - self.edges[first]
        area = across * (self.other_edges[high] - self.other_edges[low])
        return area if self.empty_area(extent) <= CLEAN_SHARE * area else 0.0

    def _extents(self, columns: Iterable[int]) -> list[_Extent | None]:
        """After each of some columns: first and last column and row with ink so far."""
        found: list[_Extent | None] = []
        so_far: _Extent | None = None
        for column in columns:
            rows = [row for row, has_ink in enumerate(self.inked[column]) if has_ink]
            if rows:
                here = (column, column + 1, rows[0], rows[-1] + 1)
                so_far = here if so_far is None else _around_both(so_far, here)
            found.append(so_far)
        return found


def _around_both(one: _Extent, other: _Extent) -> _Extent:
    first, last = min(one[0], other[0]), max(one[1], other[1])
    return first, last, min(one[2], other[2]), max(one[3], other[3])


def _side_places(corners: Any, axis: int, least: float) -> list[float]:
    """Where the longest straight sides across an axis lie, those of a least length.

    `corners` is an array of places, ring after ring.
    """
    sides = abs(corners[1:] - corners[:-1])
    straight = (sides[:, axis] < FINEST_MM) & (sides[:, 1 - axis] >= least)
    lengths: dict[float, float] = {}
    found = (corners[1:][straight][:, axis].tolist(), sides[straight][:, 1 - axis].tolist())
    for place, length in zip(*found, strict=True):
        lengths[round(place, 3)] = lengths.get(round(place, 3), 0.0) + length
    return sorted(lengths, key=lambda place: -lengths[place])[:MOST_SIDES]


def _steps(start: float, length: float, step: float, others: Iterable[float]) -> tuple[float, ...]:
    """Places from one end of a length to the other, inner ones on whole micrometres, with others
    that lie between the ends.
    """
    number = max(round(length / step), 1)
    end = start + length
    inner = set(others) | {round(start + length * at / number, 3) for at in range(1, number)}
    return (start, *sorted(at for at in inner if start < at < end), end)


def _in_columns(values: Sequence[Any], rows: int) -> list[list[Any]]:
    return [list(values[at : at + rows]) for at in range(0, len(values), rows)]


def _summed(columns: Sequence[Sequence[float]]) -> list[list[float]]:
    """Sums of all cells before a column and a row, with a first column and row of zeros."""
    sums = [[0.0] * (len(columns[0]) + 1)]
    for column in columns:
        own = list(accumulate(column, initial=0.0))
        sums.append([above + here for above, here in zip(sums[-1], own, strict=True)])
    return sums
