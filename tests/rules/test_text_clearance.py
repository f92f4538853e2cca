"""The stated gap from raised text to braille against the clear space that standards and the sign
ask for.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm, outcomes

import signrules
from signrules.model.sign import Braille, Raised, Sign
from signrules.standards.dimension_tables import amended_tables, builtin_standards

# 2010 ADA Standards, 703.3.2: 3/8 in from braille to other tactile characters.
LEAST = 9.525


def gap(below, space=None, *standards):
    braille = Braille(below_text=mm(below), clear_space=None if space is None else mm(space))
    sign = Sign("room", kind="permanent-room", braille=braille)
    return judged(job_of(sign), *standards, rule="braille.text-clearance")


@pytest.mark.parametrize(
    ("below", "outcome"), [(6, "BROKEN"), (9.5, "BROKEN"), (LEAST, "MET"), (40, "MET")]
)
def test_raised_text_is_tactile(below, outcome):
    (check,) = gap(below, None, ada())
    assert (check.outcome.value, check.level.value) == (outcome, "STOP")
    assert ", 703.3.2" in check.source.text


def test_a_gap_that_is_less_than_the_stated_clear_space():
    (check,) = gap(6, 10)
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert "is 6 mm (must be at least 10 mm): 4 mm too little" in check.message
    assert check.source.text == "signs.room.braille.clear_space"
    assert outcomes(gap(10, 10)) == ["MET"]
    assert outcomes(gap(6, 10, ada())) == ["BROKEN", "BROKEN"]


@pytest.mark.parametrize(
    ("below", "gaps", "outcome"),
    [
        # By hand: 13 mm, as far as 5 mm to the side, are 12 mm straight down.
        (12.01, {"spacing": mm(10)}, "MET"),
        (11.99, {"spacing": mm(10)}, "BROKEN"),
        (12.01, {"spacing": mm(4), "word_spacing": mm(10)}, "MET"),
        (0.5, {"spacing": mm(30)}, "MET"),
    ],
)
def test_the_clear_space_may_run_aslant_below_a_gap_between_letters(below, gaps, outcome):
    braille = Braille(below_text=mm(below), clear_space=mm(13))
    sign = Sign("room", kind="permanent-room", braille=braille, raised=Raised(**gaps))
    (check,) = judged(job_of(sign), rule="braille.text-clearance")
    assert (check.outcome.value, check.level.value) == (outcome, "REVIEW")


def test_a_row_on_the_gap_itself_takes_the_place_of_the_clear_space():
    tables = amended_tables(builtin_standards())
    assert gap(6, None, tables["us-ca-cbc-11b"]) == []


def test_a_sign_that_states_no_gap():
    sign = Sign("room", braille=Braille(clear_space=mm(10)))
    assert judged(job_of(sign), ada(), rule="braille.text-clearance") == []
    assert judged(job_of(evolve(sign, braille=None)), ada(), rule="braille.text-clearance") == []


def silent(job):
    (check,) = [one for one in signrules.evaluate(job).checks if one.rule == "tables.silent"]
    return check


def test_a_stated_gap_alone_leaves_nothing_that_is_not_judged():
    document = signrules.job_to_dict(
        job_of(Sign("room", braille=Braille(below_text=mm(10), clear_space=mm(10))))
    )
    document["standards"] = ["us-ada-2010"]
    check = silent(signrules.job_from_dict(document))
    assert (check.outcome.value, check.limit) == ("MET", (None, 0))


def test_the_gap_is_what_is_mended():
    job = signrules.job_from_dict(
        signrules.job_to_dict(
            job_of(Sign("room", braille=Braille(below_text=mm(6), clear_space=mm(10))))
        )
        | {"standards": ["us-ada-2010"]}
    )
    checks = signrules.evaluate(job).checks
    law = next(c for c in checks if c.rule == "braille.text-clearance" and c.level.value == "STOP")
    # The first remedy serves the clear space that the sign states, too.
    (operation,) = (each for each in law.remedies[0].patch if each["op"] != "test")
    assert operation["path"] == "/signs/0/braille/below_text"
    assert "10 mm" in law.remedies[0].summary
