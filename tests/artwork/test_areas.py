"""Rectangles cover every inked point, and no more beyond it than the limits say.

The union by shapely and points drawn at random are the independent means.
"""

from __future__ import annotations

import math
import random

import pytest
import shapely
from drawn_artwork import TOLERANCE, circle, rectangle, ring_shape
from effort import effort
from hypothesis import example, given, settings
from hypothesis import strategies as st

from signrules.artwork.areas import AreaLimits, covering_areas
from signrules.artwork.drawing import Shape
from signrules.errors import ArtworkError
from signrules.model.passes import Area

places = st.floats(0, 300, allow_nan=False).map(lambda value: round(value, 4))
points = st.tuples(places, places)
rings = st.lists(points, min_size=3, max_size=8, unique=True).map(tuple)
tints = st.sampled_from([1.0, 0.5, 0.1, 0.0])
polygons = st.builds(lambda ring, tint: Shape(ring, tint=tint), rings, tints)


def union_of(areas):
    return shapely.union_all([shapely.box(a.x, a.y, a.x + a.width, a.y + a.height) for a in areas])


def valid_union(shapes):
    regions = [shapely.make_valid(shapely.Polygon(s.outline, s.holes)) for s in shapes if s.tint]
    return shapely.union_all([r for r in regions if r.area > 0]).buffer(0)


@pytest.mark.thorough
@settings(max_examples=effort(200), deadline=None)
@given(st.lists(polygons, min_size=1, max_size=6), st.sampled_from([0.0, 0.002, 0.5]))
@example([Shape(((0.0, 0.0), (1.0, 13.0), (50.0, 2.0)))], 0.5)
def test_no_inked_point_is_left_out(shapes, tolerance):
    found = covering_areas(shapes, tolerance=tolerance)
    ink = valid_union(shapes)
    grown = ink.buffer(tolerance)
    assert grown.difference(union_of(found.areas)).area < 1e-9
    assert len(found.areas) <= AreaLimits().most


@settings(max_examples=effort(100), deadline=None)
@given(st.lists(polygons, min_size=1, max_size=6))
def test_the_excess_is_what_the_definition_says(shapes):
    found = covering_areas(shapes, tolerance=0.0)
    ink = valid_union(shapes)
    if not found.areas:
        assert ink.area == 0
        return
    cover = union_of(found.areas)
    # A finer circle than the library's makes the region near ink a little larger.
    excess = cover.difference(ink.buffer(3.0, quad_segs=64)).area / cover.area
    assert excess <= found.area_excess + 1e-9
    assert found.enough == (found.area_excess <= 0.02 and found.height_excess <= 0.05)
    assert found.enough or len(found.areas) >= AreaLimits().most or found.area_excess < 0.2


@settings(max_examples=effort(100), deadline=None)
@given(st.lists(polygons, min_size=1, max_size=5))
def test_rectangles_are_disjoint_and_keep_the_ink(shapes):
    found = covering_areas(shapes, tolerance=0.0)
    total = math.fsum(area.width * area.height for area in found.areas)
    assert total == pytest.approx(union_of(found.areas).area, abs=1e-6)
    assert found.coverage * total == pytest.approx(found.inked, rel=1e-9)


def test_ink_of_tints_is_counted_once_where_shapes_overlap():
    shapes = [rectangle(0, 0, 10, 10, tint=0.5), rectangle(5, 0, 10, 10)]
    # By hand: 50 mm2 at a half, 100 mm2 in full.
    assert covering_areas(shapes, tolerance=0.0).inked == pytest.approx(125)


def test_a_rectangle_is_taken_as_it_is():
    found = covering_areas([rectangle(1, 2, 30, 40)], tolerance=TOLERANCE)
    assert found.areas == (Area(1, 2, 30, 40),)
    assert (found.coverage, found.area_excess, found.height_excess) == (1.0, 0.0, 0.0)


