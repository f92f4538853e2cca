"""Figures that are not usual, and readings that stand far from the others."""

from __future__ import annotations

import pytest
from measuring.examples import EXAMPLES, measured

from signrules import procedures
from signrules.measuring.doubts import field_of


@pytest.mark.parametrize("figure", list(EXAMPLES))
def test_examples_are_not_doubted(figure):
    assert measured(figure).doubts == ()


def test_every_figure_of_a_shop_file_has_a_usual_range():
    for each in procedures():
        found = field_of(each.goes_to)
        assert (found is None) == (not each.goes_to)
        assert found is None or found.usual is not None


def times(*texts):
    return [{"time": text} for text in texts]


def thicknesses(*values):
    return [{"thickness": value} for value in values]


@pytest.mark.parametrize(
    ("figure", "keys", "expected"),
    [
        # Ten times the step, or a tenth of the speed, gives a tenth of the drop speed.
        ("drop-speed", {"step": "100 um"}, "0.579 m/s is unlikely, usual are 2 to 15 m/s. Is 579"),
        ("drop-speed", {"carriage_speed": "80 mm/s"}, "usual are 2 to 15 m/s. Is 579"),
        # Seconds written as minutes: (245 + 231 + 252) / 3 = 242.7.
        (
            "load-minutes",
            {"readings": times("245 min", "231 min", "252 min")},
            "usual are 0 to 120 min. Is 242.7 s",
        ),
        (
            "sheet-thickness",
            {"readings": thicknesses(0.119, 0.117, 0.118)},
            "usual are 0.2 to 25 mm. Is 1.18 mm or 0.118 in meant?",
        ),
    ],
)
def test_a_figure_that_is_not_usual_names_the_slip(figure, keys, expected):
    (told,) = measured(figure, **keys).doubts
    assert expected in told


def steps(*pairs):
    return [{"extra": extra, "best_step": step} for extra, step in pairs]


@pytest.mark.parametrize(
    ("figure", "rows", "place", "meant"),
    [
        (
            "sheet-thickness",
            thicknesses(3.03, 29.6, 3.05, 3.0, 3.02),
            "readings[1].thickness: 29.6",
            "2.96 mm",
        ),
        (
            "sheet-thickness",
            thicknesses(3.03, 2.96, 3.03, 0.301),
            "readings[3].thickness: 0.301",
            "3.01 mm",
        ),
        (
            "load-minutes",
            times("4 min", "4.1 min", "41 min", "3.9 min"),
            "readings[2].time: '41 min'",
            "246 s",
        ),
        (
            "drop-speed",
            steps((0, 41), (0, 42), (1, 69), (1, 69.5), (2, 9.6), (2, 97)),
            "readings[4].best_step: 9.6",
            "96",
        ),
    ],
)
def test_a_reading_far_from_the_others_is_named(figure, rows, place, meant):
    told = measured(figure, readings=rows).doubts[0]
    assert told.startswith(f"{place} stands far from the other readings")
    assert f"Is {meant} meant, a factor of ten?" in told


def test_ten_median_deviations_are_far_and_less_is_not():
    # Around 3.00 the median absolute deviation is 0.02, so 10 of them reach to 3.20.
    rows = (2.98, 3.02, 2.98, 3.02, 3.0, 2.97)
    assert measured("sheet-thickness", readings=thicknesses(*rows, 3.19)).doubts == ()
    (told,) = measured("sheet-thickness", readings=thicknesses(*rows, 3.25)).doubts
    assert "3.25 stands far" in told
    assert "factor of ten" not in told


def test_two_clusters_along_a_line_are_compared_with_the_line():
    rows = steps(*((at % 2, 41 + 28 * (at % 2)) for at in range(2000)), (2, 97))
    assert measured("drop-speed", readings=rows).doubts == ()
