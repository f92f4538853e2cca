"""Decimal commas and points in the numbers of a schedule."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from building import faults, made, shop_table
from hypothesis import given
from hypothesis import strategies as st

from signrules import shop_from_dict
from signrules.schedules.decimals import DecimalMark, recognised_mark, with_points

HEIGHTS = "Room No.;Room name;Sign;height\nA-1;Exit;notice;{}\nA-2;Way out;notice;{}\n"


def heights(first: str, second: str, own=None) -> list[float]:
    found = made(HEIGHTS.format(first, second), own).jobs
    return [each.job.signs[0].visual.above_floor.nominal for each in found]


def test_decimal_commas_are_recognised_and_said():
    assert heights("2100,5", "1,200") == [2100.5, 1.2]
    notes = made(HEIGHTS.format("2100,5", "0,125")).notes
    assert "column 'height': its commas are decimal" in notes


def test_points_stay_points():
    assert heights("2100.5", "1200") == [2100.5, 1200]


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        ("1,200", "1,200"),
        ("1.200", "1.200"),
        ("1.200,5", "1.200,5"),
        ("1,200.5", "1,200.5"),
        ("1'200", "1'200"),
        ("1.200.300", "1.200.300"),
    ],
)
def test_a_number_that_may_be_either_is_a_fault(cell: str, number: str):
    ((path, found, expected),) = faults(HEIGHTS.format("2100", cell))
    assert (path, found) == ("row 3, column height", repr(number))
    if cell in ("1,200", "1.200"):
        assert expected.startswith('1200 or 1.2; or decimal = "comma" or "point" in [schedule]')


def test_a_comma_beside_points_is_a_fault():
    ((path, found, _),) = faults(HEIGHTS.format("2100.5", "2100,5"))
    assert (path, found) == ("row 3, column height", "'2100,5'")


def test_the_shop_may_say_what_its_commas_are():
    table = shop_table()
    table["schedule"]["decimal"] = "comma"
    assert heights("2100", "1,200", shop_from_dict(table)) == [2100, 1.2]
    table["schedule"]["decimal"] = "point"
    assert [each[0] for each in faults(HEIGHTS.format("1", "2,5"), shop_from_dict(table))] == [
        "row 3, column height"
    ]


def test_commas_in_words_stay():
    text = 'Room No.,Room name,Sign\nA-1,"Store 1,5",notice\n'
    assert [each.job.signs[0].text for each in made(text).jobs] == [("Store 1,5",)]


@given(st.lists(st.decimals(0, 9999, places=2), min_size=1))
def test_a_column_of_two_decimals_is_read_with_either_mark(values):
    points = {at: f"{value:.2f}" for at, value in enumerate(values)}
    commas = {at: text.replace(".", ",") for at, text in points.items()}
    by_points, by_commas = (recognised_mark(each.values()) for each in (points, commas))
    assert (by_points, by_commas) == (".", ",")
    assert with_points(points, "h", DecimalMark(by_points)).words == points
    found = with_points(commas, "h", DecimalMark(by_commas))
    assert (found.words, found.faults, found.commas) == (points, (), True)


def rows_of_faults(*cells: str) -> list[tuple[str, str]]:
    """Path and found of the faults of some heights, the first of them in row 2."""
    rows = "".join(f"A-{at};Exit;notice;{cell}\n" for at, cell in enumerate(cells))
    return [each[:2] for each in faults("Room No.;Room name;Sign;height\n" + rows)]


@pytest.mark.parametrize("wrong", ["2.100,5", "2.100", "2100.5"])
def test_of_many_with_commas_the_one_that_is_wrong_is_told(wrong: str):
    cells = ["2100,5"] * 4
    cells[2] = wrong
    assert rows_of_faults(*cells) == [("row 4, column height", repr(wrong))]


@pytest.mark.parametrize("wrong", ["2,100.5", "2,100", "2100,5"])
def test_of_many_with_points_the_one_that_is_wrong_is_told(wrong: str):
    cells = ["2100.5"] * 4
    cells[1] = wrong
    assert rows_of_faults(*cells) == [("row 3, column height", repr(wrong))]


def test_a_column_of_nothing_but_what_may_be_either():
    assert rows_of_faults("2.100", "2.100") == [("rows 2 and 3, column height", "'2.100'")]


QUANTITIES = "Room No.;Room name;Sign;quantity;height\nA-1;Exit;notice;{};{}\n"


@pytest.mark.parametrize(
    ("quantity", "height", "expected"),
    [
        (
            "2.000",
            "2100,5",
            "2000 or 2: elsewhere commas are decimal;"
            ' if not, state decimal = "point" in [schedule]',
        ),
        (
            "2,000",
            "2100.5",
            "2000 or 2: elsewhere points are decimal;"
            ' if not, state decimal = "comma" in [schedule]',
        ),
        ("2.000", "", '2000 or 2; or decimal = "comma" or "point" in [schedule], whichever it is'),
    ],
)
def test_a_quantity_that_may_be_either_is_held_against_the_other_columns(
    quantity: str, height: str, expected: str
):
    found = faults(QUANTITIES.format(quantity, height))
    # Once: what is no quantity either is not told of the same cell.
    assert found == [("row 2, column quantity", repr(quantity), expected)]


@pytest.mark.parametrize(("quantity", "height"), [("2,000", "2100,5"), ("2.000", "2100.5")])
def test_a_quantity_with_the_mark_of_the_other_columns(quantity: str, height: str):
    assert [each.quantity for each in made(QUANTITIES.format(quantity, height)).jobs] == [2]


def test_a_stated_mark_counts_before_all_others():
    table = shop_table()
    table["schedule"]["decimal"] = "point"
    own = shop_from_dict(table)
    assert [each.quantity for each in made(QUANTITIES.format("2.000", ""), own).jobs] == [2]
    ((_, _, expected),) = faults(QUANTITIES.format("2,000", "2100"), own)
    assert expected == "2000 or 2: decimal in [schedule] says that points are decimal"


def test_a_number_that_parts_thousands_is_told_once():
    assert faults(QUANTITIES.format("2'000", "")) == [
        (
            "row 2, column quantity",
            '"2\'000"',
            "a number with one decimal mark and none between thousands",
        )
    ]


def test_the_word_of_a_cell_is_told_as_it_stands_there():
    ((_, found, _),) = faults(HEIGHTS.format("2100,5", "2100,5 mm"))
    assert found == "'2100,5 mm', which makes '2100.5 mm mm'"


def test_numbers_of_a_workbook_have_points_and_its_texts_either(tmp_path: Path):
    book = openpyxl.Workbook()
    book.active.append(["Room No.", "Room name", "Sign", "height"])
    book.active.append(["A-1", "Exit", "notice", 2.125])
    book.active.append(["A-2", "Exit", "notice", "2100,5"])
    book.save(tmp_path / "doors.xlsx")
    found = made(tmp_path / "doors.xlsx").jobs
    assert [each.job.signs[0].visual.above_floor.nominal for each in found] == [2.125, 2100.5]
    book.active["D3"] = "2.125"
    book.save(tmp_path / "doors.xlsx")
    assert [each[:2] for each in faults(tmp_path / "doors.xlsx")] == [
        ("row 3, column height", "'2.125'")
    ]
