"""Schedules as they come: encodings, separators, decimal commas, headers, workbooks."""

from __future__ import annotations

import codecs
import datetime
import sys
import types
import unicodedata
from pathlib import Path

import openpyxl
import pytest
from building import HEADER, ROWS, faults, made, shop, shop_table
from hypothesis import given
from hypothesis import strategies as st

from signrules import shop_from_dict
from signrules.schedules import records, workbooks
from signrules.schedules.encodings import decoded_text

UMLAUTS = HEADER + "A-1,Küche,notice\nA-2,Büro für Gäste,notice\n"


def saved(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


def texts(schedule, own=None, **options) -> list[tuple[str, ...]]:
    return [each.job.signs[0].text for each in made(schedule, own, **options).jobs]


# --- encodings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (UMLAUTS.encode(), "UTF-8"),
        (codecs.BOM_UTF8 + UMLAUTS.encode(), "UTF-8"),
        (UMLAUTS.encode("utf-16"), "UTF-16"),
        (codecs.BOM_UTF16_BE + UMLAUTS.encode("utf-16-be"), "UTF-16"),
        (UMLAUTS.encode("utf-16-le"), "UTF-16"),
        (UMLAUTS.encode("utf-16-be"), "UTF-16"),
        (UMLAUTS.encode("cp1252"), "Windows-1252"),
    ],
)
def test_an_encoding_is_recognised_and_said(tmp_path: Path, data: bytes, name: str):
    path = saved(tmp_path / "doors.csv", data)
    assert texts(path) == texts(str(path)) == texts(UMLAUTS)
    assert made(path).notes[0] == f"read as {name}"


@pytest.mark.parametrize("data", [b"Room\x81No.\n", b"\xff\xfea", b"\xfe\xff\x00a\xd8\x00"])
def test_what_is_in_no_encoding(tmp_path: Path, data: bytes):
    ((path, found, expected),) = faults(saved(tmp_path / "doors.csv", data))
    assert path == ""
    assert found.startswith("a byte that is no ")
    assert expected == "text in UTF-8, UTF-16 or Windows-1252"


@pytest.mark.thorough
@given(st.text(st.characters(codec="cp1252", exclude_characters="\x00")))
def test_what_windows_wrote_is_read(text: str):
    data = text.encode("cp1252")
    try:
        # A few texts of Windows-1252 are UTF-8 by chance.
        wanted, encoding = data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        wanted, encoding = text, "Windows-1252"
    assert decoded_text(data) == (wanted, encoding)


@given(st.text())
def test_unicode_with_its_mark_is_read(text: str):
    for codec in ("utf-8-sig", "utf-16"):
        assert decoded_text(text.encode(codec))[0] == text


def test_a_file_that_is_not_there(tmp_path: Path):
    assert faults(tmp_path / "none.csv")[0][:2] == ("", "no such file or directory")
    assert faults(tmp_path)[0][:2] == ("", "no regular file")


def test_a_schedule_that_is_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "doors.csv"
    with path.open("wb") as file:
        file.truncate(records.MOST_BYTES + 1)
    assert faults(path)[0][1] == f"a file of {records.MOST_BYTES + 1} bytes"
    monkeypatch.setattr(records, "MOST_BYTES", len(ROWS))
    assert len(made(ROWS).jobs) == 3
    assert faults(ROWS + "\n")[0][1] == f"a text of {len(ROWS) + 1} bytes"


# --- separators and rows --------------------------------------------------------------------------


@pytest.mark.parametrize(("mark", "name"), [(",", "commas"), (";", "semicolons"), ("\t", "tabs")])
def test_a_separator_is_recognised_and_said(mark: str, name: str):
    text = ROWS.replace(",", mark)
    assert texts(text) == texts(ROWS)
    assert f"fields separated by {name}" in made(text).notes


def test_headings_decide_about_the_separator():
    text = "Room No.;Room name, in full, as drawn;Sign\nA-1;Store, west;notice\n"
    found = texts(text, columns={"name": "Room name, in full, as drawn"})
    assert found == [("Store, west",)]


@pytest.mark.parametrize(
    "text",
    [
        "\ufeff" + ROWS,
        ROWS.replace("\n", "\r\n"),
        ROWS.replace("\n", "\r"),
        ROWS.rstrip("\n"),
        ROWS.replace("\n", "\n\n") + "\n\n",
        ROWS + ",,\n,,\n",
        ROWS.replace("A.1,", " A.1 ,").replace("Room name", "  Room   name "),
    ],
)
def test_forms_of_the_same_schedule(text: str):
    assert texts(text) == texts(ROWS)


def test_rows_above_the_header():
    found = made("Harbour clinic (invented),,\n,,\n" + ROWS)
    assert [each.row for each in found.jobs] == [4, 5, 6]
    assert "row 3 is the header; what stands above it is not read" in found.notes


def test_columns_in_any_order():
    assert texts("Sign,Room name,Room No.\nnotice,Exit,A-1\n") == [("Exit",)]


def test_a_column_under_its_own_name_and_one_by_option():
    text = "Number,name,Sign\nA-1,Exit,notice\n"
    assert texts(text, columns={"room": "Number", "name": "name"}) == [("Exit",)]


