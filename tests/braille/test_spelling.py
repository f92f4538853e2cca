"""What braille stands for a text, with a translator of plain letters."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules.braille.cells import BLANK, CAPITAL, DIGITS, LETTERS, NUMERIC, joined_cells
from signrules.braille.spelling import (
    ACRONYM,
    LETTER,
    NAME,
    SENTENCE,
    capital_reasons,
    capital_words,
    cells_of_text,
    forms_of_text,
    numbers_in,
    numbers_of,
    words_of,
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
    assert forms_of_text(text, proper) == wanted


def test_acronyms_are_spelled_out_whatever_the_translator_makes_of_them():
    asked = []

    def translate(line):
        asked.append(line)
        return spell(line)

    found = cells_of_text(["IT DEPARTMENT", "ROOM 3"], translate, acronyms=["IT"])
    assert found == ("⠠⠠⠊⠞⠀" + spell("department room 3"),)
    assert asked == ["department room 3"]


def test_an_acronym_with_digits_keeps_its_capitals_and_goes_to_the_translator():
    assert cells_of_text(["MRI2 LAB"], spell, acronyms=["MRI2"]) == (spell("MRI2 lab"),)


# Lists of shortforms in The Rules of Unified English Braille, 2013, appendix 1, from memory: these
# are letters only.
AS_SHORTFORMS = (
    "AB",
    "AC",
    "AF",
    "AL",
    "BL",
    "BRL",
    "CD",
    "EI",
    "FR",
    "GD",
    "HM",
    "LL",
    "LR",
    "PD",
    "QK",
    "SD",
    "TD",
)


@pytest.mark.parametrize("acronym", AS_SHORTFORMS)
def test_an_acronym_that_reads_as_a_shortform_has_a_grade_1_indicator_in_contracted_braille(
    acronym,
):
    letters = "⠠⠠" + "".join(LETTERS[each] for each in acronym.lower())
    assert cells_of_text([acronym], spell, acronyms=[acronym]) == ("⠰" + letters,)
    assert cells_of_text([acronym], spell, grade="uncontracted", acronyms=[acronym]) == (letters,)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("(CD).", "⠐⠣⠰⠠⠠⠉⠙⠐⠜⠲"),
        ("CD'S", "⠰⠠⠠⠉⠙⠄⠎"),
        ("CD-AB", "⠰⠠⠠⠉⠙⠤⠰⠠⠠⠁⠃"),
        # Between slashes letters do not stand alone.
        ("CD/AB", "⠠⠠⠉⠙⠸⠌⠠⠠⠁⠃"),
        ("(MRI)", "⠐⠣⠠⠠⠍⠗⠊⠐⠜"),
        ("MRI/CT CD", "⠠⠠⠍⠗⠊⠸⠌⠠⠠⠉⠞⠀⠰⠠⠠⠉⠙"),
        # No acronym: letters or digits beside it.
        ("CDS MRI2", "⠉⠙⠎⠀⠍⠗⠊⠼⠃"),
    ],
)
def test_acronyms_with_punctuation_beside_them(text, wanted):
    signs = {"(": "⠐⠣", ")": "⠐⠜", "/": "⠸⠌", ".": "⠲", "'": "⠄", "-": "⠤"}

    def translate(line):
        return "".join(signs.get(each) or spell(each) for each in line)

    assert cells_of_text([text], translate, acronyms=["CD", "AB", "MRI", "CT"])[0] == wanted


def test_a_translator_that_loses_the_stand_in_is_given_the_acronym():
    lines = {"(MRI) room": "⠐⠣⠠⠠⠍⠗⠊⠐⠜⠀⠗⠕⠕⠍"}
    asked = []

    def translate(line):
        asked.append(line)
        return lines.get(line, "⠿")

    assert cells_of_text(["(MRI) ROOM IT"], translate, acronyms=["MRI", "IT"]) == (
        lines["(MRI) room"] + "⠀⠠⠠⠊⠞",
    )
    assert asked[-1] == "(MRI) room"


def test_an_acronym_may_have_groupsigns_in_contracted_braille_but_not_where_they_read_as_a_word():
    found = {
        name: cells_of_text([name], spell, acronyms=[name])
        for name in ("ENT", "STD", "INGR", "MST", "ST", "AND", "ATM")
    }
    assert found["ENT"] == ("⠠⠠⠑⠝⠞", "⠠⠠⠢⠞")
    assert found["STD"] == ("⠠⠠⠎⠞⠙", "⠠⠠⠌⠙")
    assert found["INGR"] == ("⠠⠠⠊⠝⠛⠗", "⠠⠠⠔⠛⠗")
    # "must", "still" and "and".
    assert found["MST"] == ("⠠⠠⠍⠎⠞",)
    assert found["ST"] == ("⠠⠠⠎⠞",)
    assert found["AND"] == ("⠠⠠⠁⠝⠙",)
    assert found["ATM"] == ("⠠⠠⠁⠞⠍",)
    assert cells_of_text(["ENT"], spell, grade="uncontracted", acronyms=["ENT"]) == ("⠠⠠⠑⠝⠞",)
    # Between slashes they do not stand alone, and read as no word.
    slash = {"xqx/xqx": "⠭⠟⠭⠸⠌⠭⠟⠭"}.get
    assert cells_of_text(["ST/ST"], slash, acronyms=["ST"]) == ("⠠⠠⠎⠞⠸⠌⠠⠠⠎⠞", "⠠⠠⠌⠸⠌⠠⠠⠌")


def test_nobody_translates():
    assert cells_of_text(["STOP"], lambda line: None) is None
    assert cells_of_text(["IT", "X"], lambda line: None, acronyms=["IT"]) is None
    assert cells_of_text(["(IT)"], lambda line: None, acronyms=["IT"]) is None
    assert cells_of_text(["(IT)"], {"(xqx)": "⠿"}.get, acronyms=["IT"]) is None


def test_a_letter_alone_may_be_either():
    assert cells_of_text(["ROOM 3B"], spell) == (spell("room 3b"), spell("room 3B"))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (["EXIT"], [set()]),
        (["ROOM 12B"], [set(), {LETTER}]),
        (["IT OFFICE"], [{ACRONYM}, set()]),
        (["LINDGREN HALL"], [{NAME}, set()]),
        (["ASK FIRST. THEN GO."], [{SENTENCE}, set(), {SENTENCE}, set()]),
        (["WOMEN'S"], [set()]),
        (["(IT)", "IT/AV"], [{ACRONYM}, {ACRONYM}]),
        (["ITS EXIT"], [set(), set()]),
        (["J.R. LINDGREN"], [{LETTER}, {NAME}]),
    ],
)
def test_reasons(text, wanted):
    assert capital_reasons(text, proper=["Lindgren"], acronyms=["IT"]) == wanted


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
        ("3½", "⠼⠉⠼⠁⠌⠃"),
        ("¾ M²", "⠼⠉⠌⠙⠀⠍⠰⠔⠼⠃"),
        (".5", "⠼⠲⠑"),
    ],
)
def test_the_numbers_of_a_text_are_those_of_its_cells(text, cells):
    assert numbers_of([text]) == numbers_in(cells)


@pytest.mark.parametrize("digit", DIGITS)
def test_each_digit(digit):
    assert numbers_of([digit]) == ["⠼" + LETTERS["jabcdefghi"[int(digit)]]]


@given(
    st.lists(st.text(max_size=20), max_size=3),
    st.lists(st.text(min_size=1, max_size=6), max_size=2),
)
def test_forms_differ_from_the_text_in_case_alone(text, proper):
    line = " ".join(words_of(text))
    found = forms_of_text(text, proper)
    assert 1 <= len(found) <= 4
    for form in found:
        assert len(form.split()) == len(line.split()) == len(capital_reasons(text, proper=proper))
        assert form.casefold() == line.casefold() or not line.isascii()


@given(
    st.lists(st.text("ABC IT'.!12", max_size=12), max_size=3),
    st.lists(st.sampled_from(["IT", "AB"]), unique=True),
)
def test_every_word_is_heard_by_the_translator_or_spelled_out(text, acronyms):
    asked = []

    def blanks(line):
        asked.append(line)
        return BLANK.join("⠁" for _ in line.split())

    found = cells_of_text(text, blanks, acronyms=acronyms)
    spelled = sum(word in acronyms for word in words_of(text))
    for cells in found:
        assert len(cells.split(BLANK) if cells else []) == len(words_of(text))
        assert cells.count(2 * CAPITAL) == spelled


@given(st.lists(st.text("0123456789", min_size=1, max_size=5), max_size=5))
def test_numbers_come_back(numbers):
    cells = BLANK.join(NUMERIC + "".join(DIGITS[digit] for digit in number) for number in numbers)
    assert (
        numbers_of([" ".join(numbers)])
        == numbers_in(cells)
        == (cells.split(BLANK) if numbers else [])
    )


@given(st.text([chr(code) for code in range(0x2800, 0x2840)] + [" ", "\n"], max_size=30))
def test_words_with_capitals_are_words_of_the_cells(cells):
    found = capital_words(cells)
    words = joined_cells(cells).split(BLANK)
    assert found == sorted(set(found))
    assert all(number < len(words) for number in found)
    assert bool(found) <= (CAPITAL in cells)
