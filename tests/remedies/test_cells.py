"""Law: a remedy leaves the cells of a sign alone, or makes them what a translator has for its text.

The translator here spells letter by letter; what it should give is worked out once more, from the
tables of cells.
"""

from __future__ import annotations

import copy
from types import SimpleNamespace

import pytest
from effort import effort
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scenario import sign_job

import signrules
from signrules import hookimpl, load_plugins
from signrules.braille.cells import BLANK, DIGITS, LETTERS, NUMERIC, joined_cells
from signrules.remedies.alike_cases import Alike
from signrules.remedies.candidates import of_section, worded_change

LETTER_SIGN = "⠰"


def word_in_cells(word):
    """Letters, digits after a numeric indicator, a letter sign before a letter after digits or by
    itself.
    """
    cells = ""
    for at, each in enumerate(word):
        if each.isdigit():
            cells += DIGITS[each] if at and word[at - 1].isdigit() else NUMERIC + DIGITS[each]
        else:
            needs_sign = word[at - 1].isdigit() if at else len(word) == 1
            cells += LETTER_SIGN * needs_sign + LETTERS[each.lower()]
    return cells


def in_cells(line):
    return BLANK.join(word_in_cells(word) for word in line.split())


def translating(answer):
    def signrules_translate_braille(text):
        return answer(text)

    return load_plugins(
        objects=[
            SimpleNamespace(
                __name__="words", signrules_translate_braille=hookimpl(signrules_translate_braille)
            )
        ]
    )


SPELLS = translating(in_cells)
SILENT = translating(lambda text: None)


def job_with_signs(*signs):
    """Signs of one sheet, each a text and cells, with one pass of dots for each."""
    document = sign_job()
    like = document["signs"][0]
    dots = document["passes"][1]
    document["signs"], document["passes"] = [], document["passes"][:1]
    for number, (text, cells) in enumerate(signs):
        sign = copy.deepcopy(like) | {"id": f"sign-{number}", "text": text.split("\n")}
        sign["braille"]["cells"] = cells
        document["signs"].append(sign)
        areas = [[40, 10 + 20 * number, 60, 8]]
        document["passes"].append(
            copy.deepcopy(dots)
            | {
                "id": f"dots-{number}",
                "areas": areas,
                "builds": f"sign-{number}.braille",
            }
        )
    return signrules.job_from_dict(document)


def cells_of(job):
    return [sign.braille.cells for sign in job.signs]


def of_rule(result, rule):
    return next(check for check in result.checks if check.rule == rule)


# A letter sign is forgotten: the cells say 122, and its last letter is no surplus digit.
FORGOTTEN = ("ROOM 12B", "⠗⠕⠕⠍⠀⠼⠁⠃⠃")


@pytest.mark.parametrize("plugins", [None, SILENT], ids=["no translator", "one that cannot tell"])
@pytest.mark.parametrize(
    "sign", [FORGOTTEN, ("ROOM 12", "⠗⠕⠕⠍⠀⠼⠁⠉"), ("EXIT", "⠠⠠⠑⠭⠊⠞"), ("MEN", "⠑⠭⠊⠞")]
)
def test_where_no_translator_can_tell_no_remedy_touches_the_cells(sign, plugins):
    result = signrules.evaluate(job_with_signs(sign), plugins=plugins)
    assert {check.outcome.value for check in result.checks if check.rule == "braille.text"} == {
        "UNASSESSED"
    }
    for check in result.checks:
        for remedy in check.remedies:
            assert cells_of(signrules.apply_remedy(result.job, remedy)) == [sign[1]]
    assert all(check.remedies == () for check in result.checks if check.rule == "braille.numbers")
    mended = signrules.mend(result.job, plugins=plugins)
    assert cells_of(mended.result.job) == [sign[1]]


@pytest.mark.parametrize("rule", ["braille.text", "braille.numbers"])
def test_a_forgotten_letter_sign_is_put_back(rule):
    result = signrules.evaluate(job_with_signs(FORGOTTEN), plugins=SPELLS)
    (remedy,) = of_rule(result, rule).remedies
    assert cells_of(signrules.apply_remedy(result.job, remedy)) == ["⠗⠕⠕⠍⠀⠼⠁⠃⠰⠃"]
    assert "as the translator has them, and have a reader proof them" in remedy.summary
    # The cells read "room 122": whether they or the text are right only a person knows.
    assert signrules.mend(result.job, plugins=SPELLS).job is None


