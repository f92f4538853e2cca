"""What is drawn beside raised text: borders and ornaments near it, and specks."""

from __future__ import annotations

import pytest
from drawn_artwork import SHOP, artwork_of, layer_of, rectangle

from signrules.artwork.choices import ArtworkChoices
from signrules.artwork.drawing import FontMeasures, Shape, TextRun
from signrules.artwork.job_making import document_from_artwork
from signrules.documents.reading import job_from_dict
from signrules.model.sign import Raised
from signrules.shop_file import shop_from_dict

SANS = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False, slanted=False)
BARS = tuple(rectangle(40 + 7 * number, 110, 3, 25.2) for number in range(4))
TEXT = TextRun("LILI", (40.0, 110.0), 36.0, 0.0, SANS, BARS)
UNDERLINE = rectangle(40, 106.5, 24, 1)


def made_of(*shapes, texts=(TEXT,), stated=()):
    """The only sign that a layer of raised letters makes, and the notes of its job."""
    shop = shop_from_dict(SHOP)
    art = artwork_of(layer_of("Raised letters", *shapes, texts=texts))
    document = document_from_artwork(art, shop, ArtworkChoices(text=stated)).document
    [sign] = job_from_dict(document, shop=shop).signs
    return sign, document.get("read_notes", [])


def clear_space_of(*shapes):
    sign, _ = made_of(*shapes)
    return sign.raised.clear_space


def test_an_underline_is_measured_against_the_text():
    sign, notes = made_of(UNDERLINE)
    # By hand: the letters stand on 110, the line ends at 107.5.
    assert sign.raised.clear_space.nominal == pytest.approx(2.5)
    assert any("nearest: 1 in all, the first at 52.0, 107.0 mm" in note for note in notes)


def test_text_alone_states_no_clear_space():
    assert clear_space_of() is None


def test_a_frame_around_text_is_no_ornament():
    frame = Shape(rectangle(20, 90, 80, 70).outline, (rectangle(22, 92, 76, 66).outline,))
    sign, notes = made_of(frame)
    # By hand: from 22 to 40 on the left, and 18 from the foot of the letters down to 92.
    assert sign.raised.clear_space.nominal == pytest.approx(18)
    assert not any("ornaments" in note for note in notes)


def test_the_nearest_of_a_frame_and_an_arrow_counts():
    frame = Shape(rectangle(20, 90, 80, 70).outline, (rectangle(22, 92, 76, 66).outline,))
    # By hand: the last bar ends at 40 + 21 + 3.
    assert clear_space_of(frame, rectangle(70, 115, 8, 2)).nominal == pytest.approx(6)


def test_letters_that_are_drawn_again_as_outlines_are_no_ornament():
    assert clear_space_of(*BARS) is None


def test_specks_beside_text_are_told_and_not_measured():
    sign, notes = made_of(rectangle(41, 108, 0.2, 0.2))
    assert sign.raised.clear_space is None
    assert any("specks of up to 0.200 mm" in note for note in notes)


def test_what_gets_no_ink_is_not_measured():
    assert clear_space_of(rectangle(40, 106, 24, 1, tint=0)) is None


def test_an_underline_of_outlines_is_told_by_their_text():
    """The line is one shape on a line of its own, which the text does not have."""
    sign, notes = made_of(*BARS, UNDERLINE, texts=(), stated=("LILI",))
    assert sign.raised.clear_space.nominal == pytest.approx(2.5)
    assert sign.raised.height.nominal == pytest.approx(25.2)
    assert any("nearest: 1 in all, the first at 52.0, 107.0 mm" in note for note in notes)


def test_where_two_lines_could_be_the_text_neither_is_an_ornament():
    second = [rectangle(40 + 7 * number, 60, 3, 25.2) for number in range(4)]
    sign, notes = made_of(*BARS, *second, texts=(), stated=("LILI",))
    assert sign.raised == Raised(drawn="unlike-text")
    assert not any("ornaments" in note for note in notes)


def row_of_bars(*heights):
    """Bars that stand in a row over the text, each of its own height."""
    return [rectangle(40 + 7 * at, 160, 3, height) for at, height in enumerate(heights)]


@pytest.mark.parametrize("texts", [(TEXT,), ()])
def test_ornaments_that_may_be_a_line_of_letters_are_told(texts):
    drawn = row_of_bars(20, 20, 20.5)
    shapes = drawn if texts else [*BARS, *drawn]
    sign, notes = made_of(*shapes, texts=texts, stated=("LILI",))
    assert sign.raised.drawn == "unlike-text"
    assert any("in the text: 3 from 41.5, 170.0 mm on" in note for note in notes)


@pytest.mark.parametrize("heights", [(20, 20), (20, 12, 20)])
def test_ornaments_that_do_not_look_like_a_line_of_letters(heights):
    sign, notes = made_of(*row_of_bars(*heights))
    assert any("ornaments" in note for note in notes)
    assert not any("stand in a line" in note for note in notes)
    assert sign.raised.drawn is None


def test_an_arrow_on_a_line_and_one_below_it_are_both_ornaments():
    """By hand: the lower one starts at 40 and ends at 66, the letters stand on 110."""
    letters = row_at(110, "LILI")
    end, below = rectangle(90, 118, 9, 8), rectangle(40, 60, 9, 6)
    sign, notes = made_of(*letters, end, below, texts=(), stated=("LILI",))
    assert sign.raised.height.nominal == pytest.approx(25)
    assert any("nearest: 2 in all" in note for note in notes)


def row_at(y, text):
    """L and I, 25 mm tall with strokes of 3 mm, on a line."""
    shapes, x = [], 40.0
    for char in text:
        shapes.append(letter_l(x, y) if char == "L" else rectangle(x, y, 3, 25))
        x += 18 if char == "L" else 7
    return shapes


def letter_l(x, y):
    ring = ((x, y), (x + 14, y), (x + 14, y + 3), (x + 3, y + 3), (x + 3, y + 25), (x, y + 25))
    return Shape(ring)


def test_of_what_lies_on_a_letter_nobody_knows_whether_it_is_part_of_it():
    letters = row_at(110, "LILI")
    sign, notes = made_of(*letters, rectangle(41, 120, 5, 5), texts=(), stated=("LILI",))
    assert sign.raised.drawn == "unlike-text"
    assert sign.raised.clear_space is None
    assert any("overlap or touch, in 1 place" in note for note in notes)
