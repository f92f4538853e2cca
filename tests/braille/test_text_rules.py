"""The rules on what cells say and whether there is room for them, each met and broken."""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, mm

from signrules.model.passes import Area, Pass
from signrules.model.sign import Braille, Sign
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.rules.braille_form import braille_grade
from signrules.rules.braille_text import TEXT_RULES
from signrules.rules.checks import Level
from signrules.rules.engine import Facts, PlacedRule, run_rules
from signrules.rules.translating import no_translation
from signrules.standards.dimension_tables import Row, Standard

WORDS = {
    "stair": "⠌⠁⠊⠗",
    "exit": "⠑⠭⠊⠞",
    "room 3b": "⠗⠕⠕⠍⠀⠼⠉⠰⠃",
    "room 3B": "⠗⠕⠕⠍⠀⠼⠉⠠⠃",
    "office": "⠷⠋⠊⠉⠑",
    "3–4": "⠼⠉⠠⠤⠼⠙",
}
DIMENSIONS = {
    "dot_diameter": mm(1.55),
    "dot_spacing": mm(2.4),
    "cell_spacing": mm(6.2),
    "line_spacing": mm(10.1),
    "clear_space": mm(10),
}


CONTRACTED = Standard(
    "x", "X", "X", "mm", (Row("braille.grade", "1", "X", "read", words=("contracted",)),)
)


def translate(text, grade, language):
    return WORDS.get(text) if (grade, language) == ("contracted", "en") else None


def judged(rule, sign, *standards, passes=(), translator=translate):
    job = job_of(sign, passes=passes)
    machine = Machine(Heights(job))
    facts = Facts(
        machine.job,
        replay_items(machine, range(len(machine.items)), {}),
        standards,
        ordered=True,
        translate=translator,
    )
    placed = [
        PlacedRule(one, "builtin", "0", foreign=False)
        for one in (*TEXT_RULES, braille_grade)
        if one.name == f"braille.{rule}"
    ]
    assert placed
    checks, faults, _ = run_rules(placed, facts)
    assert faults == []
    return checks


def sign(text, cells, **braille):
    return Sign("room", text=tuple(text), braille=Braille(cells=cells, **braille))


def outcomes(checks):
    return [check.outcome.value for check in checks]


# --- text -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "cells", "outcome", "level"),
    [
        (["STAIR"], "⠌⠁⠊⠗", "MET", Level.STOP),
        # Uncontracted, in capitals by word and as a passage, contracted in part, a grade 1 word
        # that needs none.
        (["STAIR"], "⠎⠞⠁⠊⠗", "BROKEN", Level.REVIEW),
        (["STAIR"], "⠠⠠⠌⠁⠊⠗", "BROKEN", Level.REVIEW),
        (["STAIR"], "⠠⠠⠠⠌⠁⠊⠗⠠⠄", "BROKEN", Level.REVIEW),
        (["STAIR"], "⠠⠎⠞⠁⠊⠗", "BROKEN", Level.REVIEW),
        (["STAIR"], "⠰⠰⠎⠞⠁⠊⠗", "BROKEN", Level.REVIEW),
        (["OFFICE"], "⠕⠖⠊⠉⠑", "BROKEN", Level.REVIEW),
        (["ROOM", "3B"], "⠗⠕⠕⠍\n⠼⠉⠰⠃", "MET", Level.STOP),
        (["ROOM 3B"], "⠗⠕⠕⠍ ⠼⠉⠠⠃", "MET", Level.STOP),
        # Several blank cells between words; those at the ends of a line are layout.
        (["ROOM 3B"], "⠗⠕⠕⠍⠀⠀⠼⠉⠰⠃", "BROKEN", Level.REVIEW),
        (["ROOM 3B"], "⠗⠕⠕⠍  ⠼⠉⠰⠃", "BROKEN", Level.REVIEW),
        (["ROOM", "3B"], "⠀⠀⠗⠕⠕⠍⠀⠀\n⠀⠀\n⠀⠀⠀⠼⠉⠰⠃", "MET", Level.STOP),
        # A hyphen for a dash.
        (["3–4"], "⠼⠉⠤⠼⠙", "BROKEN", Level.REVIEW),
        (["3–4"], "⠼⠉⠼⠙", "BROKEN", Level.STOP),
        # Divided at the end of a line.
        (["STAIR"], "⠎⠞⠤\n⠁⠊⠗", "BROKEN", Level.REVIEW),
        # Another text: another word, a cell too few or too many, 32, a word missing, one too many,
        # none that reads.
        (["STAIR"], "⠑⠭⠊⠞", "BROKEN", Level.STOP),
        (["STAIR"], "⠌⠁⠗", "BROKEN", Level.STOP),
        (["STAIR"], "⠌⠁⠊⠗⠎", "BROKEN", Level.STOP),
        (["ROOM 3B"], "⠗⠕⠕⠍⠀⠼⠉⠃", "BROKEN", Level.STOP),
        (["ROOM 3B"], "⠼⠉⠰⠃", "BROKEN", Level.STOP),
        (["STAIR"], "⠌⠁⠊⠗⠀⠌⠁⠊⠗", "BROKEN", Level.STOP),
        (["STAIR"], "⠲", "BROKEN", Level.STOP),
        (["STAIR"], "⣿", "BROKEN", Level.STOP),
    ],
)
def test_text(text, cells, outcome, level):
    (check,) = judged("text", sign(text, cells), CONTRACTED)
    assert (check.outcome.value, check.level) == (outcome, level)


