"""Cut edges of signs, from whatever draws them: an area, a closed line, or pieces that close one.

An edge is the rectangle around the middle of its line, wherever the line is one. Lengths in mm.
All of it is geometry.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from attrs import field, frozen

from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.libraries import shapely_part
from signrules.errors import MOST_LISTED, DocumentFault
from signrules.model.passes import Area

THIN_LINE = 0.8
"""A ring whose hole takes more than this share of it is a line that is drawn: the edge lies in its
middle."""

THICKEST_LINE_MM = 2.0
"""What is thicker is an area, not a line."""

LEAST_TIMES_AS_LONG = 4
"""A piece of a line is at least so many times as long as it is thick."""

JOINED_MM = 3.0
"""Pieces of a cut line whose ends lie nearer are joined: dashes, and a path that is not closed."""

LEAST_SIGN_MM = 5.0
"""No sign is smaller; what is, is no cut edge."""

ON_PAGE_EDGE_MM = 0.002
"""A line whose outer side lies nearer to the edge of the page has been cut off by the page."""

EXPECTED = (
    "one closed path around each sign, or pieces whose ends lie within"
    f" {JOINED_MM:g} mm of each other, with sides of at least {LEAST_SIGN_MM:g} mm"
)


@frozen
class CutEdges:
    """Edges that lie in no other, and what is drawn as a cut line and closes none."""

    edges: tuple[Area, ...] = ()
    faults: tuple[DocumentFault, ...] = field(default=())


def cut_edges(shapes: Iterable[Shape], page: Area, place: str) -> CutEdges:
    """The edges that some shapes draw on a page; `place` is where faults say they are."""
    edges: list[Area] = []
    pieces: list[Any] = []
    for shape in shapes:
        region = region_of(shape)
        for part in shapely_part().get_parts(region):
            if part.area <= 0:
                continue
            if _is_piece(part):
                pieces.append(part)
            else:
                edges.append(_closed_edge(part, page))
    joined, loose = _joined_pieces(pieces)
    outermost = _outermost([*edges, *joined])
    # After the outermost were sought: a small hole for a screw lies in its sign and is no fault.
    kept = [edge for edge in outermost if not _is_tiny(edge)]
    stray = [area for area in loose if not any(_lies_in(area, edge) for edge in kept)]
    faults = [
        DocumentFault(place, _tiny_in_words(each), EXPECTED) for each in outermost if _is_tiny(each)
    ]
    if stray:
        faults.append(DocumentFault(place, _loose_in_words(stray), EXPECTED))
    return CutEdges(tuple(kept), tuple(faults[:MOST_LISTED]))


def _line_width(region: Any) -> float:
    """How thick a strip is that has the area and the girth of a region: of a line with square ends,
    straight or with corners, its width; of anything else, an estimate.
    """
    half = region.length / 2
    # Sides a and b with a + b = half of the girth and a * b = the area: roots of one quadratic. A
    # region rounder than any strip has a negative discriminant; 0 takes it for a square.
    root = max(half * half - 4 * region.area, 0.0)
    return float((half - math.sqrt(root)) / 2)


def _is_piece(region: Any) -> bool:
    """Whether a region is a line that does not close by itself."""
    if any(_is_line(hole, region) for hole in _holes_of(region)):
        return False
    width = _line_width(region)
    return bool(width <= THICKEST_LINE_MM and region.area > LEAST_TIMES_AS_LONG * width**2)


def _holes_of(region: Any) -> list[Any]:
    return [shapely_part().Polygon(ring) for ring in region.interiors]


def _is_line(hole: Any, region: Any) -> bool:
    outline = shapely_part().Polygon(region.exterior)
    return bool(hole.area > THIN_LINE * outline.area)


def _closed_edge(region: Any, page: Area) -> Area:
    """The edge that an area or a closed line draws."""
    bounds = region.bounds
    page_bounds = (page.x, page.y, page.x + page.width, page.y + page.height)
    for hole in _holes_of(region):
        if _is_line(hole, region):
            sides = zip(region.bounds, hole.bounds, page_bounds, strict=True)
            bounds = tuple(_middle_of_line(*side) for side in sides)
    return _area_of(bounds)


def _middle_of_line(outer: float, inner: float, page: float) -> float:
    """Where a side of an edge lies. Of a line along the edge of the page only half is there."""
    return page if abs(outer - page) < ON_PAGE_EDGE_MM else (outer + inner) / 2


def _joined_pieces(pieces: Sequence[Any]) -> tuple[list[Area], list[Area]]:
    """The edges that pieces of lines close together, and the pieces that close none.

    Pieces are grown until those join that lie near each other. What they enclose then is smaller
    than the edge by that, and by half of the line.
    """
    shapely = shapely_part()
    grow = JOINED_MM / 2
    # Half of the distance on either side makes ends meet that lie the whole of it apart; square
    # ends and mitres, so that they do so at corners too.
    grown = [piece.buffer(grow, join_style="mitre", cap_style="square") for piece in pieces]
    edges: list[Area] = []
    loose: list[Area] = []
    for part in shapely.get_parts(shapely.union_all(grown)):
        # Joining has lost which pieces made a part, and each lies in the one that it was grown
        # into.
        members = [piece for piece in pieces if part.contains(piece)]
        width = max(map(_line_width, members))
        holes = [hole.bounds for hole in _holes_of(part)]
        found = [_area_of(_grown_bounds(each, grow + width / 2)) for each in holes]
        found = [edge for edge in found if not _is_tiny(edge)]
        edges += found
        if not found:
            loose += [_area_of(piece.bounds) for piece in members]
    return edges, loose


def _grown_bounds(bounds: Sequence[float], by: float) -> Sequence[float]:
    left, low, right, high = bounds
    return left - by, low - by, right + by, high + by


def _area_of(bounds: Sequence[float]) -> Area:
    left, low, right, high = (round(each, 3) for each in bounds)
    return Area(left, low, round(right - left, 3), round(high - low, 3))


def _outermost(edges: Iterable[Area]) -> list[Area]:
    """Edges that lie in no other, each once: what lies inside is a hole in the sign."""
    kept: list[Area] = []
    # The largest first, so whatever an edge lies in has been looked at before it.
    for edge in sorted(edges, key=lambda each: -each.width * each.height):
        if not any(_lies_in(edge, other) for other in kept):
            kept.append(edge)
    return kept


def _lies_in(area: Area, other: Area) -> bool:
    return (
        area.x >= other.x
        and area.y >= other.y
        and area.x + area.width <= other.x + other.width
        and area.y + area.height <= other.y + other.height
    )


def _is_tiny(edge: Area) -> bool:
    return min(edge.width, edge.height) < LEAST_SIGN_MM


def _tiny_in_words(edge: Area) -> str:
    return (
        f"a cut edge of {edge.width:g} x {edge.height:g} mm at {edge.x:.3f}, {edge.y:.3f} mm from"
        " the corner of the page"
    )


def _loose_in_words(pieces: Sequence[Area]) -> str:
    left, low = min(each.x for each in pieces), min(each.y for each in pieces)
    count = "1 piece of a cut line" if len(pieces) == 1 else f"{len(pieces)} pieces of cut lines"
    return f"{count} that close nothing, the first at {left:.3f}, {low:.3f} mm from the page corner"
