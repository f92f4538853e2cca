"""What English braille says when it is read.

Contractions and their places are those of The Rules of Unified English Braille, second edition 2013
(sections beside the examples), from memory; the plugin for liblouis compares the reader with that
library on some hundreds of texts.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules.braille.cells import BLANK, DIGITS, LETTERS
from signrules.braille.contractions import (
    ALONE,
    ANYWHERE,
    FINAL,
    GROUPS,
    INITIAL,
    SHORTFORMS,
    WORDS_OR_GROUPS,
    WORDSIGNS,
)
from signrules.braille.reading_back import as_read, in_words, readings_of_word

BOTH = ("contracted", "uncontracted")


@pytest.mark.parametrize(
    ("cells", "text"),
    [
        # 10.1 to 10.5 wordsigns; also in front of an apostrophe and between hyphens (2.6)
        ("⠃", "but"),
        ("⠭⠄⠎", "it's"),
        ("⠔⠤⠏⠁⠞⠊⠢⠞", "in-patient"),
        ("⠠⠠⠴", "was"),
        ("⠐⠣⠔⠐⠜", "(in)"),
        # 10.4.3, 10.6: by the place in the word
        ("⠆⠇⠕⠉⠅", "belock"),
        ("⠇⠕⠆⠽", "lobby"),
        ("⠇⠕⠆", "lo;"),
        ("⠒⠋⠻⠰⠑", "conference"),
        ("⠁⠒⠑⠎⠎", "access"),
        ("⠗⠕⠕⠍⠒", "room:"),
        ("⠲⠁⠃⠇⠫", "disabled"),
        ("⠠⠲⠁⠃⠇⠫", "disabled"),
        ("⠃⠗⠂⠅", "break"),
        ("⠃⠗⠂", "br,"),
        ("⠌⠁⠖", "sta!"),
        ("⠌⠁⠖⠎", "staffs"),
        # 10.7, 10.8
        ("⠏⠓⠐⠕", "phone"),
        ("⠗⠑⠉⠑⠏⠰⠝", "reception"),
        ("⠢⠞⠗⠨⠑", "entrance"),
        # 10.9
        ("⠋⠌", "first"),
        ("⠡⠝⠄⠎", "children's"),
        # 5, 8: indicators
        ("⠰⠃", "b"),
        ("⠰⠠⠃", "b"),
        ("⠰⠠⠠⠉⠙", "cd"),
        ("⠠⠠⠉⠙", "could"),
        ("⠰⠰⠎⠞⠁⠊⠗", "stair"),
        ("⠠⠠⠠⠌⠁⠊⠗⠠⠄", "stair"),
        ("⠠⠍⠉⠠⠙⠕⠝⠁⠇⠙", "mcdonald"),
        # 6
        ("⠼⠁⠚⠁⠰⠁", "101a"),
        ("⠼⠁⠚⠁⠠⠁", "101a"),
        ("⠼⠁⠚⠁⠁", "1011"),
        ("⠼⠁⠎⠞", "1st"),
        ("⠼⠉⠼⠁⠌⠃", "3 1/2"),
        ("⠼⠛⠒⠼⠉⠚", "7:30"),
        ("⠼⠃⠲⠑", "2.5"),
        ("⠼⠁⠂⠚⠚⠚⠲", "1,000."),
        # 3, 7
        ("⠼⠑⠚⠨⠴", "50%"),
        ("⠠⠗⠈⠯⠠⠙", "r&d"),
        ("⠁⠸⠌⠉", "a/c"),
        ("⠠⠚⠲⠠⠗⠲", "j.r."),
        ("⠦⠔⠴", '"in"'),
        ("⠓⠕⠝⠦", "hon?"),
    ],
)
def test_contracted(cells, text):
    assert readings_of_word(cells, "contracted")[0] == text


@pytest.mark.parametrize(
    ("cells", "text"),
    [
        ("⠃", "b"),
        ("⠎⠞⠁⠊⠗", "stair"),
        ("⠠⠠⠉⠙", "cd"),
        ("⠼⠁⠃⠃⠲", "122."),
        ("⠐⠣⠊⠝⠐⠜", "(in)"),
        ("⠌⠁⠊⠗", None),
    ],
)
def test_uncontracted(cells, text):
    assert in_words(cells, "uncontracted") == text


@pytest.mark.parametrize(
    ("cells", "text"),
    [("⠋⠗⠇⠽", "friendly"), ("⠁⠋⠝⠎", "afternoons"), ("⠥⠝⠝⠑⠉", "unnecessary"), ("⠛⠙⠰⠎", "goodness")],
)
def test_shortforms_within_longer_words(cells, text):
    assert text in readings_of_word(cells, "contracted")


@pytest.mark.parametrize(
    "cells", ["⠲", "⠠", "⠰⠰⠌", "⠼", "⠼⠗⠕⠕⠍", "⠐⠠⠍", "⠍⠠", "⣿", "⠘⠌⠑", "⠨", "⠐"]
)
def test_what_cannot_be_read(cells):
    assert readings_of_word(cells, "contracted") == ()
    assert in_words(f"⠁⠀{cells}", "contracted") is None


@pytest.mark.parametrize(
    ("word", "plain"),
    [
        ("MEN", "men"),
        ("3½", "3 1/2"),
        ("½", "1/2"),
        ("WOMEN’S", "women's"),
        ("A—B", "a–b"),
        ("“IN”", '"in"'),
    ],
)
def test_a_word_of_a_text(word, plain):
    assert as_read(word) == plain


def test_numbers_of_contractions():
    # 10.1, 10.2, 10.5: 23 alphabetic, 6 strong, 6 lower wordsigns; 10.3: 5; 10.4: 12 groupsigns,
    # and en, in; 10.7: 33; 10.8: 12; appendix 1: 75 shortforms.
    tables = (WORDSIGNS, WORDS_OR_GROUPS, GROUPS, INITIAL, FINAL, SHORTFORMS)
    assert [len(table) for table in tables] == [23 + 6 + 6, 5, 12 + 2, 33, 12, 75]
    assert (len(ALONE), len(ANYWHERE)) == (35 + 5 + 75, 5 + 14)


@given(st.text(tuple(LETTERS.values()), min_size=1, max_size=12))
def test_plain_letters_are_themselves_in_uncontracted_braille(cells):
    letters = {cell: letter for letter, cell in LETTERS.items()}
    assert readings_of_word(cells, "uncontracted") == ("".join(letters[cell] for cell in cells),)


@given(st.text("0123456789", min_size=1, max_size=8), st.sampled_from(BOTH))
def test_digits(number, grade):
    assert readings_of_word("⠼" + "".join(DIGITS[each] for each in number), grade) == (number,)


@given(st.text([chr(code) for code in range(0x2800, 0x2900)], max_size=20), st.sampled_from(BOTH))
def test_any_cells_are_read_or_not(cells, grade):
    said = in_words(cells, grade)
    assert said is None or said.count(" ") >= cells.count(BLANK)
