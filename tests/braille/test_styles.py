"""Whether cells say a text in some style: word for word, in one grade from end to end."""

from __future__ import annotations

import pytest

from signrules.braille.styles import grade_of_cells, says_the_text
from signrules.model.sign import CONTRACTED, UNCONTRACTED, Braille

TEXT = ["STAFF", "ONLY"]
PLAIN, SHORT = "⠎⠞⠁⠋⠋⠀⠕⠝⠇⠽", "⠌⠁⠋⠋⠀⠕⠝⠇⠽"
"""Letter by letter, and with the groupsign for st, dots 34 (The Rules of Unified English Braille,
2013, 10.4, from memory).
"""


def nobody(grade, line):
    return None


@pytest.mark.parametrize("cells", [PLAIN, SHORT, PLAIN.replace("⠀", "\n"), "⠎⠞⠁⠤\n⠋⠋⠀⠕⠝⠇⠽"])
def test_a_text_is_said_in_either_grade_on_any_lines(cells):
    assert says_the_text(Braille(cells=cells), TEXT, nobody)


@pytest.mark.parametrize(
    "cells",
    ["", "⠎⠞⠁⠋⠋", f"{PLAIN}⠀⠕⠝⠇⠽", "⠎⠞⠁⠋⠋⠕⠝⠇⠽", "⠎⠞⠁⠋⠋⠀⠕⠝⠇⠑", "⠎⠞⠁⠤⠋⠋⠀⠕⠝⠇⠽"],
)
def test_another_number_of_words_or_another_word_is_another_text(cells):
    assert not says_the_text(Braille(cells=cells), TEXT, nobody)


def by_letters(grade, line):
    """Letter by letter, but for st and then only in contracted braille."""
    cells = {"s": "⠎", "t": "⠞", "a": "⠁", "f": "⠋", "o": "⠕", "n": "⠝", "l": "⠇", "y": "⠽"}
    said = "".join(cells.get(letter, "⠀") for letter in line.lower())
    return said.replace("⠎⠞", "⠌") if grade == CONTRACTED else said


def test_the_grade_of_cells_is_that_in_which_they_are_what_a_translator_writes():
    for cells, grade in ((PLAIN, UNCONTRACTED), (SHORT, CONTRACTED), ("⠕⠝", None), (None, None)):
        assert grade_of_cells(Braille(cells=cells), TEXT, by_letters) == grade
    # What both grades write alike is of neither.
    assert grade_of_cells(Braille(cells="⠕⠝⠇⠽"), ["ONLY"], by_letters) is None
    assert grade_of_cells(Braille(cells=PLAIN), TEXT, nobody) is None
