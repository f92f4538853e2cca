"""Braille that is drawn reads back as the same cells, and what is drawn wrongly is told.

Dots are placed by the numbers of the Unicode Standard alone; faults are made one at a time.
"""

from __future__ import annotations

import math
import random

import pytest
import shapely
from drawn_artwork import (
    CELL,
    DOT,
    LINE,
    STEP,
    circle,
    circle_ring,
    dot_centres,
    dot_shapes,
    rectangle,
    ring_shape,
)
from effort import effort
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from signrules.artwork.braille_reading import read_braille
from signrules.artwork.drawing import Shape

ROOM = ("⠗⠕⠕⠍⠀⠼⠃⠁⠙", "⠎⠞⠁⠋⠋⠀⠕⠝⠇⠽")
WITHIN_MM = 0.002


def only_block(shapes):
    reading = read_braille(shapes)
    assert reading.faults == ()
    [block] = reading.blocks
    return block


def test_a_sign_reads_back():
    block = only_block(dot_shapes(dot_centres(ROOM)))
    assert block.lines == ROOM
    assert block.assumed == ()
    assert block.turned == pytest.approx(0)
    for found, drawn in (
        (block.dot_diameter, DOT),
        (block.dot_spacing, STEP),
        (block.cell_spacing, CELL),
        (block.line_spacing, LINE),
    ):
        assert found.low == pytest.approx(drawn, abs=WITHIN_MM)
        assert found.high == pytest.approx(drawn, abs=WITHIN_MM)
    assert block.starts[0] == pytest.approx((20, 100), abs=WITHIN_MM)


cells = st.integers(1, 63).map(lambda bits: chr(0x2800 + bits))
words = st.text(cells, min_size=1, max_size=7)
texts = st.lists(st.lists(words, min_size=1, max_size=3).map("⠀".join), min_size=1, max_size=4)


def is_decidable(lines):
    """Whether every line has dots in the first and the third row, and on both sides of cells;
    and some cell two neighbouring dots.
    """
    for line in lines:
        dots = {dot for pattern in line for dot in DOTS_OF[pattern]}
        if not (dots & {1, 4} and dots & {3, 6} and dots & {1, 2, 3} and dots & {4, 5, 6}):
            return False
    patterns = [pattern for line in lines for pattern in line]
    return len(patterns) > 2 and any(
        DOTS_OF[each] & {1, 3} and 2 in DOTS_OF[each] for each in patterns
    )


DOTS_OF = {
    chr(0x2800 + bits): {dot for dot in range(1, 7) if bits >> (dot - 1) & 1} for bits in range(64)
}


@pytest.mark.thorough
@settings(max_examples=effort(500))
@given(texts, st.floats(-4, 4), st.floats(2.3, 2.5), st.floats(6.1, 7.6), st.floats(10.0, 10.2))
def test_random_cells_read_back(lines, turn, step, cell, line):
    assume(is_decidable(lines))
    centres = dot_centres(lines, turn=turn, step=step, cell=cell, line=line)
    reading = read_braille(dot_shapes(centres))
    assert reading.faults == ()
    [block] = reading.blocks
    if block.lines != tuple(lines):
        assert block.assumed
    elif not block.assumed:
        assert block.turned == pytest.approx(turn, abs=0.01)
        assert block.dot_spacing.nominal == pytest.approx(step, abs=WITHIN_MM)
        assert block.dot_diameter.nominal == pytest.approx(DOT, abs=WITHIN_MM)


@pytest.mark.thorough
@settings(max_examples=effort(500))
@given(texts)
def test_cells_that_are_not_read_back_are_said_to_be_unsure(lines):
    reading = read_braille(dot_shapes(dot_centres(lines)))
    assert reading.faults == ()
    read = [line for block in reading.blocks for line in block.lines]
    assert read == lines or any(block.assumed for block in reading.blocks)


