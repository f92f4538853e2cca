"""The walk through the elements of an SVG, and what they paint."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import shapely
from attrs import define, evolve, field, frozen

from signrules_artwork.affine import (
    Matrix,
    is_flat,
    joined,
    largest_stretch,
    moved_points,
)
from signrules_artwork.chords import CHORD_TOLERANCE_MM, Track, track_points
from signrules_artwork.clipping import Clip
from signrules_artwork.faults import Reading
from signrules_artwork.off_page import OffPage
from signrules_artwork.painted import Ink, Painted, Writing
from signrules_artwork.regions import NOWHERE, filled_region, only_areas
from signrules_artwork.strokes import Pen, stroked_region
from signrules_artwork.svg.cascade import Cascade, Style, paint_of, share_of
from signrules_artwork.svg.lengths import Viewport, length_of, numbers_in, view_matrix
from signrules_artwork.svg.names import group_name, kind_of, link_of, referred_id
from signrules_artwork.svg.outlines import tracks_of, transform_of

MOST_DEPTH = 150
STEPS_OF_AN_ELEMENT = 20
"""What an element counts as: it takes as long as so many operators of a PDF."""

CONTAINERS = frozenset({"g", "a", "svg", "symbol"})
SILENT = frozenset(
    {
        "",
        "defs",
        "style",
        "title",
        "desc",
        "metadata",
        "script",
        "symbol",
        "clipPath",
        "mask",
        "marker",
        "pattern",
        "linearGradient",
        "radialGradient",
        "filter",
        "view",
    }
)
"""Elements that draw nothing where they stand."""


@frozen
class Context:
    """Where an element stands: the map to mm, the clip, what it takes over, its layer."""

    matrix: Matrix
    clip: Clip
    style: Style
    viewport: Viewport
    opacity: float = 1.0
    layer: tuple[str, ...] = ()
    depth: int = 0


@define
class SvgWalk:
    """A walk through a file. `layers` are the groups that stand for layers, each with its key;
    `leaves` paint the elements that are no shapes, by their kind.
    """

    cascade: Cascade
    ids: dict[str, Any]
    layers: dict[Any, str]
    leaves: Mapping[str, Callable[[SvgWalk, Any, Context], None]]
    reading: Reading
    off_page: OffPage
    painted: list[Painted] = field(factory=list)
    writings: list[Writing] = field(factory=list)
    hidden: set[str] = field(factory=set)
    open_uses: list[Any] = field(factory=list)
    objects: int = 0

    def visit(self, element: Any, around: Context) -> None:
        """Paints an element and what is in it."""
        self.reading.spend_steps(STEPS_OF_AN_ELEMENT)
        kind = kind_of(element)
        if kind in SILENT:
            return
        if around.depth > MOST_DEPTH:
            self.reading.note("elements that nest too deeply were left out")
            return
        style = self.cascade.style_of(element, around.style)
        here = self._entered(element, style, around)
        if here is None:
            return
        if kind in CONTAINERS:
            self._visit_container(kind, element, here)
        elif kind == "switch":
            drawn = [child for child in element if kind_of(child) not in SILENT]
            self.visit_all(drawn[:1], here)
        elif kind == "use":
            self._visit_use(element, here)
        else:
            self._visit_leaf(kind, element, here)

    def visit_all(self, elements: Any, here: Context) -> None:
        """Paints elements, the first one lowest."""
        for element in elements:
            self.visit(element, here)

    def _entered(self, element: Any, style: dict[str, str], around: Context) -> Context | None:
        """The context within an element; None where nothing of it shows."""
        key = self.layers.get(element)
        if style.get("display") == "none":
            if key is None:
                return None
            self.hidden.add(key)
        opacity = around.opacity * share_of(style.get("opacity", "1"))
        matrix = joined(transform_of(style.get("transform"), self.reading), around.matrix)
        if opacity <= 0 or is_flat(matrix):
            return None
        for name in ("mask", "filter"):
            if style.get(name, "none") != "none":
                self.reading.note(f"a {name} is not followed: what it changes is taken as drawn")
        size = around.viewport.font_size
        size = length_of(style["font-size"], around.viewport, size, size)
        here = Context(
            matrix,
            around.clip,
            style,
            evolve(around.viewport, font_size=size),
            opacity,
            around.layer if key is None else (key,),
            around.depth + 1,
        )
        return self._clipped(element, here)

    def _clipped(self, element: Any, here: Context) -> Context:
        """The context with the clip path of an element."""
        value = here.style.get("clip-path", "none")
        if value == "none":
            return here
        region = self._clip_region(value, element, here, depth=0)
        if region is None:
            self.reading.note("a clip path that cannot be followed is left out: more may be inked")
            return here
        return evolve(here, clip=Clip.of(here.clip.kept(region, self.reading)))

    def _clip_region(self, value: str, element: Any, here: Context, depth: int) -> Any | None:
        """Where a clip path lets show, in mm; None where it cannot be followed."""
        clip = self.ids.get(referred_id(value) or "")
        if clip is None or kind_of(clip) != "clipPath" or depth > 8:
            return None
        matrix = here.matrix
        if clip.get("clipPathUnits") == "objectBoundingBox":
            box = self._own_box(element, here)
            if box is None:
                return None
            matrix = joined((box[2] - box[0], 0, 0, box[3] - box[1], box[0], box[1]), matrix)
        matrix = joined(transform_of(clip.get("transform"), self.reading), matrix)
        style = self.cascade.style_of(clip, here.style)
        inside = evolve(here, matrix=matrix, style=style)
        region = self._outlines_within(clip, inside, depth)
        further = style.get("clip-path", "none")
        if further != "none":
            other = self._clip_region(further, element, here, depth + 1)
            region = region if other is None else only_areas(shapely.intersection(region, other))
        return region

    def _outlines_within(self, clip: Any, here: Context, depth: int) -> Any:
        """The union of the shapes in a clip path."""
        regions = []
        for child in clip:
            self.reading.spend_steps(STEPS_OF_AN_ELEMENT)
            matrix = here.matrix
            if kind_of(child) == "use":
                x = length_of(child.get("x"), here.viewport, here.viewport.width, 0.0)
                y = length_of(child.get("y"), here.viewport, here.viewport.height, 0.0)
                moved = joined(
                    (1, 0, 0, 1, x, y), transform_of(child.get("transform"), self.reading)
                )
                matrix = joined(moved, matrix)
                child = self.ids.get(link_of(child)[1:])
            if child is None or kind_of(child) == "":
                continue
            style = self.cascade.style_of(child, here.style)
            if style.get("display") == "none" or style["visibility"] != "visible":
                continue
            matrix = joined(transform_of(style.get("transform"), self.reading), matrix)
            tracks = tracks_of(kind_of(child), child, here.viewport, self.reading)
            if tracks is None:
                self.reading.note("something in a clip path is no shape and was left out")
                continue
            region = self._filled(tracks, matrix, style["clip-rule"])
            further = style.get("clip-path", "none")
            if further != "none":
                within = evolve(here, matrix=matrix, style=style)
                other = self._clip_region(further, child, within, depth + 1)
                if other is not None:
                    region = only_areas(shapely.intersection(region, other))
            regions.append(region)
        return only_areas(shapely.union_all(regions)) if regions else NOWHERE

    def _own_box(self, element: Any, here: Context) -> Any | None:
        """The bounds of a shape in user units; None for what is no shape."""
        tracks = tracks_of(kind_of(element), element, here.viewport, self.reading)
        if not tracks:
            return None
        tolerance = CHORD_TOLERANCE_MM / largest_stretch(here.matrix)
        points = np.concatenate([track_points(track, tolerance) for track in tracks])
        return [*points.min(axis=0).tolist(), *points.max(axis=0).tolist()]

    def _visit_container(self, kind: str, element: Any, here: Context) -> None:
        if kind in {"svg", "symbol"}:
            here = self.within_view(element, here, (element.get("width"), element.get("height")))
        self.visit_all(element, here)

    def within_view(self, element: Any, here: Context, size: tuple[Any, Any]) -> Context:
        """The context within an element that has a view of its own."""
        view = here.viewport
        width = length_of(size[0], view, view.width, view.width)
        height = length_of(size[1], view, view.height, view.height)
        x = length_of(element.get("x"), view, view.width, 0.0)
        y = length_of(element.get("y"), view, view.height, 0.0)
        box = numbers_in(element.get("viewBox"))
        clip = here.clip
        if here.style.get("overflow", "hidden") in {"hidden", "scroll"}:
            corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
            ring = moved_points(here.matrix, corners)
            shown = filled_region([ring], even_odd=False, reading=self.reading)
            clip = Clip.of(clip.kept(shown, self.reading))
        if len(box) != 4 or min(box[2:]) <= 0:
            matrix = joined((1.0, 0.0, 0.0, 1.0, x, y), here.matrix)
            return evolve(
                here, matrix=matrix, clip=clip, viewport=evolve(view, width=width, height=height)
            )
        shown_as = element.get("preserveAspectRatio") or ""
        matrix = joined(view_matrix(box, (x, y, width, height), shown_as), here.matrix)
        view = evolve(view, width=box[2], height=box[3])
        return evolve(here, matrix=matrix, clip=clip, viewport=view)

    def _visit_use(self, element: Any, here: Context) -> None:
        link = link_of(element)
        target = self.ids.get(link[1:]) if link.startswith("#") else None
        if target is None:
            self.reading.note("something outside the file is not fetched, and was left out")
            return
        if target in self.open_uses:
            self.reading.note("an element that uses itself was left out")
            return
        x = length_of(element.get("x"), here.viewport, here.viewport.width, 0.0)
        y = length_of(element.get("y"), here.viewport, here.viewport.height, 0.0)
        here = evolve(here, matrix=joined((1.0, 0.0, 0.0, 1.0, x, y), here.matrix))
        self.open_uses.append(target)
        try:
            if kind_of(target) in {"symbol", "svg"}:
                self._visit_symbol(element, target, here)
            else:
                self.visit(target, here)
        finally:
            self.open_uses.pop()

    def _visit_symbol(self, use: Any, symbol: Any, here: Context) -> None:
        style = self.cascade.style_of(symbol, here.style)
        inside = self._entered(symbol, style, here)
        if inside is None:
            return
        size = (
            use.get("width") or symbol.get("width"),
            use.get("height") or symbol.get("height"),
        )
        self.visit_all(symbol, self.within_view(symbol, inside, size))

    def _visit_leaf(self, kind: str, element: Any, here: Context) -> None:
        """Paints a shape, a text or a picture."""
        if here.style["visibility"] != "visible" and kind != "text":
            return
        self.objects += 1
        maker = self.leaves.get(kind)
        tracks = tracks_of(kind, element, here.viewport, self.reading)
        if tracks is not None:
            self._paint_shape(element, tracks, here)
        elif maker is not None:
            maker(self, element, here)
        else:
            self.reading.note(f"elements '{kind[:30]}' are not drawn")

    def _paint_shape(self, element: Any, tracks: list[Track], here: Context) -> None:
        style = here.style
        if any(style.get(f"marker-{end}", "none") != "none" for end in ("start", "mid", "end")):
            self.reading.note("markers at the ends of lines are not drawn")
        place = self.place_of(element)
        fill = paint_of(style, "fill", self.reading)
        if fill is not None:
            self.paint(self._filled(tracks, here.matrix, style["fill-rule"]), fill, here, place)
        stroke = paint_of(style, "stroke", self.reading)
        pen = pen_of(style, here.viewport)
        if stroke is not None and pen.width > 0:
            if style.get("vector-effect") == "non-scaling-stroke":
                self.reading.note("a stroke that does not scale with its shape is taken to scale")
            region = stroked_region(tracks, pen, here.matrix, self.reading)
            self.paint(region, stroke, here, place)

    def place_of(self, element: Any) -> str:
        """Where the file draws an element, in words."""
        kind, name = kind_of(element), group_name(element)
        return f"{kind}#{name}" if name else f"{kind}, object {self.objects}"

    def _filled(self, tracks: list[Track], matrix: Matrix, rule: str) -> Any:
        if is_flat(matrix):
            return NOWHERE
        tolerance = CHORD_TOLERANCE_MM / largest_stretch(matrix)
        rings = [moved_points(matrix, track_points(track, tolerance)) for track in tracks]
        return filled_region(rings, even_odd=rule == "evenodd", reading=self.reading)

    def paint(self, region: Any, ink: Ink, here: Context, place: str) -> None:
        """Paints a region, in mm, as far as the clip lets it show."""
        if here.opacity < 1 and not ink.tints:
            return  # White that is seen through takes nothing away.
        shown = here.clip.kept(region, self.reading)
        if shown.is_empty:
            if ink.tints:
                self.off_page.look_at(region, [here.layer])
            return
        tints = {name: tint * here.opacity for name, tint in ink.tints.items()}
        self.painted.append(Painted(shown, Ink(tints), place, here.layer))


def pen_of(style: Style, viewport: Viewport) -> Pen:
    """The pen of a stroke, in user units."""
    whole = viewport.diagonal
    dashes = style["stroke-dasharray"].replace(",", " ").split()
    lengths = [length_of(dash, viewport, whole, 0.0) for dash in dashes if dash != "none"]
    join = style["stroke-linejoin"]
    return Pen(
        length_of(style["stroke-width"], viewport, whole, 1.0),
        {"round": "round", "square": "square"}.get(style["stroke-linecap"], "flat"),
        join if join in {"round", "bevel"} else "miter",
        length_of(style["stroke-miterlimit"], viewport, 1.0, 4.0),
        tuple(lengths),
        length_of(style["stroke-dashoffset"], viewport, whole, 0.0),
    )
