"""Which areas of a pass build a feature of a sign.

A pass that builds one feature builds it in all of its areas. Of several signs it builds those parts
that lie on each; of several features of one sign those that lie where the sign says each is.
"""

from __future__ import annotations

from collections import Counter
from functools import lru_cache

from signrules.model.job import Job
from signrules.model.passes import Area, Pass, sign_of_feature
from signrules.model.quantities import GUARD_MM


def areas_building(job: Job, item: Pass, feature: str) -> tuple[Area, ...] | None:
    """The areas of a pass that build a feature, as "room-214.braille".

    None where the job does not tell: see `unstated_place`. Empty where none lies there.
    """
    if unstated_place(job, item, feature) is not None:
        return None
    areas = job.areas_of(item)
    if len(item.builds) == 1:
        return areas
    # `unstated_place` has just told that there is one.
    place = _place_of(job, item, feature)
    assert place is not None
    # Of a sheet of many signs nearly all areas lie left or right of the place: to call a function
    # for each took most of the time.
    left, right = place.x, place.x + place.width
    beside = [area for area in areas if area.x < right and area.x + area.width > left]
    return tuple(area for area in beside if areas_overlap(area, place))


def unstated_place(job: Job, item: Pass, feature: str) -> str | None:
    """The path of what would tell which areas of a pass build a feature; None if that is known."""
    if len(item.builds) == 1:
        return None
    place = _place_of(job, item, feature)
    if place is None:
        return f"signs.{_path_of_place(item, feature)}"
    return f"passes.{item.id}.areas" if item.areas is None else None


def _place_of(job: Job, item: Pass, feature: str) -> Area | None:
    """Where a feature is said to lie: by itself, or with all of its sign if that has no other."""
    sign = job.sign_named(sign_of_feature(feature))
    part = getattr(sign, feature.rpartition(".")[2])
    if part is not None and part.area is not None:
        own: Area = part.area
        return own
    # The area of the sign would give braille the ink of the letters above it as well.
    return None if _shares_its_sign(item, feature) else sign.area


def _path_of_place(item: Pass, feature: str) -> str:
    if _shares_its_sign(item, feature):
        return f"{feature}.area"
    return f"{sign_of_feature(feature)}.area"


def _shares_its_sign(item: Pass, feature: str) -> bool:
    """Whether a pass builds another feature of the same sign."""
    return sign_of_feature(feature) in _signs_built_several_times(item.builds)


@lru_cache
def _signs_built_several_times(builds: tuple[str, ...]) -> frozenset[str]:
    """The signs of which several features are named."""
    counts = Counter(map(sign_of_feature, builds))
    return frozenset(sign for sign, count in counts.items() if count > 1)


def areas_overlap(one: Area, other: Area) -> bool:
    """Whether two rectangles share more than an edge."""
    # Areas that abut, or that rounding lets overlap by a hair, share no more than an edge.
    # Asked millions of times of a sheet of many signs: most lie apart by the first comparison.
    if one.x + one.width - other.x <= GUARD_MM or other.x + other.width - one.x <= GUARD_MM:
        return False
    if one.y + one.height - other.y <= GUARD_MM or other.y + other.height - one.y <= GUARD_MM:
        return False
    return min(one.width, one.height, other.width, other.height) > GUARD_MM
