"""What the engine makes of measured and limit: outcome and margin agree, at every end of every
interval.
"""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

from signrules import Interval, Outcome, check, from_memory, missing, one_of
from signrules.model import GUARD_MM
from signrules.model.wording import number_text
from signrules.rules.check_messages import check_message, quantity_text

NUMBERS = st.integers(-400, 400).map(lambda count: count / 8)


@st.composite
def intervals(draw):
    low, high = sorted((draw(NUMBERS), draw(NUMBERS)))
    return Interval.between(low, high)


@given(intervals(), st.none() | NUMBERS, st.none() | NUMBERS)
def test_the_outcome_is_that_of_both_ends(measured, least, most):
    assume(least is None or most is None or least <= most)
    draft = check("a thing", measured=measured, least=least, most=most, unit="mm")
    holds = [
        (least is None or value >= least) and (most is None or value <= most)
        for value in (measured.low, measured.high)
    ]
    if all(holds):
        assert draft.outcome is Outcome.MET
    else:
        below = least is not None and measured.high < least
        beyond = most is not None and measured.low > most
        assert draft.outcome is (Outcome.BROKEN if below or beyond else Outcome.DOUBTFUL)
    if draft.margin is not None:
        assert (draft.margin >= 0) == (draft.outcome is Outcome.MET)


@given(intervals(), NUMBERS)
def test_above_excludes_its_limit(measured, limit):
    draft = check("a thing", measured=measured, above=limit, unit="mm")
    if measured.low > limit:
        assert draft.outcome is Outcome.MET
    else:
        assert draft.outcome is (Outcome.BROKEN if measured.high <= limit else Outcome.DOUBTFUL)


def test_a_nanometre_is_no_difference():
    assert check("a gap", measured=1 - GUARD_MM / 2, least=1.0, unit="mm").outcome is Outcome.MET
    assert check("a gap", measured=1 - GUARD_MM * 2, least=1.0, unit="mm").outcome is Outcome.BROKEN
    assert check("a gap", measured=GUARD_MM / 2, above=0.0, unit="mm").outcome is Outcome.BROKEN
    assert check("a gap", measured=0.1 + 0.2, most=0.3, unit="mm").outcome is Outcome.MET


@pytest.mark.parametrize("rubbish", [math.nan, math.inf])
def test_numbers_that_are_none_are_refused(rubbish):
    with pytest.raises(ValueError, match="finite"):
        check("a gap", measured=rubbish, least=1.0, unit="mm")


def test_above_goes_with_no_other_limit():
    with pytest.raises(ValueError, match="either above"):
        check("a gap", measured=1, above=0, most=2, unit="mm")


def test_words_and_missing_fields():
    assert one_of("the case", found="upper", allowed=["upper"]).outcome is Outcome.MET
    mixed = one_of("the case", found="mixed", allowed=["upper"])
    assert mixed.outcome is Outcome.BROKEN
    assert check_message("signs.a", mixed) == "signs.a: the case is mixed, upper is required."
    unsaid = missing("signs.a.raised.case", "the case")
    assert unsaid.outcome is Outcome.UNASSESSED
    assert "signs.a.raised.case" in check_message("signs.a", unsaid)


@pytest.mark.parametrize(
    ("found", "allowed", "told"),
    [
        (None, ["vacuum"], "the hold: found=None, expected a text"),
        ("vacuum", [], r"the hold: allowed=\[\], expected one word at least"),
    ],
)
def test_no_word_and_no_word_that_is_allowed_are_refused(found, allowed, told):
    with pytest.raises(ValueError, match=told):
        one_of("the hold", found=found, allowed=allowed)


def test_yes_and_no_are_no_numbers():
    with pytest.raises(ValueError, match="measured=True, expected a number or an Interval"):
        check("the pins", measured=True, least=1, unit="")


def test_the_message_says_what_where_by_how_much_and_what_to_do():
    draft = check(
        "the clearance", measured=Interval(0.7, 0.76, 0.8), least=1.0, advice="Set a larger gap."
    )
    text = (
        "passes.a: the clearance is 0.7 to 0.8 mm (must be at least 1 mm): 0.3 mm too little. Set a"
        " larger gap."
    )
    assert check_message("passes.a", draft) == text
    doubtful = check("the clearance", measured=Interval(0.7, 1, 1.2), least=1.0)
    assert "holds at one end of the tolerance and misses by 0.3 mm" in check_message(
        "passes.a", doubtful
    )


def test_a_tolerance_that_reaches_beyond_both_limits_holds_at_neither_end():
    draft = check("the height", measured=Interval(0.5, 0.75, 1.2), least=0.6, most=0.9)
    assert draft.outcome is Outcome.DOUBTFUL
    assert check_message("signs.a", draft).endswith(
        "it holds only between the ends of the tolerance and misses by 0.3 mm at the worse end."
    )
    on_one = check("the height", measured=Interval(0.6, 0.75, 1.2), least=0.6, most=0.9)
    assert "at one end of the tolerance and misses by 0.3 mm at the other" in check_message(
        "signs.a", on_one
    )


def test_what_is_missed_by_some_nanometres_is_not_said_to_be_missed_by_nothing():
    text = "signs.a: the height is 0.63498 mm (must be at least 0.635 mm): 0.00002 mm too little."
    assert (
        check_message("signs.a", check("the height", measured=0.63498, least=0.635, unit="mm"))
        == text
    )
    assert number_text(-0.0) == number_text(-GUARD_MM / 10) == "0"


@pytest.mark.parametrize("rubbish", [math.nan, math.inf])
def test_limits_that_are_none_are_refused(rubbish):
    with pytest.raises(ValueError, match="expected a finite limit"):
        check("a gap", measured=1.0, least=rubbish, unit="mm")


def test_a_limit_on_both_sides_and_what_nobody_has_looked_up():
    draft = check(
        "a gap", measured=3.0, least=1.0, most=2.0, source=from_memory("seen somewhere"), unit="mm"
    )
    assert (
        check_message("passes.a", draft)
        == "passes.a: a gap is 3 mm (must be 1 to 2 mm): 1 mm too much."
    )
    assert draft.source.kind == "from memory"


def test_what_must_be_none_is_said_so_in_plain_words():
    draft = check("the number of slips", measured=1, most=0, unit="")
    assert check_message("signs.a", draft) == "signs.a: the number of slips is 1, and must be 0."


def test_a_finding_that_is_told_in_words():
    draft = evolve(check("x", measured=1, most=0, unit="", advice="Move it."), told="it overlaps b")
    assert check_message("signs.a", draft) == "signs.a: it overlaps b. Move it."
    met = evolve(check("x", measured=0, most=0, unit=""), told="it overlaps b")
    assert check_message("signs.a", met) == "signs.a: x is 0 (must be at most 0)."
    lacking = evolve(missing("signs.a.kind", "whether"), told="the kind is not known")
    assert check_message("signs.a", lacking).endswith(
        "whether cannot be assessed: the kind is not known."
    )


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1, "layers", "1 layer"),
        (2, "layers", "2 layers"),
        (1, "passes", "1 pass"),
        (1, "boxes", "1 box"),
        (1, "pauses", "1 pause"),
        (1, "copies", "1 copies"),
        (1, "s", "1 s"),
        (1, "mm", "1 mm"),
        (0.1, "degrees", "0.1 degrees"),
        (1, "", "1"),
    ],
)
def test_one_of_a_thing_is_told_as_one(value, unit, text):
    assert quantity_text(value, unit) == text
