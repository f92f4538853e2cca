"""Rows of a schedule of a fixed form: every fault by row and column."""

from __future__ import annotations

import pytest

from signrules.documents.schedule_rows import BETWEEN_LINES, ScheduleColumns, ScheduleReader

COLUMNS = ScheduleColumns(
    required=("file", "text"),
    optional=("cells",),
    never_empty={"text": "the text of the sign"},
    alone="file",
    one_row="a row for each file",
)


def read(text: str):
    """The rows, and the place and the find of each fault."""
    faults: list = []
    rows = list(ScheduleReader(COLUMNS, faults).read(text))
    return rows, [(fault.path, fault.found) for fault in faults]


def test_rows_that_are_sound():
    rows, faults = read("\ufefftext, file\n\nEXIT,a.svg\nWAY OUT,b.svg\n")
    assert rows == [
        (3, {"file": "a.svg", "text": "EXIT"}),
        (4, {"file": "b.svg", "text": "WAY OUT"}),
    ]
    assert faults == []


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", [("row 1", "nothing")]),
        ("file;text\na;b\n", [("row 1", "a header whose columns semicolons separate")]),
        ("file\ttext\na\tb\n", [("row 1", "a header whose columns tabs separate")]),
        ("file,text\n", [("row 2", "nothing")]),
        ("file,txt\na,b\n", [("row 1, column txt", "'txt'"), ("row 1, column text", "nothing")]),
        ("file,text,\na,b,c\n", [("row 1, column 3", "nothing")]),
        ("file,text,file\na,b,c\n", [("row 1, column file", "the same column twice")]),
        ("file,text\na\n", [("row 2", "1 field")]),
        ("file,text\na,\n", [("row 2, column text", "nothing")]),
        ("file,text\na,S\x07\n", [("row 2, column text", "a control character (U+0007)")]),
        ("file,text\na,S\na,T\n", [("row 3, column file", "'a'")]),
    ],
)
def test_faults(text: str, found: list[tuple[str, str]]):
    assert read(text)[1] == found


def test_text_that_is_no_csv():
    ((place, found),) = read('file,text\na,S\n"b,T\n')[1]
    assert place == "row 3"
    assert found.startswith("text that is no CSV (")


@pytest.mark.parametrize(
    ("value", "parts"),
    [
        (None, None),
        ("", ()),
        ("ONE", ("ONE",)),
        ("ONE / TWO", ("ONE", "TWO")),
        ("AC/DC", ("AC/DC",)),
    ],
)
def test_parts_of_a_value(value: str | None, parts: tuple[str, ...] | None):
    assert ScheduleReader(COLUMNS, []).parts(2, "text", value, BETWEEN_LINES) == parts


@pytest.mark.parametrize("value", ["ONE /", "/ TWO", "ONE /  / TWO", "ONE / / TWO"])
def test_a_mark_with_nothing_beside_it(value: str):
    faults: list = []
    assert ScheduleReader(COLUMNS, faults).parts(2, "text", value, BETWEEN_LINES) is None
    assert [(fault.path, fault.found) for fault in faults] == [("row 2, column text", repr(value))]
