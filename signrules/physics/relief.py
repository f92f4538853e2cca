"""Relief: how far a feature stands above the face beside it, after the last pass."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence

from attrs import evolve

from signrules.model.passes import Area
from signrules.model.quantities import GUARD_MM, Interval, greatest_of, least_of
from signrules.physics.heights import Heights
from signrules.physics.zones import Cover, Piece, Zone


def feature_relief(
    heights: Heights, builders: Collection[int], areas: Sequence[Area] | None = None
) -> Interval | None:
    """Top of the ink at a feature minus top of the ink on the face beside it, in mm.

    `builders` are the passes that build the feature, all on one side of one sheet, `areas` those of
    their areas that do, if not all. The top is the highest cover within these. Where a builder
    covers its areas only in part, the face is the lowest cover within them (the feature's own
    passes leave it bare); otherwise it is whatever stands just outside their outline. A flood under
    both cancels.

    Where the feature stands on different ground in different places, the high end is the highest
    top over the lowest face; the low end is the least that any finished part of the feature rises
    over the face beside that part. None where there is no face, because the feature covers its
    whole sheet.
    """
    passes = heights.job.passes
    first = min(builders)
    zones = heights.zones(heights.media[first].id, passes[first].side)
    inside = [zone for zone in zones if any(pass_index in builders for pass_index in zone.cover)]
    if areas is not None:
        inside = list(_zones_within(inside, areas))
    tops = [zone.cover for zone in inside]
    # Dots are drawn as the rectangle around them, so their face lies between them, in the same
    # zones.
    if any(passes[pass_index].coverage < 1 for pass_index in builders):
        beside = {top: {heights.full(top)} for top in tops}
        faces = set[Cover]().union(*beside.values())
        whole = greatest_of(_rises_over_faces(heights, tops, faces))
    else:
        beside = _faces_beside(heights, zones, inside)
        faces = set[Cover]().union(*beside.values())
        if not faces:
            return None
        whole = _rise_of_whole(heights, tops, faces)
    # Each finished part is held to the faces beside it alone, or to any where none touches it.
    firm_passes = _passes_under_all(heights, builders)
    rises: list[Interval] = []
    for part in _finished_parts(inside, builders):
        rises += _rises_of_part(heights, part, beside[part] or faces, firm_passes)
    low = min(least_of(rises).low, whole.low)
    return Interval(low, max(whole.nominal, low), whole.high)


def _zones_within(zones: Iterable[Zone], areas: Sequence[Area]) -> Iterator[Zone]:
    """The zones as far as they lie in some areas; zones are cut along the edges of these."""
    # Asked of every sign on a sheet of many: by far the most pieces lie aside of all its areas.
    left, low = min(area.x for area in areas), min(area.y for area in areas)
    right = max(area.x + area.width for area in areas)
    high = max(area.y + area.height for area in areas)
    for zone in zones:
        near = [
            piece
            for piece in zone.pieces
            if piece.x1 > left and piece.x0 < right and piece.y1 > low and piece.y0 < high
        ]
        pieces = tuple(piece for piece in near if _lies_in_any(piece, areas))
        if pieces:
            yield evolve(zone, pieces=pieces)


def _lies_in_any(piece: Piece, areas: Sequence[Area]) -> bool:
    x, y = (piece.x0 + piece.x1) / 2, (piece.y0 + piece.y1) / 2
    return any(
        area.x < x < area.x + area.width and area.y < y < area.y + area.height for area in areas
    )


def _rise_of_whole(heights: Heights, tops: Collection[Cover], faces: Iterable[Cover]) -> Interval:
    """The highest top over the faces; the low end is that over the highest of them."""
    over_each = [greatest_of(_rises_over_faces(heights, tops, [face])) for face in sorted(faces)]
    highest = greatest_of(over_each)
    return Interval(least_of(over_each).low, highest.nominal, highest.high)


def _rises_of_part(
    heights: Heights, part: Cover, faces: Iterable[Cover], firm: set[int]
) -> Iterator[Interval]:
    """By how much a part of a feature rises over each of some faces; `firm` ink is under it all."""
    firm_part = tuple(pass_index for pass_index in part if pass_index in firm)
    for face in sorted(faces):
        # A face that counts without ink that covers in part has such ink under neither: see the
        # decision on relief judged part by part.
        top = firm_part if face == heights.full(face) else part
        yield from _rises_over_faces(heights, [top], [face])


def _passes_under_all(heights: Heights, builders: Collection[int]) -> set[int]:
    """The passes whose ink is everywhere in the feature.

    These are its builders, what lands on them, and what leaves nothing bare. Any other pass that
    covers in part may have left bare just where the feature stands.
    """
    passes = heights.job.passes
    firm_passes = {
        pass_index
        for pass_index, item in enumerate(passes)
        if pass_index in builders or item.coverage >= 1
    }
    ids_on_feature = {passes[pass_index].id for pass_index in builders}
    # What lands on what landed counts too, so it goes on until a round adds nothing.
    has_grown = True
    while has_grown:
        on_them = {
            pass_index
            for pass_index, item in enumerate(passes)
            if pass_index not in firm_passes and ids_on_feature & set(item.over)
        }
        ids_on_feature |= {passes[pass_index].id for pass_index in on_them}
        firm_passes |= on_them
        has_grown = bool(on_them)
    return firm_passes


def _rises_over_faces(
    heights: Heights, tops: Iterable[Cover], faces: Collection[Cover]
) -> Iterator[Interval]:
    """By how much each top stands above each face, in mm, once all is printed."""
    everything = range(len(heights.job.passes))
    for top in tops:
        for face in faces:
            yield (heights.ink(top, everything) - heights.ink(face, everything)).interval()


SHOULDER_MM = 1.0
"""As far from its top a pile of ever smaller layers may still be a shoulder, such as the rim of a
dot: more than the radius of a dot of braille, less than the next dot is away (ADA 703.3.1)."""


def _finished_parts(inside: list[Zone], builders: Collection[int]) -> list[Cover]:
    """The parts of a feature that are to be as high as it is.

    Of a pile of discs that is the topmost: the ring around it was never meant to be as high. What
    a further builder leaves out, and is no ring around what it builds, is a part by itself.
    """
    builders_of_cover = {
        zone.cover: frozenset(pass_index for pass_index in zone.cover if pass_index in builders)
        for zone in inside
    }
    finished = []
    for zone in inside:
        own_builders = builders_of_cover[zone.cover]
        higher = [other for other in inside if own_builders < builders_of_cover[other.cover]]
        # A ring wider than a shoulder reaches is felt as a part of its own.
        if not higher or not all(_is_shoulder(piece, higher) for piece in zone.pieces):
            finished.append(zone.cover)
    return finished


def _is_shoulder(piece: Piece, higher: list[Zone]) -> bool:
    """Whether all of a piece lies near some that are built higher."""
    near_pieces = [other for zone in higher for other in zone.pieces if _are_near(piece, other)]
    across = _places_along(piece.x0, piece.x1)
    along = _places_along(piece.y0, piece.y1)
    return all(
        any(_point_is_near(x, y, other) for other in near_pieces) for x in across for y in along
    )


def _places_along(start: float, end: float) -> list[float]:
    """Places from one end of a length to the other, no further apart than a shoulder reaches."""
    steps = max(1, math.ceil((end - start) / SHOULDER_MM))
    return [start + (end - start) * step / steps for step in range(steps + 1)]


def _point_is_near(x: float, y: float, piece: Piece) -> bool:
    reach = SHOULDER_MM + GUARD_MM
    across = piece.x0 - reach <= x <= piece.x1 + reach
    return across and piece.y0 - reach <= y <= piece.y1 + reach


def _are_near(piece: Piece, other: Piece) -> bool:
    reach = SHOULDER_MM + GUARD_MM
    across = piece.x0 <= other.x1 + reach and other.x0 <= piece.x1 + reach
    return across and piece.y0 <= other.y1 + reach and other.y0 <= piece.y1 + reach


def _faces_beside(
    heights: Heights, zones: tuple[Zone, ...], inside: list[Zone]
) -> dict[Cover, set[Cover]]:
    """For each part of a feature the covers that share an edge with it.

    Each stands there twice, with what covers in part and without: nobody knows where that lies.
    """
    within = {zone.cover for zone in inside}
    # By the line on which they lie, so that only edges that can touch are compared.
    edges: dict[tuple[str, float], list[tuple[float, float, Cover]]] = {}
    for zone in zones:
        if zone.cover not in within:
            for piece in zone.pieces:
                for key, start, end in _edges_of_piece(piece):
                    edges.setdefault(key, []).append((start, end, zone.cover))
    beside: dict[Cover, set[Cover]] = {cover: set() for cover in within}
    for zone in inside:
        for piece in zone.pieces:
            for key, start, end in _edges_of_piece(piece):
                for low, high, cover in edges.get(key, ()):
                    # Pieces that meet at a corner alone share no edge, and are not felt beside each
                    # other.
                    if min(end, high) > max(start, low):
                        beside[zone.cover] |= {cover, heights.full(cover)}
    return beside


def _edges_of_piece(piece: Piece) -> Iterator[tuple[tuple[str, float], float, float]]:
    """The edges of a piece: where each lies, and from where to where it runs.

    Neighbours share these numbers exactly, since zones are cut along snapped edges.
    """
    for x in (piece.x0, piece.x1):
        yield ("x", x), piece.y0, piece.y1
    for y in (piece.y0, piece.y1):
        yield ("y", y), piece.x0, piece.x1
