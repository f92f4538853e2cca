"""How much ink a job takes."""

from __future__ import annotations

from signrules.model.passes import SIDES
from signrules.physics.heights import Heights
from signrules.physics.ink import ink_volume


def ink_ml(heights: Heights) -> dict[str, float]:
    """Cured ink of each kind in mL, `ink_ml.<ink>`, at nominal thickness.

    Printed area x coverage x layers x layer thickness. Where areas of one pass overlap they are
    printed once. What shrinks on curing, what goes into cleaning and what ends as mist comes on
    top. Geometry.
    """
    job = heights.job
    area = [0.0] * len(job.passes)
    for sheet in job.media:
        for side in SIDES:
            # By zones and not by areas: rectangles that overlap would count their ink twice.
            for zone in heights.zones(sheet.id, side):
                zone_area = sum(
                    (piece.x1 - piece.x0) * (piece.y1 - piece.y0) for piece in zone.pieces
                )
                for pass_index in zone.cover:
                    area[pass_index] += zone_area
    ml_of_ink: dict[str, float] = {}
    for pass_index, item in enumerate(job.passes):
        name = f"ink_ml.{item.ink}"
        thickness = item.layers * job.ink_of(item).layer.nominal
        ml_of_ink[name] = ml_of_ink.get(name, 0.0) + ink_volume(
            area[pass_index], thickness, item.coverage
        )
    return ml_of_ink
