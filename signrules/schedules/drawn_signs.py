"""A schedule of artwork: which file is which sign, what it says, and whether it is drawn so.

A drawing that says something else than its row is refused; which of the two is wrong is for people.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
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

COLUMNS = (*NEEDED, "cells")
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
    """One row: the name of its file, and what its sign says. No `cells`: any that are drawn."""

    row: int
    file: str
    text: tuple[str, ...]
    kind: str
    cells: str = ""


@frozen
class DrawnRows:
    """The rows of a schedule of drawings, and what was recognised of its form."""

    rows: tuple[DrawnRow, ...]
    notes: tuple[str, ...] = ()


def read_drawn_rows(
    path: str, files: Collection[str], use: ScheduleUse = USUAL_SCHEDULE
) -> DrawnRows:
    """The rows of a schedule for files of artwork, in their order.

    `files` are the names that there are; each needs a row. `use` is how the shop reads schedules.
    Raises ScheduleError with every fault, whose paths read `row 3, column file`.
    """
    mapped = {name: heading for name, heading in use.columns if name in COLUMNS}
    headings = [mapped.get(name, name) for name in COLUMNS]
    try:
        records = records_of(Path(path), headings, use.worksheet)
    except Refused as refused:
        raise ScheduleError(refused.faults, path) from None
    rows = schedule_rows(records, mapped, COLUMNS, (), None)
    faults = [*rows.faults, *_missing_columns(rows, mapped)]
    signs = list(_drawn_rows(rows, files, faults))
    if not faults:
        named = {sign.file for sign in signs}
        expected = "a row for each file of the folder"
        for file in sorted(set(files) - named):
            faults.append(DocumentFault("column file", f"no row for {shown_value(file)}", expected))
    if faults:
        raise ScheduleError(faults, path)
    return DrawnRows(tuple(signs), rows.notes)


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
    first: dict[str, int] = {}
    for row in rows.rows:
        found = list(_faults_of_row(row, rows, files))
        file = row.words.get("file", "")
        if file and first.setdefault(file, row.number) != row.number:
            place = f"row {row.number}, column {rows.headings['file']}"
            expected = f"a file that no other row has; row {first[file]} has it too"
            found.append(DocumentFault(place, shown_value(file), expected))
        faults += found
        if not found and not row.spoiled and all(name in row.words for name in NEEDED):
            text = lines_of_word(row.words["text"])
            cells = BETWEEN_LINES.join(lines_of_word(row.words.get("cells", "")))
            yield DrawnRow(row.number, file, text, row.words["kind"], cells)


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
        yield DocumentFault(place, shown_value(file), f"a file of the folder{nearest}")


def demand_as_scheduled(sign: DrawnRow, document: Mapping[str, Any]) -> None:
    """Raises ArtworkError where a job made of artwork says something else than its row."""
    drawn = document["signs"][0]
    faults = []
    if _words_of(drawn.get("text", ())) != _words_of(sign.text):
        found = f"a drawing that says {listed_names(list(drawn['text']))}"
        faults.append(DocumentFault("text", found, listed_names(list(sign.text))))
    faults += _faults_of_cells(sign, drawn)
    if faults:
        raise ArtworkError(faults)


def _words_of(lines: Collection[str]) -> list[str]:
    # Case and breaks of lines are the drawing's own; the words must agree.
    return " ".join(lines).casefold().split()


def _faults_of_cells(sign: DrawnRow, drawn: Mapping[str, Any]) -> Iterator[DocumentFault]:
    read = drawn.get("braille", {}).get("cells")
    if sign.cells and read != "\n".join(sign.cells.split(BETWEEN_LINES)):
        shown = NOTHING if read is None else shown_value(read.replace("\n", BETWEEN_LINES))
        yield DocumentFault("cells", f"{shown} in the drawing", shown_value(sign.cells))


def at_its_row(sign: DrawnRow, schedule: str, error: SignrulesError) -> ArtworkError:
    """What is wrong with the artwork of a row, as faults of its schedule."""
    if not isinstance(error, DocumentError):
        fault = DocumentFault(f"row {sign.row}, column file", str(error), "artwork that is a job")
        return ArtworkError([fault], schedule)
    return ArtworkError([_fault_at_row(sign, fault) for fault in error.faults], schedule)


def _fault_at_row(sign: DrawnRow, fault: DocumentFault) -> DocumentFault:
    column = _COLUMN_OF.get(fault.path)
    if column is None:
        column = ", ".join(filter(None, ("file", sign.file, fault.path)))
    return evolve(fault, path=f"row {sign.row}, column {column}")
