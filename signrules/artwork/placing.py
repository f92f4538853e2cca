"""Where signs lie on a page: within their cut edges, or one on the whole page. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.artwork.drawing import ArtworkLayer, Point, Shape, TextRun
from signrules.artwork.geometry import region_of
from signrules.artwork.libraries import shapely_part
from signrules.artwork.mapping import MappedLayer, layers_that_mark
from signrules.model.layer_uses import EDGE
from signrules.model.passes import Area

THIN_LINE = 0.8
"""A ring whose hole takes more than this share of it is a line that is drawn: the edge lies in its
middle."""


@frozen
class SignFrame:
    """One sign on a page: its number from 1, and its edge as a rectangle where one is drawn."""

    number: int
    edge: Area | None = None

    def has(self, place: Point) -> bool:
        """Whether a place lies within the edge; without one it does."""
        if self.edge is None:
            return True
        x, y = place[0] - self.edge.x, place[1] - self.edge.y
        return 0 <= x <= self.edge.width and 0 <= y <= self.edge.height


def sign_frames(mapped: Iterable[MappedLayer]) -> list[SignFrame]:
    """The signs of a page, from the top down and from left to right: one for each cut edge that
    lies in no other, or one for the page.
    """
    shapes = [shape for each in layers_that_mark(mapped, EDGE) for shape in each.layer.inked()]
    edges = _outermost([_edge_of(shape) for shape in shapes])
    if not edges:
        return [SignFrame(1)]
    ordered = sorted(edges, key=lambda edge: (-round(edge.y + edge.height), edge.x))
    return [SignFrame(number, edge) for number, edge in enumerate(ordered, 1)]


def _edge_of(shape: Shape) -> Area | None:
    """The rectangle around an edge that is drawn as an area or as a line."""
    region = region_of(shape)
    if region.area <= 0:
        return None
    bounds = region.bounds
    outline = shapely_part().Polygon(shape.outline)
    holes = [shapely_part().Polygon(ring) for ring in shape.holes if len(ring) > 2]
    for hole in holes:
        if hole.area > THIN_LINE * outline.area:
            pairs = zip(bounds, hole.bounds, strict=True)
            bounds = tuple((outer + inner) / 2 for outer, inner in pairs)
    left, low, right, high = (round(each, 3) for each in bounds)
    return Area(left, low, round(right - left, 3), round(high - low, 3))


def _outermost(edges: Iterable[Area | None]) -> list[Area]:
    """Edges that lie in no other, each once: what lies inside is a hole in the sign."""
    kept: list[Area] = []
    solid = [edge for edge in edges if edge is not None]
    for edge in sorted(solid, key=lambda each: -each.width * each.height):
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


def area_around(areas: Sequence[Area]) -> Area:
    """The rectangle around some areas."""
    left, low = min(area.x for area in areas), min(area.y for area in areas)
    right = max(area.x + area.width for area in areas)
    high = max(area.y + area.height for area in areas)
    return Area(left, low, right - left, high - low)


def parts_of_layer(
    layer: ArtworkLayer, frames: Sequence[SignFrame]
) -> tuple[list[ArtworkLayer], list[Point]]:
    """What a layer draws within each of some signs, and places of what lies in none."""
    shapes: list[list[Shape]] = [[] for _ in frames]
    texts: list[list[TextRun]] = [[] for _ in frames]
    outside = []
    for shape in layer.shapes:
        place = middle_of([shape])
        at = _frame_at(place, frames)
        if at is not None:
            shapes[at].append(shape)
        elif shape.outline:
            outside.append(place)
    for run in layer.texts:
        place = middle_of(run.shapes) if run.shapes else run.baseline
        at = _frame_at(place, frames)
        if at is None:
            outside.append(place)
        else:
            texts[at].append(run)
    parts = [
        evolve(layer, shapes=tuple(some), texts=tuple(runs))
        for some, runs in zip(shapes, texts, strict=True)
    ]
    return parts, outside


def _frame_at(place: Point, frames: Sequence[SignFrame]) -> int | None:
    return next((at for at, frame in enumerate(frames) if frame.has(place)), None)


def middle_of(shapes: Sequence[Shape]) -> Point:
    """The middle of the rectangle around some shapes; the origin where they have no corner."""
    corners = [corner for shape in shapes for corner in shape.outline]
    if not corners:
        return 0.0, 0.0
    across, along = [x for x, _ in corners], [y for _, y in corners]
    return (min(across) + max(across)) / 2, (min(along) + max(along)) / 2


def shifted_layer(layer: ArtworkLayer, x: float, y: float) -> ArtworkLayer:
    """A layer moved by x and y."""
    shapes = tuple(_shifted_shape(shape, x, y) for shape in layer.shapes)
    texts = tuple(
        evolve(
            run,
            baseline=(run.baseline[0] + x, run.baseline[1] + y),
            shapes=tuple(_shifted_shape(shape, x, y) for shape in run.shapes),
        )
        for run in layer.texts
    )
    return evolve(layer, shapes=shapes, texts=texts)


def _shifted_shape(shape: Shape, x: float, y: float) -> Shape:
    rings: list[Any] = [
        tuple((px + x, py + y) for px, py in ring) for ring in (shape.outline, *shape.holes)
    ]
    return evolve(shape, outline=rings[0], holes=tuple(rings[1:]))