def test_capitals_without_a_reason_go_with_the_cells_of_the_translator():
    result = signrules.evaluate(job_with_signs(("EXIT", "⠠⠠⠑⠭⠊⠞")), plugins=SPELLS)
    capitals = of_rule(result, "braille.capitals")
    assert capitals.holds_back
    (translated,) = capitals.remedies
    assert cells_of(signrules.apply_remedy(result.job, translated)) == ["⠑⠭⠊⠞"]
    # Nobody but a person knows acronyms, so mending takes the cells.
    assert cells_of(signrules.mend(result.job, plugins=SPELLS).job) == ["⠑⠭⠊⠞"]


def test_an_acronym_is_listed_after_the_cells_and_never_an_ordinary_word():
    result = signrules.evaluate(job_with_signs(("VHF", "⠠⠠⠧⠓⠋")), plugins=SPELLS)
    translated, listed = of_rule(result, "braille.capitals").remedies
    assert cells_of(signrules.apply_remedy(result.job, translated)) == ["⠧⠓⠋"]
    after = signrules.apply_remedy(result.job, listed).signs[0].braille
    assert (after.cells, after.acronyms) == ("⠠⠠⠧⠓⠋", ("VHF",))


def test_the_cells_come_first_where_the_text_is_made_of_ordinary_words():
    # Two doors whose cells were exchanged: both texts are words, so neither is a slip.
    doors = [("MEN", "⠺⠕⠍⠑⠝"), ("WOMEN", "⠍⠑⠝")]
    for text, cells in doors:
        result = signrules.evaluate(job_with_signs((text, cells)), plugins=SPELLS)
        first = of_rule(result, "braille.text").remedies[0]
        after = signrules.apply_remedy(result.job, first)
        assert (after.signs[0].text, cells_of(after)) == ((text,), [word_in_cells(text.lower())])


def test_lines_end_where_they_ended():
    result = signrules.evaluate(job_with_signs(("ROOM 12\nEXIT", "⠗⠕⠕⠍⠀⠼⠁⠉\n⠑⠭⠊⠞")), plugins=SPELLS)
    (remedy,) = of_rule(result, "braille.text").remedies
    assert cells_of(signrules.apply_remedy(result.job, remedy)) == ["⠗⠕⠕⠍⠀⠼⠁⠃\n⠑⠭⠊⠞"]
    # A word is missing, and there are not as many lines as the text has.
    result = signrules.evaluate(job_with_signs(("ROOM 12 EXIT", "⠗⠕⠕⠍\n⠑⠭⠊⠞")), plugins=SPELLS)
    (remedy,) = of_rule(result, "braille.text").remedies
    assert cells_of(signrules.apply_remedy(result.job, remedy)) == ["⠗⠕⠕⠍⠀⠼⠁⠃⠀⠑⠭⠊⠞"]


def test_lines_of_cells_are_laid_as_those_of_the_text():
    # The lines are swapped, and of another length each.
    swapped = ("ALL GENDER\nRESTROOM", "⠗⠑⠎⠞⠗⠕⠕⠍\n⠁⠇⠇⠀⠛⠑⠝⠙⠑⠗")
    result = signrules.evaluate(job_with_signs(swapped), plugins=SPELLS)
    (remedy,) = of_rule(result, "braille.text").remedies
    (cells,) = cells_of(signrules.apply_remedy(result.job, remedy))
    assert cells == "⠁⠇⠇⠀⠛⠑⠝⠙⠑⠗\n⠗⠑⠎⠞⠗⠕⠕⠍"


def contracting(text):
    """As a translator of contracted braille has these words."""
    words = {"it": "⠭", "us": "⠥", "child": "⠡"}
    return BLANK.join(words.get(word) or word_in_cells(word) for word in text.split())


CONTRACTS = translating(contracting)


