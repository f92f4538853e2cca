"""The height and the foot of lines whose letters have tails, marks or an overshoot.

Heights are those that `font_outlines` sets capitals at, or known by hand from rectangles.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from drawn_artwork import rectangle
from font_outlines import HEIGHT, UPRIGHT, outlines

from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.letter_regions import lines_of_shapes
from signrules.artwork.letters import measured_letters
from signrules.artwork.line_heights import height_of_unknown


def lower(shapes, down):
    """Shapes that many mm further down."""
    return [
        evolve(
            shape,
            outline=tuple((x, y - down) for x, y in shape.outline),
            holes=tuple(tuple((x, y - down) for x, y in ring) for ring in shape.holes),
        )
        for shape in shapes
    ]


def lines_of(font, *lines):
    """Lines that stand 31 mm apart, from the top down."""
    return [
        shape
        for number, line in enumerate(lines)
        for shape in lower(outlines(font, line), 31 * number)
    ]


TEXTS = [
    ("QUIET", "STUDIO"),
    ("JANITOR", "JOBS"),
    ("GARÇONS", "LAB 8"),
    ("ÅRE", "SØR"),
    ("ĢIRTS", "DÎVA"),
    ("ŁÓDŹ", "NAÏVE"),
    ('"QUIET"', "ROOM: 5"),
]


@pytest.mark.parametrize("font", UPRIGHT)
@pytest.mark.parametrize("text", TEXTS)
def test_tails_and_marks_make_no_letter_taller(font, text):
    found = measured_letters(lines_of(font, *text), (), text)
    assert (found.height.low, found.height.high) == pytest.approx((HEIGHT, HEIGHT), rel=0.005)
    # B, the only flat letter of JOBS, is a little round at its foot in one of the fonts.
    assert found.line_spacing.nominal == pytest.approx(31, abs=0.1)
    assert found.baseline == pytest.approx(-31, abs=0.1)
    assert not [words for words in found.lacking if "mark" in words]


@pytest.mark.parametrize("line", ["QUIET", "JILTED"])
@pytest.mark.parametrize("font", UPRIGHT)
def test_without_a_text_tails_lie_under_the_common_foot(font, line):
    found = measured_letters(lines_of(font, line), ())
    assert found.height.low == pytest.approx(HEIGHT, rel=0.005)
    assert found.baseline == pytest.approx(0, abs=0.05)


def bars(*sizes):
    """Bars of 3 mm, each with a foot and a height."""
    return [rectangle(8 * at, foot, 3, height) for at, (foot, height) in enumerate(sizes)]


def test_one_tall_letter_hides_no_small_ones():
    """By hand: three bars of 14 mm, and one of 18 on the same foot."""
    found = measured_letters(bars((0, 14), (0, 18), (0, 14), (0, 14)), ())
    assert (found.height.low, found.height.high) == (14, 18)
    [words] = [words for words in found.lacking if "taller than the others" in words]
    assert "at 9.5, 9.0 mm" in words


def sized(line, *shares):
    """The letters of a line, each at a share of its height."""
    shapes = outlines(UPRIGHT[0], line)
    return [
        Shape(tuple((x, share * y) for x, y in shape.outline), shape.holes)
        for shape, share in zip(shapes, shares, strict=True)
    ]


def test_flat_capitals_of_two_heights_are_a_range():
    """By hand: of two H and two I the inner ones are drawn at 0.7 of the height."""
    found = measured_letters(sized("HIHI", 1, 0.7, 0.7, 1), (), ("HIHI",))
    assert found.height.low == pytest.approx(0.7 * HEIGHT, rel=0.005)
    assert found.height.high == pytest.approx(HEIGHT, rel=0.005)


def test_small_digits_beside_capitals_are_a_range():
    """By hand: both digits are drawn at 0.7 of the height."""
    found = measured_letters(sized("HI 17", 1, 1, 0.7, 0.7), (), ("HI 17",))
    assert found.height.low == pytest.approx(0.7 * HEIGHT, rel=0.005)
    assert found.height.high == pytest.approx(HEIGHT, rel=0.005)
    assert found.drawn == "unlike-text"


def test_small_signs_tell_no_foot():
    """By hand: strokes of quotation marks hang 12 mm over the foot of two letters."""
    line = [region_of(shape) for shape in bars((12, 8), (12, 8), (0, 20), (0, 20), (12, 8))]
    found = height_of_unknown(line)
    assert (found.low, found.high, found.foot) == (20, 20, 0)


def test_a_line_of_round_letters_is_told():
    found = measured_letters(outlines(UPRIGHT[0], "SO"), (), ("SO",))
    assert found.height.low > HEIGHT
    assert any(words.startswith("no letter of 'SO' is flat") for words in found.lacking)
    flat = measured_letters(outlines(UPRIGHT[0], "SOL"), (), ("SOL",))
    assert flat.lacking == ()


@pytest.mark.parametrize("line", ["NO 8", "MACON", "JUNCO"])
@pytest.mark.parametrize("font", UPRIGHT[:2])
def test_a_letter_that_is_drawn_flat_tells_the_height(font, line):
    """M and N end in points in some typefaces, and not in these."""
    found = measured_letters(outlines(font, line), (), (line,))
    assert found.height.low == found.height.high == pytest.approx(HEIGHT, rel=1e-3)
    assert found.lacking == ()


def test_an_arrow_in_the_place_of_a_letter_is_told_and_not_measured():
    letters = outlines(UPRIGHT[0], "KIOS")
    right = max(x for shape in letters for x, _ in shape.outline)
    found = measured_letters([*letters, rectangle(right + 4, 6, 9, 8)], (), ("KIOSK",))
    assert found.drawn == "unlike-text"
    assert found.height.low == pytest.approx(HEIGHT, rel=0.005)
    assert any("which should be 'K', is not as tall" in words for words in found.lacking)


def test_a_mark_on_another_letter_is_told():
    plain = outlines(UPRIGHT[0], "CAFE")
    with_mark = outlines(UPRIGHT[0], "CÁFE")
    [mark] = [shape for shape in with_mark if min(y for _, y in shape.outline) > HEIGHT]
    found = measured_letters([*plain, mark], (), ("CAFÉ",))
    assert [words for words in found.lacking if "for 'A' of 'CAFÉ' has a mark" in words]
    assert [words for words in found.lacking if "for 'É' of 'CAFÉ' has no mark" in words]
    assert found.drawn == "unlike-text"


def test_sizes_of_lines_are_kept_where_they_differ():
    """By hand: the strokes are 3 mm in lines of 20 and 25 mm."""
    low = lower(bars((0, 20), (0, 20)), 40)
    found = measured_letters([*bars((0, 25), (0, 25)), *low], ())
    sizes = [(line.height.nominal, line.stroke.nominal) for line in found.lines]
    assert sizes == [(25, 3), (20, 3)]
    assert measured_letters(bars((0, 25), (0, 25)), ()).lines == ()


@pytest.mark.parametrize("font", UPRIGHT)
@pytest.mark.parametrize("line", ["Library", "lift", "jail"])
def test_a_dot_is_part_of_its_letter_and_no_line(font, line):
    [letters] = lines_of_shapes(outlines(font, line))
    assert len(letters) == len(line)


def test_small_letters_for_capitals_are_told_of_their_line():
    found = measured_letters(outlines(UPRIGHT[0], "Library"), (), ("LIBRARY",))
    assert found.drawn == "unlike-text"
    assert any("'LIBRARY' differ in height" in words for words in found.lacking)
    assert found.lost_letters is None


def test_a_small_letter_over_a_large_one_is_no_dot():
    small = lower(bars((0, 8)), -22)
    assert [len(line) for line in lines_of_shapes([*small, *bars((0, 20))])] == [1, 1]
