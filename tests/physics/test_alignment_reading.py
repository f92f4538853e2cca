"""Reading test patterns, and what printed marks say: invented readings, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

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


def at_three_places(left, centre, right):
    """The readings of groups of lines at 0, 600 and 1200 mm; each list holds one for each group."""
    return {
        f"group {number}": [(0, a), (600, b), (1200, c)]
        for number, (a, b, c) in enumerate(zip(left, centre, right, strict=True), start=1)
    }


def test_two_groups_with_ends_alike():
    found = read_alignment(at_three_places([3, 5], [4, 4], [3, 5]), **SETTING, tolerance=0.06)
    assert found.step == 4
    assert list(found.residuals) == [0, 600, 1200]
    assert all(ends(found.residuals[place]) == (-0.02, 0.0, 0.02) for place in (0, 1200))
    assert ends(found.residuals[600]) == (0.0, 0.0, 0.0)
    assert found.worst == pytest.approx(0.02)
    assert found.tilt.rise == pytest.approx(0.0)
    # Half a step at either end: 6000 x (0.01 + 0.01) / 1600.
    assert found.tilt.uncertainty == pytest.approx(0.075)
    assert not found.tilt.is_certain
    assert found.warning == ""


def test_three_groups_with_ends_that_differ():
    places = at_three_places([1, 2, 3], [4, 4, 5], [6, 7, 7])
    found = read_alignment(places, **SETTING, tolerance=0.08)
    # From 1 to 7: step 4 leaves three steps at either end.
    assert found.step == 4
    assert ends(found.residuals[0]) == (-0.06, -0.04, -0.02)
    assert ends(found.residuals[1200]) == (0.04, 8 / 3 * 0.02, 0.06)
    # The groups differ by 5, 5 and 4 steps: 14 / 3 x 0.02 mm, times 6000 / 1600.
    assert found.tilt.rise == pytest.approx(0.35)
    assert found.tilt.uncertainty == pytest.approx(0.075)
    assert found.tilt.is_certain
    assert found.warning == ""


def test_two_places():
    # 3 steps of 0.02 mm, times 6000 / 1600; the places may come in any order.
    found = read_alignment([(1000, 7), (200, 4)], **SETTING)
    assert (found.step, list(found.residuals)) == (5, [200, 1000])
    assert (found.tilt.rise, found.tilt.uncertainty) == pytest.approx((0.225, 0.075))


def test_five_places_lie_along_a_line_by_least_squares():
    # Slope of 0, 2, 1, 3, 4 at 0 to 4: (-2 x 0 - 1 x 2 + 1 x 3 + 2 x 4) / 10 = 0.9 steps a place,
    # so 3.6 steps from end to end; each reading may be off by half a step: 4 x 6 / 10 / 2 = 1.2.
    readings = [(0, 0), (250, 2), (500, 1), (750, 3), (1000, 4)]
    found = read_alignment(readings, **SETTING)
    assert found.step == 2
    assert found.tilt.rise == pytest.approx(3.6 * 0.02 * 6000 / 1600)
    assert found.tilt.uncertainty == pytest.approx(1.2 * 0.02 * 6000 / 1600)


def test_one_place_says_nothing_of_tilt():
    found = read_alignment([(600, 4.3)], **SETTING, tolerance=0.01)
    assert (found.step, found.tilt) == (4, None)
    assert found.worst == pytest.approx(0.006)
    assert found.warning.startswith("This step may not serve everywhere")


@pytest.mark.parametrize(
    ("places", "words"),
    [
        (([0, 1], [4, 4], [8, 9]), "level bed and head"),
        (([0, 8, 1], [4, 4, 4], [0, 8, 1]), "ends are alike"),
    ],
)
def test_no_single_step_serves(places, words):
    readings = at_three_places(*places)
    found = read_alignment(readings, **SETTING, tolerance=0.06)
    assert found.step == 4
    assert found.worst > 0.06
    assert found.warning.startswith("No single step serves everywhere")
    assert words in found.warning
    assert read_alignment(readings, **SETTING).warning == ""


def test_a_reading_that_may_be_off_leaves_a_doubt():
    # Two steps of 0.02 mm are within 0.045 mm; with half a step more they are not.
    readings = [(0, 2), (600, 4), (1200, 6)]
    found = read_alignment(readings, **SETTING, tolerance=0.045)
    assert found.worst == pytest.approx(0.04)
    assert found.warning.startswith("This step may not serve everywhere")
    assert read_alignment(readings, **SETTING, tolerance=0.05).warning == ""


def test_residuals_are_told_as_one_number_or_from_the_lowest_group_to_the_highest():
    # 0.02 mm a step: at the left the groups lie 4 and 3 steps below the step taken, in the centre
    # both on it.
    found = read_alignment(at_three_places([0, 1], [4, 4], [8, 9]), **SETTING, tolerance=0.06)
    told = "-0.080 to -0.060 mm at 0 mm, +0.000 mm at 600 mm, +0.080 to +0.100 mm at 1200 mm"
    assert told in found.warning


best_steps = st.integers(-40, 40).map(lambda halves: halves / 2)
groups_of_lines = st.tuples(
    st.lists(st.integers(0, 3000), min_size=1, max_size=6, unique=True), st.integers(1, 4)
).flatmap(
    lambda drawn: st.fixed_dictionaries(
        {
            f"group {number}": st.tuples(*[best_steps] * len(drawn[0])).map(
                lambda steps: list(zip(drawn[0], steps, strict=True))
            )
            for number in range(drawn[1])
        }
    )
)


@given(groups_of_lines)
def test_no_other_step_leaves_less(readings):
    found = read_alignment(readings, **SETTING)
    every = [step for pairs in readings.values() for _, step in pairs]
    for step in range(found.step - 45, found.step + 46):
        assert found.worst <= max(abs(reading - step) for reading in every) * 0.02 + 1e-9
    assert found.worst == pytest.approx(max(abs(reading - found.step) for reading in every) * 0.02)


@given(groups_of_lines, st.integers(-10, 10))
def test_what_is_the_same_everywhere_moves_the_step_and_not_the_tilt(readings, by):
    before = read_alignment(readings, **SETTING)
    shifted = {name: [(x, step + by) for x, step in pairs] for name, pairs in readings.items()}
    after = read_alignment(shifted, **SETTING)
    assert after.worst == pytest.approx(before.worst)
    if before.tilt is not None:
        assert after.tilt.rise == pytest.approx(before.tilt.rise, abs=1e-9)


@given(groups_of_lines.filter(lambda readings: len(next(iter(readings.values()))) > 1))
def test_the_tilt_is_that_of_the_line_that_scipy_fits(readings):
    found = read_alignment(readings, **SETTING).tilt
    slopes = [stats.linregress(*zip(*pairs, strict=True)).slope for pairs in readings.values()]
    places = [x for x, _ in next(iter(readings.values()))]
    span = max(places) - min(places)
    expected = sum(slopes) / len(slopes) * span * 0.02 * 6000 / 1600
    assert found.rise == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ({"a": [(0, 1), (9, 2)], "b": [(0, 1)]}, "b: expected readings at the same places as a"),
        ([], "expected a reading at one place or more, got none"),
        ({}, "expected the readings of one group of lines or more"),
        ([(0, float("nan"))], r"such as \(600, 4\), got \(0, nan\)"),
        ([4], "expected pairs of a place in mm and the best step there"),
        ([(0, 1, 2)], "expected pairs of a place in mm and the best step there"),
        ([(0, 1), (0, 2)], "expected one reading at each place, got two at 0 mm"),
    ],
)
def test_readings_that_do_not_fit_are_named(readings, words):
    with pytest.raises(ValueError, match=words):
        read_alignment(readings, **SETTING)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: read_alignment([(0, 1)], **(SETTING | {"step_mm": 0})),
        lambda: read_alignment([(0, 1)], **(SETTING | {"reading_uncertainty": -1})),
        lambda: read_alignment([(0, 1)], **(SETTING | {"drop_speed": 0})),
        lambda: read_alignment([(0, 1)], **SETTING, tolerance=0),
        lambda: calibration.gap_from_two_gaps(0.5, 0.6, 0.5),
        lambda: calibration.flight_from_sweep([300, 300], [1, 2]),
        lambda: calibration.flight_from_sweep([300, 600], [1]),
        lambda: calibration.drop_speed_from_marks(-500, 500, 1.5, 0.1, 0.1),
        lambda: calibration.drop_speed_from_step(1000, 0, 0.1),
        lambda: calibration.tilt_from_errors(0, 1, 0, 6000),
        lambda: calibration.height_tolerance(0, 1, 1),
    ],
)
def test_numbers_out_of_range_are_refused(wrong):
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
