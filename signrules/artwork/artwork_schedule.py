"""A schedule of artwork: which file is which sign, what it says, and whether it is drawn so.

A drawing that says something else than its row is refused; which of the two is wrong is for people.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from signrules.documents.reading import text_of
from signrules.documents.schedule_rows import BETWEEN_LINES, ScheduleColumns, ScheduleReader
from signrules.errors import ArtworkError, DocumentError, DocumentFault, JobError, SignrulesError
from signrules.model.wording import NOTHING, listed_names, nearest_name, shown_value

COLUMNS = ScheduleColumns(
    required=("file", "text", "kind"),
    optional=("cells",),
    never_empty={
        "file": "the name of a file of artwork",
        "text": "the text of the sign",
        "kind": "the kind of the sign",
    },
    alone="file",
    one_row="a row for each file",
)

_COLUMN_OF = {
    "text": "text",
    "cells": "cells",
    "signs[0].text": "text",
    "signs[0].kind": "kind",
}
"""Paths of faults that a column of the row has brought; all others are of the file."""


@frozen
class ScheduledSign:
    """One row: the name of its file, and what its sign says. No `cells`: any that are drawn."""

    row: int
    file: str
    text: tuple[str, ...]
    kind: str
    cells: str = ""


def read_artwork_schedule(path: str, files: Collection[str]) -> tuple[ScheduledSign, ...]:
    """The rows of a schedule for files of artwork, in their order.

    `files` are the names that there are; each needs a row. Raises ArtworkError with every fault,
    whose paths read `row 3, column file`.
    """
    faults: list[DocumentFault] = []
    try:
        text = text_of(Path(path))
    except JobError as error:
        raise ArtworkError(error.faults, path) from None
    signs = list(_signs_of(ScheduleReader(COLUMNS, faults), text, files))
    if not faults:
        named = {sign.file for sign in signs}
        expected = "a row for each file of the folder"
        for file in sorted(set(files) - named):
            faults.append(DocumentFault("column file", f"no row for {shown_value(file)}", expected))
    if faults:
        raise ArtworkError(faults, path)
    return tuple(signs)


def _signs_of(reader: ScheduleReader, text: str, files: Collection[str]) -> Iterator[ScheduledSign]:
    for row, fields in reader.read(text):
        file, kind, cells = (fields.get(name) for name in ("file", "kind", "cells"))
        lines = reader.parts(row, "text", fields.get("text"), BETWEEN_LINES)
        if file is not None and file not in files:
            near = nearest_name(file, tuple(files))
            nearest = f"; the nearest is {shown_value(near)}" if near else ""
            reader.fault(row, "file", shown_value(file), f"a file of the folder{nearest}")
        elif file is not None and lines is not None and kind is not None:
            yield ScheduledSign(row, file, lines, kind, cells or "")


def demand_as_scheduled(sign: ScheduledSign, document: Mapping[str, Any]) -> None:
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
    return " ".join(lines).casefold().split()


def _faults_of_cells(sign: ScheduledSign, drawn: Mapping[str, Any]) -> Iterator[DocumentFault]:
    read = drawn.get("braille", {}).get("cells")
    if sign.cells and read != "\n".join(sign.cells.split(BETWEEN_LINES)):
        shown = NOTHING if read is None else shown_value(read.replace("\n", BETWEEN_LINES))
        yield DocumentFault("cells", f"{shown} in the drawing", shown_value(sign.cells))


def at_its_row(sign: ScheduledSign, schedule: str, error: SignrulesError) -> ArtworkError:
    """What is wrong with the artwork of a row, as faults of its schedule."""
    if not isinstance(error, DocumentError):
        fault = DocumentFault(f"row {sign.row}, column file", str(error), "artwork that is a job")
        return ArtworkError([fault], schedule)
    return ArtworkError([_fault_at_row(sign, fault) for fault in error.faults], schedule)


def _fault_at_row(sign: ScheduledSign, fault: DocumentFault) -> DocumentFault:
    column = _COLUMN_OF.get(fault.path)
    if column is None:
        column = ", ".join(filter(None, ("file", sign.file, fault.path)))
    return evolve(fault, path=f"row {sign.row}, column {column}")
