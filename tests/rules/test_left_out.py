"""What a job leaves out and its standards limit is not assessed; it never looks as if
it were met.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm, outcomes

import signrules
from signrules.documents.document_changes import changed
from signrules.model.sign import Braille, Raised, Sign, Visual

ROOM = "signs.room-214"


def evaluated(changes):
    document = changed(signrules.sample_job(), changes)
    return signrules.evaluate(signrules.job_from_dict(document), audited=False)


def made_by(rule, result):
    return [check for check in result.checks if check.rule == rule]


def left_out(result):
    """The sections that one check each says are left out; all of level STOP."""
    checks = [check for check in made_by("tables.section", result) if check.missing is not None]
    assert all(check.outcome.value == "UNASSESSED" for check in checks)
    assert all(check.level.value == "STOP" for check in checks)
    return [check.missing.removeprefix(f"{ROOM}.") for check in checks]


# --- no standards ---------------------------------------------------------------------------------


def test_a_job_with_signs_and_no_standards_is_not_settled():
    result = evaluated({"standards": []})
    (check,) = made_by("tables.none", result)
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "STOP")
    assert check.missing == "standards"
    assert "the standards that they are sold under" in check.message
    assert check in result.unassessed
    assert not result.settled


def test_standards_settle_it_and_a_job_without_signs_needs_none():
    (check,) = made_by("tables.none", evaluated({}))
    assert check.outcome.value == "MET"
    document = signrules.sample_job() | {"signs": [], "standards": []}
    for each in document["passes"]:
        each.pop("builds", None)
    result = signrules.evaluate(signrules.job_from_dict(document), audited=False)
    assert made_by("tables.none", result) == []


# --- sections -------------------------------------------------------------------------------------


@pytest.mark.parametrize("section", ["mounting", "surface"])
def test_a_section_of_every_sign_that_is_left_out_is_not_assessed(section):
    result = evaluated({f"{ROOM}.{section}": None})
    assert left_out(result) == [section]
    assert not result.settled
    (check,) = [one for one in made_by("tables.section", result) if one.missing is not None]
    assert f"the section {section}, which us-ada-2010 limits" in check.message


def test_a_pictogram_is_nothing_that_a_sign_must_have_nor_are_visual_characters_of_a_room():
    result = evaluated({f"{ROOM}.pictogram": None, f"{ROOM}.visual": None})
    assert left_out(result) == []
    assert result.settled


def test_a_room_without_raised_characters_lacks_them_and_no_visual_ones():
    document = changed(signrules.sample_job(), {f"{ROOM}.visual": None, f"{ROOM}.raised": None})
    document["passes"] = [each for each in document["passes"] if each["id"] != "letters"]
    result = signrules.evaluate(signrules.job_from_dict(document), audited=False)
    assert "visual" not in left_out(result)


def test_a_sign_that_is_read_by_eye_alone_has_visual_characters():
    bare = {f"{ROOM}.kind": "directional", f"{ROOM}.visual": None}
    assert left_out(evaluated(bare)) == []
    document = changed(signrules.sample_job(), bare | {f"{ROOM}.raised": None})
    document["passes"] = [each for each in document["passes"] if each["id"] != "letters"]
    result = signrules.evaluate(signrules.job_from_dict(document), audited=False)
    assert left_out(result) == ["visual"]


@pytest.mark.parametrize(
    ("standard", "expected"), [("us-ada-2010", []), ("no-signs", ["mounting"])]
)
def test_baselines_of_tactile_characters_are_asked_for_where_there_are_any(standard, expected):
    """703.4.1 is on tactile characters; the Norwegian table limits the centre of the sign."""
    changes = {"standards": [standard], f"{ROOM}.kind": "directional", f"{ROOM}.mounting": None}
    assert left_out(evaluated(changes)) == ["mounting"]
    document = changed(
        signrules.sample_job(), changes | {f"{ROOM}.raised": None, f"{ROOM}.braille": None}
    )
    document["passes"] = [each for each in document["passes"] if "builds" not in each][:1]
    result = signrules.evaluate(signrules.job_from_dict(document), audited=False)
    assert left_out(result) == expected


def test_a_section_that_no_table_of_the_job_limits_is_not_asked_for():
    changes = {"standards": ["au-aba"], f"{ROOM}.mounting": None, f"{ROOM}.surface": None}
    assert left_out(evaluated(changes)) == []


# --- one line -------------------------------------------------------------------------------------

SPACED = {
    "raised": Raised(height=mm(25)),
    "visual": Visual(height=mm(25)),
    "braille": Braille(cells="⠑⠭⠊⠞"),
}


@pytest.mark.parametrize("section", SPACED)
def test_one_line_needs_no_line_spacing_and_several_do(section):
    rule = f"{section}.line-spacing"

    def told(text, cells="⠑⠭⠊⠞"):
        part = SPACED[section]
        part = evolve(part, cells=cells) if section == "braille" else part
        sign = Sign("door", text=text, **{section: part})
        return outcomes(judged(job_of(sign), ada(), rule=rule))

    assert told(("EXIT",)) == told(("EXIT", " "), "⠑⠭⠊⠞\n⠀\n") == []
    assert told(("WAY", "OUT"), "⠺⠁⠽\n⠳⠞") == told((), None) == ["UNASSESSED"]


@pytest.mark.parametrize("section", ["raised", "visual", "braille"])
def test_a_line_spacing_that_is_stated_is_judged_however_many_lines_there_are(section):
    result = evaluated({f"{ROOM}.{section}.line_spacing": "100 mm"})
    assert [check.outcome.value for check in made_by(f"{section}.line-spacing", result)] == [
        "BROKEN"
    ]


# --- case -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "case", "expected"),
    [
        ("ROOM 214", "upper", []),
        ("214", "upper", []),
        ("Room 214", "upper", ["mixed"]),
        ("room 214", "upper", ["lower"]),
        ("room 214", "lower", []),
        ("Room 214", "lower", ["mixed"]),
        ("Room 214", "mixed", []),
        ("Room 214", None, []),
    ],
)
def test_text_in_another_case_than_the_raised_characters_is_for_review(text, case, expected):
    sign = Sign("door", text=(text,), raised=Raised(case=case))
    checks = judged(job_of(sign), rule="raised.case")
    review = [check for check in checks if check.level.value == "REVIEW"]
    assert [check.found for check in review] == expected
    assert all(check.outcome.value == "BROKEN" for check in review)
    assert all("signs.door.text" in check.message for check in review)
    assert len(checks) == len(review)


def unassessed(rule, **parts):
    """What a rule asks for of a sign, by the 2010 ADA Standards."""
    sign = Sign("room", kind="permanent-room", **parts)
    return {check.missing for check in judged(job_of(sign), ada(), rule=rule)}


def test_one_letter_a_line_has_no_gap_between_letters():
    raised = Raised(height=mm(20))
    assert unassessed("raised.spacing", raised=raised, text=("C",)) == set()
    assert unassessed("raised.spacing", raised=raised, text=("CD",))


def test_one_cell_a_line_has_no_distance_of_cells():
    rule, path = "braille.cell-spacing", "signs.room.braille.cell_spacing"
    assert unassessed(rule, braille=Braille(cells="⠉")) == set()
    assert unassessed(rule, braille=Braille(cells="⠉⠙")) == {path}
    assert unassessed(rule, braille=Braille()) == {path}


def test_relief_of_raised_characters_is_known_by_another_name():
    document = changed(signrules.sample_job(), {f"{ROOM}.raised.relief": "1 mm"})
    with pytest.raises(signrules.JobError, match="the key depth"):
        signrules.job_from_dict(document)
