"""The reader of SVG. Nothing outside the file is opened, and entities are not expanded."""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np
from attrs import evolve
from lxml import etree

from signrules.artwork.drawing import Artwork, ArtworkLayer, ArtworkPage
from signrules_artwork.affine import Matrix, joined
from signrules_artwork.chords import CHORD_TOLERANCE_MM
from signrules_artwork.clipping import Clip
from signrules_artwork.faults import Reading, artwork_error
from signrules_artwork.layering import OUTSIDE_LAYERS, layer_of
from signrules_artwork.off_page import OffPage
from signrules_artwork.painted import Painted, Writing
from signrules_artwork.regions import filled_region
from signrules_artwork.svg.cascade import INHERITED, Cascade
from signrules_artwork.svg.lengths import (
    PIXEL_MM,
    Viewport,
    length_of,
    numbers_in,
    view_matrix,
)
from signrules_artwork.svg.letters import write_text
from signrules_artwork.svg.names import group_step, kind_of, layer_groups
from signrules_artwork.svg.pictures import draw_picture
from signrules_artwork.svg.walk import Context, SvgWalk

MOST_BYTES = 60_000_000
MOST_PAGE_MM = 100_000.0
LEAVES = {"text": write_text, "image": draw_picture}

DEFAULT_SIZE = (300.0, 150.0)
"""The size in pixels of an SVG that states none (CSS 2, 10.3.2, from memory)."""


def read_svg(name: str, data: bytes) -> Artwork:
    """An SVG as artwork of one page. Raises ArtworkError for one that is damaged or too large."""
    reading = Reading("the drawing")
    root = _parsed(data, reading)
    width, height, to_mm = _page(root, reading)
    groups = layer_groups(root)
    keys = {element: str(at) for at, element in enumerate(groups)}
    walk = _walked(root, (width, height), to_mm, keys, reading)
    layers = _layers(walk, {keys[element]: (element, name) for element, name in groups.items()})
    names = {(keys[element],): name for element, name in groups.items()}
    for told in walk.off_page.told(lambda layer: names.get(layer, "")):
        reading.note(told)
    return Artwork(
        name,
        "sha256:" + hashlib.sha256(data).hexdigest(),
        (ArtworkPage(1, width, height, tuple(layers)),),
        CHORD_TOLERANCE_MM,
        reading.pixel,
        reading.told(),
    )


def _parsed(data: bytes, reading: Reading) -> Any:
    if len(data) > MOST_BYTES:
        found = f"an SVG of {len(data):,} bytes"
        raise artwork_error("", found, f"at most {MOST_BYTES:,}: split the file")
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        found = f"no readable XML ({error})"
        raise artwork_error("", found, "a whole SVG: export it again") from None
    if root is None or kind_of(root) != "svg":
        raise artwork_error("", "XML that is no SVG", "an element 'svg' around all of it")
    if any(not isinstance(each.tag, str) for each in root.iter()):
        reading.note("entities are not expanded: what they stand for was left out")
        etree.strip_tags(root, etree.Entity)
    return root


def _page(root: Any, reading: Reading) -> tuple[float, float, Matrix]:
    """The size of the page in mm, and the map from its user units to mm, y up."""
    box = numbers_in(root.get("viewBox"))
    view = box if len(box) == 4 and min(box[2:]) > 0 else None
    whole = (view[2], view[3]) if view else DEFAULT_SIZE
    viewport = Viewport(*whole)
    width = length_of(root.get("width"), viewport, whole[0], whole[0])
    height = length_of(root.get("height"), viewport, whole[1], whole[1])
    for key in ("width", "height"):
        given = (root.get(key) or "").strip()
        if not given or given.endswith("%"):
            reading.note(f"no {key} is stated: a unit is taken to be 1/96 in")
    if not min(width, height) > 0 or max(width, height) * PIXEL_MM > MOST_PAGE_MM:
        found = f"a drawing of {width * PIXEL_MM:,g} by {height * PIXEL_MM:,g} mm"
        raise artwork_error("svg", found, f"a size up to {MOST_PAGE_MM:,.0f} mm to a side")
    to_mm: Matrix = (PIXEL_MM, 0.0, 0.0, -PIXEL_MM, 0.0, height * PIXEL_MM)
    if view is not None:
        shown_as = root.get("preserveAspectRatio") or ""
        to_mm = joined(view_matrix(view, (0.0, 0.0, width, height), shown_as), to_mm)
    return width * PIXEL_MM, height * PIXEL_MM, to_mm


