"""The clear space around braille and raised characters, as the areas let it be.

2010 ADA Standards, 703.3.2 and 703.2.7: 3/8 in, which is 9.525 mm. Distances are worked by hand.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from rules.drawn_signs import DOTS, LETTERS, SIGN, at, outcomes
from standards.signs import ada, job_of, judged, mm

from signrules.model.passes import Area, Pass

TEXT = "the braille and the raised characters"
DOTS_TO_INK = "the braille and what else stands up"
TEXT_TO_INK = "the raised characters and what else stands up"
TALL = (evolve(DOTS, layers=24), evolve(LETTERS, layers=30))
BAR = Pass("bar", "clear", areas=(Area(20, 83, 160, 3),), layers=30)
STATED = evolve(SIGN, kind="permanent-room", raised=evolve(SIGN.raised, clear_space=mm(20)))


def spaces(sign, *passes):
    """The most clear space by what it lies between."""
    checks = judged(job_of(sign, passes=passes), ada(), rule="drawing.clear-space")
    return {
        check.message.partition(" leave between ")[2].partition(" is ")[0]: check
        for check in checks
        if "the most clear space" in check.message
    }


@pytest.mark.parametrize(
    ("dots", "outcome"),
    [
        # Letters of 25 mm fill their area from 48 to 73 mm. Dots of 6.3 mm lie within theirs: at
        # its very foot they leave 48 - (y + 6.3).
        ((40, 32.2, 60, 6.3), "MET"),
        ((40, 32.3, 60, 6.3), "BROKEN"),
        ((40, 32.2, 60, 14), "MET"),
        ((40, 38, 60, 6.3), "BROKEN"),
    ],
)
def test_braille_below_text_is_judged_at_the_most_that_the_areas_leave(dots, outcome):
    sign = evolve(STATED, braille=evolve(SIGN.braille, clear_space=mm(11)))
    check = spaces(sign, at(DOTS, dots), LETTERS)[TEXT]
    assert (check.outcome.value, check.level.value) == (outcome, "STOP")


def test_text_that_may_stand_higher_in_its_area_is_let_pass():
    sign = evolve(STATED, raised=evolve(SIGN.raised, height=mm(20)))
    dots = at(DOTS, (40, 38, 60, 6.3))
    # 48 - 44.3 is 3.7 mm; letters of 20 mm at the head of 25 mm leave 5 mm more, and of 18 mm 7.
    assert spaces(sign, dots, LETTERS)[TEXT].measured.nominal == pytest.approx(8.7)
    low = evolve(sign, raised=evolve(SIGN.raised, height=mm(18)))
    assert spaces(low, dots, LETTERS)[TEXT].outcome.value == "MET"


def test_braille_that_lies_beside_the_text_is_not_compared():
    assert TEXT not in spaces(STATED, at(DOTS, (150, 50, 40, 8)), LETTERS)


@pytest.mark.parametrize(("foot", "outcome"), [(82.5, "MET"), (82.4, "BROKEN"), (77, "BROKEN")])
def test_a_border_over_the_letters(foot, outcome):
    bar = at(BAR, (20, foot, 160, 3))
    check = spaces(STATED, *TALL, bar)[TEXT_TO_INK]
    assert (check.outcome.value, check.level.value) == (outcome, "STOP")
    assert check.source.text.startswith(f"{ada().title}, 703.2.7")


def test_a_border_that_is_met_only_where_the_letters_lie_is_not_judged_by_the_standard():
    # At the right end of an area of 100 mm, and the letters, of unknown width, may lie at its left.
    bar = at(BAR, (145, 48, 3, 25))
    assert spaces(STATED, *TALL, bar)[TEXT_TO_INK].outcome.value == "MET"
    checks = judged(job_of(STATED, passes=(*TALL, bar)), ada(), rule="drawing.clear-space")
    (own,) = [check for check in checks if "the distance from the raised" in check.message]
    assert (own.outcome.value, own.level.value) == ("BROKEN", "REVIEW")
    assert own.measured.nominal == 5


def test_a_border_by_the_dots():
    # The dots take 53.5 mm and may end at x = 93.5 or, in 60 mm, at 100; the bar begins at 102.
    near, far = at(BAR, (102, 25, 3, 20)), at(BAR, (110, 25, 3, 20))
    assert spaces(STATED, *TALL, near)[DOTS_TO_INK].outcome.value == "BROKEN"
    assert spaces(STATED, *TALL, far)[DOTS_TO_INK].outcome.value == "MET"


def test_letters_stand_as_far_from_a_border_as_an_area_of_any_height_lets_them():
    # Letters of 25 mm in 60 mm, from 48 to 108: at the head of it their foot is at 83. A bar that
    # ends at 43 leaves them 40 mm then. Over the letters one from 118 leaves 118 - 73, 45 mm.
    letters = at(TALL[1], (40, 48, 100, 60))
    for foot, space in ((40, 40), (118, 45)):
        check = spaces(STATED, letters, at(BAR, (20, foot, 160, 3)))[TEXT_TO_INK]
        assert check.measured.nominal == pytest.approx(space)


@pytest.mark.parametrize("change", [{"coverage": 0.5}, {"layers": 1}])
def test_ink_that_does_not_fill_its_areas_or_is_flat_is_no_border(change):
    bar = evolve(at(BAR, (20, 75, 160, 3)), **change)
    assert TEXT_TO_INK not in spaces(STATED, *TALL, bar)


def test_a_border_and_no_clear_space_stated():
    sign = evolve(STATED, raised=SIGN.raised)
    checks = judged(job_of(sign, passes=(*TALL, BAR)), ada(), rule="drawing.clear-space")
    lacking = [check for check in checks if check.missing]
    assert [check.missing for check in lacking] == ["signs.room.raised.clear_space"]
    assert outcomes(lacking) == ["UNASSESSED"]


def test_a_sign_that_no_table_binds_is_not_judged():
    sign = evolve(STATED, kind="address")
    assert spaces(sign, at(DOTS, (40, 38, 60, 6.3)), LETTERS) == {}
