"""From a door schedule to jobs: a CSV table whose rows each fill a template job."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from signrules.documents.reading import job_from_dict, plain_data, text_of
from signrules.documents.refusal import joined_path
from signrules.documents.schedule_rows import (
    BETWEEN_LINES,
    ScheduleColumns,
    ScheduleReader,
    checked_text,
)
from signrules.errors import DocumentFault, JobError
from signrules.model.job import Job
from signrules.model.wording import NOTHING, listed_names, shown_value

REQUIRED = ("room", "text", "kind", "standard")
"""The columns of a schedule that may not be left out; `cells` may."""

SCHEDULE = ScheduleColumns(
    required=REQUIRED,
    optional=("cells",),
    never_empty={
        "room": "the id of the sign",
        "text": "the text of the sign",
        "kind": "the kind of the sign",
    },
    alone="room",
    one_row="a row for each door",
)

_FILLED = (
    ("signs[0].id", "room"),
    ("name", "room"),
    ("passes[", "room"),
    ("waivers[", "room"),
    ("signs[0].text", "text"),
    ("signs[0].kind", "kind"),
    ("signs[0].braille", "cells"),
    ("standards", "standard"),
)
"""What the rows fill of a template that is sound without them, and the column that it comes from.
"""


def jobs_from_schedule(
    schedule: str | os.PathLike[str],
    template: Mapping[Any, Any] | str | os.PathLike[str],
    *,
    plugins: object = None,
) -> tuple[Job, ...]:
    """A job for each row of a door schedule, made from a template, in the order of the rows.

    `schedule` is a CSV file, or its text where it holds a line end: fields separated by commas, a
    header row with the columns `room`, `text`, `kind`, `standard` and perhaps `cells`, then a row
    for each door. `template` is a job as plain data, or a TOML or JSON file. The row fills the
    first sign of the template: its id, the lines of its text (with ` / ` between them), its kind,
    and the cells of its braille. A row without cells makes a sign without braille: that of the
    template is of another text, and sizes alone are none. Passes that build the sign and waivers
    for it go with its new id; the job is called after template and room. Standards (`;` between
    several) replace those of the template where the row names any. Spaces around a field are
    dropped; lines that are wholly empty are skipped.

    `plugins` are those of `job_from_dict`. Raises JobError with every fault of the schedule and the
    template; its paths read `row 3, column kind`, rows counted as a spreadsheet does (the header
    is row 1), or `template.media`.
    """
    is_text = isinstance(schedule, str) and (not schedule or "\n" in schedule or "\r" in schedule)
    origin = "" if is_text else os.fspath(schedule)
    faults: list[DocumentFault] = []
    filled = _sound_template(template, plugins, faults)
    try:
        text = checked_text(str(schedule)) if is_text else text_of(Path(schedule))
    except JobError as error:
        raise JobError([*faults, *error.faults], origin) from None
    reader = _Reader(faults)
    jobs: list[Job] = []
    for door in reader.doors(text):
        jobs += reader.job(door, filled, plugins)
    if faults:
        raise JobError(faults, origin)
    return tuple(jobs)


@frozen
class _Door:
    """One row: its number, and what its columns say; None in a column that has a fault."""

    row: int
    room: str | None
    text: tuple[str, ...] | None
    kind: str | None
    standards: tuple[str, ...] | None
    cells: str | None

    @property
    def is_whole(self) -> bool:
        return None not in (self.room, self.text, self.kind, self.standards, self.cells)


class _Reader:
    """Makes jobs of the rows of one schedule, and collects their faults."""

    def __init__(self, faults: list[DocumentFault]) -> None:
        self.faults = faults
        self.rows = ScheduleReader(SCHEDULE, faults)
        self.fault = self.rows.fault

    def doors(self, text: str) -> Iterator[_Door]:
        """The rows of a schedule, those with faults too."""
        for row, fields in self.rows.read(text):
            cells = fields.get("cells", "")
            yield _Door(
                row,
                fields.get("room"),
                self.rows.parts(row, "text", fields.get("text"), BETWEEN_LINES),
                fields.get("kind"),
                self.rows.parts(row, "standard", fields.get("standard"), ";"),
                cells and "\n".join(cells.split(BETWEEN_LINES)),
            )

    def job(
        self, door: _Door, template: Mapping[Any, Any] | None, plugins: object
    ) -> Iterator[Job]:
        """The job of a row; none where the row, or the template, has a fault."""
        if template is None:
            return
        other = [sign["id"] for sign in template["signs"][1:]]
        if door.room is not None and door.room in other:
            expected = f"a room that no other sign of the template has: {listed_names(other)}"
            self.fault(door.row, "room", shown_value(door.room), expected)
        elif door.is_whole:
            try:
                yield job_from_dict(_filled_template(template, door), plugins=plugins)
            except JobError as error:
                self._of_the_row(door.row, error)

    def _of_the_row(self, row: int, error: JobError) -> None:
        columns = set()
        for fault in error.faults:
            column = next((name for start, name in _FILLED if fault.path.startswith(start)), None)
            if column is None:
                self.faults.append(
                    evolve(fault, path=f"row {row}, {joined_path('template', fault.path)}")
                )
            elif column not in columns:
                columns.add(column)
                self.fault(row, column, fault.found, fault.expected)


def _sound_template(
    template: Mapping[Any, Any] | str | os.PathLike[str],
    plugins: object,
    faults: list[DocumentFault],
) -> Mapping[Any, Any] | None:
    """The template as plain data that is sound; where it is not, None, with its faults added."""
    own: list[DocumentFault] = []
    try:
        data: Any = template
        if isinstance(template, str | os.PathLike):
            data = plain_data(Path(template))
        job = job_from_dict(data, plugins=plugins)
    except JobError as error:
        own += error.faults
    else:
        if not job.signs:
            own.append(DocumentFault("signs", NOTHING, "a sign, the first of which each row fills"))
        elif job.signs[0].measured is not None:
            found = "what was measured on one sign"
            own.append(
                DocumentFault(
                    "signs[0].measured", found, "nothing measured: each row makes another sign"
                )
            )
    faults += [evolve(fault, path=joined_path("template", fault.path)) for fault in own]
    return None if own else data


def _filled_template(template: Mapping[Any, Any], door: _Door) -> dict[Any, Any]:
    """The template with what a row says."""
    first, *others = template["signs"]
    before = first["id"]
    sign = {**first, "id": door.room, "text": list(door.text or ()), "kind": door.kind}
    sign.pop("braille", None)
    if door.cells:
        sign["braille"] = {**first.get("braille", {}), "cells": door.cells}
    job = {
        **template,
        "name": ", ".join(part for part in (template.get("name"), door.room) if part),
    }
    job["signs"] = [sign, *others]
    if door.standards:
        job["standards"] = list(door.standards)
    for table, key, start in (
        ("passes", "builds", before),
        ("waivers", "subject", f"signs.{before}"),
    ):
        if table in template:
            after = start.removesuffix(before) + str(door.room)
            job[table] = [_renamed_paths(item, key, start, after) for item in template[table]]
    return job


def _renamed_paths(item: Mapping[Any, Any], key: str, start: str, after: str) -> Mapping[Any, Any]:
    """The table with paths in it, one or a list, that begin with `after` in place of `start`."""
    paths = item.get(key)

    def renamed(path: Any) -> Any:
        if isinstance(path, str) and (path == start or path.startswith(f"{start}.")):
            return after + path.removeprefix(start)
        return path

    if isinstance(paths, list | tuple):
        return {**item, key: [renamed(path) for path in paths]}
    return {**item, key: renamed(paths)} if key in item else item
