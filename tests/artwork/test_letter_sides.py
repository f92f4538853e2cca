"""What no typeface draws is told of its letter; what one of them draws never is."""

from __future__ import annotations

from pathlib import Path

import matplotlib
import pytest
from font_outlines import FONTS, outlines
from shapely import Polygon, total_bounds
from shapely.affinity import rotate, scale, translate

from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.letter_regions import letters_of
from signrules.artwork.letter_shapes import first_misfit, misfit_of
from signrules.artwork.letters import measured_letters
from signrules.artwork.lines_as_read import lines_as_read

CAPITALS, DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "0123456789"
OTHERS = ("Oblique", "Italic", "Serif", "Math")
SANS = sorted(
    str(path)
    # matplotlib brings fonts with it, wherever the tests run.
    for folder in (FONTS, Path(matplotlib.get_data_path()) / "fonts" / "ttf")
    for family in ("DejaVuSans*", "LiberationSans*", "LiberationMono*", "cmss10*")
    for path in folder.glob(f"**/{family}.ttf")
    if not any(word in path.name for word in (*OTHERS, "Display"))
)

ARROW = [(0, 5), (8, 5), (8, 0), (16, 8), (8, 16), (8, 11), (0, 11)]
THIN_ARROW = [(0, 7), (11, 7), (8, 3), (9.5, 1.5), (16, 8), (9.5, 14.5), (8, 13), (11, 9), (0, 9)]
TRIANGLE = [(0, 0), (16, 8), (0, 16)]
SIGNS = {"arrow": ARROW, "thin arrow": THIN_ARROW, "triangle": TRIANGLE}


def in_place_of(sign, letter, quarters):
    """A sign to the right, turned by quarters against the clock, in the box of a letter."""
    region = rotate(Polygon(SIGNS[sign]), 90 * quarters)
    left, low, right, high = letter.bounds
    own_left, own_low, own_right, own_high = region.bounds
    across, along = (right - left) / (own_right - own_left), (high - low) / (own_high - own_low)
    sized = scale(region, across, along, origin=(own_left, own_low))
    return translate(sized, left - own_left, low - own_low)


def test_fonts_are_at_hand():
    assert SANS


@pytest.mark.parametrize("path", SANS)
def test_no_letter_of_a_plain_typeface_is_told(path):
    told = {}
    for char in CAPITALS + DIGITS:
        line = letters_of(outlines(path, char))
        told[char] = misfit_of(char, line)
    assert {char: words for char, words in told.items() if words} == {}


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("quarters", range(4))
def test_an_arrow_is_no_letter_however_it_is_turned(sign, quarters):
    passed = {
        (path, char)
        for path in SANS[:6]
        for char, letter in zip(CAPITALS, letters_of(outlines(path, CAPITALS)), strict=True)
        if first_misfit(char, [in_place_of(sign, letter, quarters)]) is None
    }
    # A rectangle as narrow as I is all that an arrow would need to look like it.
    assert {char for _, char in passed} <= {"I"}


@pytest.mark.parametrize(
    ("text", "number", "sign", "quarters"),
    [
        ("STUDIO", 3, "arrow", 1),
        ("QUAY 3", 4, "arrow", 3),
        ("HOTEL", 3, "thin arrow", 1),
        ("HOTEL", 5, "triangle", 0),
    ],
)
def test_a_sign_as_large_as_its_letter_is_told_with_its_place(text, number, sign, quarters):
    line = letters_of(outlines(SANS[0], text))
    line[number - 1] = in_place_of(sign, line[number - 1], quarters)
    words = misfit_of(text, line)
    letter = text.replace(" ", "")[number - 1]
    assert f"number {number} of the line, should be {letter!r} and has" in words


def test_a_letter_that_is_drawn_otherwise_than_before_is_told():
    # Alone, a 0 could be an O of another typeface.
    drawn = letters_of(outlines(SANS[0], "OSL0"))
    assert misfit_of("0SL", drawn[-1:] + drawn[1:3]) is None
    assert "number 4 of the line, should be 'O' and is not drawn as number 1" in misfit_of(
        "OSLO", drawn
    )


def test_the_same_letters_are_told_nothing_of():
    assert misfit_of("PEPPER 8088", letters_of(outlines(SANS[0], "PEPPER 8088"))) is None


def turned_over(text, across, along):
    line = letters_of(outlines(SANS[0], text))
    turned = [scale(each, across, along, origin=(0, 0)) for each in line]
    return sorted(turned, key=lambda region: region.bounds[0])


@pytest.mark.parametrize("text", [("LOCKER", "ROOM 27"), ("OFFICE", "NO 27"), ("TAXI", "MAUI")])
@pytest.mark.parametrize(
    ("across", "along", "words"),
    [(-1, 1, "mirrored"), (1, -1, "turned top to bottom"), (-1, -1, "on its head")],
)
def test_a_sign_that_is_turned_over_is_told_and_read_turned_back(text, across, along, words):
    drawn = [turned_over(line, across, along) for line in text]
    # What is turned top to bottom has its first line last.
    lines = drawn if along > 0 else drawn[::-1]
    read = lines_as_read(lines, text)
    assert {line.misfit for line in read} == {
        f"the drawing for {' / '.join(text)!r} may be {words}: so turned its shapes fit the text"
    }
    assert [line.text for line in read] == list(text[::along])
    # Where they lie stays as it was.
    for line, shapes in zip(read, lines, strict=True):
        assert total_bounds(line.letters).tolist() == pytest.approx(total_bounds(shapes).tolist())


def moved(shape, across, along, up=0):
    """A shape turned over and moved up."""
    rings = (shape.outline, *shape.holes)
    outline, *holes = (tuple((across * x, along * y + up) for x, y in ring) for ring in rings)
    return Shape(outline, tuple(holes))


def test_a_mirrored_sign_is_measured_as_if_it_were_not():
    first = [moved(shape, 1, 1, 40) for shape in outlines(SANS[0], "QUAY 3")]
    upright = [*first, *outlines(SANS[0], "JURY")]
    mirrored = [moved(shape, -1, 1) for shape in upright]
    text = ("QUAY 3", "JURY")
    found, expected = (measured_letters(shapes, (), text) for shapes in (mirrored, upright))
    for name in ("height", "stroke", "spacing", "word_spacing", "line_spacing"):
        assert getattr(found, name).low == pytest.approx(getattr(expected, name).low)
        assert getattr(found, name).high == pytest.approx(getattr(expected, name).high)
    assert (found.drawn, expected.drawn) == ("unlike-text", "outlines")
    [words] = found.lacking
    assert "may be mirrored" in words


def test_an_arrow_tells_no_stroke_and_no_gap_of_its_line():
    shapes = outlines(SANS[0], "STUDIO")
    third = in_place_of("arrow", region_of(shapes[2]), 1)
    shapes[2] = Shape(tuple(third.exterior.coords))
    found = measured_letters(shapes, (), ("STUDIO",))
    whole = measured_letters(outlines(SANS[0], "STUDIO"), (), ("STUDIO",))
    # The whole word tells it by its I, without the arrow what is drawn besides does.
    assert found.stroke.high == pytest.approx(whole.stroke.high, rel=0.01)
    assert found.spacing is None
    assert "the gaps of 'STUDIO', whose shapes do not fit the text" in found.not_measured
