"""A schedule of artwork: which file is which sign, what it says, and whether it is drawn so.

A drawing that says something else than its row is refused; which of the two is wrong is for people.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from signrules.documents.refusal import Refused
from signrules.errors import (
    ArtworkError,
    DocumentError,
    DocumentFault,
    ScheduleError,
    SignrulesError,
)
from signrules.model.sign_types import USUAL_SCHEDULE, ScheduleUse
from signrules.model.wording import NOTHING, listed_names, nearest_name, shown_value
from signrules.schedules.columns import ScheduleRow, ScheduleRows, schedule_rows
from signrules.schedules.filling import lines_of_word
from signrules.schedules.records import records_of

NEEDED = {
    "file": "the name of a file of artwork",
    "text": "the text of the sign",
    "kind": "the kind of the sign",
}
"""Columns that no row may leave empty, and what each is."""

COLUMNS = (*NEEDED, "sign", "cells")
BETWEEN_LINES = " / "

_COLUMN_OF = {
    "text": "text",
    "cells": "cells",
    "signs[0].text": "text",
    "signs[0].kind": "kind",
}
"""Paths of faults that a column of the row has brought; all others are of the file."""


@frozen
class DrawnRow:
    """One row: the name of its file, and what its sign says. No `cells`: any that are drawn. No
    `sign`: the only one of the file; else the id of one of several.
    """

    row: int
    file: str
    text: tuple[str, ...]
    kind: str
    cells: str = ""
    sign: str = ""


@frozen
class DrawnRows:
    """The rows of a schedule of drawings, and what was recognised of its form."""

    rows: tuple[DrawnRow, ...]
    notes: tuple[str, ...] = ()


def read_drawn_rows(
    path: str, files: Collection[str], use: ScheduleUse = USUAL_SCHEDULE
) -> DrawnRows:
    """The rows of a schedule for files of artwork, in their order.

    `files` are the names that there are; each needs a row. Where there is one, the rows need not
    name it. `use` is how the shop reads schedules.
    Raises ScheduleError with every fault, whose paths read `row 3, column file`.
    """
    mapped = {name: heading for name, heading in use.columns if name in COLUMNS}
    headings = [mapped.get(name, name) for name in COLUMNS]
    try:
        records = records_of(Path(path), headings, use.worksheet)
    except Refused as refused:
        raise ScheduleError(refused.faults, path) from None
    rows = schedule_rows(records, mapped, COLUMNS, (), None)
    if len(files) == 1 and "file" not in rows.headings:
        rows = _of_the_only_file(rows, *files)
    faults = [*rows.faults, *_missing_columns(rows, mapped)]
    signs = list(_drawn_rows(rows, files, faults))
    faults += _faults_of_sheets(signs, rows)
    if not faults:
        named = {sign.file for sign in signs}
        expected = "a row for each file of the artwork"
        for file in sorted(set(files) - named):
            faults.append(DocumentFault("column file", f"no row for {shown_value(file)}", expected))
    if faults:
        raise ScheduleError(faults, path)
    return DrawnRows(tuple(signs), rows.notes)


def _of_the_only_file(rows: ScheduleRows, file: str) -> ScheduleRows:
    """Rows that do not say of which file they are, where there is one alone."""
    if not rows.headings:
        return rows
    named = [evolve(row, words={**row.words, "file": file}) for row in rows.rows]
    return evolve(rows, rows=tuple(named), headings={**rows.headings, "file": "file"})


def _missing_columns(rows: ScheduleRows, mapped: Mapping[str, str]) -> Iterator[DocumentFault]:
    if not rows.headings:
        return
    for name, what in NEEDED.items():
        if name not in rows.headings and name not in mapped:
            place = f"row {rows.header}, column {name}"
            yield DocumentFault(place, NOTHING, f"a column that says {what}")


def _drawn_rows(
    rows: ScheduleRows, files: Collection[str], faults: list[DocumentFault]
) -> Iterator[DrawnRow]:
    for row in rows.rows:
        found = list(_faults_of_row(row, rows, files))
        faults += found
        if not found and not row.spoiled and all(name in row.words for name in NEEDED):
            text = lines_of_word(row.words["text"])
            cells = BETWEEN_LINES.join(lines_of_word(row.words.get("cells", "")))
            sign = row.words.get("sign", "").strip()
            yield DrawnRow(row.number, row.words["file"], text, row.words["kind"], cells, sign)


def _faults_of_sheets(signs: Sequence[DrawnRow], rows: ScheduleRows) -> Iterator[DocumentFault]:
    """Rows of one file that are not of one sign each."""
    first: dict[tuple[str, str], int] = {}
    by_file: dict[str, int] = {}
    for sign in signs:
        earlier = first.setdefault((sign.file, sign.sign), sign.row)
        of_file = by_file.setdefault(sign.file, sign.row)
        if sign.sign and earlier != sign.row:
            place = f"row {sign.row}, column {rows.headings['sign']}"
            expected = f"a sign that no other row has; row {earlier} has it too"
            yield DocumentFault(place, shown_value(sign.sign), expected)
        elif of_file != sign.row and (not sign.sign or (sign.file, "") in first):
            place = f"row {sign.row}, column {rows.headings['file']}"
            expected = (
                f"a file that no other row has; row {of_file} has it too. Of a sheet of signs, each"
                " row says in a column sign which it is of"
            )
            yield DocumentFault(place, shown_value(sign.file), expected)


def _faults_of_row(
    row: ScheduleRow, rows: ScheduleRows, files: Collection[str]
) -> Iterator[DocumentFault]:
    for name, what in NEEDED.items():
        if name in rows.headings and not lines_of_word(row.words[name]):
            yield DocumentFault(f"row {row.number}, column {rows.headings[name]}", NOTHING, what)
    file = row.words.get("file", "")
    if file and file not in files:
        near = nearest_name(file, tuple(files))
        nearest = f"; the nearest is {shown_value(near)}" if near else ""
        place = f"row {row.number}, column {rows.headings['file']}"
        yield DocumentFault(place, shown_value(file), f"a file of the artwork{nearest}")


def demand_as_scheduled(rows: Sequence[DrawnRow], document: Mapping[str, Any]) -> None:
    """Raises ArtworkError where signs of a job made of artwork say something else than their rows.

    Every row that names a sign has one.
    """
    by_id = {sign["id"]: sign for sign in document["signs"]}
    faults = []
    for row in rows:
        drawn = by_id[row.sign] if row.sign else document["signs"][0]
        if _words_of(drawn.get("text", ())) != _words_of(row.text):
            found = f"a drawing that says {listed_names(list(drawn['text']))}"
            faults.append(DocumentFault(_path_in(row, "text"), found, listed_names(list(row.text))))
        faults += _faults_of_cells(row, drawn)
    if faults:
        raise ArtworkError(faults)


def _path_in(row: DrawnRow, key: str) -> str:
    return f"signs.{row.sign}.{key}" if row.sign else key


def _words_of(lines: Collection[str]) -> list[str]:
    # Case and breaks of lines are the drawing's own; the words must agree.
    return " ".join(lines).casefold().split()


def _faults_of_cells(row: DrawnRow, drawn: Mapping[str, Any]) -> Iterator[DocumentFault]:
    read = drawn.get("braille", {}).get("cells")
    if row.cells and read != "\n".join(row.cells.split(BETWEEN_LINES)):
        shown = NOTHING if read is None else shown_value(read.replace("\n", BETWEEN_LINES))
        path = _path_in(row, "cells")
        yield DocumentFault(path, f"{shown} in the drawing", shown_value(row.cells))


def at_its_row(rows: Sequence[DrawnRow], schedule: str, error: SignrulesError) -> ArtworkError:
    """What is wrong with the artwork of some rows, as faults of their schedule."""
    first = rows[0]
    if not isinstance(error, DocumentError):
        place = f"file {first.file}" if first.sign else f"row {first.row}, column file"
        fault = DocumentFault(place, str(error), "artwork that is a job")
        return ArtworkError([fault], schedule)
    return ArtworkError([_fault_at_row(rows, fault) for fault in error.faults], schedule)


def _fault_at_row(rows: Sequence[DrawnRow], fault: DocumentFault) -> DocumentFault:
    first = rows[0]
    for row in rows:
        of_sign = f"signs.{row.sign}"
        if row.sign and fault.path == of_sign:
            return evolve(fault, path=f"row {row.row}, column sign")
        if row.sign and fault.path.startswith((f"{of_sign}.", f"{of_sign},")):
            rest = fault.path[len(of_sign) :].strip("., ")
            place = f"column {rest}" if rest in COLUMNS else f"sign {row.sign}, {rest}"
            return evolve(fault, path=f"row {row.row}, {place}")
    if first.sign:
        # Of a file with several signs no row is at fault: all of them are of this file.
        return evolve(fault, path=", ".join(filter(None, (f"file {first.file}", fault.path))))
    column = _COLUMN_OF.get(fault.path)
    if column is None:
        column = ", ".join(filter(None, ("file", first.file, fault.path)))
    return evolve(fault, path=f"row {first.row}, column {column}")
