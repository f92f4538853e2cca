"""Why dots lie in no cell: each slip is drawn by itself, and told in numbers."""

from __future__ import annotations

import math
import random
import re

import pytest
from drawn_artwork import CELL, LINE, STEP, circle, dot_centres, dot_shapes, ring_shape
from effort import first_quick

from signrules.artwork.braille_reading import read_braille
from signrules.artwork.drawing import Shape

FIRST, SECOND = "⠞⠕⠊⠇⠑⠞", "⠅⠊⠕⠎⠅⠀⠼⠋"
FIRST_AT, SECOND_AT = (20.0, 100.0), (20.0, 100.0 - LINE)


def read(*centres):
    return read_braille(dot_shapes([place for some in centres for place in some]))


def moved(centres, right=0.0, up=0.0):
    return [(x + right, y + up) for x, y in centres]


def scaled(centres, factor, diameter):
    return read_braille([circle(x * factor, y * factor, diameter * factor) for x, y in centres])


def test_lines_of_unlike_spacing_are_read_and_both_spacings_told():
    wide = 1.07
    second = [(20 + (x - 20) * wide, y) for x, y in dot_centres([SECOND], at=SECOND_AT)]
    reading = read(dot_centres([FIRST]), second)
    assert reading.faults == ()
    [block] = reading.blocks
    assert block.lines == (FIRST, SECOND)
    assert block.cell_spacing.low == pytest.approx(CELL, abs=0.002)
    assert block.cell_spacing.high == pytest.approx(CELL * wide, abs=0.002)
    assert block.line_spacing.nominal == pytest.approx(LINE, abs=0.002)
    [told] = block.assumed
    # By hand: 2.34 * 1.07 = 2.504 along the line, 6.2 * 1.07 = 6.634.
    assert "dots 2.34 to 2.50 mm and cells 6.63 mm" in told
    assert "dots 2.34 mm and cells 6.20 mm" in told


def test_lines_too_near_to_each_other_are_read_with_their_distance():
    reading = read(dot_centres([FIRST, SECOND], line=8.0))
    assert reading.faults == ()
    [block] = reading.blocks
    assert block.line_spacing.nominal == pytest.approx(8.0, abs=0.002)


def test_a_word_that_is_moved_is_told_by_how_much():
    words = dot_centres(["⠅⠊⠕⠎⠅"], at=SECOND_AT)
    number = dot_centres(["⠼⠋"], at=(20 + 6 * CELL, SECOND_AT[1]))
    [fault] = read(dot_centres([FIRST]), words, moved(number, right=0.35)).faults
    assert "⠼⠋ at 57.550, 89.900 mm lies 0.35 mm too far to the right" in fault.text
    [fault] = read(dot_centres([FIRST]), words, moved(number, right=-0.3, up=0.2)).faults
    assert "0.30 mm too far to the left and 0.20 mm too high" in fault.text


def test_a_line_that_is_moved_from_one_column_on_is_told():
    """The right column of a cell and all after it: no blank cell parts them."""
    centres = dot_centres([FIRST])
    edge = 20 + 3 * CELL + STEP / 2
    [fault] = read([(x + 0.4 if x > edge else x, y) for x, y in centres]).faults
    assert "0.40 mm too far to the right" in fault.text


def test_a_lone_stray_dot_is_told_by_itself():
    centres = dot_centres([FIRST])
    centres[4] = (centres[4][0] + 0.3, centres[4][1])
    [fault] = read(centres).faults
    assert fault.kind == "stray"


@pytest.mark.parametrize(
    ("factor", "units"),
    [(0.75, "72 units to the inch read as 96"), (4 / 3, "96 units to the inch read as 72")],
)
def test_a_wrong_scale_is_told(factor, units):
    reading = scaled(dot_centres([FIRST, SECOND]), factor, 1.6)
    told = [fault.text for fault in reading.faults]
    told += [words for block in reading.blocks for words in block.assumed]
    [words] = [text for text in told if "wrong scale" in text]
    assert units in words