def test_a_column_that_nothing_maps_is_told():
    notes = made("Room No.,Remarks,Room name,Sign\nA-1,lock,Exit,notice\n").notes
    assert "column 'Remarks' is not read: nothing maps it" in notes


def test_a_column_without_a_heading_is_told():
    notes = made("Room No.,,Room name,Sign\nA-1,lock,Exit,notice\n").notes
    assert "column 2, without a heading, is not read: nothing maps it" in notes


def test_a_column_without_any_words_is_not_worth_a_note():
    notes = made("Room No.,Remarks,Room name,Sign\nA-1,,Exit,notice\n").notes
    assert not any("Remarks" in note for note in notes)


def test_a_mapped_column_that_nobody_asks_for_is_told():
    notes = made(ROWS, columns={"floor": "Room name"}).notes
    assert "column 'Room name' is not read: nothing asks for {floor}" in notes


# --- faults with their places ---------------------------------------------------------------------


def test_a_mapped_column_that_is_not_there():
    assert faults("Room No.,Room nam,Sign\nA-1,Exit,notice\n") == [
        (
            "row 1, column Room name",
            "nothing",
            "the column that is mapped to name; the nearest is 'Room nam'",
        )
    ]


def test_a_heading_in_other_letters_is_the_nearest():
    # No name is near by its letters: "ROOM NAME" shares but two with "Room name".
    ((path, found, expected),) = faults("Room No., ROOM NAME ,Sign\nA-1,Exit,notice\n")
    assert (path, found) == ("row 1, column Room name", "nothing")
    assert expected.endswith("; the nearest is 'ROOM NAME'")


def test_a_heading_whose_accents_stand_apart():
    heading = "Tür"
    apart = unicodedata.normalize("NFD", heading)
    assert apart != heading
    text = f"{apart},Room name,Sign\nA-1,Exit,notice\n"
    assert texts(text, columns={"room": heading}) == [("Exit",)]


def test_a_column_that_a_type_asks_for_and_nobody_has():
    own = shop(schedule={"columns": {"room": "Room No.", "type": "Sign"}})
    assert faults("Room No.,Sign\nA-1,notice\nA-2,notice\n", own) == [
        (
            "row 1, column name",
            "nothing",
            "a column 'name', or one that is mapped to name: sign_types.notice.text asks for it",
        )
    ]


def test_a_heading_twice():
    assert faults("Room No.,Sign,Sign,Room name\nA-1,notice,notice,Exit\n") == [
        ("row 1, column Sign", "2 columns of that name", "one")
    ]


@pytest.mark.parametrize("text", ["", "\n", "\r\n\r\n"])
def test_an_empty_schedule(text: str):
    ((path, found, expected),) = faults(text)
    assert (path, found) == ("row 1", "nothing")
    assert "'Room No.'" in expected


def test_a_schedule_of_a_header_alone():
    assert faults(HEADER) == [("row 2", "nothing", "a row for each door")]


@pytest.mark.parametrize(
    ("row", "count"), [("A-1", "1 field"), ("A-1,Exit", "2 fields"), ("A-1,a,b,c", "4 fields")]
)
def test_the_wrong_number_of_fields(row: str, count: str):
    expected = "3, one for each column; quote a field that holds a separator"
    assert faults(f"{HEADER}{row}\n") == [("row 2", count, expected)]


@pytest.mark.parametrize("row", ['"A-9,S,k', '"A-9"x,S,k', "A-9," + "x" * 200_000 + ",k"])
def test_text_that_is_no_csv(row: str):
    ((path, found, _),) = faults(f"{ROWS}{row}\n")
    assert path == "row 5"
    assert found.startswith("text that is no CSV (")


def test_an_empty_cell_that_is_needed():
    text = HEADER + "A-1,,notice\n,Exit,notice\n"
    assert faults(text) == [
        ("row 2, column Room name", "nothing", "a word for {name} of sign_types.notice.text"),
        ("row 3, column Room No.", "nothing", "a word for {room} of schedule.id"),
    ]


def test_a_control_character():
    assert faults(HEADER + "A-1,Ex\x07it,notice\n") == [
        ("row 2, column Room name", "a control character (U+0007)", "text that can be printed")
    ]


def test_a_value_that_does_not_fit_is_told_at_its_column():
    text = "Room No.,Room name,Sign,height\nA-1,Exit,notice,high\n"
    ((path, found, _),) = faults(text)
    assert path == "row 2, column height (sign_types.notice.visual.above_floor)"
    assert found == "'high', which makes 'high mm'"


def test_several_faults_at_once():
    text = "Room No.,Room name,Sign,quantity\nA-1,,room,x\nA-1,Exit,notice,1\n,Exit,door,1\n"
    assert [path for path, _, _ in faults(text)] == [
        "row 2, column quantity",
        "row 2, column Room name",
        "row 3",
        "row 4, column Room No.",
        "row 4, column Sign",
    ]


# --- workbooks ------------------------------------------------------------------------------------


