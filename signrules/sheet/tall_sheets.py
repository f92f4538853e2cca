"""Sheets beside a band that the head could not pass over."""

from __future__ import annotations

from signrules.model.quantities import GUARD_MM
from signrules.physics.flatness import thickness_of
from signrules.physics.standing import Standing
from signrules.sheet.scene import Scene


def too_high_beside(scene: Scene) -> tuple[str, ...]:
    """The sheets of the load, on the bed and outside the band, that may stand higher than
    `height_beside`, at the bad ends of all tolerances.
    """
    load = scene.heights.layout.media[scene.printing.pass_index].load
    away = {*scene.sheets, *scene.absent}
    beside = [sheet.id for sheet in scene.job.media if sheet.load == load and sheet.id not in away]
    if not beside:
        return ()
    own_position = scene.printing.position
    printed = frozenset(
        [
            pass_index
            for pass_index in range(len(scene.job.passes))
            if scene.positions[pass_index] <= own_position
        ]
    )
    standing = scene.heights.standing_after(printed)
    limit = height_beside(scene)
    return tuple([media for media in beside if _highest(scene, standing, media) > limit + GUARD_MM])


def height_beside(scene: Scene) -> float:
    """How high in mm above the bed anything may stand that the head might come over: the head
    plane at its lowest less the least clearance.
    """
    return scene.printing.plane.height.low - scene.job.printer.min_clearance


def _highest(scene: Scene, standing: Standing, media: str) -> float:
    """How high in mm above the bed a sheet may stand with its ink, on both sides."""
    sheet = scene.job.media_named(media)
    side = "back" if media in scene.turned else "front"
    ink = 0.0
    if scene.heights.layout.passes_on[media, side]:
        ink = standing.build_up(media, side).high
    return thickness_of(sheet).high + sheet.bow.high + standing.lift(media, side) + ink
