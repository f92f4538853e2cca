"""Intervals hold what they say they hold, as often as they say, on readings of invented shops."""

from __future__ import annotations

import zlib
from random import Random

import pytest
from effort import first_quick
from measuring.invented_shops import ALWAYS, AT_95, DRAGGED, dragged_steps

from signrules import measure, procedures

DRAWS = 1000


def seeded(figure: str) -> Random:
    return Random(zlib.crc32(figure.encode()))


def test_every_procedure_has_an_invented_shop():
    assert AT_95.keys() | ALWAYS.keys() == {each.figure for each in procedures()}
    assert not AT_95.keys() & ALWAYS.keys()


@pytest.mark.parametrize("figure", first_quick(4, sorted(AT_95)))
def test_intervals_hold_the_truth_in_about_95_of_100_draws(figure):
    random = seeded(figure)
    held = 0
    for _ in range(DRAWS):
        document, judge = AT_95[figure](random)
        held += judge(measure(figure, document).value)
    assert 0.92 <= held / DRAWS <= 0.98


@pytest.mark.parametrize("figure", ALWAYS)
def test_bounds_hold_the_truth_in_every_draw(figure):
    random = seeded(figure)
    for _ in range(100):
        document, judge = ALWAYS[figure](random)
        assert judge(measure(figure, document).value)


@pytest.mark.slow
def test_intervals_with_drag_hold_the_truth_in_about_95_of_100_draws():
    random = seeded("drag")
    held = {"drop-speed": 0, "base-gap": 0}
    truth = {"drop-speed": DRAGGED.speed / 1000, "base-gap": 1.6}
    for _ in range(DRAWS):
        document = dragged_steps(random)
        for figure in held:
            value = measure(figure, document).value
            held[figure] += value.low <= truth[figure] <= value.high
    assert all(0.92 <= count / DRAWS <= 0.98 for count in held.values()), held
