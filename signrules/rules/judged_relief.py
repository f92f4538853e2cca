"""Judging a relief (dots or raised characters): measured, else predicted from the passes, else
declared.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import product

from attrs import evolve, frozen

from signrules.model.built_areas import areas_building, areas_overlap, unstated_place
from signrules.model.job import Job
from signrules.model.limits import MOST_LAYERS
from signrules.model.passes import Area, Pass
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import Sign
from signrules.model.wording import counted_things, joined_names
from signrules.physics.heights import Heights
from signrules.physics.relief import feature_relief
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, check, missing, stated_by_the_job
from signrules.rules.dimensions import (
    judge_value,
    lacking_check,
    path_of,
    source_of,
    stated_length,
)
from signrules.standards.dimension_tables import Row, Standard
from signrules.standards.written_numbers import exact_text

RELIEFS = {"braille": "braille.dot_height", "raised": "raised.depth"}
"""The quantity that is the height of a tactile feature over the face beside it."""


def dot_heights(sign: Sign, heights: Heights) -> Iterator[tuple[str, Interval]]:
    """Each known height of the dots in mm, with how it is known: measured, else predicted, else
    declared.
    """
    yield from feature_heights(sign, heights, "braille")


def feature_heights(sign: Sign, heights: Heights, feature: str) -> Iterator[tuple[str, Interval]]:
    """The same of a feature, `braille` or `raised`."""
    quantity = RELIEFS[feature]
    measured = measured_heights(sign, quantity)
    groups = builders_of(heights.job, f"{sign.id}.{feature}")
    declared = stated_length(sign, quantity)
    for predicted in _predicted_reliefs(
        measured, declared, heights, groups, f"{sign.id}.{feature}"
    ):
        if predicted.value is not None:
            yield predicted.how, predicted.value


def measured_heights(sign: Sign, quantity: str) -> tuple[float, ...]:
    """What was measured of a relief, in mm; nothing where nothing was."""
    heights: tuple[float, ...] = getattr(sign.measured, quantity.partition(".")[2], ())
    return heights


@frozen
class _Relief:
    """One relief of a feature in mm and how it is known; None where there is no face to measure it
    from, where `unstated` would have to tell which areas build it, or where none of them lies on
    the sign.
    """

    how: str
    value: Interval | None
    builders: tuple[int, ...] = ()
    unstated: str | None = None
    off_the_sign: bool = False

    @property
    def covers_the_sheet(self) -> bool:
        """Whether there is no face beside it, so that only a statement tells how far it rises."""
        return self.value is None and self.unstated is None and not self.off_the_sign


def judge_relief(
    sign: Sign,
    standards: tuple[Standard, ...],
    heights: Heights,
    quantity: str,
    measured: tuple[float, ...],
    what: str,
) -> Iterator[Draft]:
    """A check of each relief of a feature for each row that limits it.

    `quantity` is `braille.dot_height` or `raised.depth`, `measured` what was measured of it, in mm;
    each distinct value is judged. No check where the sign has no such feature: no section, no
    pass that builds it, nothing measured. Where passes build it and the sign declares another
    relief, that is a check of its own.
    """
    feature = quantity.split(".")[0]
    groups = builders_of(heights.job, f"{sign.id}.{feature}")
    if getattr(sign, feature) is None and not groups and not measured:
        return
    declared = stated_length(sign, quantity)
    name = f"{sign.id}.{feature}"
    reliefs = list(_predicted_reliefs(measured, declared, heights, groups, name))
    yield from _declared_differences(sign, quantity, what, reliefs, heights)
    for standard, row in rows_binding(sign, standards, quantity):
        if not reliefs:
            yield lacking_check(
                sign,
                standard,
                row,
                quantity,
                f"the {what} (not measured, not declared, built by no pass)",
            )
        for relief in reliefs:
            yield _relief_check(sign, standard, row, quantity, what, relief, heights)


def is_built(sign: Sign, passes: Mapping[str, Pass], feature: str) -> bool:
    """Whether a pass of the job builds a feature of a sign: `braille` or `raised`."""
    builds = f"{sign.id}.{feature}"
    return any(builds in item.builds for item in passes.values())


def has_feature(sign: Sign, passes: Mapping[str, Pass], feature: str) -> bool:
    """Whether a sign has a feature, `braille` or `raised`: the section, or a pass that
    builds it.
    """
    return getattr(sign, feature) is not None or is_built(sign, passes, feature)


def builders_of(job: Job, builds: str) -> list[tuple[int, ...]]:
    """The passes that build a feature, those on one side of one sheet together."""
    groups: dict[tuple[str, str], list[int]] = {}
    for pass_index, item in enumerate(job.passes):
        if builds in item.builds:
            groups.setdefault((job.media_of(item).id, item.side), []).append(pass_index)
    return [tuple(group) for group in groups.values()]


def _predicted_reliefs(
    measured: tuple[float, ...],
    declared: Interval | None,
    heights: Heights,
    groups: list[tuple[int, ...]],
    feature: str,
) -> Iterator[_Relief]:
    """What passes build is what comes off the bed, so a statement counts only where nothing tells
    it.
    """
    if measured:
        yield from (_Relief("measured", Interval.exact(value)) for value in dict.fromkeys(measured))
        return
    built_reliefs = [_predicted_relief(heights, group, feature) for group in groups]
    # With no pass that builds it `all` is true as well: then the statement is all there is.
    if declared is not None and all(relief.covers_the_sheet for relief in built_reliefs):
        yield _Relief("declared", declared)
    else:
        yield from built_reliefs


def _predicted_relief(heights: Heights, group: tuple[int, ...], feature: str) -> _Relief:
    """The relief of a feature that passes on one side of a sheet build."""
    job = heights.job
    builders = [job.passes[pass_index] for pass_index in group]
    # All areas of these passes are the feature's, so nothing needs to tell them apart.
    if all(len(item.builds) == 1 for item in builders):
        return _Relief("predicted", feature_relief(heights, group), group)
    areas: list[Area] = []
    for item in builders:
        own_areas = areas_building(job, item, feature)
        if own_areas is None:
            unstated = unstated_place(job, item, feature)
            return _Relief("predicted", None, group, unstated)
        areas += own_areas
    if not areas:
        return _Relief("predicted", None, group, off_the_sign=True)
    return _Relief("predicted", feature_relief(heights, group, areas), group)


def untold_height(sign: Sign, heights: Heights, feature: str, what: str) -> Draft | None:
    """A check that cannot be made because nothing tells which areas build a feature, or none lies
    on the sign; None where its height is known, or no pass is said to build it.
    """
    quantity, name = RELIEFS[feature], f"{sign.id}.{feature}"
    for group in builders_of(heights.job, name):
        relief = _predicted_relief(heights, group, name)
        if relief.unstated is not None or relief.off_the_sign:
            return _untold(sign, quantity, relief, what, heights)
    return None


def _untold(sign: Sign, quantity: str, relief: _Relief, what: str, heights: Heights) -> Draft:
    names = ", ".join(heights.job.passes[pass_index].id for pass_index in relief.builders)
    if relief.unstated is not None:
        return missing(relief.unstated, f"{what} (which areas of {names} build it)")
    return missing(
        path_of(sign, quantity),
        what,
        advice=f"No area of {names} lies where it should, so nothing is built that has a height.",
    )


def _declared_differences(
    sign: Sign, quantity: str, what: str, reliefs: list[_Relief], heights: Heights
) -> Iterator[Draft]:
    """How far what the sign declares lies from what its passes build; 0 where their tolerances
    meet.
    """
    declared = stated_length(sign, quantity)
    for relief in reliefs:
        if declared is None or relief.how != "predicted" or relief.value is None:
            continue
        difference = max(declared.low - relief.value.high, relief.value.low - declared.high, 0.0)
        said_text, built_text = _in_mm(declared), _in_mm(relief.value)
        yield check(
            f"the difference between the declared and the predicted {what}",
            measured=Interval.exact(difference),
            most=0,
            advice=(
                f"{path_of(sign, quantity)} says {said_text}, and the passes build {built_text},"
                " which is what is judged: correct one of them, or remove the statement."
            ),
            others=_builder_paths(relief, heights),
            source=stated_by_the_job(path_of(sign, quantity)),
            level=Level.REVIEW,
        )


def _in_mm(value: Interval) -> str:
    if value.is_exact:
        return f"{exact_text(value.nominal)} mm"
    return f"{exact_text(value.low)} to {exact_text(value.high)} mm"


def _builder_paths(relief: _Relief, heights: Heights) -> tuple[str, ...]:
    return tuple(f"passes.{heights.job.passes[pass_index].id}" for pass_index in relief.builders)


def _relief_check(
    sign: Sign,
    standard: Standard,
    row: Row,
    quantity: str,
    what: str,
    relief: _Relief,
    heights: Heights,
) -> Draft:
    passes = [heights.job.passes[pass_index].id for pass_index in relief.builders]
    others = _builder_paths(relief, heights)
    if relief.unstated is not None or relief.off_the_sign:
        draft = _untold(sign, quantity, relief, f"the {what}", heights)
        return evolve(draft, source=source_of(standard, row), level=Level(row.level))
    if relief.value is None:
        why = f"the {what} (no face lies beside it: {', '.join(passes)} cover the whole sheet)"
        return lacking_check(sign, standard, row, quantity, why)
    advice = _relief_advice(row, relief, heights)
    return judge_value(
        sign, standard, row, f"the {relief.how} {what}", relief.value, advice, others
    )


def _relief_advice(row: Row, relief: _Relief, heights: Heights) -> str:
    """What to do about a relief outside its range: how many layers, where the passes are known."""
    assert relief.value is not None
    low, high = relief.value.low, relief.value.high
    least_relief = -math.inf if row.least is None else row.least.number
    most_relief = math.inf if row.most is None else row.most.number
    # A share of another length cannot be told in layers.
    if row.of is not None or (low >= least_relief - GUARD_MM and high <= most_relief + GUARD_MM):
        return ""
    if not relief.builders:
        unit = "more layers" if low < least_relief - GUARD_MM else "fewer layers"
        return f"Print {unit}, or measure again." if relief.how == "measured" else f"Print {unit}."
    # The last builder: layers added there lie on top and change nothing of what is below.
    item = heights.job.passes[relief.builders[-1]]
    layer = heights.job.ink_of(item).layer
    count = _layers_to_add(low, high, least_relief, most_relief, layer)
    if count is None and (over := _passes_lain_on(item, heights.job, high - low)):
        names = joined_names([f"passes.{other.id}" for other in over])
        return (
            f"Areas of {names} overlap those of {item.id}, so part of it may stand on them: move"
            " the one or the other, or give them smaller areas."
        )
    if count is None or not 1 <= item.layers + count <= MOST_LAYERS:
        spread = f"its spread is {exact_text(high - low)} mm"
        return (
            f"No number of layers in {item.id} alone brings all of it within; {spread}: hold the"
            " layers closer."
        )
    amount = counted_things(abs(count), "more layer" if count > 0 else "fewer layer")
    return f"About {amount} in {item.id} would bring it within."


def _passes_lain_on(item: Pass, job: Job, spread: float) -> list[Pass]:
    """Passes that are high enough to make most of a spread, and whose areas overlap those of a
    pass.
    """
    found = []
    for other in job.passes:
        height = other.layers * job.ink_of(other).layer.high
        same_sheet = (other.media, other.side) == (item.media, item.side)
        if other is item or not same_sheet or height < MOST_OF_SPREAD * spread:
            continue
        pairs = product(item.areas or (), other.areas or ())
        if any(areas_overlap(one, two) for one, two in pairs):
            found.append(other)
    return found


MOST_OF_SPREAD = 0.5
"""A pass that is lower than this share of a spread does not explain it."""


def layers_over(height: float, layer: float) -> int:
    """How many layers it takes for a height; where no pass can have as many, one more
    than it can.
    """
    # Less a little, so that 24 layers that reach the height exactly are not made 25 by rounding.
    return math.ceil(min(height / layer, MOST_LAYERS + 1) - 1e-9)


def _layers_to_add(
    low: float, high: float, least: float, most: float, layer: Interval
) -> int | None:
    """The fewest layers to add (or, negative, to leave out) so that both ends come within; None
    where none does.
    """
    if low < least - GUARD_MM:
        # At the thin end of the layer, since the low end of the relief must come up.
        count = layers_over(least - GUARD_MM - low, layer.low)
        # The thick end rises by more, and must not leave the range at the other side.
        return count if high + count * layer.high <= most + GUARD_MM else None
    count = layers_over(high - most - GUARD_MM, layer.high)
    return -count if low - count * layer.low >= least - GUARD_MM else None
