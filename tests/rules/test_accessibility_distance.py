"""The least height of visual characters by viewing distance: Table 703.5.5 of the 2010 ADA
Standards.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standards.signs import ada, job_of, judged, mm, outcomes

from signrules.model.quantities import Interval
from signrules.model.sign import Sign, Visual
from signrules.rules.checks import Outcome
from signrules.rules.visual import _governing_height
from signrules.rules.visual import visual_height as visual_height
from signrules.standards.dimension_tables import Row, Standard
from signrules.standards.written_numbers import read_number

INCH = 25.4


def height_checks(height, above_floor, distance):
    sign = Sign(
        "room-214", visual=Visual(height=height, above_floor=above_floor, viewing_distance=distance)
    )
    return judged(job_of(sign), ada(), rule="visual.height")


# Height above the floor, viewing distance, least height, all in inches.
TABLE = [
    (40, 0, 0.625),
    (40, 71.9, 0.625),
    (70, 72, 0.625),
    (55, 84, 0.75),
    (55, 78, 0.6875),
    (70.01, 72, 2),
    (120, 180, 2),
    (100, 192, 2.125),
    (120.01, 180, 3),
    (200, 252, 3),
    (200, 264, 3.125),
    (30, 72, 0.625),
]


@pytest.mark.parametrize(("floor", "distance", "least"), TABLE)
def test_each_cell_of_the_table(floor, distance, least):
    floor, distance, least = mm(floor * INCH), mm(distance * INCH), least * INCH
    (check,) = height_checks(mm(least), floor, distance)
    assert check.outcome.value == "MET"
    assert check.limit == (pytest.approx(least, abs=1e-9), None)
    assert "Table 703.5.5" in check.source.text
    for by in (0.0254, 2e-6):
        assert outcomes(height_checks(mm(least - by), floor, distance)) == ["BROKEN"]
    assert outcomes(
        height_checks(Interval.between(least - 0.01, least + 0.01), floor, distance)
    ) == ["DOUBTFUL"]


def test_the_message_gives_inches_and_millimetres():
    (check,) = height_checks(mm(16), mm(1500), mm(84 * INCH))
    assert "must be at least 0.75 in (19.05 mm)): 3.05 mm too little" in check.message


def test_a_range_of_distances_asks_for_the_most_of_them():
    near_far = Interval(72 * INCH, 78 * INCH, 84 * INCH)
    floor = mm(1500)
    assert outcomes(height_checks(mm(0.75 * INCH), floor, near_far)) == ["MET"]
    (check,) = height_checks(mm(0.70 * INCH), floor, near_far)
    assert check.outcome.value == "DOUBTFUL"
    assert check.measured.low == pytest.approx(-0.05 * INCH)
    assert check.measured.nominal == pytest.approx(0.0125 * INCH)
    assert check.measured.high == pytest.approx(0.075 * INCH)
    assert outcomes(height_checks(mm(0.62 * INCH), floor, near_far)) == ["BROKEN"]


def test_a_baseline_astride_two_bands_is_judged_in_both():
    floor = Interval(69 * INCH, 69.5 * INCH, 71 * INCH)
    assert outcomes(height_checks(mm(1 * INCH), floor, mm(0))) == ["DOUBTFUL"]
    assert outcomes(height_checks(mm(2 * INCH), floor, mm(0))) == ["MET"]
    assert outcomes(height_checks(mm(0.5 * INCH), floor, mm(0))) == ["BROKEN"]


def test_a_nanometre_does_not_change_the_band():
    assert outcomes(height_checks(mm(0.625 * INCH), mm(70 * INCH + 0.9e-6), mm(0))) == ["MET"]
    assert outcomes(height_checks(mm(0.625 * INCH), mm(70 * INCH + TWO), mm(0))) == ["BROKEN"]


TWO = 2e-6


@pytest.mark.parametrize(
    ("floor", "distance", "fields"),
    [
        (None, mm(1000), ["above_floor"]),
        (mm(1500), None, ["viewing_distance"]),
        (None, None, ["above_floor", "viewing_distance"]),
    ],
)
def test_an_unknown_place_is_named_and_the_least_of_all_still_binds(floor, distance, fields):
    checks = height_checks(mm(5 / 8 * INCH), floor, distance)
    assert set(outcomes(checks)) == {"UNASSESSED"}
    assert [check.missing for check in checks] == [
        f"signs.room-214.visual.{field}" for field in fields
    ]
    (broken,) = height_checks(mm(5 / 8 * INCH - TWO), floor, distance)
    assert (broken.outcome.value, broken.missing) == ("BROKEN", None)
    astride = height_checks(Interval.between(15, 17), floor, distance)
    assert outcomes(astride) == ["DOUBTFUL", *["UNASSESSED"] * len(fields)]


def test_what_is_known_raises_the_least_of_all():
    assert outcomes(height_checks(mm(1.9 * INCH), mm(100 * INCH), None)) == ["BROKEN"]
    assert outcomes(height_checks(mm(0.7 * INCH), None, mm(84 * INCH))) == ["BROKEN"]
    assert outcomes(height_checks(mm(0.8 * INCH), None, mm(84 * INCH))) == ["UNASSESSED"]


def test_an_unknown_height_is_named():
    (check,) = height_checks(None, None, None)
    assert (check.outcome.value, check.missing) == ("UNASSESSED", "signs.room-214.visual.height")


def to_the_nanometre(least, most):
    return st.floats(least, most).map(lambda value: round(value, 6))


@given(
    floor=to_the_nanometre(0, 4000),
    floor_spread=to_the_nanometre(0, 600),
    distance=to_the_nanometre(0, 12_000),
    distance_spread=to_the_nanometre(0, 3000),
    height=st.floats(5, 150),
    at=st.tuples(to_the_nanometre(0, 1), to_the_nanometre(0, 1)),
)
def test_a_verdict_on_ranges_holds_for_every_value_within(
    floor, floor_spread, distance, distance_spread, height, at
):
    floors = Interval.between(floor, floor + floor_spread)
    distances = Interval.between(distance, distance + distance_spread)
    (whole,) = height_checks(mm(height), floors, distances)
    one_floor = floor + at[0] * (floors.high - floor)
    one_distance = distance + at[1] * (distances.high - distance)
    (one,) = height_checks(
        mm(height), mm(min(one_floor, floors.high)), mm(min(one_distance, distances.high))
    )
    if whole.outcome.value != "DOUBTFUL":
        assert one.outcome is whole.outcome
    else:
        assert whole.measured.low < 0 < whole.measured.high or whole.measured.high == pytest.approx(
            0, abs=1e-5
        )


def test_a_table_in_mm_says_its_limit_in_mm():
    assert _governing_height(25.0, Standard("x", "X", "X", "mm", ())) == "25 mm"
    assert _governing_height(25.4, Standard("x", "X", "X", "in", ())) == "1 in (25.4 mm)"


def test_a_height_of_characters_that_goes_by_no_distance():
    row = Row("visual.height", "1", "X", "read", least=read_number("15 mm"))
    item = Sign("room", visual=Visual(height=Interval.exact(14.0)))
    (found,) = visual_height.function(item, (Standard("x", "X", "X", "mm", (row,)),))
    assert found.outcome is Outcome.BROKEN
    assert (found.measured.low, found.least) == (14.0, 15.0)
