"""Schedules in workbooks, read by openpyxl (of the extra `schedules`)."""

from __future__ import annotations

import datetime
import io
import re
import warnings
from typing import Any

from signrules.documents.refusal import Refused, nearest_known
from signrules.errors import DocumentFault, SignrulesError
from signrules.model.wording import listed_names, shown_value
from signrules.schedules.records import Records, SheetRecord

MOST_CELLS = 2_000_000
"""A workbook is packed: a small file may unfold to more than any schedule has."""

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
            faults: list[DocumentFault] = []
            rows = tuple(_sheet_rows(sheet, faults))
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
    return Records(rows, tuple(notes), tuple(faults), padded=True)


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


def _sheet_rows(sheet: Any, faults: list[DocumentFault]) -> list[SheetRecord]:
    rows = []
    count = 0
    for number, cells in enumerate(sheet.iter_rows(), 1):
        count += len(cells)
        if count > MOST_CELLS:
            expected = f"at most {MOST_CELLS} cells"
            raise Refused([DocumentFault("", "a worksheet of more cells", expected)])
        for cell in cells:
            if getattr(cell, "data_type", "") == "e":
                place = f"row {number}, column {cell.column_letter}"
                expected = "a value: this formula has failed"
                faults.append(DocumentFault(place, shown_value(cell.value), expected))
        rows.append(SheetRecord(number, tuple(_cell_text(cell) for cell in cells)))
    return rows


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