@pytest.mark.parametrize(
    ("factor", "diameter"), [(0.75, 2.0), (0.75, 1.6), (10.0, 0.16), (25.4, 0.06)]
)
def test_a_wrong_scale_of_spacings_is_told_whatever_the_dots(factor, diameter):
    reading = scaled(dot_centres([FIRST, SECOND]), factor, diameter)
    told = [fault.text for fault in reading.faults]
    told += [words for block in reading.blocks for words in block.assumed]
    [words] = [text for text in told if "wrong scale" in text]
    low, high = (float(part) for part in re.search(r"all (\d+) to (\d+) %", words).groups())
    # By hand: 2.34, 6.2 and 10.1 mm are usual themselves, so the share is that of the factor.
    assert low - 1 <= 100 * factor <= high + 1


def test_one_spacing_that_is_off_is_no_wrong_scale():
    """Cells 5.9 mm apart, dots 2.4 and lines 10.1: two of the three are usual."""
    reading = read(dot_centres([FIRST, SECOND], step=2.4, cell=5.9, line=10.1))
    [block] = reading.blocks
    assert (reading.faults, block.assumed) == ((), ())


def test_a_usual_size_is_not_told():
    [block] = read(dot_centres([FIRST, SECOND])).blocks
    assert block.assumed == ()


def test_dots_that_are_no_braille_at_any_size_are_told_one_by_one():
    places = [(20, 100), (21.2, 100), (23.1, 100.6), (24.9, 101.5), (26.2, 100.1), (27.9, 99.0)]
    reading = read_braille([circle(x, y, 0.8) for x, y in places])
    assert reading.faults
    assert not any("wrong scale" in fault.text for fault in reading.faults)


def test_ovals_are_measured():
    ring = circle(20, 100, 1.6).outline
    flat = Shape(tuple((x, 100 + (y - 100) * 0.95) for x, y in ring))
    [block] = read_braille([flat, circle(22.34, 100, 1.6), circle(20, 97.66, 1.6)]).blocks
    assert max(dot.oval for dot in block.dots) == pytest.approx(1 / 0.95, abs=0.002)


def uneven(centres, most, seed):
    """Dots that lie off their places by up to so many mm along x and along y."""
    drawn = random.Random(seed)
    return [(x + drawn.uniform(-most, most), y + drawn.uniform(-most, most)) for x, y in centres]


@pytest.mark.parametrize("seed", first_quick(3, range(12), pytest.mark.thorough))
def test_dots_that_lie_a_little_off_their_places_are_read(seed):
    centres = dot_centres([FIRST, SECOND], at=FIRST_AT)
    reading = read(uneven(centres, 0.05, seed))
    assert reading.faults == ()
    [block] = reading.blocks
    assert block.lines == (FIRST, SECOND)
    # Two neighbours lie off by 0.05 mm each, and circles are chords here.
    low, high = block.dot_spacing.low, block.dot_spacing.high
    assert STEP - 0.11 < low < STEP - 0.02
    assert STEP + 0.02 < high < STEP + 0.11


@pytest.mark.parametrize("seed", range(12))
def test_dots_that_are_told_as_far_off_are(seed):
    """Of dots that lie up to 0.09 mm off both ways, and one that lies 0.3 mm off."""
    centres = dot_centres([FIRST, SECOND])
    drawn = uneven(centres, 0.09, seed)
    drawn[9] = (centres[9][0] + 0.3, centres[9][1])
    reading = read(drawn)
    assert reading.faults
    assert {fault.kind for fault in reading.faults} == {"stray"}
    places = {place: at for at, place in enumerate(drawn)}
    for fault in reading.faults:
        nearest = min(places, key=lambda place: math.dist(place, fault.at))
        off = max(abs(a - b) for a, b in zip(nearest, centres[places[nearest]], strict=True))
        # The lattice of uneven dots is known to some hundredths of a millimetre.
        assert off > 0.1 - 0.05


def test_many_dots_that_are_rings_are_one_fault():
    rings = [ring_shape(x, y, 1.55, 0.5) for x, y in dot_centres([FIRST])]
    [fault] = read_braille(rings).faults
    assert f"{len(rings)} dots are drawn as rings, the first at" in fault.text
    assert [one.kind for one in read_braille(rings[:3]).faults] == ["hollow"] * 3
