"""Schedules in workbooks, read by openpyxl (of the extra `schedules`)."""

from __future__ import annotations

import datetime
import io
import re
import warnings
from collections.abc import Iterator, Sequence
from typing import Any

from signrules.documents.refusal import Refused, nearest_known
from signrules.errors import DocumentFault, SignrulesError
from signrules.model.wording import listed_names, shown_value
from signrules.schedules.records import Records, SheetRecord
from signrules.schedules.row_words import rows_in_words
from signrules.schedules.workbook_marks import SheetMarks, marks_of

MOST_CELLS = 2_000_000
"""A workbook is packed: a small file may unfold to more than any schedule has."""

SAVE_AGAIN = "a value: open the workbook in a spreadsheet and save it there, or write the value"

PLAIN_FORMATS = ("", "General", "@")
"""Number formats that show a whole number as it is read."""

_ZEROS = re.compile("0+")


def workbook_records(data: bytes, worksheet: str | None) -> Records:
    """The rows of one worksheet: the named one, else the first that is not hidden.

    Formulas count as the values that were saved with them. Raises Refused for what is no workbook,
    SignrulesError where openpyxl is not installed.
    """
    try:
        import openpyxl
    except ModuleNotFoundError:
        raise SignrulesError(
            "a workbook needs the package openpyxl, which is not installed: pip install"
            " 'signrules[schedules]'; or save the sheet as CSV"
        ) from None
    try:
        with warnings.catch_warnings():
            # It warns of what it leaves out, such as drop-down lists, which hold no rows.
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            sheet = _chosen_sheet(book, worksheet)
            # What openpyxl leaves out of rows that it reads one by one.
            with sheet._get_source() as source:
                marks = marks_of(source)
            rows = tuple(_sheet_rows(sheet, marks))
    except Refused:
        raise
    except Exception as error:
        # A damaged workbook may fail anywhere within its packed files.
        found = f"a file that is no workbook ({type(error).__name__})"
        raise Refused([DocumentFault("", found, "a workbook that can be opened")]) from None
    notes = [f"worksheet {sheet.title!r} is read"]
    others = [each for each in book.sheetnames if each != sheet.title]
    if others:
        notes.append(f"worksheets that are not read: {listed_names(others)}")
    hidden = [row.number for row in rows if row.number in marks.hidden and any(row.cells)]
    if hidden:
        notes.append(f"hidden and read all the same: {rows_in_words(hidden)}")
    return Records(rows, tuple(notes), padded=True)


def _chosen_sheet(book: Any, worksheet: str | None) -> Any:
    sheets = [each for each in book.worksheets if each.sheet_state == "visible"]
    names = [each.title for each in book.worksheets]
    if worksheet is None and sheets:
        return sheets[0]
    if worksheet in names:
        return book[worksheet]
    found = "none that shows" if worksheet is None else shown_value(worksheet)
    expected = f"one of its worksheets: {listed_names(names)}"
    near = nearest_known(worksheet, names)
    if near:
        expected += f"; the nearest is {shown_value(near)}"
    raise Refused([DocumentFault("worksheet", found, expected)])


def _sheet_rows(sheet: Any, marks: SheetMarks) -> list[SheetRecord]:
    rows = []
    count = 0
    for number, cells in enumerate(sheet.iter_rows(), 1):
        count += len(cells)
        if count > MOST_CELLS:
            expected = f"at most {MOST_CELLS} cells"
            raise Refused([DocumentFault("", "a worksheet of more cells", expected)])
        texts = tuple(_cell_text(cell) for cell in cells)
        numbers = [at for at, cell in enumerate(cells) if _is_number(cell.value)]
        record = SheetRecord(
            number,
            texts,
            dict(_spoiled_cells(number, cells, texts, marks)),
            frozenset(numbers),
            frozenset(at for at in numbers if _may_show_otherwise(cells[at], texts[at])),
        )
        rows.append(record)
    return rows


def _spoiled_cells(
    row: int, cells: Sequence[Any], texts: Sequence[str], marks: SheetMarks
) -> Iterator[tuple[int, tuple[str, str]]]:
    """The cells of a row without a value of their own: what was found there and expected."""
    blank = not any(texts)
    for at, cell in enumerate(cells):
        formula = marks.unsaved.get((row, at + 1))
        # A row of merged cells alone is blank, such as the lower one of a header of two rows.
        above = None if blank else marks.range_from_above(row, at + 1)
        if getattr(cell, "data_type", "") == "e":
            yield at, (shown_value(cell.value), "a value: this formula has failed")
        elif formula is not None:
            yield at, (f"the formula {shown_value(formula)} without a saved value", SAVE_AGAIN)
        elif above is not None:
            yield at, (f"a cell that is merged with the one above it ({above})", "one of its own")


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _may_show_otherwise(cell: Any, text: str) -> bool:
    """Whether a cell with a number may show something else: 2.1 as 2.10, or 7 as K.007."""
    shown = cell.number_format or ""
    return "." in text or not (shown in PLAIN_FORMATS or _ZEROS.fullmatch(shown))


def _cell_text(cell: Any) -> str:
    """What a cell shows, as text: whole numbers without a point, days as 2027-03-31."""
    value = cell.value
    if value is None:
        return ""
    # Before numbers, of which Python takes it for one.
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, int):
        # Room 0214, a number that the sheet shows with leading zeros.
        width = len(cell.number_format) if _ZEROS.fullmatch(cell.number_format or "") else 0
        return str(value).zfill(width)
    # A workbook has no plain days: a date is one at midnight.
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        return value.date().isoformat()
    return str(value).strip()