def test_text_that_is_another_one_is_read_out():
    (check,) = judged("text", sign(["STAIR"], "⠑⠭⠊⠞"), CONTRACTED)
    assert "It says 'exit', and the text is 'STAIR'." in check.message
    (check,) = judged("text", sign(["STAIR"], "⠲"), CONTRACTED)
    assert "It says something else, and the text is 'STAIR'." in check.message
    (check,) = judged("text", sign(["STAIR"], "⠎⠞⠁⠊⠗"), CONTRACTED)
    assert "It is the right text in another style." in check.message


def test_text_says_after_which_word_the_gap_is_wide():
    (check,) = judged("text", sign(["ROOM", "3B"], "⠗⠕⠕⠍\n⠼⠉⠰⠃"), CONTRACTED)
    assert check.outcome.value == "MET"
    (check,) = judged("text", sign(["ROOM 3B"], "⠀⠗⠕⠕⠍⠀⠀⠼⠉⠰⠃"), CONTRACTED)
    assert "More than one blank cell follows word 1" in check.message


def test_blank_cells_say_nothing():
    (check,) = judged("text", sign(["STAIR"], "⠀⠀"), CONTRACTED)
    assert (check.outcome.value, check.level) == ("BROKEN", Level.STOP)
    assert "the contracted braille is none, ⠌⠁⠊⠗ is required" in check.message
    assert check.message.endswith("There are no cells with dots.")


def test_a_letter_sign_that_is_missing_makes_another_word_among_contractions():
    lines = {"stair b": "⠌⠁⠊⠗⠀⠰⠃", "stair B": "⠌⠁⠊⠗⠀⠰⠠⠃", "room b": "⠗⠕⠕⠍⠀⠰⠃", "room B": "⠗⠕⠕⠍⠀⠰⠠⠃"}
    translator = lambda text, grade, language: lines.get(text)  # noqa: E731
    (check,) = judged("text", sign(["STAIR B"], "⠌⠁⠊⠗⠀⠃"), CONTRACTED, translator=translator)
    assert check.level is Level.STOP
    assert "It says 'stair but'" in check.message
    # Without any contraction it is the uncontracted text from end to end.
    (check,) = judged("text", sign(["ROOM B"], "⠗⠕⠕⠍⠀⠃"), CONTRACTED, translator=translator)
    assert (check.outcome.value, check.level) == ("BROKEN", Level.REVIEW)


