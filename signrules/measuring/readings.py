"""Readings: what was written down at the machine, read from TOML, CSV or plain data."""

from __future__ import annotations

import csv
import datetime
import io
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from attrs import field, frozen

from signrules.documents.reading import text_of
from signrules.documents.refusal import Refused, path_label
from signrules.documents.toml import from_toml
from signrules.errors import DocumentFault, JobError, ReadingsError
from signrules.measuring.entries import Entry
from signrules.model.wording import (
    NOTHING,
    counted_things,
    expected_name,
    listed_names,
    shown_value,
)

# A procedure has a function of readings, so only one of the two modules can import the other.
if TYPE_CHECKING:
    from signrules.measuring.procedure import Procedure

ROWS = "readings"
"""The key of the list of readings."""

HEAD = ("figure", "date", "note")
"""What a readings file may say besides the settings and the readings of its figure."""

# Not what float() takes: "1e5", "nan" and "1_000" are no readings that somebody wrote down.
_A_NUMBER = re.compile(r"[+-]?[0-9]{1,20}(\.[0-9]{0,20})?|[+-]?\.[0-9]{1,20}")


@frozen
class Readings:
    """Readings in the units of the library (mm, mm/s, s, g, pL, kg/m3), in their order.

    `plain` is the same as it was written. `rows_of_file` are the rows of a CSV file, as a
    spreadsheet counts them; empty for other sources.
    """

    figure: str
    settings: Mapping[str, Any]
    rows: tuple[Mapping[str, Any], ...]
    date: datetime.date | None = None
    origin: str = ""
    plain: Mapping[str, Any] = field(factory=dict)
    rows_of_file: tuple[int, ...] = ()

    def column(self, name: str) -> list[Any]:
        """The values of a column, one for each reading that has it."""
        return [row[name] for row in self.rows if name in row]

    def setting(self, name: str, otherwise: Any = None) -> Any:
        """A value that holds for all readings."""
        return self.settings.get(name, otherwise)

    def place(self, row_index: int, column: str = "") -> str:
        """Where a reading stands: its row and column, or its path."""
        # Who mends a spreadsheet looks for its row, not for a place in a list.
        number = self.rows_of_file[row_index] if self.rows_of_file else None
        return _place(row_index, number, column)

    def refuse(self, path: str, found: str, expected: str) -> NoReturn:
        """Raises ReadingsError."""
        raise ReadingsError([DocumentFault(path, found, expected)], self.origin)


def read_readings(source: object, procedure: Procedure) -> Readings:
    """The readings of a procedure: from plain data, or from a TOML or CSV file by its name.

    Raises ReadingsError with every fault, each with its key or its row and column.
    """
    if isinstance(source, Mapping):
        return readings_from_dict(source, procedure)
    if not isinstance(source, str | os.PathLike):
        raise TypeError(f"expected a mapping or a file, got {type(source).__name__}")
    path = Path(source)
    origin = os.fspath(source)
    try:
        if path.suffix.lower() == ".csv":
            document, rows_of_file = _csv_document(text_of(path), procedure)
        else:
            document, rows_of_file = _toml_document(text_of(path)), ()
        return readings_from_dict(document, procedure, origin=origin, rows_of_file=rows_of_file)
    except (JobError, ReadingsError) as error:
        raise ReadingsError(error.faults, origin) from None


def readings_from_dict(
    mapping: Mapping[Any, Any],
    procedure: Procedure,
    *,
    origin: str = "",
    rows_of_file: tuple[int, ...] = (),
) -> Readings:
    """The readings that plain data describes: the settings by name, and a list `readings`.

    Raises ReadingsError with every fault.
    """
    faults: list[DocumentFault] = []
    known_keys = (*HEAD, *(entry.name for entry in procedure.settings), ROWS)
    faults += [_unknown(key, "", known_keys) for key in mapping if key not in known_keys]
    _check_figure(mapping, procedure, faults)
    date = _read_date(mapping.get("date"), faults)
    settings = _read_entries(mapping, procedure.settings, "{}", faults)
    rows = _read_rows(mapping, procedure, rows_of_file, faults)
    if faults:
        raise ReadingsError(faults, origin)
    # Records keep what was written, so that it can be computed again when a procedure changes.
    plain = {key: mapping[key] for key in known_keys if key in mapping and key not in HEAD}
    return Readings(procedure.figure, settings, rows, date, origin, plain, rows_of_file)


def _toml_document(text: str) -> dict[str, Any]:
    try:
        return from_toml(text)
    except (ValueError, RecursionError) as error:
        reason = str(error)[:200] or type(error).__name__
        fault = DocumentFault("", f"text that is not TOML: {reason}", "TOML")
        raise ReadingsError([fault]) from None


def _check_figure(
    mapping: Mapping[Any, Any], procedure: Procedure, faults: list[DocumentFault]
) -> None:
    named = mapping.get("figure", procedure.figure)
    if named != procedure.figure and named not in procedure.shares_readings:
        faults.append(DocumentFault("figure", shown_value(named), repr(procedure.figure)))


def _read_date(value: object, faults: list[DocumentFault]) -> datetime.date | None:
    # A datetime is a date to Python; with an hour it is no day.
    if value is None or (
        isinstance(value, datetime.date) and not isinstance(value, datetime.datetime)
    ):
        return value
    try:
        if isinstance(value, str):
            return datetime.date.fromisoformat(value)
    except ValueError:
        pass
    faults.append(DocumentFault("date", shown_value(value), "a date such as 2027-02-03"))
    return None


