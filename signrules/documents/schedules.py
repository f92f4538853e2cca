"""From a door schedule to jobs: a CSV table whose rows each fill a template job."""

from __future__ import annotations

import csv
import io
import os
import re
import unicodedata
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from signrules.documents.reading import MOST_BYTES, job_from_dict, plain_data, text_of
from signrules.documents.refusal import joined_path
from signrules.errors import DocumentFault, JobError
from signrules.model.job import Job
from signrules.model.limits import UNPRINTED
from signrules.model.wording import NOTHING, counted_things, listed_names, nearest_name, shown_value

REQUIRED = ("room", "text", "kind", "standard")
COLUMNS = (*REQUIRED, "cells")
"""The columns of a schedule; `cells` may be left out."""

BETWEEN_LINES = " / "
"""What stands between the lines of a text, and between lines of braille."""

_LINE_MARK = re.compile("(?:^|(?<= ))/(?= |$)")
"""The same with spaces that may have been dropped at the ends of the field, and that two marks may
share.
"""

NEEDED = {"room": "id", "text": "text", "kind": "kind"}
"""The columns that no row may leave empty, and what each is of the sign."""

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
        text = _checked_text(str(schedule)) if is_text else text_of(Path(schedule))
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
    """Reads the rows of one schedule, and collects their faults."""

    def __init__(self, faults: list[DocumentFault]) -> None:
        self.faults = faults

    def fault(self, row: int, column: str, found: str, expected: str) -> None:
        place = f"row {row}, column {column}" if column else f"row {row}"
        self.faults.append(DocumentFault(place, found, expected))

    def doors(self, text: str) -> Iterator[_Door]:
        records = self._records(text.removeprefix("\ufeff"))
        header = next(records, None)
        if header is None:
            self.fault(1, "", NOTHING, f"a header row with the columns {', '.join(REQUIRED)}")
            return
        head, names = header[0], [name.strip(" ") for name in header[1]]
        if len(names) == 1 and any(mark in names[0] for mark in ";\t"):
            mark = "semicolons" if ";" in names[0] else "tabs"
            self.fault(
                head,
                "",
                f"a header whose columns {mark} separate",
                "a file whose fields commas separate",
            )
            return
        self._header(head, names)
        places = {name: names.index(name) for name in COLUMNS if name in names}
        rows = 0
        rooms: dict[str, int] = {}
        for row, fields in records:
            rows += 1
            if len(fields) != len(names):
                self.fault(
                    row,
                    "",
                    counted_things(len(fields), "field"),
                    f"{len(names)}, one for each column; quote a field that holds a comma",
                )
                continue
            door = self._door(row, {name: fields[at].strip(" ") for name, at in places.items()})
            if door.room is not None and (first := rooms.setdefault(door.room, row)) != row:
                self.fault(
                    row,
                    "room",
                    shown_value(door.room),
                    f"a room that no other row has; row {first} has it too",
                )
                door = evolve(door, room=None)
            yield door
        if not rows and not any(fault.path.startswith("row ") for fault in self.faults):
            self.fault(head + 1, "", NOTHING, "a row for each door")

    def _records(self, text: str) -> Iterator[tuple[int, list[str]]]:
        """The rows that hold anything, each with its number."""
        rows = csv.reader(io.StringIO(text, newline=""), strict=True)
        row = 0
        while True:
            row += 1
            try:
                fields = next(rows, None)
            except csv.Error as error:
                self.fault(
                    row,
                    "",
                    f"text that is no CSV ({error})",
                    "CSV; a quote within a quoted field is doubled",
                )
                return
            if fields is None:
                return
            if fields:
                yield row, fields

    def _header(self, row: int, names: list[str]) -> None:
        for at, name in enumerate(names):
            label = name[:60] if name.isprintable() and name else str(at + 1)
            if name not in COLUMNS:
                expected = f"one of {', '.join(COLUMNS)}"
                near = nearest_name(name.casefold(), COLUMNS)
                if near:
                    expected += f"; the nearest is {shown_value(near)}"
                found = shown_value(name) if name else NOTHING
                self.fault(row, label, found, expected)
            elif name in names[:at]:
                self.fault(row, label, "the same column twice", "each column once")
        for name in REQUIRED:
            if name not in names:
                self.fault(row, name, NOTHING, f"the column {name}, which is required")

    def _door(self, row: int, fields: Mapping[str, str]) -> _Door:
        found: dict[str, str | None] = {}
        for column, value in fields.items():
            control = next(
                (char for char in value if unicodedata.category(char) in UNPRINTED), None
            )
            if control is not None:
                expected = f"text on one line; {BETWEEN_LINES!r} stands between lines"
                self.fault(row, column, f"a control character (U+{ord(control):04X})", expected)
                found[column] = None
            elif not value and column in NEEDED:
                self.fault(row, column, NOTHING, f"the {NEEDED[column]} of the sign")
                found[column] = None
            else:
                found[column] = value
        cells = found.get("cells", "")
        return _Door(
            row,
            found.get("room"),
            self._parts(row, "text", found.get("text"), BETWEEN_LINES),
            found.get("kind"),
            self._parts(row, "standard", found.get("standard"), ";"),
            cells and "\n".join(cells.split(BETWEEN_LINES)),
        )

    def _parts(self, row: int, column: str, value: str | None, mark: str) -> tuple[str, ...] | None:
        """What a mark separates in a value; None where there is none, or has a fault."""
        if value is None:
            return None
        if not value:
            return ()
        found = _LINE_MARK.split(value) if mark == BETWEEN_LINES else value.split(mark)
        parts = tuple(part.strip(" ") for part in found)
        if all(parts):
            return parts
        self.fault(row, column, shown_value(value), f"something on both sides of every {mark!r}")
        return None

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


def _checked_text(text: str) -> str:
    size = len(text.encode("utf-8", "surrogatepass"))
    if size > MOST_BYTES:
        expected = f"a schedule of at most {MOST_BYTES // 1024 // 1024} MiB"
        raise JobError([DocumentFault("", f"a text of {size} bytes", expected)])
    return text
