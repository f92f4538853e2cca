"""Regions: what rings fill by a rule, what a stroke covers, and the shapes that are made of both.

A region is a polygon or several, of shapely; Clipper (pyclipper) finds what tangled rings fill.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pyclipper
import shapely

from signrules.artwork.drawing import Ring, Shape
from signrules_artwork.affine import Points
from signrules_artwork.faults import Reading, artwork_error

LEAST_AREA_MM2 = 1e-7
"""What is smaller is no shape but what arithmetic left over."""

CLIPPER_SCALE = 1e6
"""Clipper counts in whole numbers: here in millionths of the unit."""

NOWHERE = shapely.Polygon()


def filled_region(rings: Iterable[Points], *, even_odd: bool, reading: Reading) -> Any:
    """What rings fill: by the even-odd rule, or by that of the winding number that is not zero."""
    kept = [ring for ring in rings if len(ring) > 2]
    reading.spend_points(sum(len(ring) for ring in kept))
    if not kept:
        return NOWHERE
    polygons = shapely.polygons([shapely.linearrings(ring) for ring in kept])
    alone = shapely.is_valid(polygons)
    if len(kept) > 1:
        alone &= ~_touched(polygons, reading)
    if alone.all():
        return gathered(polygons)
    tangled = [ring for ring, free in zip(kept, alone, strict=True) if not free]
    pieces = _clipped_pieces(tangled, even_odd, reading)
    return gathered([*polygons[alone], *pieces])


def gathered(polygons: Sequence[Any]) -> Any:
    """Polygons that have nothing in common, as one region."""
    if len(polygons) == 0:
        return NOWHERE
    return polygons[0] if len(polygons) == 1 else shapely.multipolygons(polygons)


def _touched(polygons: Any, reading: Reading) -> Any:
    """Which of the polygons have another one's box on their own."""
    boxes = shapely.box(*shapely.bounds(polygons).T)
    touched = np.zeros(len(boxes), dtype=bool)
    for left, right in beside_each_other(boxes, boxes, reading):
        if left != right:
            touched[left] = True
    return touched


def beside_each_other(left: Any, right: Any, reading: Reading) -> Iterable[tuple[int, int]]:
    """Pairs of positions of geometries whose boxes meet, a few of `left` at a time.

    Raises ArtworkError where there are too many for the reading.
    """
    tree = shapely.STRtree(right)
    for start in range(0, len(left), 64):
        pairs = tree.query(left[start : start + 64])
        reading.spend_pairs(max(0, pairs.shape[1] - min(64, len(left) - start)))
        yield from zip((pairs[0] + start).tolist(), pairs[1].tolist(), strict=True)


def _clipped_pieces(rings: Sequence[Points], even_odd: bool, reading: Reading) -> list[Any]:
    """The polygons that tangled rings fill, as Clipper finds them."""
    _refuse_tangles(rings, reading)
    clipper = pyclipper.Pyclipper()
    added = False
    for ring in rings:
        whole = np.rint(ring * CLIPPER_SCALE).astype(np.int64).tolist()
        try:
            clipper.AddPath(whole, pyclipper.PT_SUBJECT, True)
        except pyclipper.ClipperException:
            continue  # A ring of no area, which fills nothing.
        added = True
    if not added:
        return []
    rule = pyclipper.PFT_EVENODD if even_odd else pyclipper.PFT_NONZERO
    pieces: list[Any] = []
    try:
        waiting = list(clipper.Execute2(pyclipper.CT_UNION, rule, rule).Childs)
    except pyclipper.ClipperException:
        expected = "a path of fewer crossings"
        raise artwork_error(reading.where, "a path that cannot be filled", expected) from None
    while waiting:
        outer = waiting.pop()
        holes = [hole for hole in outer.Childs if len(hole.Contour) > 2]
        for hole in outer.Childs:
            waiting.extend(hole.Childs)
        if len(outer.Contour) > 2:
            shell = np.array(outer.Contour) / CLIPPER_SCALE
            inner = [np.array(hole.Contour) / CLIPPER_SCALE for hole in holes]
            pieces.append(shapely.Polygon(shell, inner))
    return _polygons_of(shapely.make_valid(piece) for piece in pieces)


def _refuse_tangles(rings: Sequence[Points], reading: Reading) -> None:
    """Raises ArtworkError for rings that cross each other so often that no one waits for it."""
    if sum(len(ring) for ring in rings) < 3000:
        return
    for ring in rings:
        reading.spend_pairs(_crowding(ring))


def _crowding(line: Points) -> int:
    """How many pairs of its segments have boxes that meet, beyond neighbours; an estimate from
    some of them, for long lines.
    """
    segments = shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1))
    sample = segments[:: max(1, len(segments) // 500)]
    pairs = 0
    tree = shapely.STRtree(segments)
    for start in range(0, len(sample), 16):
        pairs += tree.query(sample[start : start + 16]).shape[1]
    share = len(segments) / max(1, len(sample))
    return max(0, int(pairs * share) - 8 * len(segments))


def _polygons_of(regions: Iterable[Any]) -> list[Any]:
    """The polygons that regions are made of, whatever else is with them."""
    found: list[Any] = []
    for region in regions:
        for part in shapely.get_parts(shapely.get_parts(region)):
            if part.geom_type == "Polygon" and part.area > 0:
                found.append(part)
    return found


def only_areas(region: Any) -> Any:
    """A region without the points and lines that an intersection leaves with it."""
    if region.geom_type in {"Polygon", "MultiPolygon"}:
        return region
    return gathered(_polygons_of([region]))


def shapes_of(region: Any, tint: float, place: str) -> tuple[Shape, ...]:
    """The shapes that a region is made of."""
    found = []
    for part in shapely.get_parts(region):
        if part.area > LEAST_AREA_MM2:
            holes = tuple(_ring_of(hole) for hole in part.interiors)
            found.append(Shape(_ring_of(part.exterior), holes, tint, place))
    return tuple(found)


def _ring_of(line: Any) -> Ring:
    return tuple(map(tuple, shapely.get_coordinates(line)[:-1].tolist()))


def line_crowding(lines: Iterable[Points], reading: Reading) -> None:
    """Counts how tangled the lines of a stroke are; raises ArtworkError beyond the limit."""
    for line in lines:
        if len(line) > 3000:
            reading.spend_pairs(_crowding(line))
