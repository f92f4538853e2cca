"""Braille on the side of its text again: the remedy of `drawing.side`."""

from __future__ import annotations

from rules.drawn_signs import DOTS, LETTERS, SIGN
from standards.signs import job_of

import signrules
from signrules.model.passes import Pass


def side_check(job):
    (check,) = [one for one in signrules.evaluate(job).checks if one.rule == "drawing.side"]
    return check


def test_dots_and_what_lands_on_them_go_to_the_side_of_the_text():
    dots = Pass("dots", "clear", areas=DOTS.areas, builds=("room.braille",), side="back")
    tops = Pass("tops", "black", areas=DOTS.areas, over=("dots",), side="back")
    check = side_check(job_of(SIGN, passes=(dots, tops, LETTERS)))
    first = check.remedies[0]
    assert first.summary == "Print dots, tops on the front of the sheet."
    done = [each for each in first.patch if each["op"] != "test"]
    assert {each["path"] for each in done} == {"/passes/0/side", "/passes/1/side"}


def test_it_is_told_where_there_is_no_safe_order():
    # Nothing turns the sheet over, so the back cannot be printed.
    dots = Pass("dots", "clear", areas=DOTS.areas, builds=("room.braille",), side="back")
    result = signrules.evaluate(job_of(SIGN, passes=(dots, LETTERS)))
    assert not result.ok
    (lying,) = [c for c in result.checks if c.rule == "order.side" and c.is_bad]
    assert lying.remedies[0].summary == "Print dots on the front of the sheet."
    assert [c.outcome.value for c in result.checks if c.rule == "drawing.side"] == ["BROKEN"]
