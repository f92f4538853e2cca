"""Clips: what of a region is left where something may show."""

from __future__ import annotations

from typing import Any

import shapely
from attrs import frozen
from shapely.errors import GEOSException

from signrules_artwork.faults import Reading
from signrules_artwork.regions import NOWHERE, only_areas

Bounds = tuple[float, float, float, float]


@frozen(eq=False)
class Clip:
    """Where something may show. `box` are its bounds where it is a rectangle that lies straight."""

    region: Any
    box: Bounds | None

    @classmethod
    def of(cls, region: Any) -> Clip:
        """The clip to a region."""
        shapely.prepare(region)
        if region.is_empty:
            return cls(region, None)
        box = region.bounds
        full = (box[2] - box[0]) * (box[3] - box[1])
        straight = abs(region.area - full) <= 1e-12 * full
        return cls(region, box if straight else None)

    def within(self, box: Bounds) -> Clip:
        """The clip narrowed to a rectangle that lies straight."""
        if self.box is None:
            return Clip.of(
                only_areas(_robust(shapely.intersection, self.region, shapely.box(*box)))
            )
        left, bottom = max(box[0], self.box[0]), max(box[1], self.box[1])
        right, top = min(box[2], self.box[2]), min(box[3], self.box[3])
        if left >= right or bottom >= top:
            return Clip(NOWHERE, None)
        return Clip(shapely.box(left, bottom, right, top), (left, bottom, right, top))

    def kept(self, region: Any, reading: Reading) -> Any:
        """What of a region shows."""
        if region.is_empty or self.region.is_empty:
            return NOWHERE
        if self.box is not None and _lies_in(region.bounds, self.box):
            return region
        if not shapely.intersects(self.region, region):
            return NOWHERE
        if self.box is None and shapely.covers(self.region, region):
            return region
        reading.spend_steps(int(shapely.get_num_coordinates(self.region)) // 50)
        left = _robust(shapely.intersection, region, self.region)
        reading.spend_points(int(shapely.get_num_coordinates(left)))
        return only_areas(left)


def without(region: Any, taken: Any) -> Any:
    """A region without what another one takes away."""
    return only_areas(_robust(shapely.difference, region, taken))


def _robust(operation: Any, left: Any, right: Any) -> Any:
    """An operation, tried again on mended regions where GEOS cannot do it."""
    try:
        return operation(left, right)
    except GEOSException:
        return operation(shapely.make_valid(left), shapely.make_valid(right))


def _lies_in(inner: Bounds, outer: Bounds) -> bool:
    return (
        outer[0] <= inner[0]
        and outer[1] <= inner[1]
        and inner[2] <= outer[2]
        and inner[3] <= outer[3]
    )
