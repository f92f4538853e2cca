"""What braille stands for a text, with a translator of plain letters."""

from __future__ import annotations

import pytest

from signrules.braille.cells import BLANK, CAPITAL, DIGITS, LETTERS, NUMERIC
from signrules.braille.spelling import (
    ACRONYM,
    LETTER,
    NAME,
    SENTENCE,
    capital_words,
    expected,
    forms,
    numbers_in,
    numbers_of,
    reasons,
)


def spell(text: str) -> str:
    """Letter by letter, each capital with its own indicator, each number with one."""
    cells = []
    for at, each in enumerate(text):
        if each.isdigit():
            cells.append(("" if at and text[at - 1].isdigit() else NUMERIC) + DIGITS[each])
        elif each == " ":
            cells.append(BLANK)
        else:
            cells.append((CAPITAL if each.isupper() else "") + LETTERS[each.lower()])
    return "".join(cells)


@pytest.mark.parametrize(
    ("text", "proper", "wanted"),
    [
        (["EXIT", "STAIR"], [], ("exit stair",)),
        (["ROOM 12B"], [], ("room 12b", "room 12B")),
        (["WOMEN'S ROOM"], [], ("women's room",)),
        (["LINDGREN HALL"], ["Lindgren"], ("Lindgren hall",)),
        (["MARY ANN", "LINDGREN"], ["Mary Ann Lindgren"], ("Mary Ann Lindgren",)),
        (["LINDGRENS"], ["Lindgren"], ("lindgrens",)),
        (["EMPLOYEES ONLY."], [], ("employees only.", "Employees only.")),
        (["STOP. GO."], [], ("stop. go.", "Stop. Go.")),
        (["B"], [], ("b", "B")),
        ([], [], ("",)),
    ],
)
def test_forms(text, proper, wanted):
    assert forms(text, proper) == wanted


def test_acronyms_are_spelled_out_whatever_the_translator_makes_of_them():
    asked = []

    def translate(line):
        asked.append(line)
        return spell(line)

    found = expected(["IT DEPARTMENT", "ROOM 3"], translate, acronyms=["IT"])
    assert found == ("⠠⠠⠊⠞⠀" + spell("department room 3"),)
    assert asked == ["department room 3"]


def test_an_acronym_with_digits_keeps_its_capitals_and_goes_to_the_translator():
    assert expected(["MRI2 LAB"], spell, acronyms=["MRI2"]) == (spell("MRI2 lab"),)


def test_nobody_translates():
    assert expected(["STOP"], lambda line: None) is None
    assert expected(["IT", "X"], lambda line: None, acronyms=["IT"]) is None


def test_a_letter_alone_may_be_either():
    assert expected(["ROOM 3B"], spell) == (spell("room 3b"), spell("room 3B"))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (["EXIT"], [set()]),
        (["ROOM 12B"], [set(), {LETTER}]),
        (["IT OFFICE"], [{ACRONYM}, set()]),
        (["LINDGREN HALL"], [{NAME}, set()]),
        (["ASK FIRST. THEN GO."], [{SENTENCE}, set(), {SENTENCE}, set()]),
        (["WOMEN'S"], [set()]),
        (["J.R. LINDGREN"], [{LETTER}, {NAME}]),
    ],
)
def test_reasons(text, wanted):
    assert reasons(text, proper=["Lindgren"], acronyms=["IT"]) == wanted


@pytest.mark.parametrize(
    ("cells", "wanted"),
    [
        ("⠑⠭⠊⠞", []),
        ("⠠⠠⠑⠭⠊⠞", [0]),
        ("⠗⠕⠕⠍ ⠼⠁⠃⠠⠃", [1]),
        ("⠠⠠⠠⠁⠇⠇⠀⠛⠢⠙⠻⠀⠗⠑⠌⠗⠕⠕⠍⠠⠄\n⠌⠕⠏", [0, 1, 2]),
        ("⠁⠠⠤⠃", []),
        ("⠠⠦⠁⠠⠴", []),
    ],
)
def test_capital_words(cells, wanted):
    assert capital_words(cells) == wanted


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("ROOM 101", "⠗⠕⠕⠍⠀⠼⠁⠚⠁"),
        ("3B", "⠼⠉⠰⠃"),
        ("2.5 KM", "⠼⠃⠲⠑⠀⠅⠍"),
        ("ROOMS 1-5", "⠗⠕⠕⠍⠎⠀⠼⠁⠤⠼⠑"),
        ("1/2", "⠼⠁⠌⠃"),
        ("FLOOR 2.", "⠋⠇⠕⠕⠗⠀⠼⠃⠲"),
        ("STOP", "⠌⠕⠏"),
    ],
)
def test_the_numbers_of_a_text_are_those_of_its_cells(text, cells):
    assert numbers_of([text]) == numbers_in(cells)


@pytest.mark.parametrize("digit", DIGITS)
def test_each_digit(digit):
    assert numbers_of([digit]) == ["⠼" + LETTERS["jabcdefghi"[int(digit)]]]