@pytest.mark.parametrize(
    ("cells", "outcome", "level"),
    [
        ("⠎⠕⠗⠞⠊⠑", "MET", Level.STOP),
        # As the invented translator writes it in the other grade, and in capitals.
        ("⠎⠢⠞⠊⠑", "BROKEN", Level.REVIEW),
        ("⠨⠎⠕⠗⠞⠊⠑", "BROKEN", Level.REVIEW),
        ("⠎⠕⠗⠞⠑", "BROKEN", Level.STOP),
        ("⠎⠕⠗⠞⠊⠑⠀⠎⠕⠗⠞⠊⠑", "BROKEN", Level.STOP),
    ],
)
def test_text_in_a_language_that_nobody_reads_back_is_compared_with_its_translations(
    cells, outcome, level
):
    lines = {
        ("sortie", "contracted"): "⠎⠕⠗⠞⠊⠑",
        ("sortie", "uncontracted"): "⠎⠢⠞⠊⠑",
        ("SORTIE", "contracted"): "⠨⠎⠕⠗⠞⠊⠑",
        ("Sortie", "contracted"): "⠎⠕⠗⠞⠊⠑⠀⠎⠕⠗⠞⠊⠑",
    }
    (check,) = judged(
        "text",
        sign(["SORTIE"], cells, language="fr"),
        CONTRACTED,
        translator=lambda text, grade, language: lines.get((text, grade)),
    )
    assert (check.outcome.value, check.level) == (outcome, level)


def test_what_cannot_be_read_back_in_english_is_compared_with_its_translations():
    # Dots 45-34 before e: an accent, which the reader of cells does not know.
    lines = {"café": "⠉⠁⠋⠘⠌⠑", "CAFÉ": "⠠⠠⠉⠁⠋⠘⠌⠑"}
    for cells, level in (("⠠⠠⠉⠁⠋⠘⠌⠑", Level.REVIEW), ("⠉⠁⠘⠌⠑", Level.STOP)):
        (check,) = judged(
            "text",
            sign(["CAFÉ"], cells),
            CONTRACTED,
            translator=lambda text, grade, language: lines.get(text),
        )
        assert (check.outcome.value, check.level) == ("BROKEN", level)


def test_text_says_where_the_difference_is():
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠗"), CONTRACTED)
    assert "The first difference is at cell 3: dots 1235, not dots 24." in check.message
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠊"), CONTRACTED)
    assert "at cell 4: the end, not dots 1235." in check.message
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠊⠗⠎"), CONTRACTED)
    assert "at cell 5: dots 234, not the end." in check.message


def test_text_with_an_acronym():
    right = sign(["IT OFFICE"], "⠠⠠⠊⠞⠀⠷⠋⠊⠉⠑", acronyms=("IT",))
    wrong = sign(["IT OFFICE"], "⠠⠠⠭⠀⠷⠋⠊⠉⠑", acronyms=("IT",))
    assert outcomes(judged("text", right, CONTRACTED)) == ["MET"]
    assert outcomes(judged("text", wrong, CONTRACTED)) == ["BROKEN"]


def test_text_without_a_translator_says_what_to_install():
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠊⠗"), CONTRACTED, translator=no_translation)
    assert check.outcome.value == "UNASSESSED"
    assert "signrules-liblouis" in check.message
    assert check.missing.startswith("a plugin that translates 'en' to contracted braille")
    assert check.message.endswith("install one.")
    assert check.level is Level.REVIEW
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠊⠗", language="sv"), CONTRACTED)
    assert "'sv'" in check.message


def test_text_in_the_stated_grade():
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠊⠗", grade="uncontracted"), CONTRACTED)
    assert check.outcome.value == "UNASSESSED"
    (check,) = judged("text", sign(["STAIR"], "⠌⠁⠊⠗", grade="contracted"))
    assert check.outcome.value == "MET"


def test_text_that_nobody_asks_about_or_that_is_not_stated():
    assert judged("text", sign(["STAIR"], "⠌⠁⠊⠗")) == []
    assert judged("text", Sign("room", text=("STAIR",)), CONTRACTED) == []
    (check,) = judged("text", sign(["STAIR"], None), CONTRACTED)
    assert check.missing == "signs.room.braille.cells"
    (check,) = judged("text", sign([], "⠌⠁⠊⠗"), CONTRACTED)
    assert check.missing == "signs.room.text"