@pytest.mark.parametrize(
    ("text", "cells", "listed"),
    [
        ("IT ROOM", "⠠⠠⠊⠞⠀⠗⠕⠕⠍", ("IT",)),
        ("US MAIL", "⠠⠠⠥⠎⠀⠍⠁⠊⠇", ("US",)),
        ("US VHF", "⠠⠠⠥⠎⠀⠠⠠⠧⠓⠋", ("US", "VHF")),
    ],
)
@pytest.mark.parametrize("rule", ["braille.capitals", "braille.text"])
def test_an_acronym_that_is_not_listed_does_not_become_a_wordsign(rule, text, cells, listed):
    result = signrules.evaluate(job_with_signs((text, cells)), plugins=CONTRACTS)
    (remedy,) = of_rule(result, rule).remedies
    after = signrules.apply_remedy(result.job, remedy)
    assert (after.signs[0].braille.acronyms, cells_of(after)) == (listed, [cells])
    again = signrules.evaluate(after, plugins=CONTRACTS)
    assert {of_rule(again, one).outcome.value for one in (rule, "braille.text")} == {"MET"}
    assert signrules.mend(result.job, plugins=CONTRACTS).job is None


def test_a_name_that_is_not_listed_is_listed_first():
    names = {"Lindgren": "⠠⠇⠊⠝⠙⠛⠗⠑⠝"}
    plugins = translating(lambda text: names.get(text) or in_cells(text))
    result = signrules.evaluate(job_with_signs(("LINDGREN", names["Lindgren"])), plugins=plugins)
    listed, translated = of_rule(result, "braille.capitals").remedies
    assert signrules.apply_remedy(result.job, listed).signs[0].braille.proper == ("Lindgren",)
    assert cells_of(signrules.apply_remedy(result.job, translated)) == ["⠇⠊⠝⠙⠛⠗⠑⠝"]


# A wordsign in capitals, which no acronym is, and a passage in capitals: what a translator makes of
# raised text.
@pytest.mark.parametrize(
    ("text", "cells", "wanted"),
    [("CHILD CARE", "⠠⠠⠡⠀⠠⠠⠉⠁⠗⠑", "⠡⠀⠉⠁⠗⠑"), ("FIRE EXIT", "⠠⠠⠠⠋⠊⠗⠑⠀⠑⠭⠊⠞⠠⠄", "⠋⠊⠗⠑⠀⠑⠭⠊⠞")],
)
def test_what_cannot_be_an_acronym_is_not_listed(text, cells, wanted):
    result = signrules.evaluate(job_with_signs((text, cells)), plugins=CONTRACTS)
    (remedy,) = of_rule(result, "braille.capitals").remedies
    assert cells_of(signrules.apply_remedy(result.job, remedy)) == [wanted]


def test_a_slip_of_the_pen_is_for_a_person_to_decide():
    result = signrules.evaluate(job_with_signs(("RESTOOM\n12", "⠗⠑⠎⠞⠗⠕⠕⠍\n⠼⠁⠃")), plugins=SPELLS)
    to_text, to_cells = of_rule(result, "braille.text").remedies
    after = signrules.apply_remedy(result.job, to_text)
    assert (after.signs[0].text, cells_of(after)) == (("RESTROOM", "12"), ["⠗⠑⠎⠞⠗⠕⠕⠍\n⠼⠁⠃"])
    assert cells_of(signrules.apply_remedy(result.job, to_cells)) == ["⠗⠑⠎⠞⠕⠕⠍\n⠼⠁⠃"]
    assert signrules.mend(result.job, plugins=SPELLS).job is None


def test_where_one_of_two_does_not_help_neither_is_offered():
    # The translator has no cells for the word that the cells say.
    plugins = translating(lambda text: None if text == "restroom" else in_cells(text))
    result = signrules.evaluate(job_with_signs(("RESTOOM", "⠗⠑⠎⠞⠗⠕⠕⠍")), plugins=plugins)
    check = of_rule(result, "braille.text")
    assert (check.holds_back, check.remedies) == (True, ())


def test_cells_that_cannot_be_read_are_mended():
    # Dots 256 alone, and no cells with dots at all.
    for cells in ("⠲", "⠀⠀"):
        mended = signrules.mend(job_with_signs(("EXIT", cells)), plugins=SPELLS)
        assert cells_of(mended.job) == ["⠑⠭⠊⠞"]


