"""The rows of a schedule: a CSV table with a header, and the faults of its fields.

Paths of faults read `row 3, column kind`, rows counted as a spreadsheet does (the header is row 1).
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Mapping

from attrs import frozen

from signrules.errors import DocumentFault
from signrules.model.limits import UNPRINTED
from signrules.model.wording import NOTHING, counted_things, nearest_name, shown_value

BETWEEN_LINES = " / "
"""What stands between the lines of a text, and between lines of braille."""

_LINE_MARK = re.compile("(?:^|(?<= ))/(?= |$)")
"""The same with spaces that may have been dropped at the ends of the field, and that two marks may
share.
"""

Fields = dict[str, str | None]
"""What the columns of a row say; None in a column that has a fault."""


@frozen
class ScheduleColumns:
    """The columns of a schedule.

    `never_empty` are those that no row may leave empty, and what each is; no two rows are alike in
    the column `alone`. `one_row` says what the rows are for.
    """

    required: tuple[str, ...]
    optional: tuple[str, ...]
    never_empty: Mapping[str, str]
    alone: str
    one_row: str

    @property
    def names(self) -> tuple[str, ...]:
        """All columns that there may be."""
        return (*self.required, *self.optional)


class ScheduleReader:
    """Reads the rows of one schedule, and collects their faults."""

    def __init__(self, columns: ScheduleColumns, faults: list[DocumentFault]) -> None:
        self.columns = columns
        self.faults = faults
        self._has_rows = False

    def fault(self, row: int, column: str, found: str, expected: str) -> None:
        """Add a fault of a row, or of a column of it."""
        place = f"row {row}, column {column}" if column else f"row {row}"
        self.faults.append(DocumentFault(place, found, expected))

    def read(self, text: str) -> Iterator[tuple[int, Fields]]:
        """The rows with as many fields as there are columns: the number of each, and its fields."""
        records = self._records(text.removeprefix("\ufeff"))
        header = next(records, None)
        if header is None:
            listed = ", ".join(self.columns.required)
            self.fault(1, "", NOTHING, f"a header row with the columns {listed}")
            return
        head, names = header[0], [name.strip(" ") for name in header[1]]
        if len(names) == 1 and any(mark in names[0] for mark in ";\t"):
            mark = "semicolons" if ";" in names[0] else "tabs"
            found = f"a header whose columns {mark} separate"
            self.fault(head, "", found, "a file whose fields commas separate")
            return
        self._look_at_header(head, names)
        yield from self._rows(records, names)
        is_told = any(fault.path.startswith("row ") for fault in self.faults)
        if not self._has_rows and not is_told:
            self.fault(head + 1, "", NOTHING, self.columns.one_row)

    def _rows(
        self, records: Iterator[tuple[int, list[str]]], names: list[str]
    ) -> Iterator[tuple[int, Fields]]:
        places = {name: names.index(name) for name in self.columns.names if name in names}
        alone = self.columns.alone
        first_rows: dict[str, int] = {}
        for row, fields in records:
            self._has_rows = True
            if len(fields) != len(names):
                found = counted_things(len(fields), "field")
                expected = f"{len(names)}, one for each column; quote a field that holds a comma"
                self.fault(row, "", found, expected)
                continue
            found_fields = self._fields(
                row, {name: fields[column].strip(" ") for name, column in places.items()}
            )
            value = found_fields.get(alone)
            if value is not None and (first := first_rows.setdefault(value, row)) != row:
                expected = f"a {alone} that no other row has; row {first} has it too"
                self.fault(row, alone, shown_value(value), expected)
                found_fields[alone] = None
            yield row, found_fields

    def _records(self, text: str) -> Iterator[tuple[int, list[str]]]:
        """The rows that hold anything, each with its number."""
        rows = csv.reader(io.StringIO(text, newline=""), strict=True)
        row = 0
        while True:
            row += 1
            try:
                fields = next(rows, None)
            except csv.Error as error:
                expected = "CSV; a quote within a quoted field is doubled"
                self.fault(row, "", f"text that is no CSV ({error})", expected)
                return
            if fields is None:
                return
            if fields:
                yield row, fields

    def _look_at_header(self, row: int, names: list[str]) -> None:
        columns = self.columns.names
        for column, name in enumerate(names):
            label = name[:60] if name.isprintable() and name else str(column + 1)
            if name not in columns:
                expected = f"one of {', '.join(columns)}"
                near_name = nearest_name(name.casefold(), columns)
                if near_name:
                    expected += f"; the nearest is {shown_value(near_name)}"
                found = shown_value(name) if name else NOTHING
                self.fault(row, label, found, expected)
            elif name in names[:column]:
                self.fault(row, label, "the same column twice", "each column once")
        for name in self.columns.required:
            if name not in names:
                self.fault(row, name, NOTHING, f"the column {name}, which is required")

    def _fields(self, row: int, fields: Mapping[str, str]) -> Fields:
        found: Fields = {}
        for column, value in fields.items():
            control = next(
                (char for char in value if unicodedata.category(char) in UNPRINTED), None
            )
            found[column] = None
            if control is not None:
                expected = f"text on one line; {BETWEEN_LINES!r} stands between lines"
                self.fault(row, column, f"a control character (U+{ord(control):04X})", expected)
            elif not value and column in self.columns.never_empty:
                self.fault(row, column, NOTHING, self.columns.never_empty[column])
            else:
                found[column] = value
        return found

    def parts(self, row: int, column: str, value: str | None, mark: str) -> tuple[str, ...] | None:
        """What a mark separates in a value; None where there is none, or has a fault."""
        if value is None:
            return None
        if not value:
            return ()
        parts_of_field = _LINE_MARK.split(value) if mark == BETWEEN_LINES else value.split(mark)
        parts = tuple(part.strip(" ") for part in parts_of_field)
        if all(parts):
            return parts
        self.fault(row, column, shown_value(value), f"something on both sides of every {mark!r}")
        return None