# --- capitals -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "cells", "wrong"),
    [
        (["EXIT"], "⠑⠭⠊⠞", 0),
        (["EXIT"], "⠠⠠⠑⠭⠊⠞", 1),
        (["ROOM 12B"], "⠗⠕⠕⠍⠀⠼⠁⠃⠠⠃", 0),
        (["ROOM 12B"], "⠠⠗⠕⠕⠍⠀⠼⠁⠃⠠⠃", 1),
        (["LINDGREN HALL"], "⠠⠇⠔⠙⠛⠗⠢⠀⠓⠁⠇⠇", 0),
        (["LINDGREN HALL"], "⠠⠇⠔⠙⠛⠗⠢⠀⠠⠓⠁⠇⠇", 1),
        (["IT OFFICE"], "⠠⠠⠊⠞⠀⠷⠋⠊⠉⠑", 0),
        (["ALL GENDER RESTROOM"], "⠠⠠⠠⠁⠇⠇⠀⠛⠢⠙⠻⠀⠗⠑⠌⠗⠕⠕⠍⠠⠄", 3),
        (["KNOCK FIRST."], "⠠⠅⠝⠕⠉⠅⠀⠋⠌⠲", 0),
        (["KNOCK FIRST"], "⠠⠅⠝⠕⠉⠅⠀⠋⠌", 1),
        (["LINDGREN HALL"], "⠠⠇⠔⠙⠛⠗⠢⠓⠁⠇⠇", 0),
        (["LINDGREN HALL"], "⠠⠇⠔⠀⠙⠛⠗⠢⠀⠠⠓⠁⠇⠇", 1),
    ],
)
def test_capitals(text, cells, wrong):
    (check,) = judged("capitals", sign(text, cells, proper=("Lindgren",), acronyms=("IT",)), ada())
    assert check.measured.nominal == wrong
    assert (check.outcome.value, check.level) == ("BROKEN" if wrong else "MET", Level.STOP)
    assert "703.3.1" in check.source.text


def test_capitals_say_where():
    (check,) = judged("capitals", sign(["EXIT", "STAIR"], "⠑⠭⠊⠞\n⠠⠠⠌⠁⠊⠗"), ada())
    assert "word 2 (⠠⠠⠌⠁⠊⠗)" in check.message


def test_capitals_are_judged_where_a_standard_limits_them():
    assert judged("capitals", sign(["EXIT"], "⠠⠠⠑⠭⠊⠞")) == []


@pytest.mark.parametrize("level", Level)
@pytest.mark.parametrize("cells", ["⠠⠠⠑⠭⠊⠞", None])
def test_capitals_have_the_level_that_the_row_of_the_standard_says(level, cells):
    row = Row(
        "braille.capitals",
        "1",
        "X",
        "read",
        words=("name",),
        level=level.value,
        note="In doubt ask.",
    )
    (check,) = judged("capitals", sign(["EXIT"], cells), Standard("x", "X", "X", "mm", (row,)))
    assert check.level is level
    assert check.outcome.value == ("UNASSESSED" if cells is None else "BROKEN")
    assert ("In doubt ask." in check.message) == (cells is not None)


@pytest.mark.parametrize("rule", ["capitals", "numbers"])
@pytest.mark.parametrize(
    ("item", "field"),
    [
        (sign(["EXIT 1"], None), "braille.cells"),
        (sign([], "⠠⠠⠑⠭⠊⠞⠀⠼⠁"), "text"),
        (sign(["SORTIE 1"], "⠨⠎⠕⠗⠞⠊⠑⠀⠠⠡", language="fr"), "braille.language"),
    ],
)
def test_what_cannot_be_read_is_not_assessed(rule, item, field):
    (check,) = judged(rule, item, ada())
    assert check.missing == f"signs.room.{field}"
    assert check.outcome.value == "UNASSESSED"


def test_an_ordinary_word_among_the_acronyms_is_for_review():
    item = sign(["EXIT IT"], "⠠⠠⠑⠭⠊⠞⠀⠠⠠⠊⠞", acronyms=("EXIT", "IT"))
    capitals, ordinary = judged("capitals", item, ada())
    assert capitals.outcome.value == "MET"
    assert (ordinary.outcome.value, ordinary.level) == ("BROKEN", Level.REVIEW)
    assert "'EXIT' is an ordinary word, listed among the acronyms" in ordinary.message


def test_words_with_capitals_are_named():
    (check,) = judged("capitals", sign(["EXIT ROUTE"], "⠠⠠⠑⠭⠊⠞⠀⠠⠠⠗⠳⠞⠑"), ada())
    wanted = "word 1 (⠠⠠⠑⠭⠊⠞) and word 2 (⠠⠠⠗⠳⠞⠑) have capital indicators that nothing in the text"
    assert wanted in check.message