def random_texts(count):
    """Words of the letters of the English braille alphabet, as signs have them."""
    randoms = random.Random(5)
    letters = "⠁⠃⠉⠙⠑⠋⠛⠓⠊⠚⠅⠇⠍⠝⠕⠏⠟⠗⠎⠞⠥⠧⠺⠭⠽⠵"
    for _ in range(count):
        lines = []
        for _ in range(randoms.randint(1, 3)):
            words = ["".join(randoms.choices(letters, k=randoms.randint(2, 8))) for _ in "ab"]
            lines.append("⠀".join(words))
        if is_decidable(lines):
            yield lines


@pytest.mark.thorough
def test_random_words_read_back_without_doubt():
    read = 0
    for lines in random_texts(effort(500)):
        assert list(only_block(dot_shapes(dot_centres(lines))).lines) == lines
        read += 1
    assert read > effort(500) // 2


@pytest.mark.thorough
def test_a_moved_dot_is_found():
    randoms = random.Random(11)
    found = 0
    for lines in random_texts(effort(300)):
        centres = dot_centres(lines)
        at = randoms.randrange(len(centres))
        x, y = centres[at]
        off = randoms.choice([(0.3, 0), (0, 0.3), (-0.3, 0), (0, -0.3), (0.25, 0.25)])
        centres[at] = (x + off[0], y + off[1])
        faults = read_braille(dot_shapes(centres)).faults
        assert [fault.kind for fault in faults] == ["stray"], (lines, at, off, faults)
        assert faults[0].at == pytest.approx(centres[at])
        found += 1
    assert found > effort(300) // 2


def test_a_doubled_dot_is_found():
    centres = dot_centres(ROOM)
    for off in (0.0, 0.1, 0.3):
        x, y = centres[7]
        faults = read_braille(dot_shapes([*centres, (x + off, y)])).faults
        assert faults[0].kind == "doubled"
        assert faults[0].at == pytest.approx((x, y))


def test_a_dropped_dot_reads_as_another_cell():
    """Nothing in the dots tells: it is for the text to tell, as the docstring says."""
    lines = ("⠗⠕⠕⠍⠀⠼⠃⠁⠙",)
    centres = dot_centres(lines)
    read = only_block(dot_shapes(centres[1:])).lines
    assert read != lines
    assert len(read[0]) == len(lines[0])


def test_mirrored_dots_read_as_other_cells():
    centres = [(200 - x, y) for x, y in dot_centres(("⠗⠕⠕⠍⠀⠼⠃⠁⠙",))]
    assert only_block(dot_shapes(centres)).lines == ("⠋⠈⠘⠧⠀⠩⠪⠪⠺",)


def test_touching_dots_are_found():
    centres = dot_centres(ROOM)
    faults = read_braille(dot_shapes(centres, diameter=STEP)).faults
    assert {fault.kind for fault in faults} == {"touching"}


def test_a_dot_of_another_size_is_found():
    shapes = dot_shapes(dot_centres(ROOM))
    x, y = dot_centres(ROOM)[4]
    shapes[4] = circle(x, y, 1.2)
    [fault] = read_braille(shapes).faults
    assert (fault.kind, fault.at) == ("odd size", pytest.approx((x, y)))


def test_a_dot_with_an_outline_is_one_dot_and_an_outline_alone_is_none():
    centres = dot_centres(ROOM)
    filled = dot_shapes(centres, diameter=1.45)
    outlines = [ring_shape(x, y, DOT, 0.1) for x, y in centres]
    block = only_block([*filled, *outlines])
    assert block.lines == ROOM
    assert block.dot_diameter.nominal == pytest.approx(DOT, abs=WITHIN_MM)
    assert {fault.kind for fault in read_braille(outlines).faults} == {"hollow"}


def test_shapes_that_are_no_dots_are_given_back():
    square = rectangle(50, 50, 1.5, 1.5)
    oval = Shape(tuple((x, 2 * y) for x, y in circle_ring(10, 10, 1.5)))
    line = rectangle(0, 0, 100, 0.1)
    reading = read_braille([*dot_shapes(dot_centres(ROOM)), square, oval, line, Shape(())])
    assert reading.others == (square, oval, line, Shape(()))


