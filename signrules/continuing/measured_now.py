"""Dots measured on the half-printed sheet: what they were printed by, and their range."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import evolve, frozen

from signrules.documents.toml import inline_value
from signrules.errors import DocumentFault, RecordError
from signrules.measuring.shop_lines import StatedLine
from signrules.model.job import Job, free_id
from signrules.model.limits import THINNEST_MM
from signrules.model.passes import Pass
from signrules.model.quantities import Interval, clamped_interval
from signrules.model.sign import Sign
from signrules.model.wording import expected_name, shown_value
from signrules.physics.ink import layer_from_dots
from signrules.rules.binding_rows import rows_binding
from signrules.rules.dimensions import source_of
from signrules.standards.dimension_tables import Standard

Heights = Mapping[str, Sequence[float]]
"""Measured dot heights in mm, by the id of the sign."""

RAISED = ".raised"
"""What the name of a feature of raised characters ends in."""

HIGHEST_MM = 10.0
"""No dot is higher: what is, was given in another unit."""


def demand_measured(job: Job, done: Sequence[str], measured: Heights) -> None:
    """Raises RecordError where measured dots are of no sign, of one whose dots are not printed yet,
    or no heights.
    """
    faults = list(_faults_of_measured(job, done, measured))
    if faults:
        raise RecordError(faults)


def _faults_of_measured(
    job: Job, done: Sequence[str], measured: Heights
) -> Iterator[DocumentFault]:
    signs = tuple(sign.id for sign in job.signs)
    for name, heights in measured.items():
        path = f"measured.{name}"
        if name.removesuffix(RAISED) in signs and name not in signs:
            expected = (
                "heights of braille dots: how many layers raise letters is not known here. Leave"
                " the sheet where it lies, add a pass with more layers to the job and check that"
            )
            yield DocumentFault(path, "raised characters", expected)
            continue
        if name not in signs:
            known = expected_name(name, signs, f"one of {', '.join(signs)}")
            yield DocumentFault(path, repr(name), f"a sign of the job: {known}")
            continue
        if not heights:
            yield DocumentFault(path, "no height", "the height of at least one dot in mm")
        if not printed_builders(job, done, name):
            expected = f"a pass in `done` that builds {name}.braille"
            yield DocumentFault(path, "dots before any were printed", expected)
        for number, height in enumerate(heights):
            if not _is_height(height):
                expected = f"a height in mm, above 0 and at most {HIGHEST_MM:g}"
                yield DocumentFault(f"{path}[{number}]", shown_value(height), expected)


def _is_height(value: object) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return math.isfinite(value) and 0 < value <= HIGHEST_MM


def printed_builders(job: Job, done: Iterable[str], sign: str) -> tuple[Pass, ...]:
    """The passes that are done and build the dots of a sign."""
    feature = f"{sign}.braille"
    names = frozenset(done)
    return tuple(item for item in job.passes if item.id in names and feature in item.builds)


def layer_measured(job: Job, done: Iterable[str], sign: str, heights: Sequence[float]) -> Interval:
    """What one layer of the dots of a sign has added, in mm: from the lowest to the highest dot."""
    layers = sum(item.layers for item in printed_builders(job, done, sign))
    return layer_from_dots(heights, layers)


@frozen
class DotRange:
    """Between which heights in mm the dots of a sign must lie, and by which sources; infinite where
    nothing limits them.
    """

    least: float = -math.inf
    most: float = math.inf
    sources: tuple[str, ...] = ()


def dot_range(sign: Sign, standards: Iterable[Standard]) -> DotRange:
    """The range that all tables of the job together leave to the dots of a sign."""
    found = DotRange()
    for standard, row in rows_binding(sign, standards, "braille.dot_height"):
        # A share of another length has no range in mm; what a person must weigh scraps no sheet.
        if row.of is not None or row.level != "STOP":
            continue
        least = -math.inf if row.least is None else row.least.number
        most = math.inf if row.most is None else row.most.number
        sources = tuple(dict.fromkeys((*found.sources, str(source_of(standard, row)))))
        found = DotRange(max(found.least, least), min(found.most, most), sources)
    return found


def with_measured(job: Job, done: Sequence[str], measured: Heights) -> Job:
    """The job whose dots are as high as they were measured, for the clearance of what remains.

    A pass gets an ink of its own, as thick as its measured dots say. Where it built dots that
    nobody measured, these may be as high as the ink lets expect.
    """
    layers = dict(_measured_layers(job, done, measured))
    inks, passes = list(job.inks), []
    for item in job.passes:
        if item.id in layers:
            name = free_id("ink as measured", (ink.id for ink in inks))
            inks.append(evolve(job.ink_of(item), id=name, layer=layers[item.id]))
            item = evolve(item, ink=name)
        passes.append(item)
    return evolve(job, inks=tuple(inks), passes=tuple(passes))


def with_open_gaps(job: Job, done: Sequence[str], measured: Heights) -> Job:
    """The job that does not say at which gaps the measured dots were printed."""
    printed = {item.id for sign in measured for item in printed_builders(job, done, sign)}
    passes = (evolve(item, gap=None) if item.id in printed else item for item in job.passes)
    return evolve(job, passes=tuple(passes))


def _measured_layers(
    job: Job, done: Sequence[str], measured: Heights
) -> Iterator[tuple[str, Interval]]:
    """What one layer of each pass whose dots were measured may be, by the id of the pass."""
    for item in job.passes:
        dots = [sign for sign in item.built_signs if f"{sign}.braille" in item.builds]
        known = [sign for sign in dots if sign in measured and item.id in done]
        if not known:
            continue
        layers = [layer_measured(job, done, sign, measured[sign]) for sign in known]
        if set(known) != set(item.built_signs):
            layers.append(job.ink_of(item).layer)
        low = max(min(one.low for one in layers), THINNEST_MM)
        high = max(low, *(one.high for one in layers))
        yield item.id, clamped_interval(low, layers[0].nominal, high)


def shop_figure(
    job: Job, done: Sequence[str], sign: str, heights: Sequence[float], day: datetime.date
) -> StatedLine | None:
    """The line of a shop file that states the layer as it was measured on a day.

    None where the dots are of several inks, of which nobody knows the share of each.
    """
    builders = printed_builders(job, done, sign)
    inks = {item.ink for item in builders}
    if len(inks) != 1:
        return None
    layer = layer_measured(job, done, sign, heights).scaled(1000)
    # Rounded outwards to a tenth of a micrometre, so that no measured dot falls out of the figure.
    low, high = math.floor(layer.low * 10), math.ceil(layer.high * 10)
    half = math.ceil((high - low) / 2)
    middle = low + half
    layers = sum(item.layers for item in builders)
    stated = {
        "is": f"{middle / 10:g} um +- {half / 10:g} um",
        "measured": day,
        "readings": len(heights),
        "from": f"dots of {layers} layers on {sign}, each height / layers",
    }
    return StatedLine(("inks", inks.pop()), ("layer",), inline_value(stated))
