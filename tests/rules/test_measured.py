"""What measured dots tell: by hand, and against scipy's normal distribution."""

from __future__ import annotations

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scenario import sign_job
from scipy.stats import norm
from standards.signs import ada, job_of, judged, mm

import signrules
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Measured, Sign
from signrules.physics.measured_dots import MeasuredDots, measured_dots, normal_outside
from signrules.rules.checks import Level, Outcome
from signrules.standards.dimension_tables import read_standard

HEIGHTS = st.lists(st.floats(0.3, 1.2), min_size=2, max_size=30).filter(
    lambda values: max(values) - min(values) > 1e-5
)


def test_by_hand():
    """Mean (0.64 + 0.70 + 0.76) / 3 = 0.70, spread sqrt((0.06**2 + 0.06**2) / 2) = 0.06."""
    found = measured_dots((0.64, 0.70, 0.76), 0.6, 0.9)
    assert (found.count, found.least, found.most, found.outside) == (3, 0.64, 0.76, 0.0)
    assert (found.mean, found.spread) == (pytest.approx(0.70), pytest.approx(0.06))
    # 0.6 lies 5/3 and 0.9 lies 10/3 deviations from the mean: 4.779 % and 0.043 % in tables of the
    # distribution.
    assert found.expected_outside == pytest.approx(0.04779 + 0.00043, abs=1e-5)


def test_a_limit_at_the_mean_leaves_half_outside():
    found = measured_dots((0.5, 0.75), 0.625)
    assert found.expected_outside == 0.5
    assert found.outside == 0.5
    assert measured_dots((0.5, 0.75), most=0.625).expected_outside == 0.5


def test_one_deviation_each_way_leaves_the_known_share():
    """68.27 % of a normal distribution lie within one deviation, 95.45 % within two, 99.73 % within
    three.
    """
    shares = [1 - normal_outside(0.7, 0.1, 0.7 - 0.1 * n, 0.7 + 0.1 * n) for n in (1, 2, 3)]
    assert shares == pytest.approx([0.6827, 0.9545, 0.9973], abs=5e-5)


def test_the_share_outside_is_counted():
    assert measured_dots((0.5, 0.6, 0.7, 0.9, 1.0), 0.6, 0.9).outside == 0.4
    assert measured_dots((0.6 - 9e-7, 0.9 + 9e-7), 0.6, 0.9).outside == 0
    assert measured_dots((0.6 - 2e-6, 0.7, 0.8, 0.9 + 2e-6), 0.6, 0.9).outside == 0.5


def test_one_height_has_no_spread():
    assert measured_dots((0.5,), 0.6, 0.9) == MeasuredDots(1, 0.5, None, 0.5, 0.5, 1.0, None)


@pytest.mark.parametrize(
    ("height", "expected"), [(0.5, 1.0), (0.6, 0.0), (0.7, 0.0), (0.9, 0.0), (0.95, 1.0)]
)
def test_heights_that_are_all_alike(height: float, expected: float):
    found = measured_dots((height,) * 3, 0.6, 0.9)
    assert (found.mean, found.spread, found.expected_outside) == (height, 0.0, expected)
    nearly = measured_dots((height, height + 5e-7), 0.6, 0.9)
    assert nearly.spread is not None
    assert nearly.spread > 0
    assert nearly.expected_outside == expected


def test_without_a_range_nothing_is_outside():
    found = measured_dots((0.5, 0.7))
    assert (found.outside, found.expected_outside) == (0, 0)


def test_the_layer_is_fed_back():
    found = measured_dots((0.66, 0.72, 0.78), layers=24)
    assert found.layer is not None
    assert found.layer == Interval(0.66 / 24, found.layer.nominal, 0.78 / 24)
    assert found.layer.nominal == pytest.approx(0.030)
    assert measured_dots((0.66, 0.72)).layer is None


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (((), 0.6, 0.9), "at least one measured height"),
        (((0.7,), 0.9, 0.6), "lower end first"),
        (((0.7,), None, None, 0), "one layer"),
        (((0.0,), None, None, 3), "height"),
    ],
)
def test_what_is_refused(arguments: tuple[object, ...], reason: str):
    with pytest.raises(ValueError, match=reason):
        measured_dots(*arguments)  # type: ignore[arg-type]


@pytest.mark.parametrize("deviation", [0.0, -1.0, float("nan")])
def test_a_deviation_is_above_nothing(deviation: float):
    with pytest.raises(ValueError, match="deviation"):
        normal_outside(0.7, deviation, 0.6, 0.9)


