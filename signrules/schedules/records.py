"""The records of a schedule: its rows of cells as texts, from CSV or from a workbook."""

from __future__ import annotations

import csv
import io
import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path

from attrs import field, frozen

from signrules.documents.reading import MOST_BYTES
from signrules.documents.refusal import Refused
from signrules.errors import DocumentFault
from signrules.model.wording import counted_things
from signrules.schedules.encodings import decoded_text

WORKBOOKS = (".xlsx", ".xlsm")

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
"""What may stand between the fields of a record, and what it is called."""

LOOKED_AT = 30
"""So many records are looked at for the header."""


@frozen
class SheetRecord:
    """One row: its number, as a spreadsheet counts, and its cells.

    Of a workbook `spoiled` says by the number of a cell, from 0, what was found in place of a value
    and what was expected. `numbers` are cells that hold a number and no text, `formatted` those of
    them that the workbook may show otherwise than they are read.
    """

    number: int
    cells: tuple[str, ...]
    spoiled: Mapping[int, tuple[str, str]] = field(factory=dict)
    numbers: frozenset[int] = frozenset()
    formatted: frozenset[int] = frozenset()

    @property
    def is_blank(self) -> bool:
        """Whether nothing stands in it."""
        return not any(self.cells) and not self.spoiled


@frozen
class Records:
    """The rows of a schedule, with what was recognised of its form, a sentence each.

    `padded` says whether rows may be shorter than the header, as those of a workbook.
    """

    rows: tuple[SheetRecord, ...]
    notes: tuple[str, ...] = ()
    faults: tuple[DocumentFault, ...] = field(default=())
    padded: bool = False


def is_schedule_text(schedule: str | os.PathLike[str]) -> bool:
    """Whether a schedule is given as its text: one with a line end in it, or an empty one."""
    return isinstance(schedule, str) and (not schedule or "\n" in schedule or "\r" in schedule)


def records_of(
    schedule: str | os.PathLike[str], headings: Sequence[str], worksheet: str | None
) -> Records:
    """The records of a schedule, a file or its text.

    `headings` are those that are looked for: the separator is the one that makes most of them.
    Raises Refused where nothing can be read.
    """
    if is_schedule_text(schedule):
        text = str(schedule)
        demand_size(len(text.encode("utf-8", "surrogatepass")), "a text")
        return csv_records(text.removeprefix("\ufeff"), headings)
    return file_records(Path(schedule), headings, worksheet)


def file_records(path: Path, headings: Sequence[str], worksheet: str | None) -> Records:
    """The records of a file: a workbook by its suffix, CSV else. Raises Refused."""
    if path.suffix.lower() in WORKBOOKS:
        from signrules.schedules.workbooks import workbook_records

        return workbook_records(file_bytes(path), worksheet)
    text, encoding = decoded_text(file_bytes(path))
    records = csv_records(text, headings)
    return Records(records.rows, (f"read as {encoding}", *records.notes), records.faults)


def file_bytes(path: Path) -> bytes:
    """What a file holds, at most `MOST_BYTES`. Raises Refused where it cannot be read."""
    expected = "a file that can be read"
    try:
        if path.exists() and not path.is_file():
            raise Refused([DocumentFault("", "no regular file", expected)])
        demand_size(path.stat().st_size, "a file")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        if isinstance(error, Refused):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise Refused([DocumentFault("", f"{reason}".lower(), expected)]) from None
    demand_size(len(data), "a file")
    return data


def demand_size(size: int, what: str) -> None:
    """Raises Refused where a schedule is too large."""
    if size > MOST_BYTES:
        expected = f"a schedule of at most {MOST_BYTES // 1024 // 1024} MiB"
        raise Refused([DocumentFault("", f"{what} of {size} bytes", expected)])


def csv_records(text: str, headings: Sequence[str]) -> Records:
    """The records of a CSV text, by the separator that finds most headings."""
    separator = _separator_of(text, headings)
    faults: list[DocumentFault] = []
    rows = tuple(_parsed_rows(text, separator, faults))
    note = f"fields separated by {SEPARATORS[separator]}"
    return Records(rows, (note,), tuple(faults))


def _separator_of(text: str, headings: Sequence[str]) -> str:
    """The separator of which one record holds most headings; of several, the one of most fields."""

    def worth(separator: str) -> tuple[int, int]:
        head = header_of(_first_rows(text, separator), headings)
        if head is None:
            return 0, 0
        return len(found_headings(head, headings)), len(head.cells)

    # By headings before fields: a comma within texts makes more fields than the true separator.
    return max(SEPARATORS, key=worth)


def _first_rows(text: str, separator: str) -> list[SheetRecord]:
    return list(islice(_parsed_rows(text, separator, []), LOOKED_AT))


def _parsed_rows(text: str, separator: str, faults: list[DocumentFault]) -> Iterator[SheetRecord]:
    """The rows of a text as far as it is CSV; adds a fault where it no longer is."""
    # Strict, since the lenient reader runs on over lines where a quote is never closed.
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    while True:
        number += 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            found = f"text that is no CSV ({error})"
            expected = "CSV; a quote within a quoted field is doubled"
            faults.append(DocumentFault(f"row {number}", found, expected))
            return
        if cells is None:
            return
        yield SheetRecord(number, tuple(cell.strip() for cell in cells))


def header_of(rows: Iterable[SheetRecord], headings: Sequence[str]) -> SheetRecord | None:
    """The first row that holds most of the headings; None where all rows are blank."""
    best: SheetRecord | None = None
    most = -1
    for row in list(rows)[:LOOKED_AT]:
        count = len(found_headings(row, headings))
        if not row.is_blank and count > most:
            best, most = row, count
    return best


def found_headings(row: SheetRecord, headings: Sequence[str]) -> list[str]:
    """Those of some headings that stand in a row."""
    cells = {plain_heading(cell) for cell in row.cells}
    return [heading for heading in headings if plain_heading(heading) in cells]


def plain_heading(text: str) -> str:
    """A heading with single spaces between its words, its accents composed."""
    # Two ways to write one letter look alike, and nobody would see why they do not match.
    return unicodedata.normalize("NFC", " ".join(text.split()))


def wrong_count(row: SheetRecord, head: SheetRecord, padded: bool) -> DocumentFault | None:
    """The fault of a row of CSV with more cells than the header, or with fewer.

    Rows of a workbook are as long as what is written in them.
    """
    columns = len(_without_blank_end(head.cells))
    # Spreadsheets write empty fields at the end of some rows and leave them out of others.
    found = max(len(_without_blank_end(row.cells)), min(len(row.cells), columns))
    if padded or found == columns:
        return None
    expected = f"{columns}, one for each column; quote a field that holds a separator"
    return DocumentFault(f"row {row.number}", counted_things(found, "field"), expected)


def _without_blank_end(cells: Sequence[str]) -> list[str]:
    kept = list(cells)
    while kept and not kept[-1]:
        kept.pop()
    return kept
