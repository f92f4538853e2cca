"""Cells of a workbook that say something else than they show, and those that are merged."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest
from building import faults, made, shop

from signrules.schedules import workbook_marks
from signrules.schedules.workbook_marks import marks_of

HEADINGS = ["Room No.", "Room name", "Sign", "quantity", "height"]
SAVE = "a value: open the workbook in a spreadsheet and save it there, or write the value"


def sheet_with(*rows):
    """A workbook, and its sheet with a header and some rows."""
    book = openpyxl.Workbook()
    for row in (HEADINGS, *rows):
        book.active.append(row)
    return book, book.active


def saved(book, folder: Path) -> Path:
    path = folder / "doors.xlsx"
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("at", "heading"), [(0, "Room No."), (1, "Room name"), (2, "Sign"), (3, "quantity")]
)
def test_a_formula_without_a_saved_value_is_a_fault_of_its_row(tmp_path, at: int, heading: str):
    row = ["A-2", "Exit", "notice", 2]
    row[at] = "=1+1"
    book, _ = sheet_with(["A-1", "Exit", "notice", 1], row)
    # openpyxl computes nothing, so it saves formulas without a value.
    found = "the formula '=1+1' without a saved value"
    assert faults(saved(book, tmp_path)) == [(f"row 3, column {heading}", found, SAVE)]


def test_a_row_of_formulas_alone_is_not_blank(tmp_path: Path):
    book, _ = sheet_with(["A-1", "Exit", "notice"], ["=A2", "=B2", "=C2"])
    assert {each[0] for each in faults(saved(book, tmp_path))} == {
        "row 3, column Room No.",
        "row 3, column Room name",
        "row 3, column Sign",
    }


def test_a_formula_that_failed_is_told_once(tmp_path: Path):
    book, _ = sheet_with(["A-1", "Exit", "notice", "#N/A"])
    assert faults(saved(book, tmp_path)) == [
        ("row 2, column quantity", "'#N/A'", "a value: this formula has failed")
    ]


def test_what_stands_in_a_column_that_nothing_reads_is_no_fault(tmp_path: Path):
    book, sheet = sheet_with(["A-1", "Exit", "notice", 1])
    sheet["F1"], sheet["F2"] = "Remarks", "=1+1"
    assert len(made(saved(book, tmp_path)).jobs) == 1


def test_a_quantity_that_is_merged_over_two_rows(tmp_path: Path):
    book, sheet = sheet_with(["A-1", "Exit", "notice", 2], ["A-2", "Exit", "notice", None])
    sheet.merge_cells("D2:D3")
    found = "a cell that is merged with the one above it (D2:D3)"
    assert faults(saved(book, tmp_path)) == [("row 3, column quantity", found, "one of its own")]


def test_a_header_of_two_rows_and_merged_cells_of_one_row_are_no_fault(tmp_path: Path):
    book, sheet = sheet_with([], ["A-1", "Exit", "notice", 2])
    for column in "ABCDE":
        sheet.merge_cells(f"{column}1:{column}2")
    sheet.merge_cells("D3:E3")
    assert [each.quantity for each in made(saved(book, tmp_path)).jobs] == [2]


def test_a_type_by_rules_of_a_merged_cell_is_told_once(tmp_path: Path):
    rules = [{"type": "notice", "where": {"name": "E*"}}]
    columns = {"room": "Room No.", "name": "Room name"}
    own = shop(schedule={"columns": columns, "types": rules})
    book, sheet = sheet_with(["A-1", "Exit"], ["A-2", None])
    sheet.merge_cells("B2:B3")
    assert [each[0] for each in faults(saved(book, tmp_path), own)] == ["row 3, column Room name"]


def test_hidden_rows_are_read_and_told(tmp_path: Path):
    book, sheet = sheet_with(*([f"A-{at}", "Exit", "notice"] for at in range(4)))
    for row in (3, 4, 9):
        sheet.row_dimensions[row].hidden = True
    found = made(saved(book, tmp_path))
    assert len(found.jobs) == 4
    assert "hidden and read all the same: rows 3 and 4" in found.notes


def test_numbers_that_may_show_otherwise_are_told_where_words_are_read(tmp_path: Path):
    book, sheet = sheet_with(
        [2.1, "Exit", "notice", 1, 1200.5],
        [7, "Exit", "notice", 1, 1200],
        [14, "Exit", "notice", 1, 1200],
        ["2.20", "Exit", "notice", 1, 1200],
    )
    sheet["A3"].number_format = '"K."000'
    sheet["A4"].number_format = "0000"
    found = made(saved(book, tmp_path))
    assert [each.job.name for each in found.jobs] == ["2-1", "7", "0014", "2-20"]
    told = [note for note in found.notes if "show otherwise" in note]
    assert len(told) == 1
    assert told[0].startswith("column 'Room No.': a number in rows 2 and 3, such as '2.1',")


def marks(cells: str, more: str = ""):
    text = f"<worksheet><sheetData>{cells}</sheetData>{more}</worksheet>"
    return marks_of(io.BytesIO(text.encode()))


def test_a_formula_that_makes_an_empty_text_has_its_value():
    # As spreadsheets save ="" and, beside it, a formula that was never computed.
    row = '<row><c t="str"><f>""</f><v></v></c><c><f>A1</f><v/></c><c><f>2</f><v>2</v></c></row>'
    assert marks(row).unsaved == {(1, 2): "=A1"}


def test_rows_and_cells_without_their_names_are_counted():
    rows = '<row r="4"><c r="C4"><f>1</f></c></row><row hidden="true"><c><f>2</f></c></row>'
    found = marks(rows)
    assert found.unsaved == {(4, 3): "=1", (5, 1): "=2"}
    assert found.hidden == {5}


def test_merged_ranges_of_too_many_rows(monkeypatch: pytest.MonkeyPatch):
    merged = '<mergeCells><mergeCell ref="A1:B4"/></mergeCells>'
    assert marks("", merged).range_from_above(4, 2) == "A1:B4"
    assert marks("", merged).range_from_above(1, 2) is None
    assert marks("", merged).range_from_above(4, 3) is None
    monkeypatch.setattr(workbook_marks, "MOST_MERGED", 2)
    with pytest.raises(ValueError, match="too many rows"):
        marks("", merged)
