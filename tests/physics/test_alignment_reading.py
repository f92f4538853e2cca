"""Reading test patterns, and what printed marks say: invented readings, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules import read_alignment
from signrules.physics import calibration

SETTING = {
    "step_mm": 0.02,
    "reading_uncertainty": 0.5,
    "carriage_speed": 800.0,
    "drop_speed": 6000.0,
}


def ends(residual):
    return pytest.approx((residual.low, residual.nominal, residual.high))


def test_two_groups_a_line_with_sides_alike():
    found = read_alignment([3, 5], [4, 4], [3, 5], **SETTING, tolerance=0.06)
    assert found.step == 4
    assert all(ends(found.residuals[place]) == (-0.02, 0.0, 0.02) for place in ("left", "right"))
    assert ends(found.residuals["centre"]) == (0.0, 0.0, 0.0)
    assert found.worst == pytest.approx(0.02)
    assert found.tilt.rise == pytest.approx(0.0)
    # Half a step at either side: 6000 x (0.01 + 0.01) / 1600.
    assert found.tilt.uncertainty == pytest.approx(0.075)
    assert not found.tilt.is_certain
    assert found.warning == ""


def test_three_groups_a_line_with_sides_that_differ():
    found = read_alignment([1, 2, 3], [4, 4, 5], [6, 7, 7], **SETTING, tolerance=0.08)
    # From 1 to 7: step 4 leaves three steps at either end.
    assert found.step == 4
    assert ends(found.residuals["left"]) == (-0.06, -0.04, -0.02)
    assert ends(found.residuals["right"]) == (0.04, 8 / 3 * 0.02, 0.06)
    # The groups differ by 5, 5 and 4 steps: 14 / 3 x 0.02 mm, times 6000 / 1600.
    assert found.tilt.rise == pytest.approx(0.35)
    assert found.tilt.uncertainty == pytest.approx(0.075)
    assert found.tilt.is_certain
    assert found.warning == ""


@pytest.mark.parametrize(
    ("left", "centre", "right", "words"),
    [
        ([0, 1], [4, 4], [8, 9], "level bed and head"),
        ([0, 8, 1], [4, 4, 4], [0, 8, 1], "sides are alike"),
    ],
)
def test_no_single_step_serves(left, centre, right, words):
    found = read_alignment(left, centre, right, **SETTING, tolerance=0.06)
    assert found.step == 4
    assert found.worst > 0.06
    assert found.warning.startswith("No single step serves everywhere")
    assert words in found.warning
    assert read_alignment(left, centre, right, **SETTING).warning == ""


def test_a_reading_that_may_be_off_leaves_a_doubt():
    # Two steps of 0.02 mm are within 0.045 mm; with half a step more they are not.
    found = read_alignment(2, 4, 6, **SETTING, tolerance=0.045)
    assert found.worst == pytest.approx(0.04)
    assert found.warning.startswith("This step may not serve everywhere")
    assert read_alignment(2, 4, 6, **SETTING, tolerance=0.05).warning == ""


def test_residuals_are_told_as_one_number_or_from_the_lowest_group_to_the_highest():
    # 0.02 mm a step: at the left the groups lie 4 and 3 steps below the step taken, in the centre
    # both on it.
    found = read_alignment([0, 1], [4, 4], [8, 9], **SETTING, tolerance=0.06)
    assert "left -0.080 to -0.060 mm, centre +0.000 mm, right +0.080 to +0.100 mm" in found.warning


readings = st.integers(-40, 40).map(lambda halves: halves / 2)
lines = st.integers(1, 4).flatmap(
    lambda n: st.tuples(*[st.lists(readings, min_size=n, max_size=n)] * 3)
)


@given(lines)
def test_no_other_step_leaves_less(places):
    found = read_alignment(*places, **SETTING)
    every = [reading for place in places for reading in place]
    for step in range(found.step - 45, found.step + 46):
        assert found.worst <= max(abs(reading - step) for reading in every) * 0.02 + 1e-9
    assert found.worst == pytest.approx(max(abs(reading - found.step) for reading in every) * 0.02)


@given(lines, st.integers(-10, 10))
def test_what_is_the_same_everywhere_moves_the_step_and_not_the_tilt(places, by):
    before = read_alignment(*places, **SETTING)
    after = read_alignment(*([reading + by for reading in place] for place in places), **SETTING)
    assert after.tilt.rise == pytest.approx(before.tilt.rise)
    assert after.worst == pytest.approx(before.worst)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: read_alignment([1, 2], [1], [1, 2], **SETTING),
        lambda: read_alignment([], [], [], **SETTING),
        lambda: read_alignment(float("nan"), 1, 1, **SETTING),
        lambda: read_alignment(1, 1, 1, **(SETTING | {"step_mm": 0})),
        lambda: read_alignment(1, 1, 1, **(SETTING | {"reading_uncertainty": -1})),
        lambda: read_alignment(1, 1, 1, **(SETTING | {"drop_speed": 0})),
        lambda: read_alignment(1, 1, 1, **SETTING, tolerance=0),
        lambda: calibration.gap_from_two_gaps(0.5, 0.6, 0.5),
        lambda: calibration.flight_from_sweep([300, 300], [1, 2]),
        lambda: calibration.flight_from_sweep([300, 600], [1]),
        lambda: calibration.drop_speed_from_marks(-500, 500, 1.5, 0.1, 0.1),
        lambda: calibration.drop_speed_from_step(1000, 0, 0.1),
        lambda: calibration.tilt_from_errors(0, 1, 0, 6000),
        lambda: calibration.height_tolerance(0, 1, 1),
    ],
)
def test_readings_out_of_range_are_refused(wrong):
    with pytest.raises(ValueError, match="expected"):
        wrong()


speeds = st.floats(100, 2000)
drop_speeds = st.floats(3000, 12_000)
gaps = st.floats(0.3, 4)


@given(speeds, drop_speeds, gaps, st.floats(0.1, 2))
def test_a_gap_comes_back_whatever_the_speeds(carriage, drop, gap, raised):
    errors = [2 * carriage * each / drop for each in (gap, gap + raised)]
    assert calibration.gap_from_two_gaps(raised, *errors) == pytest.approx(gap)


@given(
    st.lists(st.integers(100, 2000).map(float), min_size=2, max_size=6, unique=True),
    gaps,
    st.floats(-0.1, 0.1),
)
def test_a_flight_time_comes_back_from_a_sweep(carriages, gap, constant):
    errors = [2 * carriage * gap / 6000 + constant for carriage in carriages]
    flight, rest = calibration.flight_from_sweep(carriages, errors)
    assert flight == pytest.approx(gap / 6000)
    assert rest == pytest.approx(constant, abs=1e-9)


@given(speeds, speeds, drop_speeds, gaps, st.floats(-1, 1))
def test_a_drop_speed_comes_back_from_marks_and_from_a_step(forward, backward, drop, gap, drawn):
    apart = drawn + (forward + backward) * gap / drop
    assert calibration.drop_speed_from_marks(
        -backward, forward, gap, apart, drawn
    ) == pytest.approx(drop, rel=1e-6)
    assert calibration.drop_speed_from_step(forward, gap, forward * gap / drop) == pytest.approx(
        drop
    )


@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5), st.floats(-1, 1), speeds, drop_speeds)
def test_a_tilt_does_not_see_what_both_sides_share(left, right, both, carriage, drop):
    alone = calibration.tilt_from_errors(left, right, carriage, drop)
    assert calibration.tilt_from_errors(
        left + both, right + both, carriage, drop
    ).rise == pytest.approx(alone.rise, abs=1e-6)
    assert calibration.tilt_from_errors(right, left, carriage, drop).rise == pytest.approx(
        -alone.rise
    )
