"""Lines of text as outlines, in fonts that are installed."""

from __future__ import annotations

from functools import cache, reduce
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from shapely import Polygon, get_parts
from shapely.affinity import scale, translate

from signrules.artwork.drawing import Shape
from signrules.artwork.fonts import glyph_rings, measure_font

FONTS = Path("/usr/share/fonts/truetype")
HEIGHT = 20.0

UPRIGHT = [
    "liberation/LiberationSans-Regular.ttf",
    "liberation/LiberationSans-Bold.ttf",
    "liberation/LiberationSerif-Regular.ttf",
    "dejavu/DejaVuSans.ttf",
    "dejavu/DejaVuSans-Bold.ttf",
    "dejavu/DejaVuSerif.ttf",
]


@cache
def opened(path):
    file = FONTS / path
    if not file.exists():
        pytest.skip(f"{path} is not installed")
    return TTFont(file), measure_font(file.read_bytes(), path)


def outlines(path, text):
    """The letters of a line, with capitals `HEIGHT` tall, 3 mm and more apart."""
    font, measures = opened(path)
    size = HEIGHT / (measures.cap_height * font["head"].unitsPerEm)
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    shapes, x = [], 0.0
    for char in text:
        rings = glyph_rings(glyphs[names[ord(char)]], glyphs)
        polygons = [scale(Polygon(ring), size, size, origin=(0, 0)) for ring in rings]
        if not polygons:
            x += 15
            continue
        # No ring of these letters crosses another, so what lies in two of them is a hole.
        inked = reduce(lambda one, other: one.symmetric_difference(other), polygons)
        left, _, right, _ = inked.bounds
        for part in get_parts(translate(inked, x - left)):
            holes = tuple(tuple(hole.coords) for hole in part.interiors)
            shapes.append(Shape(tuple(part.exterior.coords), holes))
        x += right - left + 3
    return shapes


def moved(shape, across, along, up=0):
    """A shape turned over and moved up."""
    rings = (shape.outline, *shape.holes)
    outline, *holes = (tuple((across * x, along * y + up) for x, y in ring) for ring in rings)
    return Shape(outline, tuple(holes))
