"""Relief that a sign states and no pass is said to build, though one may print it."""

from __future__ import annotations

import pytest
from attrs import evolve
from rules.drawn_signs import BRAILLE, DOTS, LETTERS, SIGN, at
from standards.signs import ada, job_of, judged, mm

from signrules.model.passes import Pass
from signrules.model.sign import Measured, Raised, Sign

# Ink of 30 um a layer: 25 layers are 0.75 mm. The cells take 53.5 by 6.3 mm, as in test_drawing.
TALL = evolve(DOTS, layers=25)
IDLE = evolve(TALL, builds=())
STATED = evolve(
    SIGN,
    kind="permanent-room",
    braille=evolve(BRAILLE, dot_height=mm(0.8)),
    raised=Raised(height=mm(25), depth=mm(0.9)),
)


def dots(*passes, sign=STATED, others=()):
    checks = judged(job_of(sign, *others, passes=passes), ada(), rule="braille.dot-height")
    return [(check.outcome.value, check.level.value, check.missing) for check in checks]


FORGOTTEN = [("UNASSESSED", "STOP", "passes.dots.builds")]
DECLARED = [("MET", "STOP", None)]


def test_what_a_pass_may_print_is_not_believed():
    assert dots(IDLE, LETTERS) == FORGOTTEN
    (check,) = judged(job_of(STATED, passes=(IDLE,)), ada(), rule="braille.dot-height")
    assert "dots prints relief and no pass builds room.braille: state which one does" in (
        check.message
    )


@pytest.mark.parametrize(
    "item",
    [
        # 6 layers are 0.18 mm, which is no relief; an area of 53.4 mm is too narrow, and one of
        # 6.2 mm too low, as a border is.
        evolve(IDLE, layers=6),
        at(IDLE, (40, 30, 53.4, 8)),
        at(IDLE, (40, 30, 60, 6.2)),
        evolve(IDLE, layers=6, areas=None),
    ],
)
def test_what_no_pass_can_print_is_declared(item):
    assert dots(item, LETTERS) == DECLARED


def test_letters_that_are_printed_say_nothing_of_dots():
    assert dots(evolve(LETTERS, layers=30)) == DECLARED


def test_what_was_measured_counts():
    measured = evolve(STATED, measured=Measured(dot_height=(0.8,)))
    assert dots(IDLE, sign=measured) == DECLARED


def test_a_sign_without_braille_has_none_that_is_forgotten():
    assert dots(IDLE, sign=evolve(STATED, braille=None)) == []


def test_dots_of_another_sign_on_the_sheet():
    other = evolve(STATED, id="b")
    lacking = [missing for _, _, missing in dots(TALL, others=(other,)) if missing]
    assert lacking == ["signs.b.braille.dot_height"]


def test_letters():
    idle = evolve(LETTERS, builds=(), layers=30)
    checks = judged(job_of(STATED, passes=(idle,)), ada(), rule="raised.depth")
    assert [check.missing for check in checks] == ["passes.letters.builds"]


def test_where_no_table_limits_it_it_is_for_review():
    (check,) = judged(job_of(STATED, passes=(IDLE,)), rule="braille.dot-height")
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "REVIEW")


def test_braille_that_states_no_sizes_may_lie_in_any_area():
    sign = Sign("room", braille=evolve(BRAILLE, dot_diameter=None, dot_height=mm(0.8)))
    small = Pass("dots", "clear", areas=((at(IDLE, (40, 30, 5, 5))).areas), layers=25)
    assert [missing for _, _, missing in dots(small, sign=sign)] == ["passes.dots.builds"]
