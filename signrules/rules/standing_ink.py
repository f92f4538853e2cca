"""Ink that stands up beside the braille or the raised characters of a sign, and is neither."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.model.passes import Area
from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.physics.zones import Cover, Zone
from signrules.rules.drawn_parts import Drawn
from signrules.rules.judged_relief import feature_heights

TACTILE = ("braille", "raised")


@frozen
class StandingInk:
    """A stretch of one side of a sheet on which ink stands up: its areas, as they lie on the sheet,
    the passes that make it, as subjects of a check, and whether these fill all of it.
    """

    areas: tuple[Area, ...]
    paths: tuple[str, ...]
    filled: bool


def ink_beside(
    item: Sign, heights: Heights, drawn: Drawn, feature: str, share: float
) -> Iterator[StandingInk]:
    """The ink that rises over the face of a feature by more than a share of its height."""
    known_lows = [height.low for _, height in feature_heights(item, heights, feature)]
    if not known_lows:
        return
    least_height = share * min(known_lows)
    sheet = heights.job.media_of(item).id
    plain = frozenset(
        pass_index
        for pass_index in heights.layout.passes_on[sheet, drawn.side]
        if not _is_tactile(heights, pass_index)
    )
    # Where all of it together is too low, no place need be looked at.
    if sum(heights.thickest(pass_index) for pass_index in plain) <= least_height:
        return
    for zone in _standing_zones(
        heights, heights.zones(sheet, drawn.side), drawn, plain, least_height
    ):
        passes = [
            heights.job.passes[pass_index] for pass_index in zone.cover if pass_index in plain
        ]
        paths = tuple(f"passes.{builder.id}" for builder in passes)
        filled = all(builder.coverage >= 1.0 for builder in passes)
        yield StandingInk(_areas_of(zone), paths, filled)


def _standing_zones(
    heights: Heights,
    zones: tuple[Zone, ...],
    drawn: Drawn,
    plain: frozenset[int],
    least: float,
) -> Iterator[Zone]:
    """The zones without braille and raised text whose ink rises over the face of the feature."""
    own_passes = {heights.index[builder.id] for builder in drawn.passes}
    faces = {_of(zone.cover, plain) for zone in zones if own_passes & set(zone.cover)}
    for zone in zones:
        if plain.issuperset(zone.cover):
            rises = [_rise_over(heights, zone.cover, face) for face in faces]
            if max(rises, default=0.0) > least:
                yield zone


def _rise_over(heights: Heights, top: Cover, face: Cover) -> float:
    """How far the ink of one cover stands above that of another as meant, in mm."""
    everything = range(len(heights.job.passes))
    # As a difference of sums, so that ink which lies in both covers cancels with its tolerance.
    rise = heights.ink(top, everything) - heights.ink(face, everything)
    return rise.interval().nominal


def _of(cover: Cover, members: frozenset[int]) -> Cover:
    return tuple(pass_index for pass_index in cover if pass_index in members)


def _is_tactile(heights: Heights, pass_index: int) -> bool:
    """Whether a pass builds a tactile feature."""
    return any(map(heights.job.passes[pass_index].builds_any, TACTILE))


def _areas_of(zone: Zone) -> tuple[Area, ...]:
    return tuple(
        Area(piece.x0, piece.y0, piece.x1 - piece.x0, piece.y1 - piece.y0) for piece in zone.pieces
    )
