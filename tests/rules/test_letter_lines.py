"""Shares of the height of raised characters are judged line by line where lines are stated."""

from __future__ import annotations

import pytest
from attrs import evolve

import signrules
from signrules import Interval, LetterLine


def stroke_share(height, stroke, lines):
    """What `raised.stroke` measures for a sign with these figures, in percent."""
    plain = signrules.sample_job()
    plain["standards"] = ["us-ada-2010"]
    job = signrules.job_from_dict(plain)
    sign = job.signs[0]
    raised = evolve(sign.raised, height=height, stroke=stroke, lines=lines)
    job = evolve(job, signs=(evolve(sign, raised=raised),))
    result = signrules.evaluate(job)
    [check] = [each for each in result.checks if each.rule == "raised.stroke"]
    return check.measured.low, check.measured.high


LINES = (
    LetterLine(Interval.exact(20.0), Interval.exact(2.8)),
    LetterLine(Interval.exact(16.0), Interval.exact(2.08)),
)
HEIGHT, STROKE = Interval.between(16.0, 20.0), Interval.between(2.08, 2.8)


def test_each_line_has_its_own_share():
    """By hand: 2.8 of 20 is 14 %, 2.08 of 16 is 13 %."""
    assert stroke_share(HEIGHT, STROKE, LINES) == pytest.approx((13, 14))


def test_without_lines_the_thickest_is_held_against_the_lowest():
    """By hand: 2.08 of 20 is 10.4 %, 2.8 of 16 is 17.5 %."""
    assert stroke_share(HEIGHT, STROKE, ()) == pytest.approx((10.4, 17.5))


@pytest.mark.parametrize("height", [Interval.between(14.0, 20.0), Interval.between(16.0, 21.0)])
def test_lines_that_are_not_those_of_the_stated_height_do_not_count(height):
    share = stroke_share(height, STROKE, LINES)
    assert share == pytest.approx((100 * 2.08 / height.high, 100 * 2.8 / height.low))


def test_the_worst_line_is_told():
    """By hand: 2.8 of 16 is 17.5 %, 2.8 of 20 is 14 %."""
    thick = (LINES[0], LetterLine(Interval.exact(16.0), Interval.exact(2.8)))
    assert stroke_share(HEIGHT, Interval.exact(2.8), thick) == pytest.approx((14, 17.5))