@given(HEIGHTS, st.floats(0.2, 0.7), st.floats(0.7, 1.3))
def test_against_an_outside_reference(heights: list[float], least: float, most: float):
    found = measured_dots(heights, least, most)
    assert found.mean == pytest.approx(statistics.fmean(heights))
    assert found.spread == pytest.approx(statistics.stdev(heights), rel=1e-6)
    known = norm(statistics.fmean(heights), statistics.stdev(heights))
    assert found.expected_outside == pytest.approx(
        known.cdf(least) + known.sf(most), rel=1e-5, abs=1e-12
    )
    assert 0 <= found.expected_outside <= 1 + 1e-12


# --- the rule -------------------------------------------------------------------------------------


def noted(*heights: float, standard=None):
    sign = Sign("room-214", braille=Braille(), measured=Measured(heights))
    return judged(
        job_of(sign), *([ada()] if standard is None else standard), rule="braille.measured-spread"
    )


def test_a_note_without_a_limit():
    (found,) = noted(0.64, 0.70, 0.76)
    assert (found.outcome, found.level, found.unit, found.limit) == (
        Outcome.MET,
        Level.NOTE,
        "%",
        (None, None),
    )
    assert found.subjects == ("signs.room-214",)
    # 0.025 in and 0.037 in.
    assert found.measured is not None
    wanted = 100 * (norm.cdf(0.635, 0.70, 0.06) + norm.sf(0.9398, 0.70, 0.06))
    assert found.measured.nominal == pytest.approx(wanted, rel=1e-6)
    assert "mean 0.700 mm, standard deviation 0.060 mm, 0 of 3 outside" in found.message
    assert "703.3.1" in found.source.text


@pytest.mark.parametrize(
    ("heights", "share"), [((0.7, 0.7), 0), ((0.5, 0.5), 100), ((-0.1, -0.1), 100)]
)
def test_dots_that_are_alike(heights: tuple[float, ...], share: float):
    (found,) = noted(*heights)
    assert found.measured == mm(share)


def test_fewer_than_two_dots_or_no_standard_give_no_note():
    assert noted(0.7) == noted() == noted(0.7, 0.8, standard=[]) == []
    assert (
        judged(job_of(Sign("room-214", braille=Braille())), ada(), rule="braille.measured-spread")
        == []
    )


def house_of(*limits: str):
    rows = "".join(
        f"""
        [[rows]]
        quantity = "braille.dot_height"
        {limit}
        clause = "{number}"
        source = "invented"
        standing = "read"
        """
        for number, limit in enumerate(limits, 1)
    )
    head = 'id = "house"\ntitle = "A house rule"\npublisher = "nobody"\nunit = "mm"\n'
    return read_standard(head + rows, "house.toml")


SHARE = 'least = "40 %"\nof = "braille.dot_diameter"'


def test_a_row_that_is_a_share_of_another_length_gives_no_note():
    assert noted(0.7, 0.8, standard=[house_of(SHARE)]) == []


def test_a_row_that_is_a_share_hides_no_row_after_it():
    """Of 0.64, 0.70 and 0.76 mm half are expected below their mean, whatever the row before says of
    the diameter.
    """
    (found,) = noted(0.64, 0.70, 0.76, standard=[house_of(SHARE, 'least = "0.7 mm"')])
    assert found.measured is not None
    assert found.measured.nominal == pytest.approx(50)
    assert "A house rule, 2" in found.source.text


@pytest.mark.parametrize(
    ("depths", "percent"), [((0.80, 0.84, 0.88), 12.379), ((0.99, 1.00, 1.01), 0.0)]
)
def test_characters_are_judged_as_dots_are(depths, percent):
    """Against scipy.stats.norm; the limit of depth is 1/32 in (2010 ADA Standards, 703.2.1)."""
    document = sign_job()
    document["signs"][0]["measured"] = {"depth": list(depths)}
    document["passes"][1]["builds"] = "room.raised"
    result = signrules.evaluate(signrules.job_from_dict(document))
    (found,) = [check for check in result.checks if check.rule == "raised.measured-spread"]
    mean, spread = statistics.fmean(depths), statistics.stdev(depths)
    assert found.measured.nominal == pytest.approx(100 * norm.cdf(0.79375, mean, spread), abs=1e-6)
    assert found.measured.nominal == pytest.approx(percent, abs=1e-3)
    assert f"{1000 * mean / 24:.1f} um a layer" in found.message
    assert found.level is signrules.Level.NOTE


def test_a_missing_character_is_no_fault():
    document = sign_job()
    document["signs"][0]["measured"] = {"depth": [0.0, 0.9], "dot_height": [0.0, 0.7]}
    assert signrules.evaluate(signrules.job_from_dict(document)).complete