def test_a_block_that_runs_upwards_is_refused():
    faults = read_braille(dot_shapes(dot_centres(ROOM, turn=90))).faults
    assert [fault.kind for fault in faults] == ["turned"]


def test_two_blocks_are_read_apart():
    high = dot_centres(("⠗⠕⠕⠍",), at=(20, 150))
    low = dot_centres(("⠎⠞⠁⠋⠋",), at=(120, 50), turn=2)
    blocks = read_braille(dot_shapes([*low, *high])).blocks
    assert [block.lines for block in blocks] == [("⠗⠕⠕⠍",), ("⠎⠞⠁⠋⠋",)]
    assert blocks[1].turned == pytest.approx(2, abs=0.01)


@pytest.mark.parametrize("lines", [("⠁",), ("⠁⠁",), ("⠁⠃⠉",), ("⠤",), ("⠉⠁⠋⠑",)])
def test_few_dots_are_read_as_upper_left_ones_and_said_to_be_unsure(lines):
    block = only_block(dot_shapes(dot_centres(lines)))
    assert block.assumed
    if lines != ("⠤",):
        assert block.lines == lines


def test_lines_that_are_centred_have_starts_of_their_own():
    first = dot_centres(("⠗⠕⠕⠍⠀⠼⠃⠁⠙",), at=(20, 100))
    second = dot_centres(("⠎⠞⠁⠋⠋",), at=(20 + 2.3 * CELL, 100 - LINE))
    block = only_block(dot_shapes([*first, *second]))
    assert block.lines == ("⠗⠕⠕⠍⠀⠼⠃⠁⠙", "⠎⠞⠁⠋⠋")


def test_no_dots_give_no_blocks():
    assert read_braille([]).blocks == ()


def pixel_disc(x, y, diameter, pixel):
    """The outline of the pixels whose middles lie in a circle."""
    radius, boxes = diameter / 2, []
    for column in range(math.floor((x - radius) / pixel), math.ceil((x + radius) / pixel)):
        for row in range(math.floor((y - radius) / pixel), math.ceil((y + radius) / pixel)):
            if math.dist(((column + 0.5) * pixel, (row + 0.5) * pixel), (x, y)) <= radius:
                boxes.append(shapely.box(column, row, column + 1, row + 1))
    corners = shapely.union_all(boxes).exterior.coords[:-1]
    return Shape(tuple((column * pixel, row * pixel) for column, row in corners))


@pytest.mark.thorough
def test_dots_of_pixels_are_measured_to_half_a_pixel():
    pixel = 25.4 / 600
    block = only_block([pixel_disc(x, y, DOT, pixel) for x, y in dot_centres(ROOM)])
    assert block.lines == ROOM
    for found, drawn in (
        (block.dot_diameter, DOT),
        (block.dot_spacing, STEP),
        (block.cell_spacing, CELL),
        (block.line_spacing, LINE),
    ):
        assert abs(found.low - drawn) <= pixel / 2
        assert abs(found.high - drawn) <= pixel / 2


def test_a_line_without_upper_dots_is_put_where_lines_lie():
    """The middle line has dots in its second row alone; those above and below it tell which."""
    lines = ("⠗⠕⠕⠍", "⠒⠒⠒", "⠎⠞⠁⠋⠋⠇")
    assert only_block(dot_shapes(dot_centres(lines))).lines == lines
    # With one line beside it, the usual distance of lines tells, which stays a guess.
    block = only_block(dot_shapes(dot_centres(lines[:2])))
    assert block.lines == lines[:2]
    assert any("rows" in assumed for assumed in block.assumed)


@pytest.mark.thorough
def test_very_many_dots_are_refused():
    dots = [(4 * column, 4 * row) for column in range(142) for row in range(142)]
    reading = read_braille([Shape(circle_ring(x, y, 1.5, chords=8)) for x, y in dots])
    assert reading.blocks == ()
    assert "more than 20,000" in reading.faults[-1].text


def test_crossed_and_flat_outlines_are_no_dots():
    flat = Shape(((0, 0), (1, 0), (2, 0)))
    assert read_braille([flat]).others == (flat,)
