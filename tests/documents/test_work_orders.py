"""Work orders: what does not fit together is named by its path; an invented order of two pieces."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from signrules.documents.work_orders import (
    read_work_order,
    work_order_from_dict,
    work_order_to_dict,
    write_work_order,
)
from signrules.errors import WorkOrderError

ORDER: dict[str, Any] = {
    "signrules_work_order": 1,
    "name": "Harbour clinic, invented",
    "printer": "flatbed",
    "at_least": {"stock_sheets": 1, "loads": 1},
    "loads": [{"id": "load-1", "file": "load-1.toml"}],
    "stock_sheets": [{"id": "sheet-1", "stock": "acrylic", "size": [400.0, 150.0]}],
    "pieces": [
        {
            "id": "piece-1",
            "load": "load-1",
            "stock_sheet": "sheet-1",
            "size": [200.0, 150.0],
            "at": [0.0, 0.0],
            "cut_at": [0.0, 0.0],
        },
        {
            "id": "piece-2",
            "load": "load-1",
            "stock_sheet": "sheet-1",
            "size": [150.0, 200.0],
            "at": [210.0, 0.0],
            "cut_at": [200.0, 0.0],
            "cut": "turned",
        },
    ],
    "signs": [
        {
            "id": f"room-{number}",
            "type": "room",
            "row": 1,
            "piece": f"piece-{number}",
            "at": [5.0, 5.0],
            "size": [90.0, 40.0],
        }
        for number in (1, 2)
    ],
}

UNFIT = [
    (("signrules_work_order",), True, "signrules_work_order", "1"),
    (("signrules_work_order",), 2, "signrules_work_order", "1"),
    (("loads",), ORDER["loads"] * 2, "loads[1].id", "loads[0] has it too"),
    (("signs", 1, "id"), "room-1", "signs[1].id", "signs[0] has it too"),
    (("pieces", 1, "load"), "load-2", "pieces[1].load", "the id of one of the loads"),
    (("pieces", 0, "stock_sheet"), "x", "pieces[0].stock_sheet", "one of the stock sheets"),
    (("signs", 1, "piece"), "piece-3", "signs[1].piece", "the id of one of the pieces"),
    (("signs", 1, "type"), "plate", "signs[1].type", "'room', as the other signs of row 1"),
    (("at_least", "loads"), 2, "at_least.loads", "at most 1"),
    (("at_least", "stock_sheets"), 2, "at_least.stock_sheets", "at most 1"),
    # A piece of 200 mm from 200.002 mm on ends 2 micrometres beyond a sheet of 400 mm.
    (("pieces", 1, "cut_at"), [200.002, 0.0], "pieces[1].cut_at", "within sheet-1"),
    (("pieces", 0, "cut_at"), [-0.002, 0.0], "pieces[0].cut_at", "within sheet-1"),
    (("pieces", 0, "cut_at"), [0.0, 0.002], "pieces[0].cut_at", "within sheet-1"),
    (("pieces", 1, "cut_at"), [199.998, 0.0], "pieces[1].cut_at", "that no other piece takes"),
]


def with_value(path: tuple[str | int, ...], value: object) -> dict[str, Any]:
    document = copy.deepcopy(ORDER)
    holder: Any = document
    for part in path[:-1]:
        holder = holder[part]
    holder[path[-1]] = value
    return document


@pytest.mark.parametrize("suffix", ["toml", "json"])
def test_an_order_that_fits_survives_its_file(tmp_path, suffix) -> None:
    order = work_order_from_dict(ORDER)
    assert work_order_from_dict(work_order_to_dict(order)) == order
    write_work_order(order, tmp_path / f"order.{suffix}")
    assert read_work_order(tmp_path / f"order.{suffix}") == order
    with pytest.raises(WorkOrderError) as caught:
        write_work_order(order, tmp_path / "nowhere" / f"order.{suffix}")
    assert caught.value.origin == str(tmp_path / "nowhere" / f"order.{suffix}")


@pytest.mark.parametrize(("path", "value", "fault", "expected"), UNFIT)
def test_what_does_not_fit_is_the_only_fault_and_named_by_its_path(
    path: tuple[str | int, ...], value: object, fault: str, expected: str
) -> None:
    with pytest.raises(WorkOrderError) as caught:
        work_order_from_dict(with_value(path, value))
    (found,) = caught.value.faults
    assert found.path == fault
    assert expected in found.expected


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("pieces", 1, "cut_at"), [200.0005, 0.0]),
        (("pieces", 1, "cut_at"), [199.9995, 0.0]),
        (("pieces", 0, "cut_at"), [-0.0005, 0.0005]),
    ],
)
def test_places_are_taken_to_a_micrometre(path: tuple[str | int, ...], value: object) -> None:
    assert work_order_from_dict(with_value(path, value)).pieces[path[1]].cut_at == tuple(value)


def test_a_sheet_of_which_nothing_is_cut_is_one_too_many() -> None:
    more = {"id": "sheet-2", "stock": "acrylic", "size": [400.0, 150.0]}
    with pytest.raises(WorkOrderError) as caught:
        work_order_from_dict(with_value(("stock_sheets",), [*ORDER["stock_sheets"], more]))
    (found,) = caught.value.faults
    assert (found.path, found.found) == ("stock_sheets[1].id", "'sheet-2'")


def test_what_is_no_table_and_a_missing_version_are_named() -> None:
    for document, path, found in ((3, "", "3"), ({}, "signrules_work_order", "nothing")):
        with pytest.raises(WorkOrderError) as caught:
            work_order_from_dict(document)
        assert (caught.value.faults[0].path, caught.value.faults[0].found) == (path, found)