def test_curves_are_grown_by_their_tolerance_and_pixels_by_theirs():
    [area] = covering_areas([circle(10, 10, 2)], tolerance=TOLERANCE).areas
    assert (area.x, area.width) == pytest.approx(
        (10 - 1 - TOLERANCE, 2 + 2 * TOLERANCE), abs=2.1e-3
    )
    [area] = covering_areas([rectangle(1, 1, 2, 2)], tolerance=0.1, everywhere=True).areas
    assert (area.x, area.width) == pytest.approx((0.9, 2.2), abs=7e-3)


def test_lines_of_text_get_rectangles_of_their_own():
    lines = [rectangle(10 + 8 * at, y, 4, 20) for y in (20, 60) for at in range(8)]
    found = covering_areas(lines, tolerance=0.0)
    assert found.areas == (Area(10, 20, 60, 20), Area(10, 60, 60, 20))
    # By hand: 16 bars of 4 mm by 20 mm in two rectangles of 60 mm by 20 mm.
    assert found.coverage == pytest.approx(16 * 80 / 2400)


def test_a_frame_is_cut_into_its_sides():
    frame = Shape(((0, 0), (100, 0), (100, 80), (0, 80)), (((2, 2), (98, 2), (98, 78), (2, 78)),))
    found = covering_areas([frame], tolerance=0.0)
    assert found.enough
    assert len(found.areas) <= 8
    # The field within is free but for 3 mm along the sides, and what a step of the grid takes.
    assert not any(a.x < 50 < a.x + a.width and a.y < 40 < a.y + a.height for a in found.areas)


def test_a_number_of_rectangles_is_kept():
    randoms = random.Random(7)
    dots = [circle(randoms.uniform(0, 500), randoms.uniform(0, 500), 1.5) for _ in range(200)]
    found = covering_areas(dots, tolerance=TOLERANCE, limits=AreaLimits(most=10))
    assert len(found.areas) == 10
    assert not found.enough
    more = covering_areas(dots, tolerance=TOLERANCE, limits=AreaLimits(most=300))
    assert more.area_excess < found.area_excess


def test_what_lies_beyond_a_frame_is_left_out():
    found = covering_areas([rectangle(-10, -10, 40, 40)], tolerance=0.0, within=Area(0, 0, 20, 200))
    assert found.areas == (Area(0, 0, 20, 30),)
    assert found.inked == pytest.approx(600)
    outside = covering_areas([rectangle(300, 0, 1, 1)], tolerance=0.0, within=Area(0, 0, 20, 20))
    assert outside.areas == ()


def test_rings_and_crossed_outlines_are_areas_too():
    crossed = Shape(((0, 0), (10, 10), (10, 0), (0, 10)))
    assert covering_areas([crossed], tolerance=0.0).inked == pytest.approx(50)
    ring = covering_areas([ring_shape(20, 20, 20, 2)], tolerance=TOLERANCE)
    assert ring.inked == pytest.approx(math.pi * (100 - 64), rel=1e-3)


@pytest.mark.parametrize("ring", [(), ((0, 0),), ((0, 0), (1, 1)), ((0, 0), (1, 1), (2, 2))])
def test_what_has_no_area_gives_no_rectangle(ring):
    assert covering_areas([Shape(ring)], tolerance=0.0).areas == ()


@pytest.mark.parametrize("wrong", [math.nan, math.inf, 1e9])
def test_places_that_are_no_places_are_refused(wrong):
    shape = Shape(((0, 0), (1, wrong), (1, 0)), place="object 3")
    with pytest.raises(ArtworkError, match="object 3"):
        covering_areas([shape], tolerance=0.0)


def test_a_speck_is_not_divided():
    limits = AreaLimits(reach=0.0)
    found = covering_areas([Shape(((0, 0), (0.001, 0), (0, 0.001)))], tolerance=0.0, limits=limits)
    assert len(found.areas) == 1
    assert not found.enough
