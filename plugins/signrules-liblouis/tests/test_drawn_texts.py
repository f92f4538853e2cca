"""Braille of 500 random texts: written by liblouis, drawn, and read back from its dots.

Dots are placed by the numbers of the Unicode Standard alone. Then one of them is moved, dropped or
drawn twice, or all are mirrored: it is found in the dots, or, where dots alone do not tell, in the
text.
"""

from __future__ import annotations

import math
import os
import random
from pathlib import Path

import pytest
from signrules_liblouis.binding import LiblouisError, liblouis
from signrules_liblouis.plugin import signrules_translate_braille

from signrules import Shape
from signrules.artwork.braille_reading import read_braille
from signrules.artwork.orientation import turned_over
from signrules.braille.cells import joined_cells
from signrules.braille.styles import says_the_text
from signrules.model.sign import Braille

try:
    liblouis()
except LiblouisError as error:
    pytest.skip(str(error), allow_module_level=True)

TEXTS = Path(__file__).with_name("sign_texts.txt").read_text("utf-8").split("\n")[:-1]
COUNT = 500
FULL = bool(os.environ.get("SIGNRULES_FULL") or os.environ.get("SIGNRULES_LONG"))
SPOILED = COUNT if FULL else COUNT // 10
"""As many texts are drawn with a fault."""

DIAMETER, STEP, CELL, LINE = 1.55, 2.34, 6.2, 10.1
"""Within the 2010 ADA Standards, table 703.3.1, in mm."""

CORNERS = [(math.cos(math.pi * at / 16), math.sin(math.pi * at / 16)) for at in range(32)]


def drawn_texts(count):
    """Lines of a sign, two or three, with a number in some: the same ones each time."""
    randoms = random.Random(21)
    for _ in range(count):
        lines = randoms.choices(TEXTS, k=randoms.randint(2, 3))
        if randoms.random() < 0.5:
            lines.append(f"room {randoms.randint(1, 999)}")
        yield randoms, tuple(lines)


def translated(line, grade):
    cells = signrules_translate_braille(line, grade, "en")
    assert cells is not None
    return joined_cells(cells)


def cells_of(lines, grade="contracted"):
    return tuple(translated(line, grade) for line in lines)


def centres_of(cells):
    """The places of the dots: dots 1 to 3 go down the left side of a cell, 4 to 6 the right."""
    return [
        (20 + at * CELL + side * STEP, 200 - row * LINE - level * STEP)
        for row, line in enumerate(cells)
        for at, cell in enumerate(line)
        for side in (0, 1)
        for level in (0, 1, 2)
        if (ord(cell) - 0x2800) >> (3 * side + level) & 1
    ]


def shapes_of(centres):
    radius = DIAMETER / 2
    return [
        Shape(tuple((x + radius * across, y + radius * along) for across, along in CORNERS))
        for x, y in centres
    ]


def lines_read(centres):
    reading = read_braille(shapes_of(centres))
    assert reading.faults == ()
    return tuple(line for block in reading.blocks for line in block.lines)


def says(cells, lines):
    braille = Braille(cells="\n".join(cells))
    return says_the_text(braille, lines, lambda grade, line: translated(line, grade))


def test_what_is_drawn_is_read_back():
    equal = 0
    for randoms, lines in drawn_texts(COUNT):
        cells = cells_of(lines, randoms.choice(["contracted", "uncontracted"]))
        assert lines_read(centres_of(cells)) == cells, lines
        equal += 1
    assert equal == COUNT


def test_a_dot_that_is_moved_is_found():
    for randoms, lines in drawn_texts(SPOILED):
        centres = centres_of(cells_of(lines))
        at = randoms.randrange(len(centres))
        x, y = centres[at]
        angle = randoms.uniform(0, 2 * math.pi)
        # Less than a quarter of the way to the next dot, more than what the lattice allows.
        off = randoms.uniform(0.25, 0.55)
        centres[at] = (x + off * math.cos(angle), y + off * math.sin(angle))
        faults = read_braille(shapes_of(centres)).faults
        strays = [fault.at for fault in faults if fault.kind == "stray"]
        # Where the dot stands nearly alone, its cells are taken for moved: the first dot of them is
        # told, which lies a few cells away at most.
        moved = [fault.at for fault in faults if fault.kind == "moved"]
        found = any(math.dist(place, centres[at]) < 0.01 for place in strays)
        beside = any(math.dist(place, centres[at]) < 20 for place in moved)
        assert found or beside, (lines, centres[at])


def test_a_dot_that_is_drawn_twice_is_found():
    for randoms, lines in drawn_texts(SPOILED):
        centres = centres_of(cells_of(lines))
        twice = randoms.choice(centres)
        [fault] = read_braille(shapes_of([*centres, twice])).faults
        assert fault.kind == "doubled"
        assert fault.at == pytest.approx(twice, abs=1e-6)


def test_a_dot_that_is_missing_is_found_by_the_text():
    for randoms, lines in drawn_texts(SPOILED):
        cells = cells_of(lines)
        assert says(cells, lines)
        centres = centres_of(cells)
        centres.pop(randoms.randrange(len(centres)))
        read = lines_read(centres)
        assert read != cells
        assert not says(read, lines), (lines, read)


def test_braille_that_is_mirrored_is_found_by_the_text():
    for _, lines in drawn_texts(SPOILED):
        read = lines_read([(300 - x, y) for x, y in centres_of(cells_of(lines))])
        found = turned_over(read, lines, lambda grade, line: translated(line, grade))
        assert found == "that is mirrored from left to right", lines