@pytest.mark.thorough
def test_an_escape_of_a_translator_is_never_offered():
    # As a translator may write a star: an escape with dots 12567, or the number of the character.
    for star in ("⠄⡳⠭⠃⠋⠚⠑⠄", "⠄⠸⠡⠭⠼⠃⠋⠚⠑⠄"):
        plugins = translating(
            lambda text, star=star: (
                text.replace("★", star).replace(" ", BLANK).replace("main", "⠍⠁⠔")
            )
        )
        result = signrules.evaluate(job_with_signs(("★ MAIN", "⠍⠁⠔")), plugins=plugins)
        check = of_rule(result, "braille.text")
        assert (check.outcome.value, check.level.value) == ("UNASSESSED", "STOP")
        assert "the translator does not know '★' (U+2605)" in check.message
        remedies = [remedy for one in result.checks for remedy in one.remedies]
        afters = [signrules.apply_remedy(result.job, remedy) for remedy in remedies]
        assert all(cells_of(after) == ["⠍⠁⠔"] for after in afters)


def test_words_are_repeated_only_at_signs_that_say_the_same():
    job = job_with_signs(("IT", "⠠⠠⠊⠞"), ("US", "⠠⠠⠥⠎"), ("IT", "⠠⠠⠊⠞"))
    edit = worded_change("List it.", of_section("sign-0", "braille", acronyms=("IT",)))
    after = Alike(job).widened(edit).made(job)
    assert [sign.braille.acronyms for sign in after.signs] == [("IT",), (), ("IT",)]


def test_cells_are_repeated_only_at_signs_that_say_the_same():
    job = job_with_signs(("MEN", "⠑⠭⠊⠞"), ("WOMEN", "⠑⠭⠊⠞"), ("MEN", "⠑⠭⠊⠞"))
    summary = "Set the cells."
    edit = worded_change(summary, of_section("sign-0", "braille", cells="⠍⠑⠝"))
    assert cells_of(Alike(job).widened(edit).made(job)) == ["⠍⠑⠝", "⠑⠭⠊⠞", "⠍⠑⠝"]


TEXTS = st.sampled_from(
    ["MEN", "EXIT", "ROOM 12", "ROOM 12B", "ROOM 13", "STAIR\nB", "LEVEL 2\nEXIT 4"]
)


@st.composite
def signs(draw):
    """One to three signs whose cells are right, of another text, or with a cell taken out, put in
    or changed.
    """
    found = []
    for text in draw(st.lists(TEXTS, min_size=1, max_size=3)):
        said = draw(st.sampled_from([text, text, draw(TEXTS)]))
        cells = "\n".join(in_cells(line) for line in said.split("\n"))
        at = draw(st.integers(0, len(cells) - 1))
        put = draw(st.sampled_from(["", "⠃", "⠠", "⠼", "⠠⠠"]))
        kept = draw(
            st.sampled_from(
                [cells, cells[:at] + put + cells[at:], cells[:at] + put + cells[at + 1 :]]
            )
        )
        found.append((text, kept if kept.strip(f"\n{BLANK}") else cells))
    return found


@settings(max_examples=effort(40), deadline=None, suppress_health_check=list(HealthCheck))
@given(signs(), st.sampled_from(["a translator", "none"]))
def test_a_remedy_leaves_cells_alone_or_makes_them_those_of_the_text(some, translator):
    plugins = SPELLS if translator == "a translator" else None
    job = job_with_signs(*some)
    result = signrules.evaluate(job, plugins=plugins)
    changed = [
        signrules.apply_remedy(job, remedy) for check in result.checks for remedy in check.remedies
    ]
    mended = signrules.mend(job, plugins=plugins).job
    for after in (*changed, *([mended] if mended is not None else [])):
        for before, sign in zip(job.signs, after.signs, strict=True):
            known = {before.braille.cells}
            if plugins is not None:
                known.add(in_cells(" ".join(sign.text)))
            if sign.text != before.text:
                assert sign.braille.cells == before.braille.cells
            assert sign.braille.cells in known or joined_cells(sign.braille.cells) in known
    if plugins is not None:
        texts = [check for check in result.checks if check.rule == "braille.text"]
        # With a capital within, the text that the cells say may have none of its own, and neither
        # is offered.
        plain = [check for check in texts if check.is_bad and "⠠" not in check.found]
        assert all(check.remedies for check in plain)