def workbook(path: Path, *rows, title: str = "Doors", more: tuple[str, ...] = ()) -> Path:
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    for name in more:
        book.create_sheet(name)
    book.save(path)
    return path


def test_a_workbook_is_read_as_csv_is(tmp_path: Path):
    path = workbook(
        tmp_path / "doors.xlsx",
        ["Harbour clinic (invented)"],
        ["Room No.", "Room name", "Sign", "quantity", "height"],
        [214, "Store\nwest", "notice", 2, 2100.5],
        [],
        ["B.2", "Exit", "notice", None, 1200],
        more=("Notes",),
    )
    found = made(path)
    assert [(each.row, each.job.name, each.quantity) for each in found.jobs] == [
        (3, "214", 2),
        (5, "B-2", 1),
    ]
    signs = [each.job.signs[0] for each in found.jobs]
    assert [sign.text for sign in signs] == [("Store", "west"), ("Exit",)]
    assert [sign.visual.above_floor.nominal for sign in signs] == [2100.5, 1200]
    assert found.notes[:2] == (
        "worksheet 'Doors' is read",
        "worksheets that are not read: 'Notes'",
    )


def test_numbers_with_leading_zeros_and_days(tmp_path: Path):
    book = openpyxl.Workbook()
    book.active.append(["Room No.", "Room name", "Sign"])
    book.active.append([14, datetime.datetime(2027, 3, 31), "notice"])
    book.active["A2"].number_format = "0000"
    book.save(tmp_path / "doors.xlsx")
    (only,) = made(tmp_path / "doors.xlsx").jobs
    assert (only.job.name, only.job.signs[0].text) == ("0014", ("2027-03-31",))


def test_a_worksheet_by_its_name(tmp_path: Path):
    path = workbook(tmp_path / "doors.xlsx", HEADER.strip().split(","), ["A-1", "Exit", "notice"])
    table = shop_table()
    table["schedule"]["worksheet"] = "Doors"
    assert len(made(path, shop_from_dict(table)).jobs) == 1
    table["schedule"]["worksheet"] = "Dors"
    assert faults(path, shop_from_dict(table)) == [
        ("worksheet", "'Dors'", "one of its worksheets: 'Doors'; the nearest is 'Doors'")
    ]


def test_what_is_no_workbook(tmp_path: Path):
    ((path, found, _),) = faults(saved(tmp_path / "doors.xlsx", ROWS.encode()))
    assert (path, found) == ("", "a file that is no workbook (BadZipFile)")


def test_a_workbook_that_unfolds_to_too_much(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = workbook(tmp_path / "doors.xlsx", HEADER.strip().split(","), ["A-1", "Exit", "notice"])
    monkeypatch.setattr(workbooks, "MOST_CELLS", 5)
    assert faults(path) == [("", "a worksheet of more cells", "at most 5 cells")]


def test_without_openpyxl_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    from signrules import SignrulesError

    path = workbook(tmp_path / "doors.xlsx", HEADER.strip().split(","), ["A-1", "Exit", "notice"])
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(SignrulesError, match=r"pip install 'signrules\[schedules\]'"):
        made(path)


def test_a_workbook_whose_sheets_are_hidden_needs_a_name(tmp_path: Path):
    book = openpyxl.Workbook()
    book.active.append(HEADER.strip().split(","))
    book.active.append(["A-1", True, "notice"])
    book.active.append(["A-2", 2.5, "notice"])
    book.create_sheet("Shown")
    book.active.sheet_state = "hidden"
    book.save(tmp_path / "doors.xlsx")
    # The sheet that shows is empty, and the other is not taken in its place.
    assert [each[0] for each in faults(tmp_path / "doors.xlsx")] == ["row 1"]
    table = shop_table()
    table["schedule"]["worksheet"] = "Sheet"
    found = made(tmp_path / "doors.xlsx", shop_from_dict(table)).jobs
    assert [each.job.signs[0].text for each in found] == [("TRUE",), ("2.5",)]


def test_numbers_and_times_in_cells(tmp_path: Path):
    path = workbook(
        tmp_path / "doors.xlsx",
        HEADER.strip().split(","),
        [214.0, datetime.datetime(2027, 3, 31, 9, 30), "notice"],
    )
    (only,) = made(path).jobs
    assert (only.job.name, only.job.signs[0].text) == ("214", ("2027-03-31 09:30:00",))
    # Other programs write whole numbers with a point.
    cell = types.SimpleNamespace(value=214.0, number_format="General")
    assert workbooks._cell_text(cell) == "214"


def test_a_worksheet_like_none_of_them(tmp_path: Path):
    path = workbook(tmp_path / "doors.xlsx", HEADER.strip().split(","), ["A-1", "Exit", "notice"])
    table = shop_table()
    table["schedule"]["worksheet"] = "Plan"
    assert faults(path, shop_from_dict(table)) == [
        ("worksheet", "'Plan'", "one of its worksheets: 'Doors'")
    ]


def test_a_header_is_looked_for_in_the_first_rows_alone():
    assert faults("note,,\n" * 40 + ROWS)[0][:2] == ("row 1, column Room No.", "nothing")