def _read_rows(
    mapping: Mapping[Any, Any],
    procedure: Procedure,
    rows_of_file: tuple[int, ...],
    faults: list[DocumentFault],
) -> tuple[Mapping[str, Any], ...]:
    rows = mapping.get(ROWS, ())
    expected = f"a list of {procedure.fewest} or more readings"
    if not isinstance(rows, list | tuple):
        faults.append(DocumentFault(ROWS, shown_value(rows), expected))
        return ()
    if len(rows) < procedure.fewest:
        found = counted_things(len(rows), "reading") if rows else NOTHING
        faults.append(DocumentFault(ROWS, found, expected))
    columns = tuple(entry.name for entry in procedure.columns)
    found_rows = []
    for row_index, row in enumerate(rows):
        number = rows_of_file[row_index] if rows_of_file else None
        if not isinstance(row, Mapping):
            faults.append(DocumentFault(_place(row_index, number, ""), shown_value(row), "a table"))
            continue
        faults += [
            _unknown(key, _place(row_index, number, ""), columns)
            for key in row
            if key not in columns
        ]
        place_text = _place(row_index, number, "{}")
        found_rows.append(_read_entries(row, procedure.columns, place_text, faults))
    return tuple(found_rows)


def _place(row_index: int, number: int | None, column: str) -> str:
    if number is not None:
        return f"row {number}, column {column}" if column else f"row {number}"
    return f"{ROWS}[{row_index}].{column}" if column else f"{ROWS}[{row_index}]"


def _read_entries(
    table: Mapping[Any, Any], entries: Iterable[Entry], where: str, faults: list[DocumentFault]
) -> dict[str, Any]:
    """The values of a table by their entries; `where` has a place for the name of each."""
    found: dict[str, Any] = {}
    for entry in entries:
        path = where.replace("{}", entry.name)
        if entry.name in table:
            try:
                found[entry.name] = entry.read(table[entry.name])
            except Refused as refused:
                faults += refused.under(path)
        elif entry.required:
            faults.append(DocumentFault(path, NOTHING, entry.meaning))
    return found


def _unknown(key: object, path: str, known: Sequence[str]) -> DocumentFault:
    names = listed_names(list(known), most=12)
    expected = expected_name(str(key), tuple(known), f"one of {names}")
    key_path = f"{path}.{path_label(key)}" if path else path_label(key)
    return DocumentFault(key_path, "an unknown key", expected)


def _csv_document(text: str, procedure: Procedure) -> tuple[dict[str, Any], tuple[int, ...]]:
    """A CSV file as plain data, and the row of the file of each reading.

    A column may stand for a setting, the date, the figure or the note: it then says the same in
    every row, or says it once.
    """
    lines = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        records = [(lines.line_num, [cell.strip() for cell in line]) for line in lines]
    except csv.Error as error:
        fault = DocumentFault("", f"text that is not CSV: {error}", "fields that commas separate")
        raise ReadingsError([fault]) from None
    # Spreadsheets leave rows of empty cells behind the last reading.
    records = [(number, cells) for number, cells in records if any(cells)]
    if not records:
        raise ReadingsError([DocumentFault("row 1", NOTHING, "a row with the names of columns")])
    names = records[0][1]
    columns = {entry.name for entry in procedure.columns}
    stated_once = {*HEAD, *(entry.name for entry in procedure.settings)}
    faults = _faults_of_header(records[0], columns | stated_once)
    document: dict[str, Any] = {}
    rows, numbers = [], []
    for number, cells in records[1:]:
        if len(cells) != len(names):
            found = counted_things(len(cells), "field")
            faults.append(DocumentFault(f"row {number}", found, f"{len(names)}, as in the header"))
            continue
        # An empty cell says nothing: of a setting, that it is the one of the rows above.
        written = {name: _cell(cell) for name, cell in zip(names, cells, strict=True) if cell}
        rows.append({name: cell for name, cell in written.items() if name in columns})
        numbers.append(number)
        for name in stated_once & written.keys():
            before = document.setdefault(name, written[name])
            if before != written[name]:
                expected = f"{shown_value(before)}, as in the rows above"
                place = f"row {number}, column {name}"
                faults.append(DocumentFault(place, shown_value(written[name]), expected))
    if faults:
        raise ReadingsError(faults)
    return document | {ROWS: rows}, tuple(numbers)


def _faults_of_header(header: tuple[int, list[str]], known: set[str]) -> list[DocumentFault]:
    number, names = header
    # Spreadsheets of countries with a decimal comma write such files; each number would be two.
    if len(names) == 1 and ";" in names[0]:
        expected = "a file whose fields commas separate"
        return [DocumentFault(f"row {number}", "columns that semicolons separate", expected)]
    faults = []
    for column_index, name in enumerate(names):
        if name not in known:
            names_known = listed_names(sorted(known), 20)
            expected = expected_name(name, tuple(sorted(known)), f"one of {names_known}")
            found = f"an unknown column {shown_value(name)}"
            faults.append(DocumentFault(f"row {number}", found, expected))
        elif name in names[:column_index]:
            found = f"the column {name!r} twice"
            faults.append(DocumentFault(f"row {number}", found, "each column once"))
    return faults


def _cell(text: str) -> object:
    """A cell of a CSV file: a number where it is one, as in a TOML file, else text."""
    if not _A_NUMBER.fullmatch(text):
        return text
    return float(text) if "." in text else int(text)
