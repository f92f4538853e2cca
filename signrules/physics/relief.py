"""Relief: how far a feature stands above the face beside it, after the last pass."""

from __future__ import annotations

from collections.abc import Collection

from signrules.model.quantities import GUARD_MM, Interval, greatest_of, least_of
from signrules.physics.forms import Form
from signrules.physics.heights import Heights
from signrules.physics.zones import Piece, Zone


def relief(heights: Heights, builders: Collection[int]) -> Interval | None:
    """Top of the stack at a feature minus top of the stack on the face beside it, in mm.

    `builders` are the passes that build the feature. The top is the highest stack within their areas. Where one of
    them covers its areas only in part, the face is the lowest stack within those areas (the feature's own passes
    leave it bare); otherwise it is whatever stands just outside their outline. A flood under both cancels. None where
    there is no face, because the feature covers its whole sheet.
    """
    passes = heights.job.passes
    first = min(builders)
    zones = heights.zones(heights.media[first].id, passes[first].side)
    everything = range(len(passes))
    inside = [zone for zone in zones if any(at in builders for at in zone.cover)]
    tops = [heights.ink(zone.cover, everything) for zone in inside]
    if any(passes[at].coverage < 1 for at in builders):
        faces = [heights.ink(heights.full(zone.cover), everything) for zone in inside]
        return greatest_of(_above(tops, face) for face in faces)
    outside = [zone for zone in zones if zone not in inside and _beside(zone, inside)]
    if not outside:
        return None
    covers = {cover for zone in outside for cover in (zone.cover, heights.full(zone.cover))}
    over = [_above(tops, heights.ink(cover, everything)) for cover in sorted(covers)]
    low, high = least_of(over).low, greatest_of(over).high
    return Interval(low, min(max(greatest_of(over).nominal, low), high), high)


def _above(tops: list[Form], face: Form) -> Interval:
    return greatest_of((top - face).interval() for top in tops)


def _beside(zone: Zone, inside: list[Zone]) -> bool:
    """Whether a zone shares an edge, and not only a corner, with the feature."""
    return any(_share_edge(a, b) for a in zone.pieces for other in inside for b in other.pieces)


def _share_edge(a: Piece, b: Piece) -> bool:
    along_x = min(a.x1, b.x1) - max(a.x0, b.x0)
    along_y = min(a.y1, b.y1) - max(a.y0, b.y0)
    return along_x >= -GUARD_MM and along_y >= -GUARD_MM and max(along_x, along_y) > GUARD_MM
