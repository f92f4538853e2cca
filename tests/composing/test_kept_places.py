"""Placements that were to stay, after the shop file has changed what they must meet."""

from __future__ import annotations

import pytest
from building import NOTICE, plugins, shop_table, type_with

from signrules import WorkOrderError, compose, shop_from_dict

HEADER = "Room No.,Room name,Sign\n"
PLUGINS = plugins()
FREE = {"margin": "5 mm", "gutter": "4 mm", "bed_margin": "10 mm", "bed_gutter": "10 mm"}


def shop_with(types=None, **composition):
    """Sheets of 600 by 300 mm on a bed of 1250 by 700 mm, two beside each other in a load."""
    table = shop_table(composition={**FREE, **composition})
    table["printers"]["flatbed"]["bed"] = [1250, 700]
    panel = table["sheets"]["panel"]
    panel["size"] = [600, 300]
    table["sheets"]["other"] = {**panel, "thickness": "4 mm"}
    table["sign_types"]["notice"] = type_with(NOTICE, **(types or {}))
    return shop_from_dict(table)


def doors(count: int) -> str:
    return HEADER + "".join(f"A.{number},Lift,notice\n" for number in range(count))


def composed(shop, count: int = 10, keep=None):
    return compose(doors(count), shop, plugins=PLUGINS, keep=keep)


def refused(shop, keep) -> list[tuple[str, str, str]]:
    with pytest.raises(WorkOrderError) as caught:
        composed(shop, count=len(keep.signs), keep=keep)
    return [(fault.path, fault.found, fault.expected) for fault in caught.value.faults]


@pytest.fixture(scope="module")
def earlier():
    """Ten signs of 200 by 80 mm on two sheets in one load."""
    order = composed(shop_with()).order
    assert (len(order.stock_sheets), len(order.loads)) == (2, 1)
    return order


def test_what_meets_the_shop_stays(earlier):
    again = composed(shop_with(), keep=earlier)
    assert again.order.signs == earlier.signs
    assert not any("placed anew" in note for note in again.notes)


def test_a_margin_that_has_grown(earlier):
    found = refused(shop_with(margin="6 mm"), earlier)
    at_an_edge = {
        f"signs[{number}].at" for number, sign in enumerate(earlier.signs) if 5 in sign.at
    }
    assert {path for path, _, _ in found} >= at_an_edge > set()
    expected = "at least 6 mm, the margin of [composition]"
    assert {each[1:] for each in found} == {("5 mm from the edge", expected)}


def test_a_margin_of_the_bed_that_has_grown(earlier):
    found = refused(shop_with(bed_margin="10.5 mm"), earlier)
    at_an_edge = [
        f"pieces[{number}].at" for number, piece in enumerate(earlier.pieces) if 10 in piece.at
    ]
    expected = "at least 10.5 mm, the bed_margin of [composition]"
    assert found == [(path, "10 mm from the edge", expected) for path in at_an_edge]
    assert found


def test_a_gutter_of_the_bed_that_has_grown(earlier):
    (path, found, expected), *more = refused(shop_with(bed_gutter="12 mm"), earlier)
    assert (path, more) == ("pieces[1].at", [])
    assert found == f"10 mm from {earlier.pieces[0].id}"
    assert expected == "at least 12 mm, the bed_gutter of [composition]"


def test_a_gutter_that_has_grown(earlier):
    expected = "at least 7 mm, the gutter of [composition]"
    assert {each[2] for each in refused(shop_with(gutter="7 mm"), earlier)} == {expected}


def test_a_type_that_names_another_sheet(earlier):
    found = refused(shop_with({"sheet": ["other"]}), earlier)
    assert len(found) == 10
    assert found[0] == (
        "signs[0].piece",
        f"'{earlier.signs[0].piece}', which is of panel",
        "one of what sign_types.notice names: 'other'",
    )


@pytest.mark.parametrize(
    ("changed", "wrong"), [({"grain": {"panel": "y"}}, "upright"), ({"turning": "never"}, "turned")]
)
def test_signs_that_lie_as_they_may_not_any_more(changed, wrong: str):
    # Six upright signs of 200 by 80 mm go onto 590 by 290 mm, and two turned ones beside them.
    order = composed(shop_with(), count=8).order
    assert len(order.stock_sheets) == 1
    numbers = [number for number, sign in enumerate(order.signs) if sign.lies == wrong]
    assert 0 < len(numbers) < 8
    found = refused(shop_with(**changed), order)
    assert [each[:2] for each in found] == [
        (f"signs[{number}].lies", repr(wrong)) for number in numbers
    ]


def test_sheets_that_are_printed_whole_where_blanks_are_wanted(earlier):
    found = refused(shop_with(print_on="blanks"), earlier)
    expected = 'a blank as large as its sign: print_on = "blanks" in [composition]'
    assert ("pieces[0].size", "600 x 300 mm", expected) in found


def test_blanks_where_whole_sheets_are_wanted():
    blanks = composed(shop_with(print_on="blanks"), count=2)
    found = refused(shop_with(margin="0 mm"), blanks.order)
    expected = 'a whole sheet, or a panel of it: print_on = "sheets" in [composition]'
    assert found == [
        (f"pieces[{number}].size", f"a blank of {size} mm", expected)
        for number, size in enumerate(_sizes_of(blanks.order.pieces))
    ]


def _sizes_of(pieces) -> list[str]:
    return [f"{piece.size[0]:g} x {piece.size[1]:g}" for piece in pieces]


def test_blanks_are_held_against_the_margin_of_their_stock_sheet():
    blanks = composed(shop_with(print_on="blanks"), count=2)
    kept = composed(shop_with(print_on="blanks"), count=2, keep=blanks.order)
    assert kept.order.signs == blanks.order.signs
    found = refused(shop_with(print_on="blanks", margin="8 mm"), blanks.order)
    assert {each[1] for each in found} == {"5 mm from the edge"}
    assert found[0][0] == "pieces[0].cut_at"


def test_what_a_sheet_of_the_shop_is_not_any_more_is_told_alone(earlier):
    own = shop_table(composition=dict(FREE, margin="20 mm"))
    found = refused(shop_from_dict(own), earlier)
    assert {each[0] for each in found} == {"stock_sheets[0].size", "stock_sheets[1].size"}


def test_signs_that_are_placed_anew_are_told(earlier):
    again = composed(shop_with({"size": [210, 80]}), keep=earlier)
    told = [note for note in again.notes if "placed anew" in note]
    assert told == [
        "placed anew, of another type or size: 'A-0', 'A-1', 'A-2', 'A-3', 'A-4', 'A-5' and 4 more"
    ]


def test_a_sheet_without_a_size_that_a_type_names_is_told():
    table = shop_table(composition=FREE)
    table["sheets"]["rest"] = {"thickness": "3 mm", "hold": "vacuum"}
    table["sign_types"]["notice"]["sheet"] = ["rest", "panel"]
    found = compose(doors(2), shop_from_dict(table), plugins=PLUGINS)
    assert "sheets.rest states no size, so no sign is placed on it" in found.notes
    assert {sheet.stock for sheet in found.order.stock_sheets} == {"panel"}
