"""Areas turned as a sign is read, and what can be said of rectangles."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules.model.passes import Area
from signrules.physics.upright import (
    bounding_area,
    distance_apart,
    inside_by,
    tallest_stretch,
    upright_area,
)

whole = st.integers(-50, 50).map(float)
sides = st.integers(1, 40).map(float)
rectangles = st.builds(Area, whole, whole, sides, sides)

TURNS = {"far": 0, "right": 1, "near": 2, "left": 3}
"""How many quarter turns, counterclockwise, bring that side of a sheet to the far end."""


def quarter(area):
    """An area after a quarter turn counterclockwise about the origin: (x, y) goes to (-y, x)."""
    corners = [(area.x, area.y), (area.x + area.width, area.y + area.height)]
    turned = [(-y, x) for x, y in corners]
    left, low = min(x for x, _ in turned), min(y for _, y in turned)
    right, high = max(x for x, _ in turned), max(y for _, y in turned)
    return Area(left, low, right - left, high - low)


@given(rectangles, st.sampled_from(sorted(TURNS)))
def test_a_turned_area_is_what_turning_its_corners_gives(area, top):
    expected = area
    for _ in range(TURNS[top]):
        expected = quarter(expected)
    assert upright_area(area, top) == expected


@pytest.mark.parametrize(
    ("top", "above"),
    [
        ("far", Area(0, 10, 5, 5)),
        ("near", Area(0, -10, 5, 5)),
        ("left", Area(-10, 0, 5, 5)),
        ("right", Area(10, 0, 5, 5)),
    ],
)
def test_what_lies_nearer_to_the_top_gets_the_larger_y(top, above):
    assert upright_area(above, top).y == upright_area(Area(0, 0, 5, 5), top).y + 10


@pytest.mark.parametrize(
    ("stretches", "tallest"),
    [
        ([(0, 8)], 8),
        ([(0, 8), (8, 8)], 16),  # Touching: one piece may reach over both.
        ([(0, 8), (8.001, 8)], 8),
        ([(0, 8), (20, 12), (4, 6)], 12),
        ([(0, 30), (10, 5), (29, 11)], 40),
        ([(-9, 4), (-5, 1)], 5),
    ],
)
def test_the_tallest_stretch_has_no_break(stretches, tallest):
    areas = [Area(3 * at, y, 2, height) for at, (y, height) in enumerate(stretches)]
    assert tallest_stretch(areas) == tallest


@given(st.lists(rectangles, min_size=1, max_size=5))
def test_the_tallest_stretch_is_that_of_a_raster(areas):
    # Whole numbers: a row of a raster of 1 mm is taken or it is not.
    rows = {row for area in areas for row in range(int(area.y), int(area.y + area.height))}
    longest = max(next(n for n in range(1, 200) if row + n not in rows) for row in rows)
    assert tallest_stretch(areas) == longest


@given(st.lists(rectangles, min_size=1, max_size=5))
def test_the_rectangle_around_some_holds_them_and_touches_them(areas):
    box = bounding_area(areas)
    assert min(inside_by(area, box) for area in areas) == 0
    assert {min(a.x for a in areas), min(a.y for a in areas)} <= {box.x, box.y}
    assert all(inside_by(area, box) >= 0 for area in areas)


@given(rectangles, rectangles)
def test_areas_that_are_apart_share_no_point_and_others_do(one, other):
    def cells(area):
        ys = range(int(area.y), int(area.y + area.height))
        return {(x, y) for x in range(int(area.x), int(area.x + area.width)) for y in ys}

    assert (distance_apart(one, other) < 0) == bool(cells(one) & cells(other))
    assert distance_apart(one, other) == distance_apart(other, one)


@pytest.mark.parametrize(
    ("inner", "by"),
    [
        (Area(10, 20, 30, 40), 10),
        (Area(0, 0, 100, 100), 0),
        (Area(70, 20, 40, 10), -10),
        (Area(20, -3, 10, 10), -3),
    ],
)
def test_how_far_an_area_stays_inside(inner, by):
    assert inside_by(inner, Area(0, 0, 100, 100)) == by
