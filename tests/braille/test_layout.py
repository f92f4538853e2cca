"""Layouts against hand-computed places and published cell dimensions, and their laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import signrules
from signrules import Area
from signrules.braille.dot_layout import BrailleLayout, area_distance, braille_layout, dot_volume

ADA = {"dot_spacing": 2.413, "cell_spacing": 6.5, "line_spacing": 10.1, "dot_diameter": 1.55}
MARBURG = {"dot_spacing": 2.5, "cell_spacing": 6.0, "line_spacing": 10.0, "dot_diameter": 1.6}
LARGE = {"dot_spacing": 2.7, "cell_spacing": 6.6, "line_spacing": 10.8, "dot_diameter": 1.5}

texts = st.text(alphabet=[chr(code) for code in range(0x2800, 0x2900)] + [" ", "\n"], max_size=30)
lengths = st.floats(0.1, 20)
places = st.tuples(st.floats(-500, 500), st.floats(-500, 500))
sizes = st.fixed_dictionaries(
    {
        "dot_spacing": lengths,
        "cell_spacing": lengths,
        "line_spacing": lengths,
        "dot_diameter": lengths,
    }
)


def near(points, wanted):
    assert len(points) == len(wanted)
    for point, other in zip(points, wanted, strict=True):
        assert point == pytest.approx(other, abs=1e-9)


def test_the_public_names_are_these():
    assert signrules.braille_layout is braille_layout
    assert signrules.BrailleLayout is BrailleLayout


def test_a_full_cell_in_marburg_medium():
    found = braille_layout("⣿", at=(10, 20), **MARBURG)
    wanted = [
        (10, 20),
        (10, 17.5),
        (10, 15),
        (12.5, 20),
        (12.5, 17.5),
        (12.5, 15),
        (10, 12.5),
        (12.5, 12.5),
    ]
    near(found.dots, wanted)
    assert found.extents == Area(9.2, pytest.approx(11.7), pytest.approx(4.1), pytest.approx(9.1))


def test_stop_over_two_lines_in_large_print():
    # "stop" is 34-135-1234: dots at columns 0, 6.6, 13.2; the second line is 10.8 lower and begins
    # with a blank cell.
    found = braille_layout("⠌⠕⠏\n ⠁", at=(0, 100), **LARGE)
    first = [(0, 94.6), (2.7, 100), (6.6, 100), (6.6, 94.6), (9.3, 97.3)]
    first += [(13.2, 100), (13.2, 97.3), (13.2, 94.6), (15.9, 100)]
    near(found.lines[0], first)
    near(found.lines[1], [(6.6, 89.2)])
    assert found.count == 10


def test_ada_pitches():
    # Figures of table 703.3.1: 0.241 to 0.300 in between cells, 0.395 to 0.400 in between lines.
    cell, line = 0.27 * 25.4, 0.3975 * 25.4
    found = braille_layout(
        "⠁⠁\n⠁",
        at=(0, 0),
        dot_spacing=0.095 * 25.4,
        cell_spacing=cell,
        line_spacing=line,
        dot_diameter=1.55,
    )
    near(found.dots, [(0, 0), (6.858, 0), (0, -10.0965)])


def test_a_word_gap_is_one_blank_cell():
    found = braille_layout("⠁⠀⠁", at=(0, 0), **MARBURG)
    assert found.dots[1][0] - found.dots[0][0] == pytest.approx(12.0)
    assert found == braille_layout("⠁ ⠁", at=(0, 0), **MARBURG)


def test_areas():
    found = braille_layout("⠉\n\n⠁", at=(50, 50), **MARBURG)
    lines = found.areas()
    assert lines == (
        Area(49.2, 49.2, pytest.approx(4.1), pytest.approx(1.6)),
        Area(49.2, pytest.approx(29.2), pytest.approx(1.6), pytest.approx(1.6)),
    )
    assert len(found.areas(per="dot")) == 3
    assert {(area.width, area.height) for area in found.areas(per="dot")} == {(1.6, 1.6)}
    with pytest.raises(ValueError, match="per"):
        found.areas(per="cell")


def test_no_dots():
    found = braille_layout("⠀ \n", at=(0, 0), **ADA)
    assert (found.count, found.extents, found.areas(), found.base_area) == (0, None, (), 0)
    assert found.fits(0, 0)
    assert found.clear_of([Area(0, 0, 1, 1)]) is None


def test_fits():
    found = braille_layout("⠿⠿", at=(0, 0), **MARBURG)  # 6 + 2.5 + 1.6 wide, 5 + 1.6 high
    assert found.fits(10.1, 6.6)
    assert not found.fits(10.099, 6.6)
    assert not found.fits(10.1, 6.599)


def test_clear_of():
    found = braille_layout("⠁", at=(10, 10), **MARBURG)
    assert found.clear_of([]) is None
    assert found.clear_of([Area(10, 20, 5, 5), Area(0, 30, 50, 5)]) == pytest.approx(9.2)
    assert found.clear_of([Area(13, 14, 5, 5)]) == pytest.approx(5 - 0.8)
    assert found.clear_of([Area(9, 9, 2, 2)]) == 0


def test_distance_of_rectangles():
    assert area_distance(Area(0, 0, 2, 2), Area(5, 6, 1, 1)) == 5
    assert area_distance(Area(5, 6, 1, 1), Area(0, 0, 2, 2)) == 5
    assert area_distance(Area(0, 0, 2, 2), Area(2, 0, 2, 2)) == 0


def test_volumes():
    # A hemisphere of radius 0.8 is 2/3 pi r**3; 0.2 mm more of height is a cylinder of pi r**2 x
    # 0.2 beneath.
    hemisphere = 2 / 3 * math.pi * 0.8**3
    assert dot_volume(1.6, 0.8) == pytest.approx(hemisphere)
    assert dot_volume(1.6, 1.0) == pytest.approx(hemisphere + math.pi * 0.64 * 0.2)
    assert dot_volume(1.6, 0.6) == pytest.approx(math.pi * 0.6 * (3 * 0.64 + 0.36) / 6)
    found = braille_layout("⠿", at=(0, 0), **MARBURG)
    assert found.volume(0.8) == pytest.approx(6 * hemisphere)
    assert found.base_area == pytest.approx(6 * math.pi * 0.64)


@pytest.mark.parametrize("name", ADA)
@pytest.mark.parametrize("value", [0, -1, math.nan, math.inf])
def test_lengths_must_be_above_nought(name, value):
    with pytest.raises(ValueError, match=name):
        braille_layout("⠁", at=(0, 0), **(ADA | {name: value}))


def test_other_faults():
    with pytest.raises(ValueError, match="braille pattern"):
        braille_layout("a", at=(0, 0), **ADA)
    with pytest.raises(ValueError, match="at"):
        braille_layout("⠁", at=(math.nan, 0), **ADA)


@given(texts, sizes, places)
def test_the_dots_are_counted_by_their_bits(text, size, at):
    wanted = sum((ord(char) - 0x2800).bit_count() for char in text if char >= "\u2800")
    assert braille_layout(text, at=at, **size).count == wanted


@given(texts, sizes, places, places)
def test_moving_the_text_moves_every_dot(text, size, at, by):
    here = braille_layout(text, at=at, **size)
    there = braille_layout(text, at=(at[0] + by[0], at[1] + by[1]), **size)
    near(there.dots, [(x + by[0], y + by[1]) for x, y in here.dots])


@given(texts, sizes, places)
def test_extents_contain_every_dot_and_touch_the_outermost(text, size, at):
    found = braille_layout(text, at=at, **size)
    around, radius = found.extents, size["dot_diameter"] / 2
    assert (around is None) == (found.count == 0)
    if around is None:
        return
    left, low = around.x, around.y
    right, high = left + around.width, low + around.height
    assert all(left - 1e-9 <= x - radius and x + radius <= right + 1e-9 for x, _ in found.dots)
    assert all(low - 1e-9 <= y - radius and y + radius <= high + 1e-9 for _, y in found.dots)
    assert min(x for x, _ in found.dots) - radius == pytest.approx(left)
    assert max(y for _, y in found.dots) + radius == pytest.approx(high)
    assert found.fits(around.width, around.height)
    for area in found.areas():
        assert area_distance(area, around) == 0
