"""Letters of known sizes, drawn here, are measured to two micrometres."""

from __future__ import annotations

from itertools import permutations

import pytest
from drawn_artwork import circle, rectangle, ring_shape

from signrules.artwork.beside_letters import without_borders
from signrules.artwork.drawing import FontMeasures, Shape, TextRun
from signrules.artwork.letters import measured_letters

WITHIN_MM = 0.002
HEIGHT, STROKE = 25.0, 3.0

SANS = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False, slanted=False)


def letter_i(x, y):
    return rectangle(x, y, STROKE, HEIGHT)


def letter_l(x, y, foot=14.0):
    ring = (
        (x, y),
        (x + foot, y),
        (x + foot, y + STROKE),
        (x + STROKE, y + STROKE),
        (x + STROKE, y + HEIGHT),
        (x, y + HEIGHT),
    )
    return Shape(ring)


def letter_o(x, y):
    """A round O that reaches 0.25 mm over the line and under it."""
    return ring_shape(x + HEIGHT / 2, y + HEIGHT / 2, HEIGHT + 0.5, STROKE)


def is_about(interval, low, high=None):
    high = low if high is None else high
    assert interval.low == pytest.approx(low, abs=WITHIN_MM)
    assert interval.high == pytest.approx(high, abs=WITHIN_MM)


def test_outlines_alone_tell_sizes():
    first = [letter_l(0, 40), letter_i(18, 40), letter_o(25, 40)]
    second = [letter_i(0, 0), letter_i(7, 0)]
    found = measured_letters([*second, *first], ())
    assert found.from_outlines
    assert (found.text, found.case, found.style, found.width) == ((), None, None, None)
    is_about(found.height, HEIGHT)
    is_about(found.stroke, STROKE)
    # By hand: 14 to 18, 21 to 24.75 (25 less the overshoot), 3 to 7.
    is_about(found.spacing, 3.75, 4.0)
    is_about(found.line_spacing, 40)
    assert (found.baseline, found.top) == pytest.approx((0, 65.25), abs=WITHIN_MM)


def test_a_wide_gap_is_one_between_words():
    found = measured_letters([letter_i(0, 0), letter_i(7, 0), letter_i(30, 0)], ())
    is_about(found.spacing, 4)
    is_about(found.word_spacing, 20)


def test_the_stroke_of_round_letters_is_that_of_their_ring():
    found = measured_letters([letter_o(0, 0)], ())
    is_about(found.stroke, STROKE)
    # No flat letter stands beside it.
    is_about(found.height, HEIGHT + 0.5)


def test_a_slanted_stroke_is_measured_square_to_itself():
    """By hand: a parallelogram 3 mm wide that leans 3 to 4 has strokes of 3 x 4 / 5 mm."""
    leaning = Shape(((0, 0), (3, 0), (21, 24), (18, 24)))
    found = measured_letters([leaning], ())
    is_about(found.stroke, 2.4)


def test_a_border_is_no_letter():
    border = Shape(
        ((-20, -20), (80, -20), (80, 60), (-20, 60)),
        (((-19, -19), (79, -19), (79, 59), (-19, 59)),),
    )
    letters = [letter_i(0, 0), letter_o(10, 0)]
    assert without_borders([border, *letters]) == (letters, [border])
    is_about(measured_letters([border, *letters], ()).height, HEIGHT)


def test_a_dot_over_a_letter_belongs_to_it():
    stem, dot = rectangle(0, 0, 3, 18), circle(1.5, 23, 3)
    found = measured_letters([stem, dot, letter_i(8, 0)], ())
    is_about(found.spacing, 5)


def test_letters_without_any_area_tell_nothing():
    found = measured_letters([Shape(((0, 0), (1, 1), (2, 2))), rectangle(0, 0, 9, 9, tint=0)], ())
    assert (found.height, found.stroke, found.spacing) == (None, None, None)


def run(text, y, x=0.0, em=36.0, font=SANS, shapes=(), angle=0.0):
    return TextRun(text, (x, y), em, angle, font, tuple(shapes))


def test_text_and_font_tell_what_outlines_do_not():
    shapes = [letter_i(0, 40), letter_i(7, 40), letter_i(30, 40)]
    runs = [run("STAFF", 0), run("II I", 40, shapes=shapes), run("ONLY", 0, x=200)]
    found = measured_letters((), runs)
    assert found.text == ("II I", "STAFF ONLY")
    assert (found.case, found.style, found.from_outlines) == ("upper", "sans-serif", False)
    # By hand: 36 mm em, capitals of 0.7 em, 13 % and 90 % of that.
    is_about(found.height, 25.2)
    is_about(found.stroke, 25.2 * 0.13)
    is_about(found.width, 25.2 * 0.9)
    is_about(found.spacing, 4)
    is_about(found.word_spacing, 20)
    is_about(found.line_spacing, 40)
    assert (found.baseline, found.top) == (0, 65)


def test_two_sizes_are_a_range():
    found = measured_letters((), [run("ROOM", 0), run("214", 50, em=72)])
    is_about(found.height, 25.2, 50.4)


@pytest.mark.parametrize(
    ("text", "case"), [("ROOM 7", "upper"), ("room", "lower"), ("Room", "mixed"), ("214", None)]
)
def test_case(text, case):
    assert measured_letters((), [run(text, 0)]).case == case


@pytest.mark.parametrize(
    ("fonts", "style"),
    [
        ([SANS, FontMeasures("b", serif=True)], "serif"),
        ([FontMeasures("b", serif=True, slanted=True)], "italic"),
        ([SANS, FontMeasures("b", flourish="script")], "script"),
        ([SANS, FontMeasures("b")], None),
        ([SANS, None], None),
    ],
)
def test_style(fonts, style):
    runs = [run("ROOM", 50 * at, font=font) for at, font in enumerate(fonts)]
    assert measured_letters((), runs).style == style


