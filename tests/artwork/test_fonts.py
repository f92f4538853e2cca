"""Fonts are measured by their own outlines and tables.

Fonts are built here, letter by letter, by fontTools' own builder; what is expected is what was
drawn. The figures of two fonts that are often installed are those of a look at their glyphs.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from drawn_fonts import built_font, draw_bar
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from signrules.artwork.fonts import measure_font
from signrules.errors import ArtworkError


def test_the_letters_of_a_font_are_measured():
    found = measure_font(built_font(), "Invented")
    assert found.name == "Invented"
    assert found.cap_height == pytest.approx(0.7)
    assert found.x_height == pytest.approx(0.5)
    assert found.stroke_share == pytest.approx(98 / 700)
    assert found.width_share == pytest.approx(630 / 700, abs=1e-3)


def test_a_bare_cff_font_has_the_same_letters():
    from fontTools.ttLib import TTFont

    whole = built_font()
    bare = TTFont(io.BytesIO(whole)).getTableData("CFF ")
    found = measure_font(bare, "bare")
    assert found.stroke_share == measure_font(whole, "whole").stroke_share
    assert found.cap_height == pytest.approx(0.7)
    assert (found.serif, found.slanted, found.flourish) == (None, None, None)


def test_an_outline_of_quadratic_curves_without_points_on_it():
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "I", "O"])
    pens = {name: TTGlyphPen(None) for name in (".notdef", "I", "O")}
    draw_bar(pens["I"], 0, 0, 70, 500)
    pens["O"].qCurveTo((0, 0), (400, 0), (400, 600), (0, 600), None)
    pens["O"].closePath()
    builder.setupGlyf({name: pen.glyph() for name, pen in pens.items()})
    builder.setupHorizontalMetrics(dict.fromkeys(pens, (600, 0)))
    builder.setupHorizontalHeader()
    builder.setupPost()
    stream = io.BytesIO()
    builder.save(stream)
    found = measure_font(stream.getvalue(), "curves")
    assert found.stroke_share == pytest.approx(70 / 500)
    # A quadratic through the middles of two controls reaches no further than half way to them:
    # from 0 to 400 here, whose sides are tangents.
    assert found.width_share == pytest.approx(400 / 500)
    assert found.x_height is None


@pytest.mark.parametrize(
    ("tables", "serif", "flourish"),
    [
        ({"panose": (2, 11)}, False, None),
        ({"panose": (2, 2)}, True, None),
        ({"panose": (2, 0)}, None, None),
        ({"panose": (0, 0), "family_class": 8}, False, None),
        ({"panose": (0, 0), "family_class": 2}, True, None),
        ({"panose": (3, 4)}, None, "script"),
        ({"panose": (0, 0), "family_class": 9}, None, "decorative"),
    ],
)
def test_serifs_and_scripts_are_what_the_tables_say(tables, serif, flourish):
    found = measure_font(built_font(**tables), "Invented")
    assert (found.serif, found.flourish) == (serif, flourish)


def test_a_slanted_font_says_so():
    assert measure_font(built_font(mac_style=2), "Invented").slanted is True
    assert measure_font(built_font(), "Invented").slanted is False


def test_glyphs_may_be_named_by_number():
    found = measure_font(built_font(), "Invented", glyphs={"I": 3, "O": "O"})
    assert found.cap_height == pytest.approx(0.5)


@pytest.mark.parametrize("data", [b"", b"\x00\x01\x00\x00", b"\x01\x00\x04\x04rest", b"text"])
def test_what_is_no_font_is_refused(data):
    with pytest.raises(ArtworkError, match=r"broken\.ttf"):
        measure_font(data, "broken.ttf")


def test_a_damaged_font_is_refused_or_measured():
    whole = built_font()
    refused = 0
    for cut in range(0, len(whole), 97):
        try:
            measure_font(whole[:cut], "cut.otf")
        except ArtworkError:
            refused += 1
    assert refused > 3


@pytest.mark.parametrize(
    ("path", "stroke", "width"),
    [
        ("liberation/LiberationSans-Regular.ttf", 0.136, 0.992),
        ("dejavu/DejaVuSans.ttf", 0.135, 0.926),
    ],
)
def test_installed_fonts(path, stroke, width):
    file = Path("/usr/share/fonts/truetype") / path
    if not file.exists():
        pytest.skip(f"{path} is not installed")
    found = measure_font(file.read_bytes(), path)
    assert found.stroke_share == pytest.approx(stroke, abs=6e-4)
    assert found.width_share == pytest.approx(width, abs=6e-4)
    assert (found.serif, found.slanted) == (False, False)
