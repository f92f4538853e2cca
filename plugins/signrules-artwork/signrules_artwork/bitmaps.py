"""Regions of pixels: which of them are inked, and the outline of those."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray

from signrules_artwork.affine import Matrix, Points, moved_points, moved_region
from signrules_artwork.faults import Reading
from signrules_artwork.regions import beside_each_other, filled_region, gathered

Tints = NDArray[np.uint8]
"""Tints of pixels, 255 for a solid, the top row first."""

Mask = NDArray[np.bool_]

MOST_PIXELS = 150_000_000
MOST_CORNERS = 1_500_000
"""The most corners of what one image inks. A photograph or a screen of dots has more."""

MOST_RINGS = 60_000
"""The most closed lines of what one image inks."""

BAND_ROWS = 512
"""So many rows of pixels are looked at together, so that large images take little room."""

SOLID = 255

LEAST_PIXEL_TINT = 5
"""What is fainter is no ink: 2 % of a solid."""

TINT_STEPS = 10


def tint_regions(tints: Tints, to_mm: Matrix, reading: Reading) -> list[tuple[Any, float]] | None:
    """The regions of an image by steps of its tint, each with its mean tint; `to_mm` takes columns
    and rows to mm. None where it has more than `MOST_CORNERS` corners or `MOST_RINGS` rings.
    """
    outlines: list[tuple[_Outline, float]] = []
    corners = rings = 0
    for mask, tint in _inked_parts(tints):
        outline = _outline_of(mask, MOST_CORNERS - corners)
        if outline is None:
            return None
        corners += outline.corners
        rings += len(outline.solids) + len(outline.holes)
        if rings > MOST_RINGS:
            return None
        outlines.append((outline, tint))
    return [(_region_of(outline, to_mm, reading), tint) for outline, tint in outlines]


def mean_tint(tints: Tints) -> float:
    """The mean tint of an image."""
    return float(tints.mean()) / 255


def _inked_parts(tints: Tints) -> Iterator[tuple[Mask, float]]:
    """Which pixels are inked, by steps of a tenth of a solid, each with its mean tint.

    A pixel is inked if its tint is half of the darkest around it at least: so the edge of what was
    drawn with soft edges comes out where it was, whatever its tint.
    """
    if _is_two_valued(tints):
        yield tints == SOLID, 1.0
        return
    around = _darkest_around(tints)
    inked = (around >= LEAST_PIXEL_TINT) & (tints >= around // 2 + around % 2)
    steps = np.rint(around / (255 / TINT_STEPS)).astype(np.uint8)
    counts = np.bincount(steps[inked], minlength=TINT_STEPS + 1)
    for step in np.flatnonzero(counts).tolist():
        mask = inked & (steps == step)
        yield mask, float(around[mask].mean()) / 255


def _is_two_valued(tints: Tints) -> bool:
    """Whether each pixel is solid or bare: nothing around it tells more then."""
    bands = (tints[low : low + BAND_ROWS] for low in range(0, len(tints), BAND_ROWS))
    return all(bool(((band == 0) | (band == SOLID)).all()) for band in bands)


def _darkest_around(tints: Tints) -> Tints:
    """The darkest of each pixel and its eight neighbours."""
    wide = np.pad(tints, ((0, 0), (1, 1)))
    rows = np.maximum(np.maximum(wide[:, :-2], wide[:, 1:-1]), wide[:, 2:])
    high = np.pad(rows, ((1, 1), (0, 0)))
    found: Tints = np.maximum(np.maximum(high[:-2], high[1:-1]), high[2:])
    return found


def mask_region(mask: Mask, to_mm: Matrix, reading: Reading) -> Any | None:
    """The region of the pixels of a mask; `to_mm` takes columns and rows to mm. None where it has
    more than `MOST_CORNERS` corners or `MOST_RINGS` rings.
    """
    outline = _outline_of(mask, MOST_CORNERS)
    if outline is None or len(outline.solids) + len(outline.holes) > MOST_RINGS:
        return None
    return _region_of(outline, to_mm, reading)


@frozen(eq=False)
class _Outline:
    """The closed lines around inked pixels, and around what is not inked within them."""

    corners: int
    solids: list[Points]
    holes: list[Points]


def _outline_of(mask: Mask, most: int) -> _Outline | None:
    """The outline of a mask; None for one of more than `most` corners."""
    corners = _corners_of(mask)
    if len(corners) > most:
        return None
    solids: list[Points] = []
    holes: list[Points] = []
    for ring in _rings_of(corners):
        column, row = ring[0].astype(int)
        (solids if mask[row, column] else holes).append(ring)
    return _Outline(len(corners), solids, holes)


def _region_of(outline: _Outline, to_mm: Matrix, reading: Reading) -> Any:
    """The region of an outline, in mm."""
    reading.spend_points(outline.corners)
    polygons = _polygons_with_holes(outline.solids, outline.holes, reading)
    moved = [moved_region(to_mm, polygon) for polygon in polygons if polygon.is_valid]
    for polygon in polygons:
        if not polygon.is_valid:  # It touches itself at a corner.
            rings = [polygon.exterior, *polygon.interiors]
            points = [moved_points(to_mm, shapely.get_coordinates(ring)) for ring in rings]
            touching = filled_region(points, even_odd=True, reading=reading)
            moved += list(shapely.get_parts(touching))
    return gathered(moved)


def _polygons_with_holes(
    outlines: list[Points], holes: list[Points], reading: Reading
) -> list[Any]:
    """Polygons in pixels: each hole belongs to the smallest outline around the inked pixel above
    its first corner.
    """
    if not outlines:
        return []
    solids = shapely.polygons([shapely.linearrings(ring) for ring in outlines])
    if not holes:
        return list(solids)
    inked = shapely.points([ring[0] + np.array([0.5, -0.5]) for ring in holes])
    shapely.prepare(solids)
    areas = shapely.area(solids)
    around: dict[int, int] = {}
    for hole, solid in beside_each_other(inked, solids, reading):
        smaller = hole not in around or areas[solid] < areas[around[hole]]
        if smaller and shapely.contains(solids[solid], inked[hole]):
            around[hole] = solid
    within: dict[int, list[Points]] = {}
    for hole, solid in around.items():
        within.setdefault(solid, []).append(holes[hole])
    return [
        shapely.Polygon(outlines[at], within[at]) if at in within else solid
        for at, solid in enumerate(solids)
    ]


def _corners_of(mask: Mask) -> NDArray[np.int64]:
    """Corners of the outline as rows of row, column, and what orders two corners at one point by
    column. Where only two pixels across a corner are inked it is there twice: once for each.
    """
    rows = len(mask) + 1
    starts = range(0, rows, BAND_ROWS)
    bands = [_corners_in_band(mask, low, min(low + BAND_ROWS, rows)) for low in starts]
    return np.concatenate(bands)


def _corners_in_band(mask: Mask, low: int, high: int) -> NDArray[np.int64]:
    """The corners of some rows of corners; there is one more of these than of pixels."""
    above, below = int(low == 0), int(high > len(mask))
    padded = np.pad(mask[max(low - 1, 0) : high], ((above, below), (1, 1)))
    above_left, above_right = padded[:-1, :-1], padded[:-1, 1:]
    below_left, below_right = padded[1:, :-1], padded[1:, 1:]
    odd = above_left ^ above_right ^ below_left ^ below_right
    falling = above_left & below_right & ~above_right & ~below_left
    rising = above_right & below_left & ~above_left & ~below_right
    parts = []
    for chosen, orders in ((odd, (0,)), (falling, (0, 1)), (rising, (1, 0))):
        rows, columns = np.nonzero(chosen)
        for order in orders:
            parts.append(np.stack([rows + low, columns, np.full(len(rows), order)], axis=1))
    return _in_reading_order(parts)


def _in_reading_order(parts: list[NDArray[np.int64]]) -> NDArray[np.int64]:
    """Corners by row and column; the first of two at one point is the one with the edge to the
    left, as they were put.
    """
    corners = np.concatenate(parts)
    order = np.lexsort((np.arange(len(corners)), corners[:, 1], corners[:, 0]))
    found: NDArray[np.int64] = corners[order]
    return found


def _rings_of(corners: NDArray[np.int64]) -> Iterator[Points]:
    """The closed lines that corners make: along rows they pair up one after the other, and so they
    do along columns. Each starts at the left end of its topmost edge.
    """
    count = len(corners)
    across = (np.arange(count) ^ 1).tolist()
    by_column = np.lexsort((corners[:, 2], corners[:, 0], corners[:, 1]))
    along = np.empty(count, dtype=np.int64)
    along[by_column] = by_column[np.arange(count) ^ 1]
    upright = along.tolist()
    seen = bytearray(count)
    places = corners[:, 1::-1].astype(np.float64)
    for start in range(count):
        if seen[start]:
            continue
        ring, here = [], start
        while not seen[here]:
            there = across[here]
            seen[here] = seen[there] = 1
            ring += [here, there]
            here = upright[there]
        yield places[ring]