@pytest.mark.parametrize(
    ("cells", "stated", "outcomes_of_both"),
    [
        # STAIR: ⠌ is "st" and ⠌⠁⠊⠗ contracted braille; ⠎⠞⠁⠊⠗ is spelled out.
        ("⠎⠞⠁⠊⠗", "contracted", ["MET", "BROKEN"]),
        ("⠎⠞⠁⠊⠗", None, ["UNASSESSED", "BROKEN"]),
        ("⠎⠞⠁⠊⠗", "uncontracted", ["BROKEN"]),
        ("⠌⠁⠊⠗", "contracted", ["MET"]),
        ("⠎⠞⠁⠗", "contracted", ["MET"]),
    ],
)
def test_the_grade_of_the_cells_counts_beside_the_one_that_is_stated(
    cells, stated, outcomes_of_both
):
    def by_grade(text, grade, language):
        known = {"contracted": "⠌⠁⠊⠗", "uncontracted": "⠎⠞⠁⠊⠗"}
        return known[grade] if text == "stair" else None

    item = sign(["STAIR"], cells, grade=stated)
    checks = judged("grade", item, ada(), translator=by_grade)
    assert outcomes(checks) == outcomes_of_both
    assert {check.level for check in checks} == {Level.STOP}


def test_a_region_does_not_make_another_language():
    (check,) = judged("numbers", sign(["EXIT 1"], "⠑⠭⠊⠞⠀⠼⠁", language="en-GB"))
    assert check.outcome.value == "MET"


# --- numbers --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "cells", "outcome"),
    [
        ("ROOM 101", "⠗⠕⠕⠍⠀⠼⠁⠚⠁", "MET"),
        ("ROOM 101", "⠗⠕⠕⠍⠀⠁⠚⠁", "BROKEN"),
        ("ROOM 101", "⠗⠕⠕⠍⠀⠼⠁⠁⠚", "BROKEN"),
        ("ROOM 101A", "⠗⠕⠕⠍⠀⠼⠁⠚⠁⠰⠁", "MET"),
        ("ROOM 101A", "⠗⠕⠕⠍⠀⠼⠁⠚⠁⠁", "BROKEN"),
        ("ROOM", "⠗⠕⠕⠍⠀⠼⠁", "BROKEN"),
    ],
)
def test_numbers(text, cells, outcome):
    (check,) = judged("numbers", sign([text], cells))
    assert (check.outcome.value, check.level) == (outcome, Level.STOP)


@pytest.mark.parametrize("level", Level)
@pytest.mark.parametrize("cells", ["⠗⠕⠕⠍⠀⠼⠁⠁⠚", None])
def test_numbers_have_the_level_and_the_source_of_the_row_where_a_standard_has_one(level, cells):
    row = Row("braille.numbers", "7", "X", "read", words=("digits",), level=level.value)
    (check,) = judged("numbers", sign(["ROOM 101"], cells), Standard("x", "X", "X", "mm", (row,)))
    assert (check.level, check.source.text) == (level, "X, 7")


def test_the_numbers_of_a_fraction():
    assert outcomes(judged("numbers", sign(["ROOM 3½"], "⠗⠕⠕⠍⠀⠼⠉⠼⠁⠌⠃"))) == ["MET"]
    assert outcomes(judged("numbers", sign(["ROOM 3½"], "⠗⠕⠕⠍⠀⠼⠉⠁⠌⠃"))) == ["BROKEN"]
    assert outcomes(judged("numbers", sign(["ROOM 3½"], "⠗⠕⠕⠍⠀⠼⠉"))) == ["BROKEN"]


def test_numbers_are_said_in_digits():
    (check,) = judged("numbers", sign(["ROOM 214"], "⠗⠕⠕⠍⠀⠼⠃⠙⠁"))
    assert (check.found, check.allowed) == ("241", ("214",))
    assert "the number that the cells write is 241, where the text has 214." in check.message


def test_numbers_in_a_language_of_its_own_are_for_review_and_not_in_the_way():
    item = sign(["LOKALE 12"], "⠇⠕⠅⠁⠇⠑⠀⠼⠁⠃", language="da")
    (check,) = judged("numbers", item)
    assert (check.outcome.value, check.level) == ("UNASSESSED", Level.REVIEW)


def test_no_numbers_no_check():
    assert judged("numbers", sign(["EXIT"], "⠑⠭⠊⠞")) == []
    assert judged("numbers", sign(["EXIT"], None)) == []
    assert judged("numbers", sign([], "⠑⠭⠊⠞")) == []
    assert judged("numbers", Sign("room", text=("EXIT 1",))) == []