def test_a_line_that_runs_upwards_is_measured_along_itself():
    shapes = [rectangle(-HEIGHT, at, HEIGHT, STROKE) for at in (0, 7)]
    found = measured_letters((), [run("II", 0, shapes=shapes, angle=90)])
    is_about(found.spacing, 4)


def test_letters_that_touch_have_no_gap():
    shapes = [letter_i(0, 0), letter_i(3, 0)]
    is_about(measured_letters((), [run("II", 0, shapes=shapes)]).spacing, 0)


def test_strokes_without_letters_are_none():
    from signrules.artwork.strokes import stroke_of

    assert stroke_of([]) is None


def test_a_level_that_only_touches_a_corner_crosses_nothing_there():
    """The peak in the middle ends at half the height, where the letter is crossed."""
    m = ((0, 0), (10, 0), (10, 10), (9, 10), (9, 1), (5, 5), (1, 1), (1, 10), (0, 10))
    is_about(measured_letters([Shape(m)], ()).stroke, 1)


def test_borders_are_found_among_shapes_without_area():
    empty, letter = Shape(()), letter_i(0, 0)
    assert without_borders([empty, letter]) == ([empty, letter], [])
    assert without_borders([]) == ([], [])


def row_of_stems(*gaps):
    """Stems with these gaps between them."""
    places = [0.0]
    for gap in gaps:
        places.append(places[-1] + STROKE + gap)
    return [letter_i(x, 0) for x in places]


def test_a_stated_text_tells_which_gaps_lie_between_words():
    shapes = row_of_stems(4, 13, 4, 15)
    found = measured_letters(shapes, (), ("IIII I",))
    is_about(found.spacing, 4, 13)
    is_about(found.word_spacing, 15)
    assert found.guessed_gaps == ()


def test_as_many_gaps_are_between_words_as_the_text_has_where_letters_touch():
    shapes = row_of_stems(0, 4, 9, 15)
    # Six characters for five pieces of outline: the widest gap is the one between words.
    is_about(measured_letters(shapes, (), ("IIII II",)).word_spacing, 15)


def test_wide_gaps_that_are_all_alike_lie_within_a_word():
    found = measured_letters(row_of_stems(11, 14, 12), ())
    is_about(found.spacing, 11, 14)
    assert found.word_spacing is None
    assert found.guessed_gaps == pytest.approx((11, 14, 12))


def test_the_only_gap_of_a_line_lies_within_a_word():
    found = measured_letters(row_of_stems(20), ())
    is_about(found.spacing, 20)
    assert found.word_spacing is None


def test_a_font_without_its_stems_leaves_the_stroke_to_what_is_drawn():
    subset = FontMeasures("Invented Sans", cap_height=0.7)
    shapes = [letter_i(0, 0), letter_i(7, 0)]
    found = measured_letters((), [run("MM", 0, font=subset, shapes=shapes)])
    is_about(found.stroke, STROKE)
    assert found.width is None
    assert found.lacking == (
        "'MM' does not tell the stroke: its font is in the file without I, L or T",
        "'MM' does not tell the width of O: its font is in the file without O",
        "'MM' does not tell its style: the tables of its font that say it are missing",
    )
    assert measured_letters((), [run("II", 0, shapes=shapes)]).lacking == ()


def test_lines_that_reach_into_each_other_are_no_less_than_nothing_apart():
    """By hand: most letters of the upper line hang down to -10, the other line stands on 0."""
    upper = [rectangle(0, 10, 3, 30), rectangle(10, -10, 3, 30), rectangle(20, -10, 3, 30)]
    found = measured_letters([*upper, rectangle(40, 0, 3, 13)], ())
    assert found.line_spacing.nominal == 10


def test_the_order_in_which_letters_are_drawn_makes_no_difference():
    """Three of one height, each of which could start the line of the next."""
    letters = [rectangle(0, 0, 3, 20), rectangle(10, 9, 3, 20), rectangle(20, 18, 3, 20)]
    first = measured_letters(letters, ())
    assert all(measured_letters(each, ()) == first for each in permutations(letters))


def test_letters_stand_where_the_flat_ones_do_even_where_most_are_round():
    """By hand: the round ones reach 0.25 mm below the line that the others stand on."""
    found = measured_letters([letter_i(0, 0), letter_o(7, 0), letter_o(40, 0)], ())
    assert found.baseline == pytest.approx(0, abs=WITHIN_MM)


def test_a_letter_that_hangs_down_is_no_flat_foot():
    hanging = rectangle(10, -6, STROKE, HEIGHT)
    found = measured_letters([letter_i(0, 0), letter_i(20, 0), hanging], ())
    assert found.baseline == 0


def test_specks_are_no_letters_and_are_told_with_their_places():
    specks = [rectangle(50, 60, 0.02, 0.02), circle(70, 10, 0.4)]
    letters = [letter_i(0, 0), letter_i(7, 0)]
    found = measured_letters([*letters, *specks], ())
    places = [place for speck in found.specks for place in speck.at]
    assert places == pytest.approx([50.01, 60.01, 70, 10])
    assert [speck.size for speck in found.specks] == pytest.approx([0.02, 0.4], abs=WITHIN_MM)
    assert (found.height, found.spacing) == (
        measured_letters(letters, ()).height,
        measured_letters(letters, ()).spacing,
    )
    # Half a millimetre is 2 % of 25 mm: it may be part of a letter.
    assert measured_letters([*letters, circle(70, 10, 0.52)], ()).specks == ()
