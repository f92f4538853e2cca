"""Letters of installed fonts, as outlines, are measured as their fonts say."""

from __future__ import annotations

from functools import cache, reduce
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from shapely import Polygon, get_parts
from shapely.affinity import scale, translate

from signrules.artwork.drawing import Shape
from signrules.artwork.fonts import glyph_rings, measure_font
from signrules.artwork.letters import measured_letters

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


@pytest.mark.parametrize("path", UPRIGHT)
@pytest.mark.parametrize("text", ["ROOM 214", "MEN", "STAIR", "PUSH"])
@pytest.mark.parametrize("is_told", [True, False])
def test_the_stroke_is_that_of_the_font_to_two_in_a_hundred(path, text, is_told):
    _, measures = opened(path)
    found = measured_letters(outlines(path, text), (), (text,) if is_told else ())
    assert found.stroke.nominal == pytest.approx(measures.stroke_share * HEIGHT, rel=0.02)


@pytest.mark.parametrize("path", UPRIGHT)
def test_the_width_of_o_is_that_of_the_font(path):
    _, measures = opened(path)
    found = measured_letters(outlines(path, "ROOM"), (), ("ROOM",))
    assert found.width.nominal == pytest.approx(measures.width_share * HEIGHT, abs=0.002)


@pytest.mark.parametrize(
    ("path", "style"),
    [
        ("liberation/LiberationSerif-Regular.ttf", "serif"),
        ("dejavu/DejaVuSerif-Bold.ttf", "serif"),
        ("liberation/LiberationSans-Italic.ttf", "italic"),
        ("dejavu/DejaVuSans-BoldOblique.ttf", "italic"),
        ("liberation/LiberationSans-Regular.ttf", None),
        ("dejavu/DejaVuSans-Bold.ttf", None),
    ],
)
@pytest.mark.parametrize("text", ["EXIT", "PUSH", "STAFF ONLY"])
def test_serifs_and_slant_are_seen(path, style, text):
    assert measured_letters(outlines(path, text), (), (text,)).style == style


def test_what_outlines_do_not_tell_is_said():
    path = UPRIGHT[0]
    unknown = measured_letters(outlines(path, "EXIT"), ())
    assert [words.split(",")[0] for words in unknown.not_measured] == [
        "which letters they are",
        "the stroke of I",
    ]
    assert (unknown.width, unknown.style) == (None, None)
    known = measured_letters(outlines(path, "EXIT"), (), ("EXIT",))
    assert known.not_measured == (
        "the width of O, which the text does not have",
        "whether they are ornate; they have no serifs and do not slant",
    )
    thin = measured_letters(outlines(path, "VAN"), (), ("VAN",))
    assert thin.not_measured[0].startswith("whether they are capitals")
    assert thin.not_measured[1].startswith("the stroke of I, since no letter has a stem like it")
    # The stems of N are thinner than that of I in this font: 2.443 and 2.711 mm of 20 (its table).
    assert thin.stroke.nominal < 2.5


def test_a_text_of_another_number_of_letters_tells_nothing_of_them():
    found = measured_letters(outlines(UPRIGHT[0], "ROOM"), (), ("ROOMS",))
    assert found.width is None
    assert found.not_measured[0].startswith("which letters they are")