# --- fit ------------------------------------------------------------------------------------------

DOTS = Pass("dots", "clear", areas=(Area(40, 30, 60, 8),), builds=("room.braille",))
LETTERS = Pass("letters", "clear", areas=(Area(40, 48, 100, 30),), builds=("room.raised",))
NINE = sign(["ROOM 214"], "⠗⠕⠕⠍⠀⠼⠃⠁⠙", **DIMENSIONS)


def by_what(checks):
    return {check.message.split(": ", 1)[1].split(" is ")[0]: check for check in checks}


def test_fit_of_a_line():
    found = by_what(judged("fit", NINE, passes=(DOTS, LETTERS)))
    width = found["the width of the cells with their dots"]
    # From dot 1 of the first cell to dot 4 of the ninth, and half a dot on each side.
    assert width.measured.nominal == pytest.approx(8 * 6.2 + 2.4 + 1.55)
    # The area, and half of the tenth of a millimetre to which drawings are rounded.
    assert width.limit == (None, pytest.approx(60.05))
    # Cells of three rows of dots.
    assert found["the height of the cells with their dots"].measured.nominal == pytest.approx(
        2 * 2.4 + 1.55
    )
    assert found["the distance from the braille to the raised characters"].measured.nominal == 10
    assert {check.outcome.value for check in found.values()} == {"MET"}


@pytest.mark.parametrize(
    ("dots", "letters", "broken"),
    [
        (Area(40, 30, 53.49, 8), Area(40, 48, 100, 30), "the width of the cells with their dots"),
        (Area(40, 30, 60, 6.29), Area(40, 48, 100, 30), "the height of the cells with their dots"),
        (
            Area(40, 30, 60, 8),
            Area(40, 47.94, 100, 30),
            "the distance from the braille to the raised characters",
        ),
    ],
)
def test_what_does_not_fit(dots, letters, broken):
    passes = (evolve(DOTS, areas=(dots,)), evolve(LETTERS, areas=(letters,)))
    checks = judged("fit", NINE, passes=passes)
    assert list(by_what([check for check in checks if check.outcome.value == "BROKEN"])) == [broken]
    assert {check.level for check in checks} == {Level.REVIEW}


@pytest.mark.parametrize("letters", [Area(40, 48, 100, 30), Area(40, 47.96, 100, 30)])
def test_half_a_tenth_of_a_millimetre_is_rounding(letters):
    passes = (at(DOTS, 40, 30, 53.51, 6.31), evolve(LETTERS, areas=(letters,)))
    assert outcomes(judged("fit", NINE, passes=passes)) == ["MET"] * 3


@pytest.mark.parametrize("dots", [(0, 30, 60, 8), (40, 0, 60, 8)])
def test_the_edge_of_the_sheet_is_no_raised_border(dots):
    """2010 ADA Standards, 703.3.2: other tactile characters, raised borders and decoration."""
    assert outcomes(judged("fit", NINE, passes=(at(DOTS, *dots),))) == ["MET"] * 2


def at(item, *area, **changes):
    return evolve(item, areas=(Area(*area),), **changes)


TALL = evolve(DOTS, layers=24)
BESIDE = "the distance from the braille to what else stands up beside it"


@pytest.mark.parametrize(
    ("area", "apart"),
    [
        ((30, 39, 140, 5), 1),
        ((40, 48, 60, 5), 10),
        ((105, 30, 5, 8), 5),
        ((10, 10, 180, 2), 18),
    ],
)
def test_a_bar_that_builds_nothing_stands_up_beside_the_dots(area, apart):
    # 28 layers of 30 um: as tall as the dots, so a finger takes its edge for some.
    bar = at(TALL, *area, id="bar", layers=28, builds=())
    found = by_what(judged("fit", NINE, passes=(TALL, bar)))[BESIDE]
    assert found.measured.nominal == pytest.approx(apart)
    assert found.outcome.value == ("MET" if apart >= 10 else "BROKEN")
    assert found.level is Level.REVIEW
    assert found.subjects == ("signs.room", "passes.bar")


