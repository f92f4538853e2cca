"""Relief where a feature does not stand on one ground: no part of it may hide behind a
higher one.
"""

from __future__ import annotations

import pytest

from signrules.model import Area, Gap, Ink, Interval, Job, Media, Pass, Printer, Spacers
from signrules.physics.heights import Heights
from signrules.physics.relief import feature_relief

PRINTER = Printer((600, 400), Interval.exact(1.5), 1, Spacers(()), 40, 800, 6000)
INKS = (Ink("white", Interval.exact(0.02)), Ink("clear", Interval.exact(0.03)))


def job(*passes):
    return Heights(Job(PRINTER, (Media("panel", Interval.exact(3), (200, 100)),), INKS, passes))


def printed(name, ink, layers, *areas, coverage=1.0):
    rectangles = tuple(Area(*area) for area in areas) or None
    return Pass(
        name, ink, areas=rectangles, layers=layers, coverage=coverage, gap=Gap(Interval.exact(0))
    )


@pytest.mark.parametrize("coverage", [0.3, 1.0])
def test_dots_that_are_too_low_do_not_hide_behind_those_on_a_flood(coverage):
    dots = printed("dots", "clear", 17, (10, 10, 60, 8), coverage=coverage)
    heights = job(printed("flood", "white", 10, (40, 0, 160, 100)), dots)
    found = feature_relief(heights, {1})
    assert found.low == pytest.approx(0.51)
    assert found.high == pytest.approx(0.71)


def test_a_stack_of_shrinking_discs_is_as_high_as_its_last_disc():
    heights = job(
        printed("wide", "clear", 10, (10, 10, 1.6, 1.6)),
        printed("narrow", "clear", 10, (10.3, 10.3, 1, 1)),
    )
    found = feature_relief(heights, {0, 1})
    assert (found.low, found.high) == pytest.approx((0.6, 0.6))


def test_of_two_builders_in_different_places_the_lower_one_counts():
    heights = job(
        printed("first", "clear", 24, (10, 10, 9, 9)),
        printed("second", "clear", 10, (40, 10, 9, 9)),
    )
    found = feature_relief(heights, {0, 1})
    assert (found.low, found.high) == pytest.approx((0.3, 0.72))


def test_a_corner_is_not_beside():
    heights = job(
        printed("flood", "white", 10, (0, 0, 10, 10)), printed("dots", "clear", 24, (10, 10, 9, 9))
    )
    found = feature_relief(heights, {1})
    assert (found.low, found.high) == pytest.approx((0.72, 0.72))


def test_a_feature_that_covers_its_whole_sheet_has_no_face_beside_it():
    assert feature_relief(job(printed("all", "clear", 10)), {0}) is None


def test_partial_ink_that_does_not_land_on_the_feature_may_be_bare_beneath_it():
    halftone = printed("halftone", "white", 5, coverage=0.5)
    dots = printed("dots", "clear", 19, (10, 10, 60, 8), coverage=0.3)
    found = feature_relief(job(halftone, dots), {1})
    assert (found.low, found.high) == pytest.approx((0.57, 0.67))


@pytest.mark.parametrize(
    "second",
    [(25, 10, 15, 8), (10, 10, 2, 8), (12, 12, 26, 4), (10, 10, 30, 4)],
    ids=["half of the length", "a little of it", "all but a wide rim", "half of the height"],
)
def test_what_a_second_builder_leaves_out_is_no_rim(second):
    # Ten layers of 0.03 mm on all of it, ten more on a part: what is left out stands 0.3 mm high.
    heights = job(
        printed("first", "clear", 10, (10, 10, 30, 8)), printed("more", "clear", 10, second)
    )
    found = feature_relief(heights, {0, 1})
    assert (found.low, found.high) == pytest.approx((0.3, 0.6))
