"""Braille and raised text that a sign states and no pass is said to build, though it may be
printed.

What a sign declares of its relief counts where it is made elsewhere: dots that are set in, letters
that are cut. It does not where a pass that builds nothing prints relief in which they could lie.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.model.wording import joined_names
from signrules.physics.heights import Heights
from signrules.physics.upright import upright_area
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, missing
from signrules.rules.dimensions import path_of, source_of
from signrules.rules.drawn_parts import (
    Agreement,
    cells_box,
    lacking_for_cells,
    letter_height,
    letters_width,
)
from signrules.rules.judged_relief import RELIEFS, is_built
from signrules.standards.dimension_tables import Standard

RELIEF_MM = 0.2
"""From which thickness ink is more than flat colour or varnish (common practice, no published
source)."""


def forgotten_builders(
    sign: Sign, standards: tuple[Standard, ...], heights: Heights, feature: str
) -> Iterator[Draft]:
    """A check that cannot be made for each row on the relief of a feature, where a pass may build
    it and does not say so; one for review where no row limits it.
    """
    quantity = RELIEFS[feature]
    suspects, why = _suspects(sign, heights, feature)
    if not suspects and not why:
        return
    path = f"passes.{suspects[0].id}.builds" if suspects else path_of(sign, quantity)
    what = "the relief of the " + ("dots" if feature == "braille" else "raised characters")
    draft = evolve(missing(path, what), told=why, level=Level.REVIEW)
    rows = list(rows_binding(sign, standards, quantity))
    for standard, row in rows:
        yield evolve(draft, source=source_of(standard, row), level=Level(row.level))
    if not rows:
        yield draft


def _suspects(sign: Sign, heights: Heights, feature: str) -> tuple[list[Pass], str]:
    """The passes that may build a feature which the sign states and none is said to build, and why
    that is asked; neither where nothing is forgotten.
    """
    job = heights.job
    stated = getattr(sign, feature) is not None
    measured = sign.measured is not None and getattr(sign.measured, RELIEFS[feature].split(".")[1])
    # What was measured counts whoever made it.
    if not stated or measured or is_built(sign, {item.id: item for item in job.passes}, feature):
        return [], ""
    sheet = job.media_of(sign).id
    printed = [item for item in job.passes if job.media_of(item).id == sheet]
    # A pass that builds something else is not asked: its author knew of `builds`.
    idle = [item for item in printed if not item.builds]
    suspects = [item for item in idle if _may_hold(item, sign, heights, feature)]
    if suspects:
        names = joined_names([item.id for item in suspects])
        builds = f"{sign.id}.{feature}"
        verb = "prints" if len(suspects) == 1 else "print"
        return suspects, f"{names} {verb} relief and no pass builds {builds}: state which one does"
    # Neighbours on the sheet have theirs printed, so this one is more likely forgotten than made
    # elsewhere.
    others = [item.id for item in printed if item.builds_any(feature)]
    if others:
        return [], f"{others[0]} prints that of another sign on the sheet, and no pass its own"
    return [], ""


def _may_hold(item: Pass, sign: Sign, heights: Heights, feature: str) -> bool:
    """Whether a pass prints relief and has an area that is large enough for the feature."""
    job = heights.job
    if item.layers * job.ink_of(item).layer.nominal < RELIEF_MM:
        return False
    width, height = _least_size(sign, feature)
    slack = Agreement().rounding
    areas = (upright_area(area, sign.top) for area in job.areas_of(item))
    return any(area.width >= width - slack and area.height >= height - slack for area in areas)


def _least_size(sign: Sign, feature: str) -> tuple[float, float]:
    """The least width and height in mm of a feature, by what the sign states."""
    if feature == "raised":
        stated_height = letter_height(sign, sign.raised)
        return letters_width(sign) or 0.0, 0.0 if stated_height is None else stated_height.low
    braille = sign.braille
    if braille is None or lacking_for_cells(braille, "low") is not None:
        return 0.0, 0.0
    box = cells_box(braille, "low")
    return (0.0, 0.0) if box is None else (box.width, box.height)
