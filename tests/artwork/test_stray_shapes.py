"""Shapes on the lines of a text that are none of its letters, and marks that are parts of them."""

from __future__ import annotations

import unicodedata

import pytest
from drawn_artwork import circle, rectangle
from font_outlines import HEIGHT, UPRIGHT, opened, outlines

from signrules.artwork.beside_letters import without_ornaments
from signrules.artwork.drawing import Shape
from signrules.artwork.letters import measured_letters

FONT = UPRIGHT[0]


def box_of(shapes):
    xs = [x for shape in shapes for x, _ in shape.outline]
    return min(xs), max(xs)


def moved_up(shape, along):
    outline, *holes = (
        tuple((x, y + along) for x, y in ring) for ring in (shape.outline, *shape.holes)
    )
    return Shape(outline, tuple(holes))


def arrow(x, y):
    corners = ((0, 6), (14, 6), (14, 0), (24, 10), (14, 20), (14, 14), (0, 14))
    return Shape(tuple((x + right, y + up) for right, up in corners))


@pytest.mark.parametrize("at", [-40.0, 160.0])
def test_an_arrow_on_a_line_is_no_letter_of_it(at):
    letters = outlines(FONT, "ROOM 27")
    found = measured_letters([*letters, arrow(at, 0)], (), ("ROOM 27",))
    assert found == measured_letters(letters, (), ("ROOM 27",))
    _, measures = opened(FONT)
    assert found.stroke.nominal == pytest.approx(measures.stroke_share * HEIGHT, rel=0.02)
    _, [ornament] = without_ornaments([*letters, arrow(at, 0)], ("ROOM 27",))
    assert box_of([ornament]) == (at, at + 24)


def test_a_line_that_nothing_sorts_out_is_measured_and_told():
    letters = outlines(FONT, "ROOM 127")
    found = measured_letters(letters, (), ("ROOM 77",))
    assert found.drawn == "unlike-text"
    assert found.height.nominal == pytest.approx(HEIGHT, rel=0.01)
    assert found.stroke is not None
    assert found.width is None
    assert any("7 letters are drawn for 'ROOM 77', which has 6" in words for words in found.lacking)


def test_a_disc_that_is_drawn_into_a_letter_is_told_with_its_place():
    letters = outlines(FONT, "ROOM 27")
    _, right = box_of(letters)
    found = measured_letters([*letters, circle(right, 18, 6)], (), ("ROOM 27",))
    [words] = [words for words in found.lacking if "overlap or touch, in 1 place" in words]
    assert f"at {right:.1f}, 18.0 mm" in words


def test_a_letter_that_is_drawn_twice_is_told():
    letters = outlines(FONT, "EXIT")
    found = measured_letters([*letters, letters[0]], (), ("EXIT",))
    assert any(words.startswith("1 shape drawn twice") for words in found.lacking)


@pytest.mark.parametrize("text", ["CAFÉ", "KÜCHE", "ĞÖR"])
def test_marks_over_letters_are_parts_of_them(text):
    letters = outlines(FONT, text)
    assert without_ornaments(letters, (text,)) == (letters, [])
    found = measured_letters(letters, (), (text,))
    assert found.height.nominal == pytest.approx(HEIGHT, rel=0.01)
    assert (found.drawn, found.lost_letters, found.lacking) == ("outlines", None, ())
    # Without the marks, which lie over the letters, each letter that lacks one is told.
    low = [shape for shape in letters if min(y for _, y in shape.outline) < HEIGHT / 2]
    bare = measured_letters(low, (), (text,))
    lacking = [char for char in text if char != unicodedata.normalize("NFD", char)]
    told = zip(bare.lacking, lacking, strict=True)
    assert all(f"for {char!r} of {text!r} has no mark on it" in words for words, char in told)
    assert bare.drawn == "unlike-text"


def test_a_letter_that_is_swapped_makes_no_style():
    """E in the place of T has a wide foot, which is no serif."""
    found = measured_letters(outlines(FONT, "EXTI"), (), ("EXIT",))
    assert (found.style, found.drawn) == (None, "unlike-text")
    right = measured_letters(outlines(FONT, "EXIT"), (), ("EXIT",))
    assert right.drawn == "outlines"


def test_of_lines_with_as_many_letters_those_of_the_text_are_taken():
    letters = outlines(FONT, "EXIT")
    bars = [rectangle(8 * at, -60, 3, HEIGHT) for at in range(4)]
    found = measured_letters([*letters, *bars], (), ("EXIT",))
    assert found.drawn == "outlines"
    assert found.baseline == pytest.approx(0, abs=0.01)


def test_a_figure_between_lines_that_touches_one_is_told_and_the_text_is_measured():
    first = [moved_up(shape, 32) for shape in outlines(FONT, "STORAGE")]
    second = outlines(FONT, "ROOM 27")
    # By hand: the body reaches 1 mm over the foot of the line above.
    body = rectangle(40, 23, 6, 10)
    found = measured_letters([*first, *second, body], (), ("STORAGE", "ROOM 27"))
    assert found.height.nominal == pytest.approx(HEIGHT, rel=0.005)
    assert found.overlaps
    assert found.drawn == "unlike-text"