@pytest.mark.parametrize(("layers", "judges"), [(2, False), (3, True)])
def test_what_is_lower_than_a_tenth_of_the_dots_does_not_stand_up(layers, judges):
    # Dots of 24 layers of at least 27 um are at least 0.648 mm; layers are meant to be 30 um.
    thin = at(TALL, 40, 39, 60, 5, id="thin", layers=layers, builds=())
    assert (BESIDE in by_what(judged("fit", NINE, passes=(TALL, thin)))) is judges


def test_what_lies_under_all_of_the_braille_is_its_face():
    flood = at(TALL, 30, 20, 80, 30, id="flood", layers=28, builds=())
    assert BESIDE not in by_what(judged("fit", NINE, passes=(flood, TALL)))
    # A second flood on a part of the first, which ends 2 mm above the dots.
    step = at(TALL, 30, 40, 80, 10, id="step", layers=28, builds=())
    found = by_what(judged("fit", NINE, passes=(flood, step, TALL)))[BESIDE]
    assert (found.outcome.value, found.measured.nominal) == ("BROKEN", 2)


def test_a_bar_on_the_other_side_and_ink_on_the_dots_are_not_beside():
    bar = at(TALL, 30, 39, 140, 5, id="bar", layers=28, builds=(), side="back")
    tops = evolve(TALL, id="tops", layers=28, builds=())
    assert BESIDE not in by_what(judged("fit", NINE, passes=(TALL, bar, tops)))


def test_letters_on_the_other_side_are_not_beside():
    checks = judged(
        "fit", NINE, passes=(DOTS, evolve(LETTERS, areas=(Area(40, 40, 50, 30),), side="back"))
    )
    assert outcomes(checks) == ["MET"] * 2


def test_the_box_of_all_areas_counts():
    halves = evolve(DOTS, areas=(Area(40, 30, 30, 8), Area(70, 30, 30, 8)))
    assert outcomes(judged("fit", NINE, passes=(halves,))) == ["MET"] * 2


@pytest.mark.parametrize(
    ("change", "passes", "missing"),
    [
        ({"clear_space": None}, (DOTS,), "signs.room.braille.clear_space"),
        ({"cells": None}, (DOTS,), "signs.room.braille.cells"),
        ({"cell_spacing": None}, (DOTS,), "signs.room.braille.cell_spacing"),
        ({"cells": "⠁\n⠁", "line_spacing": None}, (DOTS,), "signs.room.braille.line_spacing"),
        ({}, (evolve(DOTS, areas=None),), "passes.dots.areas"),
        ({}, (DOTS, evolve(LETTERS, areas=None)), "passes.letters.areas"),
        ({}, (DOTS, evolve(DOTS, id="tops", areas=None)), "passes.tops.areas"),
    ],
)
def test_what_cannot_be_told(change, passes, missing):
    item = evolve(NINE, braille=evolve(NINE.braille, **change))
    found = [
        check for check in judged("fit", item, passes=passes) if check.outcome.value == "UNASSESSED"
    ]
    assert [check.missing for check in found] == [missing]


def test_braille_on_both_sides_goes_into_the_areas_of_each():
    # The areas of both sides together would hold the line; none of them does by itself.
    left, right = evolve(DOTS, areas=(Area(40, 30, 50, 8),)), Area(100, 30, 50, 8)
    checks = judged(
        "fit", NINE, passes=(left, evolve(DOTS, id="behind", side="back", areas=(right,)))
    )
    assert outcomes(checks) == ["BROKEN", "MET"] * 2


def test_a_sign_that_no_pass_builds_is_not_judged():
    assert judged("fit", NINE) == judged("fit", NINE, passes=(evolve(DOTS, builds=()),)) == []
    assert judged("fit", Sign("room"), passes=(DOTS,)) == []


def test_one_line_needs_no_line_spacing():
    item = evolve(NINE, braille=evolve(NINE.braille, line_spacing=None))
    assert outcomes(judged("fit", item, passes=(DOTS,))) == ["MET"] * 2


def test_blank_cells_need_no_room_but_that_around_them():
    blank = judged("fit", sign(["X"], "⠀⠀", **DIMENSIONS), passes=(DOTS,))
    filled = judged("fit", sign(["X"], "⠃⠃", **DIMENSIONS), passes=(DOTS,))
    assert (
        len(filled) - len(blank)
        == sum("of the cells with their dots" in check.message for check in filled)
        > 0
    )
