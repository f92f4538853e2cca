"""Which jobs need the same set-up: the planner makes the same plan for them, but for names.

It does not read where ink lies, only what comes of that: which covers there are (the passes on
one place), and which of them the head passes over. So sheets with other signs on them, or with
the same signs in another place, are mostly of one kind.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterator, Sequence
from typing import Any

from attrs import astuple, fields

from signrules.many_jobs.kept_results import plain_value
from signrules.model.media import Media
from signrules.model.passes import SIDES, Handling, Pass
from signrules.physics.machine import Machine

# What is left out of the fingerprint: names, and what ranks or relations stand for.
_RANKED_OF_SHEETS = ("size", "at")
_NOT_OF_SHEETS = ("id", "material", "data", *_RANKED_OF_SHEETS)

_NAMES_OF_PASSES = ("id", "media", "over", "after", "registers_to", "builds", "artwork")
_NOT_OF_PASSES = ("areas", "coverage", *_NAMES_OF_PASSES)

_NOT_OF_HANDLING = ("id", "media", "after")


def setup_kind(machine: Machine) -> str:
    """A fingerprint that is the same for machines whose plans are the same but for names.

    Items go by their index and sheets by their place in the job. Where planning sorts by a number
    that means nothing to it, such as the place on the bed, the rank of the number stands for it.
    """
    job = machine.job
    told = [
        plain_value(part)
        for part in (
            job.printer,
            job.inks,
            job.alignments,
            job.registration_tolerance,
            job.temperature,
            None if job.sequence is None else [machine.index[id] for id in job.sequence],
            list(_sheets_told(job.media)),
            list(_passes_told(machine)),
            [_told(item, _NOT_OF_HANDLING) for item in job.handling],
            [astuple(kind) for kind in job.handling_kinds],
            list(_relations(machine)),
            list(_what_lies_where(machine)),
        )
    ]
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


def _told(part: Media | Pass | Handling, left_out: Collection[str]) -> list[Any]:
    """The fields of a part of a job, without some."""
    names = (each.name for each in fields(type(part)))
    return [getattr(part, name) for name in names if name not in left_out]


def _ranks(values: Sequence[Any]) -> list[int]:
    """The place of each value among the different ones, ascending."""
    numbers = {value: rank for rank, value in enumerate(sorted(set(values)))}
    return [numbers[value] for value in values]


def _sheets_told(media: Sequence[Media]) -> Iterator[Any]:
    across = _ranks([sheet.at[0] for sheet in media])
    along = _ranks([sheet.at[1] for sheet in media])
    sizes = _ranks([sheet.size for sheet in media])
    loads = [sheet.load for sheet in media]
    for number, sheet in enumerate(media):
        places = [across[number], along[number], sizes[number], loads.index(sheet.load)]
        yield [*_told(sheet, (*_NOT_OF_SHEETS, "load")), places]


def _passes_told(machine: Machine) -> Iterator[Any]:
    job = machine.job
    coverages = _ranks([item.coverage for item in job.passes])
    areas = _ranks([_sorted_areas(machine, item) for item in job.passes])
    for pass_index, item in enumerate(job.passes):
        ranks = [coverages[pass_index], item.coverage >= 1, areas[pass_index]]
        registers = None if item.registers_to is None else len(item.registers_to)
        yield [*_told(item, _NOT_OF_PASSES), ranks, registers]


def _sorted_areas(machine: Machine, item: Pass) -> tuple[tuple[float, ...], ...]:
    areas = machine.job.areas_of(item)
    return tuple(sorted((area.x, area.y, area.width, area.height) for area in areas))


def _relations(machine: Machine) -> Iterator[Any]:
    """The sheet of each item, what comes before what, and which passes register."""
    numbers = {sheet.id: number for number, sheet in enumerate(machine.job.media)}
    for item_index, item in enumerate(machine.items):
        is_pause = machine.load_of[item_index] is None
        yield None if is_pause else numbers[machine.job.media_of(item).id]
    for edge in machine.precedence:
        yield [edge.before, edge.then, edge.kind]
    for partners in machine.named_partners:
        yield sorted(partners)
    yield list(machine.register_groups)


def _what_lies_where(machine: Machine) -> Iterator[Any]:
    """The covers on each side of each sheet, and those over which the head passes."""
    layout, media = machine.heights.layout, machine.job.media
    printed_sides = [
        (sheet.id, side) for sheet in media for side in SIDES if layout.passes_on[sheet.id, side]
    ]
    for sheet, side in printed_sides:
        yield sorted(layout.covers_on(sheet, side))
    numbers = {sheet.id: number for number, sheet in enumerate(media)}
    for pass_index in range(machine.pass_count):
        below = layout.in_band[pass_index]
        yield [numbers[sheet] for sheet in below]
        for sheet, side in printed_sides:
            if sheet in below:
                yield sorted(layout.covers_in_band(pass_index, sheet, side))
