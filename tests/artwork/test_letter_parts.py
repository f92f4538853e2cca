"""A letter that its typeface draws of two shapes is one letter, and its gap is none of the line."""

from __future__ import annotations

import pytest
from font_outlines import UPRIGHT, outlines
from shapely import box, get_parts

from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.letter_parts import are_one_letter
from signrules.artwork.letters import measured_letters

FONT = UPRIGHT[0]


def in_two(shape, gap):
    """A K whose stem is cut from its arms, so many mm apart."""
    region = region_of(shape)
    left, low, _, high = region.bounds
    [like_stem] = outlines(FONT, "I")
    i_left, _, i_right, _ = region_of(like_stem).bounds
    stem_end = left + i_right - i_left
    stem = region.intersection(box(left, low, stem_end, high))
    arms = region.difference(box(left, low, stem_end + gap, high))
    return [Shape(tuple(part.exterior.coords)) for part in (*get_parts(stem), *get_parts(arms))]


def with_cut_k(text, gap):
    whole = outlines(FONT, text)
    letters = text.replace(" ", "")
    return [
        part
        for char, shape in zip(letters, whole, strict=True)
        for part in (in_two(shape, gap) if char == "K" else [shape])
    ]


@pytest.mark.parametrize("gap", [0.6, 1.1])
def test_a_k_of_two_shapes_is_one_letter(gap):
    text = ("KIOSK 7",)
    found = measured_letters(with_cut_k(*text, gap), (), text)
    whole = measured_letters(outlines(FONT, *text), (), text)
    assert (found.drawn, found.lacking) == ("outlines", ())
    # The letters of `outlines` stand 3 mm apart by their boxes, further than any two parts.
    assert found.spacing.low == pytest.approx(whole.spacing.low)
    assert found.word_spacing == whole.word_spacing


def test_parts_that_touch_are_no_doubt_where_the_letter_needs_each():
    text = ("PARK",)
    shapes = outlines(FONT, "PAR")
    stem, arms = in_two(outlines(FONT, "PARK")[-1], 0.0)
    found = measured_letters([*shapes, stem, arms], (), text)
    assert (found.drawn, found.overlaps, found.lacking) == ("outlines", False, ())


def test_a_shape_that_the_letter_does_not_need_is_no_part_of_it():
    [shape] = outlines(FONT, "E")
    region = region_of(shape)
    left, low, _, _ = region.bounds
    assert not are_one_letter("E", [region, box(left, low, left + 4, low + 4)])


def test_gaps_of_more_shapes_than_letters_are_not_measured():
    text = ("HALL",)
    found = measured_letters(outlines(FONT, "HALILLO"), (), text)
    assert found.spacing is None
    assert any("the gaps of 'HALL'" in words for words in found.not_measured)
