"""Lines of text set in a font.

What is expected is counted from the letters drawn in `drawn_fonts`: of 1000 units, 600 from letter
to letter, I from 100 to 198 and 700 high, O from 85 to 715 and from -10 to 710, x from 50 to 400.
"""

from __future__ import annotations

import io
import math

import pytest
from drawn_fonts import built_font
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from signrules.artwork.set_letters import (
    characters_of_other_scripts,
    inked_by_winding,
    letter_font,
    set_letters,
)
from signrules.errors import ArtworkError
from signrules.model.passes import Area
from signrules.model.sign_types import LetterPlace


def font_of(**options):
    return letter_font(built_font(**options), "invented.otf")


def set_text(*lines, font=None, em=100.0, down=0.0, at=(0.0, 0.0), **options):
    place = LetterPlace("invented.otf", at, **options)
    return set_letters(font or font_of(), lines, place, em, down)


def area_near(*numbers):
    return pytest.approx(numbers, abs=1e-9)


def numbers_of(area: Area):
    return area.x, area.y, area.width, area.height


def test_the_rectangle_is_that_of_the_ink():
    # I from 10 to 19.8 and, 60 further, O from 68.5 to 131.5; moved so that the ink starts at 0.
    found = set_text("IO")
    assert numbers_of(found.area) == area_near(0, -1, 121.5, 72)
    # The bar and an ellipse, whose curves bulge by less than 0.03 % (the usual cubic quarter).
    inked = 9.8 * 70 + math.pi * 31.5 * 36
    assert found.share == pytest.approx(inked / (121.5 * 72), rel=1e-3)
    assert found.spacing.low == found.spacing.high == pytest.approx(48.7, abs=1e-6)
    assert found.word_spacing is None


@pytest.mark.parametrize(("align", "left"), [("left", 50), ("centre", -10.75), ("right", -71.5)])
def test_which_part_of_a_line_lies_at_its_place(align: str, left: float):
    found = set_text("IO", at=(50, 30), align=align)
    assert numbers_of(found.area) == area_near(left, 29, 121.5, 72)


def test_each_line_is_aligned_and_lies_below_the_one_before():
    # 121.5 and 9.8 wide, both around 0; the lower one stands on -90.
    found = set_text("IO", "I", down=90, align="centre")
    assert numbers_of(found.area) == area_near(-60.75, -90, 121.5, 161)


def test_gaps_within_words_and_between_them():
    # From I to I 60 - 9.8 = 50.2; with a space between them 60 more.
    found = set_text("II I")
    assert found.spacing.nominal == pytest.approx(50.2)
    assert found.word_spacing.nominal == pytest.approx(110.2)


def test_spacing_that_is_added():
    # Between two letters once, over a space twice.
    found = set_text("II I", extra_spacing=3.0)
    assert found.spacing.nominal == pytest.approx(53.2)
    assert found.word_spacing.nominal == pytest.approx(116.2)


BY_PAIR = "feature kern { pos I O -50; pos I I 20; } kern;"
BY_CLASS = "feature kern { pos [I x] [O] -50; pos [I x] [I] 20; } kern;"
FAR_OFF = (
    "lookup far useExtension { pos I O -50; pos I I 20; } far; feature kern { lookup far; } kern;"
)


@pytest.mark.parametrize("features", [BY_PAIR, BY_CLASS, FAR_OFF])
def test_kerning_of_pairs(features: str):
    font = font_of(features=features)
    assert (font.kerning.is_there, font.kerning.not_applied) == (True, False)
    assert [font.kerning.between(*pair) for pair in ("IO", "II", "OI")] == [-50, 20, 0]
    assert numbers_of(set_text("IO", font=font).area) == area_near(0, -1, 121.5 - 5, 72)


def test_a_pair_goes_before_its_class_and_lookups_add_up():
    features = """
        feature kern {
            lookup one { pos I O -50; pos [I x] [O I] 20; } one;
            lookup two { pos I I 7; } two;
        } kern;
    """
    font = font_of(features=features)
    assert [font.kerning.between(*pair) for pair in ("IO", "xO", "II")] == [-50, 20, 27]


def test_kerning_of_the_older_table():
    font = font_of(kern={("I", "O"): -30})
    assert font.kerning.is_there
    assert [font.kerning.between(*pair) for pair in ("IO", "OI")] == [-30, 0]


def test_without_kerning():
    assert not font_of().kerning.is_there


@pytest.mark.parametrize(
    "features",
    [
        "feature kern { pos I' 10 O; pos I x 5; } kern;",
        "feature kern { pos I <10 0 5 0> x; } kern;",
    ],
)
def test_kerning_that_is_not_applied_is_said(features: str):
    assert font_of(features=features).kerning.not_applied


def test_positions_of_other_features_are_no_kerning():
    font = font_of(features="feature cpsp { pos I O 40; } cpsp;")
    assert not font.kerning.is_there


def test_letters_that_a_font_lacks():
    assert font_of().lacking(["BOX", "IN"]) == "BXN"


def test_lines_without_ink():
    assert set_text(" ", "  ") is None


def test_characters_that_do_not_stand_side_by_side():
    # Hebrew and Arabic run from right to left; a combining accent stands over its letter.
    assert characters_of_other_scripts(["I\u05d0x", "I\u0628\u0301"]) == "\u05d0\u0628\u0301"
    assert characters_of_other_scripts(["Größe 8, Łódź"]) == ""


def test_what_is_no_font():
    with pytest.raises(ArtworkError, match="fontTools cannot read"):
        letter_font(b"no font", "none")


def test_a_font_without_a_character_map():
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef"])
    builder.setupGlyf({".notdef": TTGlyphPen(None).glyph()})
    builder.setupHorizontalMetrics({".notdef": (600, 0)})
    builder.setupHorizontalHeader()
    stream = io.BytesIO()
    builder.save(stream)
    with pytest.raises(ArtworkError, match="without a character map"):
        letter_font(stream.getvalue(), "bare")


SQUARE = ((0, 0), (10, 0), (10, 10), (0, 10))
INNER = ((3, 3), (7, 3), (7, 7), (3, 7))
BESIDE = ((5, 0), (15, 0), (15, 10), (5, 10))


@pytest.mark.parametrize(
    ("rings", "area"),
    [
        ([SQUARE], 100),
        ([SQUARE, INNER[::-1]], 84),
        ([SQUARE, INNER], 100),
        ([SQUARE, BESIDE], 150),
        ([SQUARE, BESIDE[::-1]], 100),
        ([], 0),
    ],
)
def test_what_lines_wind_around_is_inked(rings, area: float):
    # Against the clock twice is ink, once each way is none: squares of 10, of 4, half overlapping.
    assert inked_by_winding(rings).area == pytest.approx(area)
