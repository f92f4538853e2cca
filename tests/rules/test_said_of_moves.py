"""What is said where nothing holds a sheet, where many signs fail, and how far throws shrink."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.rules.table_coverage import MOST_NAMED, _first_few


def checks_of(document, rule):
    result = signrules.evaluate(signrules.job_from_dict(document), audited=False)
    return [check for check in result.checks if check.rule == rule]


def test_what_moves_a_sheet_is_said_where_something_does():
    document = sign_job(standards=[])
    held = checks_of(document, "registration.frame")
    assert held
    assert all("What moves it" not in check.message for check in held)
    document["media"][0]["hold"] = "none"
    sheet = document["media"][0]["id"]
    loose = checks_of(document, "registration.frame")
    broken = [check for check in loose if check.outcome.value == "BROKEN"]
    assert broken
    assert all(f"What moves it: nothing holds {sheet}." in check.message for check in broken)


def test_of_many_sentences_the_first_are_said_and_the_others_counted():
    few = [f"{number}." for number in range(MOST_NAMED - 1)]
    assert _first_few(few) == " ".join(few)
    assert _first_few([*few, *few, "x."]) == " ".join([*few, "x."])
    more = [f"{number}." for number in range(MOST_NAMED + 2)]
    assert _first_few(more) == " ".join(more[:MOST_NAMED]) + " So would 2 more."


def test_a_throw_shrinks_by_the_ink_that_the_pass_lays():
    document = sign_job(standards=[], signs=[])
    document["inks"] = [{"id": "clear", "role": "clear", "layer": "28 .. 30 .. 35 um"}]
    document["passes"] = [
        {"id": "tall", "ink": "clear", "layers": 11, "gap": {"extra": 1}},
    ]
    (check,) = checks_of(document, "throw.shrink")
    # Eleven layers stand at its end: 11 x 28 um to 11 x 35 um.
    assert (check.measured.low, check.measured.high) == pytest.approx((0.308, 0.385))
