"""A stated gap that nobody can set: what stands beside it and what that would do,
worked by hand.
"""

from __future__ import annotations

import pytest
from scenario import pass_of, sign_job

import signrules
from signrules import Level, Outcome
from signrules.model.printer import Dial, Spacers, extras_beside


def judged(gap, printer=None, **changes):
    document = sign_job(alignments=[{"extra": 0}, {"extra": 1}, {"extra": 0.7}], **changes)
    document["printer"] |= printer or {}
    pass_of(document, "dots")["gap"] = gap
    return signrules.evaluate(signrules.job_from_dict(document))


def settable(result):
    (check,) = [
        c for c in result.checks if c.rule == "gap.settable" and c.subjects[0] == "passes.dots"
    ]
    return check


def test_it_stops_the_job_and_forbids_no_order():
    result = judged({"extra": 1.2})
    check = settable(result)
    assert (check.outcome, check.level, check.decides) == (Outcome.BROKEN, Level.STOP, False)
    assert not result.ok
    assert result.order_is_safe
    assert result.conflict is None
    # Planned as stated: 3 + 1.5 + 1.2 mm over the bed.
    assert result.timeline.printings[1].plane.height.nominal == pytest.approx(5.7)


def test_the_settings_beside_it_are_named_with_what_they_would_do():
    """Ground of 0.01 mm under dots of 0.72 mm, spacers of 1 and 1.5 mm.

    At 1 mm: 1.5 + 1 - 0.73 = 1.77 mm are free, the throw is 2.49 mm and lands 2 x 800 / 6000 x 0.01
    mm off by the alignment at 1 mm. At 1.5 mm it is half a millimetre more of each, and the error 2
    x 800 / 6000 x 0.49 mm.
    """
    text = settable(judged({"extra": 1.2})).message
    assert "Next below, the spacer of 1 mm leaves 1.77 mm of clearance, throws 2.49 mm" in text
    assert "and lands within 0.003 mm (0.06 mm allowed)." in text
    assert "Next above, the spacer of 1.5 mm leaves 2.27 mm of clearance, throws 2.99 mm" in text
    # The plan makes an alignment for 1.2 mm: at 1.19 - 23 x 0.03 = 0.5 mm to 1.19 mm in the mean,
    # or 0.965 where it begins to serve; records at 1 mm serve it, so none is made.
    assert "and lands 0.131 mm off (0.06 mm allowed) without another alignment." in text


def test_one_that_would_hit_says_by_how_much():
    # At 0 mm over the sheet 0.6 - 0.73 = -0.13 mm are left.
    text = settable(
        judged({"extra": 0.2}, {"base_gap": "0.6 mm", "min_clearance": "0.05 mm"})
    ).message
    assert "Next below, no spacer would hit by 0.13 mm." in text


def test_too_little_room_and_too_long_a_throw_are_said():
    printer = {"min_clearance": "1.9 mm", "max_throw": "2.9 mm"}
    text = settable(judged({"extra": 1.2}, printer)).message
    assert "leaves 1.77 mm of clearance (1.9 mm needed)" in text
    assert "throws 2.99 mm (2.9 mm at most)" in text


def test_one_way_and_without_a_tolerance_nothing_is_said_of_landing():
    document = sign_job()
    pass_of(document, "dots").update({"gap": {"extra": 1.2}, "directions": 1})
    check = settable(signrules.evaluate(signrules.job_from_dict(document)))
    assert "leaves 1.77 mm of clearance and throws 2.49 mm." in check.message
    assert "lands" not in check.message


def test_beyond_the_last_setting_there_is_nothing_above():
    text = settable(judged({"extra": 2})).message
    assert "Next below, the spacer of 1.5 mm" in text
    assert "The printer has no setting above it." in text
    dial = {"gap": {"control": "dial", "max": "1 mm", "step": "0.25 mm"}}
    assert "Next below, the dial at 0.5 mm" in settable(judged({"extra": 0.6}, dial)).message


def test_every_remedy_can_be_set_and_breaks_nothing():
    result = judged({"extra": 0.2}, {"min_clearance": "0.9 mm"})
    remedies = settable(result).remedies
    # Without a spacer 0.77 mm are left of 0.9 mm, so the next smaller one is no remedy.
    assert [one.summary for one in remedies] == [
        "Set the gap of dots to 0.5 mm over panel (the 0.5 mm spacer) instead of 0.2 mm over panel."
    ]
    assert signrules.evaluate(signrules.apply_remedy(result.job, remedies[0])).ok
    mended = signrules.mend(result.job)
    assert mended.result.ok


def test_no_waiver_and_no_sequence_makes_it_settable():
    waiver = {
        "rule": "gap.settable",
        "subject": "passes.dots",
        "reason": "shims",
        "by": "the night shift",
    }
    assert not judged({"extra": 1.2}, waivers=[waiver]).ok
    assert not judged({"extra": 1.2}, sequence=["ground", "dots", "ink-on-dots"]).ok


@pytest.mark.parametrize("gap", [{"extra": 1}, {"extra": 1, "above": "build-up"}])
def test_what_can_be_set_is_met(gap):
    assert settable(judged(gap)).outcome is Outcome.MET


@pytest.mark.parametrize(
    ("extra", "beside"),
    [
        (-1, (None, 0.0)),
        (0.2, (0.0, 0.5)),
        (0.5, (0.0, 0.5)),
        (0.7, (0.5, 1.0)),
        (1.2, (1.0, None)),
    ],
)
def test_the_extras_beside_another(extra, beside):
    assert extras_beside(Spacers((1.0, 0.5)), extra) == beside
    assert extras_beside(Dial(1.0, 0.5), extra) == beside
