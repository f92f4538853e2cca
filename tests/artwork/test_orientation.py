"""Braille that is turned over is found by its text; the dots are moved by plain geometry here."""

from __future__ import annotations

import pytest
from drawn_artwork import dot_centres, dot_shapes

from signrules.artwork.braille_reading import read_braille
from signrules.artwork.orientation import TURNS, flipped, mirrored, turned_over, upended

LINES = ("⠗⠕⠕⠍⠀⠼⠃⠁⠙", "⠎⠞⠁⠋⠋")
TEXT = ("ROOM 214", "STAFF")


def untranslated(grade, text):
    """No translator: English is read by the core itself."""
    return


def read_when(moved, lines=LINES):
    centres = [moved(x, y) for x, y in dot_centres(lines)]
    [block] = read_braille(dot_shapes(centres)).blocks
    return block.lines


MOVES = {
    "mirrored from left to right": lambda x, y: (200 - x, y),
    "mirrored from top to bottom": lambda x, y: (x, 200 - y),
    "on its head": lambda x, y: (200 - x, 200 - y),
}


@pytest.mark.parametrize("words", MOVES)
def test_what_happened_is_named(words):
    read = read_when(MOVES[words])
    assert read != LINES
    assert turned_over(read, TEXT, untranslated) == f"that is {words}"


@pytest.mark.parametrize("words", MOVES)
def test_dots_that_may_lie_elsewhere_in_their_cells_are_named_too(words):
    """All dots of this word lie on the left side."""
    read = read_when(MOVES[words], ("⠁⠇⠇",))
    assert turned_over(read, ("ALL",), untranslated) in {f"that is {move}" for move in MOVES}


def test_braille_that_says_its_text_is_left_alone():
    assert turned_over(read_when(lambda x, y: (x, y)), TEXT, untranslated) is None


def test_braille_of_another_text_is_left_to_the_rules():
    assert turned_over(LINES, ("EXIT",), untranslated) is None


def test_each_turn_undoes_itself():
    for turn in (mirrored, flipped, upended):
        assert turn(turn(LINES)) == LINES
        assert turn(LINES) != LINES


def test_dots_in_lower_rows_are_pushed_up():
    """Mirrored from top to bottom, CAFE has dots in lower rows alone, and is read as upper ones."""
    cafe = ("⠉⠁⠋⠑",)
    read = read_when(MOVES["mirrored from top to bottom"], cafe)
    assert turned_over(read, ("CAFE",), untranslated) is not None


@pytest.mark.parametrize(("words", "turn"), [(words, turn) for words, turn in TURNS.items()])
def test_one_line_that_is_turned_over_is_named(words, turn):
    lines = ("⠗⠕⠕⠍", "⠎⠞⠁⠋⠋")
    [second] = turn(lines[1:])
    turned_line = f"whose line 2 is {words}"
    assert turned_over((lines[0], second), ("ROOM", "STAFF"), untranslated) == turned_line
    assert turned_over((lines[0], second), ("ROOM", "HALL"), untranslated) is None
