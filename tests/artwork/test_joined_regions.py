"""Regions joined with those left alone whose boxes touch no other are what shapely unites."""

from __future__ import annotations

from random import Random

import pytest
import shapely

from signrules.artwork.geometry import CROWDED, joined_regions


@pytest.mark.parametrize("count", [0, 1, 5, 200])
@pytest.mark.parametrize("room", [3.0, 30.0, 3000.0])
def test_they_cover_what_a_union_covers(count, room):
    random = Random(f"{count} {room}")
    regions = []
    for _ in range(count):
        middle = shapely.Point(random.uniform(0, room), random.uniform(0, room))
        regions.append(middle.buffer(random.uniform(0.2, 2)))
    found, united = joined_regions(regions), shapely.union_all(regions)
    assert found.is_valid
    assert found.area == pytest.approx(united.area, abs=1e-9)
    assert found.symmetric_difference(united).area < 1e-9


def test_what_touches_or_lies_in_a_hole_is_joined():
    frame = shapely.box(0, 0, 10, 10).difference(shapely.box(2, 2, 8, 8))
    inside, beside = shapely.box(4, 4, 5, 5), shapely.box(10, 0, 12, 10)
    found = joined_regions([frame, inside, beside])
    assert sorted(part.area for part in found.geoms) == pytest.approx([1, 64 + 20])


def test_one_on_the_other_many_times_is_one():
    found = joined_regions([shapely.box(0, 0, 1, 1)] * (10 * CROWDED))
    assert (found.geom_type, found.area) == ("Polygon", 1)