def _walked(
    root: Any, size: tuple[float, float], to_mm: Matrix, keys: dict[Any, str], reading: Reading
) -> SvgWalk:
    sheets = ["".join(each.itertext()) for each in root.iter() if kind_of(each) == "style"]
    ids: dict[str, Any] = {}
    for element in root.iter():
        if element.get("id"):
            ids.setdefault(element.get("id"), element)
    cascade = Cascade(root, sheets, reading)
    width, height = size
    off_page = OffPage((0.0, 0.0, width, height))
    walk = SvgWalk(cascade, ids, keys, LEAVES, reading, off_page)
    corners = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    page = filled_region([corners], even_odd=False, reading=reading)
    box = numbers_in(root.get("viewBox"))
    viewport = Viewport(box[2], box[3]) if len(box) == 4 and min(box[2:]) > 0 else None
    if viewport is None:
        viewport = Viewport(width / PIXEL_MM, height / PIXEL_MM)
    style = cascade.style_of(root, INHERITED)
    size_of_root = length_of(style["font-size"], viewport, viewport.font_size, viewport.font_size)
    viewport = evolve(viewport, font_size=size_of_root)
    walk.visit_all(root, Context(to_mm, Clip.of(page), style, viewport))
    return walk


def _layers(walk: SvgWalk, groups: dict[str, tuple[Any, str]]) -> list[ArtworkLayer]:
    """The named groups, or one layer a colour in a drawing without any."""
    if not groups:
        return _colour_layers(walk)
    keys = dict.fromkeys(mark.layer for mark in walk.painted)
    keys |= dict.fromkeys(layer for writing in walk.writings for layer in writing.layers)
    around = {parent for element, _ in groups.values() for parent in element.iterancestors()}
    keys |= {(key,): None for key, (element, _) in groups.items() if element not in around}
    layers = []
    for key in sorted(keys, key=lambda key: int(key[0]) if key else -1):
        group, name = groups[key[0]] if key else ({}, OUTSIDE_LAYERS)
        marks = [mark for mark in walk.painted if mark.layer == key]
        written = [
            (at, writing) for at, writing in enumerate(walk.writings) if key in writing.layers
        ]
        layer = layer_of(name, marks, written, walk.reading)
        step, step_type = group_step(group)
        hidden = bool(key) and key[0] in walk.hidden
        layers.append(evolve(layer, step=step, step_type=step_type, hidden=hidden))
    return layers


def _colour_layers(walk: SvgWalk) -> list[ArtworkLayer]:
    """One layer a colour; white lies on all of them."""
    names = dict.fromkeys(name for mark in walk.painted for name in mark.ink.tints)
    inks = [writing.ink for writing in walk.writings if writing.ink is not None]
    names |= dict.fromkeys(name for ink in inks for name in ink.tints)
    return [
        layer_of(name, _marks_in(walk.painted, name), _written_in(walk, name), walk.reading)
        for name in names
    ]


def _marks_in(painted: list[Painted], name: str) -> list[Painted]:
    return [mark for mark in painted if not mark.ink.tints or name in mark.ink.tints]


def _written_in(walk: SvgWalk, name: str) -> list[tuple[int, Writing]]:
    return [
        (at, writing)
        for at, writing in enumerate(walk.writings)
        if writing.ink is not None and name in writing.ink.tints
    ]
