"""Intervals and fits beside published examples and scipy's own functions."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from signrules.measuring.place_figures import spread_alike
from signrules.measuring.statistics import (
    Estimate,
    Part,
    combined_estimate,
    curve_fit,
    line_fit,
    mean_estimate,
    next_estimate,
    one_sided_factor,
    two_sided_factor,
)

# --- published examples ---------------------------------------------------------------------------

approx = pytest.approx

NORRIS = """
0.1 0.2, 338.8 337.4, 118.1 118.2, 888.0 884.6, 9.2 10.1, 228.1 226.5, 668.5 666.3, 998.5 996.3,
449.1 448.6, 778.9 777.0, 559.2 558.2, 0.3 0.4, 0.1 0.6, 778.1 775.5, 668.8 666.9, 339.3 338.0,
448.9 447.5, 10.8 11.6, 557.7 556.0, 228.3 228.1, 998.0 995.8, 888.8 887.6, 119.6 120.2, 0.3 0.3,
0.6 0.3, 557.6 556.8, 339.3 339.1, 888.0 887.2, 998.5 999.0, 778.9 779.0, 10.2 11.1, 117.6 118.3,
228.9 229.2, 668.4 669.1, 449.2 448.9, 0.2 0.5
"""
"""y and x of NIST Statistical Reference Datasets, linear regression, "Norris". From memory."""

THERMOMETER = [
    (21.521, -0.171),
    (22.012, -0.169),
    (22.512, -0.166),
    (23.003, -0.159),
    (23.507, -0.164),
    (23.999, -0.165),
    (24.513, -0.156),
    (25.002, -0.157),
    (25.503, -0.159),
    (26.010, -0.161),
    (26.511, -0.160),
]
"""JCGM 100:2008, example H.3, table H.6: temperature and correction, degrees C. From memory."""


def test_a_line_has_the_certified_values_of_norris():
    pairs = [pair.split() for pair in NORRIS.replace("\n", " ").split(",")]
    fit = line_fit([float(x) for _, x in pairs], [float(y) for y, _ in pairs])
    slope = fit.estimate(lambda slope, intercept: slope, Part(0.0))
    intercept = fit.estimate(lambda slope, intercept: intercept, Part(0.0))
    # Certified values of the dataset, from memory.
    assert (slope.value, intercept.value) == approx((1.00211681802045, -0.262323073774029), 1e-9)
    assert slope.uncertainty == approx(0.429796848199937e-3, rel=1e-6)
    assert intercept.uncertainty == approx(0.232818234301152, rel=1e-6)
    assert fit.deviation == approx(0.884796396144373, rel=1e-9)
    assert slope.freedom == 34


def test_a_line_has_the_printed_values_of_the_thermometer():
    fit = line_fit([t - 20 for t, _ in THERMOMETER], [b for _, b in THERMOMETER])
    slope = fit.estimate(lambda slope, intercept: slope, Part(0.0))
    intercept = fit.estimate(lambda slope, intercept: intercept, Part(0.0))
    # JCGM 100:2008, H.3.3: -0.1712 and 0.0029, 0.00218 and 0.00067, deviation 0.0035.
    assert (intercept.value, intercept.uncertainty) == approx((-0.1712, 0.0029), abs=5e-5)
    assert (slope.value, slope.uncertainty) == approx((0.00218, 0.00067), abs=5e-6)
    assert fit.deviation == approx(0.0035, abs=5e-5)
    variances = fit.unit_covariance
    assert variances[2] / math.sqrt(variances[0] * variances[1]) == approx(-0.930, abs=5e-4)


def test_a_figure_of_slope_and_intercept_counts_that_they_are_correlated():
    fit = line_fit([t - 20 for t, _ in THERMOMETER], [b for _, b in THERMOMETER])
    at_30 = fit.estimate(lambda slope, intercept: intercept + 10 * slope, Part(0.0))
    # JCGM 100:2008, H.3.4: -0.1494 and 0.0041; H.3.4 also says 9 degrees of freedom.
    assert (at_30.value, at_30.uncertainty) == approx((-0.1494, 0.0041), abs=5e-5)
    assert at_30.freedom == approx(9)


def test_parts_of_an_uncertainty_combine_as_in_the_guide():
    # JCGM 100:2008, G.4.1: 0.25 %, 0.57 % and 0.82 % of 10, 5 and 15 readings.
    parts = (Part(0.25, 9), Part(0.57, 4), Part(0.82, 14))
    found = combined_estimate(100.0, parts)
    assert found.uncertainty == approx(1.03, abs=0.005)
    assert found.freedom == approx(19.0, abs=0.05)
    half = found.interval().high - found.interval().nominal
    assert half / found.uncertainty == approx(2.09, abs=0.005)


@pytest.mark.parametrize(
    ("freedom", "factor"),
    [(1, 12.71), (2, 4.30), (3, 3.18), (5, 2.57), (10, 2.23), (20, 2.09), (math.inf, 1.960)],
)
def test_factors_are_those_of_the_table(freedom, factor):
    # JCGM 100:2008, table G.2, column of 95 %; from memory.
    assert two_sided_factor(freedom) == approx(factor, abs=0.005)


def test_limits_of_a_mean_are_those_of_the_handbook():
    # e-Handbook 1.3.5.2, heat flow meter: 195 readings, from memory.
    found = Estimate(9.261460, 0.022789 / math.sqrt(195), 194).interval()
    assert (found.low, found.high) == approx((9.258242, 9.264679), abs=2e-6)


def test_two_deviations_are_compared_as_in_the_handbook():
    # e-Handbook 1.3.5.9, ceramic strength: F = 1.123 of 240 and 240, not rejected. From memory.
    ratio = (65.54909 / 61.85425) ** 2
    assert ratio == approx(1.123037, abs=1e-6)
    assert spread_alike(65.54909, 61.85425, 239)
    assert not spread_alike(65.54909, 61.85425 / 1.5, 239)


# --- beside scipy and the formulas of the library -------------------------------------------------

VALUES = [4.1, 3.7, 4.4, 4.0, 4.3]


def test_the_interval_of_a_mean_is_that_of_scipy():
    found = mean_estimate(VALUES).interval()
    low, high = stats.t.interval(0.95, 4, loc=4.1, scale=stats.sem(VALUES))
    assert (found.low, found.nominal, found.high) == approx((low, 4.1, high))


def test_the_interval_of_one_more_is_wider_by_root_n_plus_one():
    mean, another = mean_estimate(VALUES), next_estimate(VALUES)
    assert another.uncertainty == approx(mean.uncertainty * math.sqrt(len(VALUES) + 1))
    assert another.upper_end() == approx(4.1 + stats.t.ppf(0.95, 4) * another.uncertainty)


def test_the_step_of_a_tool_counts_where_all_readings_are_alike():
    found = mean_estimate([3.0, 3.0, 3.0], reads_to=0.12)
    assert found.uncertainty == approx(0.12 / math.sqrt(12))
    assert found.freedom == math.inf
    assert found.interval().high - 3 == approx(1.959964 * 0.12 / math.sqrt(12))


def test_factors_are_those_of_scipy():
    for freedom in (1, 4, 17):
        assert two_sided_factor(freedom) == approx(stats.t.ppf(0.975, freedom))
        assert one_sided_factor(freedom) == approx(stats.t.ppf(0.95, freedom))


def test_errors_of_a_line_are_those_of_scipy():
    x, y = [0.0, 1.0, 2.0, 3.5, 4.0], [1.1, 2.9, 5.2, 7.8, 9.1]
    found = stats.linregress(x, y)
    fit = line_fit(x, y)
    slope = fit.estimate(lambda slope, intercept: slope, Part(0.0))
    intercept = fit.estimate(lambda slope, intercept: intercept, Part(0.0))
    assert slope.uncertainty == approx(found.stderr)
    assert intercept.uncertainty == approx(found.intercept_stderr)


def test_a_curve_that_is_a_line_is_fitted_like_one():
    x, y = [0.0, 1.0, 2.0, 3.5, 4.0], [1.1, 2.9, 5.2, 7.8, 9.1]
    line = line_fit(x, y)
    curve = curve_fit(lambda x, slope, intercept: slope * x + intercept, x, y, (1.0, 0.0))
    assert curve.figures == approx(line.figures, rel=1e-6)
    assert curve.unit_covariance == approx(line.unit_covariance, rel=1e-5)


def test_readings_that_bend_do_not_keep_to_a_line():
    x = [0.0, 1.0, 2.0, 3.0, 4.0]
    assert line_fit(x, [value**2 for value in x]).holds(Part(1e-9)) is False
    assert line_fit(x, [2 * value + 1 for value in x]).holds(Part(1e-9)) is True
    assert line_fit(x, [0.01, 0.99, 2.02, 2.98, 4.0]).holds(Part(1e-9)) is True
    assert line_fit([0.0, 1.0], [0.0, 1.0]).holds(Part(1e-9)) is None
    assert line_fit([0.0, 0.0, 1.0, 1.0], [0.0, 0.1, 1.0, 1.1]).holds(Part(1e-9)) is None


def test_a_bend_that_the_step_of_the_reading_may_feign_is_none():
    fit = line_fit([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 1.0, 2.1, 3.3, 4.6])
    assert fit.holds(Part(1e-9)) is False
    assert fit.holds(Part(0.5)) is True


def test_the_bend_is_tested_as_a_third_coefficient_would_be():
    # Independent: the t of x squared in a fit of three figures, by scipy's F of the two fits.
    import numpy

    x = [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0]
    y = [0.1, 0.4, 1.2, 1.9, 3.3, 4.5, 5.9]
    for bend in (0.0, 0.02, 0.05, 0.1, 0.2):
        bent = [b + bend * a**2 for a, b in zip(x, y, strict=True)]
        left = [
            sum((numpy.polyval(numpy.polyfit(x, bent, degree), x) - bent) ** 2) for degree in (1, 2)
        ]
        chance = stats.f.sf((left[0] - left[1]) / (left[1] / 4), 1, 4)
        assert line_fit(x, bent).holds(Part(1e-9)) is bool(chance > 0.01)
