"""The tables of a shop file that hold sign types and how schedules are read."""

from __future__ import annotations

from typing import Any

import attrs
import pytest
from building import NOTICE, ROOM, shop, shop_table, type_with

from signrules import Pass, ShopError, shop_from_dict
from signrules.model.sign_types import TypePass


def faults(**changes: Any) -> list[tuple[str, str]]:
    with pytest.raises(ShopError) as caught:
        shop(**changes)
    return [(fault.path, fault.found) for fault in caught.value.faults]


def faults_of_type(base: dict[str, Any], **changes: Any) -> list[tuple[str, str]]:
    return faults(sign_types={"own": type_with(base, **changes)})


def test_sound_tables_are_kept_as_they_are():
    stock = shop().stock
    assert stock.sign_types == shop_table()["sign_types"]
    assert dict(stock.schedule.columns) == shop_table()["schedule"]["columns"]
    assert (stock.schedule.id, stock.schedule.quantity) == ("{room}", "{quantity?}")


@pytest.mark.parametrize(
    ("changes", "path", "found"),
    [
        ({"sheet": None}, "sheet", "nothing"),
        ({"sheet": "panle"}, "sheet", "'panle'"),
        ({"size": [300]}, "size", "[300]"),
        ({"kindd": "x"}, "kindd", "an unknown key"),
        ({"kindd": "{kind}"}, "kindd", "an unknown key"),
        ({"raised": {**ROOM["raised"], "hight": "{h} mm"}}, "raised.hight", "an unknown key"),
        ({"text": ["{room name}"]}, "", "'{room name}'"),
        ({"measured": {}}, "measured", "an unknown key"),
        ({"passes": []}, "passes", "[]"),
        ({"passes": None}, "passes", "nothing"),
        ({"passes": [1]}, "passes[0]", "1"),
        ({"dots": {"at": [1]}}, "dots.at", "[1]"),
        ({"dots": {"at": [1, 2], "align": "middle"}}, "dots.align", "'middle'"),
        ({"dots": None}, "passes[2].areas", "nothing"),
        ({"braille": {"area": [1, 1, 9, 9]}}, "braille.area", "both"),
        ({"braille": None}, "passes[2].builds", "'braille'"),
        ({"raised": {"height": "20 mm"}}, "passes[1].areas", "nothing"),
    ],
)
def test_slips_in_a_type(changes: dict[str, Any], path: str, found: str):
    where = f"sign_types.own.{path}".rstrip(".")
    assert (where, found) in faults_of_type(ROOM, **changes)


@pytest.mark.parametrize(
    ("row", "path", "found"),
    [
        ({"ink": "clera"}, "passes[0].ink", "'clera'"),
        ({"layers": 0}, "passes[0].layers", "0"),
        ({"layers": "{n}", "laiers": "{n}"}, "passes[0].laiers", "an unknown key"),
        ({"builds": "letters"}, "passes[0].builds[0]", "'letters'"),
        ({"over": ["dots"]}, "passes[0].over", "'dots'"),
        ({"after": ["characters"]}, "passes[0].after", "'characters'"),
        ({"coverage": 2}, "passes[0].coverage", "2"),
        ({"gap": {"extra": "much"}}, "passes[0].gap.extra", "'much'"),
    ],
)
def test_slips_in_a_pass(row: dict[str, Any], path: str, found: str):
    passes = [{**NOTICE["passes"][0], **row}]
    assert (f"sign_types.own.{path}", found) in faults_of_type(NOTICE, passes=passes)


def test_two_passes_of_one_id():
    passes = NOTICE["passes"] * 2
    assert faults_of_type(NOTICE, passes=passes) == [
        ("sign_types.own.passes[1].id", "'characters'")
    ]


@pytest.mark.parametrize(
    ("tables", "path"),
    [
        ([], "sign_types"),
        ({"a": 1}, "sign_types.a"),
        ({"a.b": NOTICE}, "sign_types.a.b"),
    ],
)
def test_what_is_no_table_of_types(tables: object, path: str):
    assert [where for where, _ in faults(sign_types=tables)] == [path]


@pytest.mark.parametrize(
    "changes",
    [
        {"sheet": "{sheet}"},
        {"size": ["{width} mm", "{height} mm"]},
        {"kind": "{kind}"},
        {"visual": "{none?}", "passes": [{"id": "all", "ink": "black", "builds": "visual"}]},
        {"surface": {"character_lrv": "{lrv}", "finish": "{finish?}"}},
        {"raised": {**ROOM["raised"], "area": ["{x} mm", 60, 100, 20]}},
        {"passes": [{"id": "clear", "ink": "clear", "layers": "{layers}", "builds": "raised"}]},
    ],
)
def test_what_waits_for_words_is_not_judged_yet(changes: dict[str, Any]):
    assert shop(sign_types={"own": type_with(ROOM, **changes)}).stock.sign_types


@pytest.mark.parametrize(
    ("table", "path"),
    [
        (1, "schedule"),
        ({"colums": {}}, "schedule.colums"),
        ({"columns": {"room": 1}}, "schedule.columns.room"),
        ({"columns": {"room": " "}}, "schedule.columns.room"),
        ({"columns": {"room no": "x"}}, "schedule.columns.room no"),
        ({"columns": ["room"]}, "schedule.columns"),
        ({"id": "{a b}"}, "schedule.id"),
        ({"decimal": "dot"}, "schedule.decimal"),
        ({"printer": "other"}, "schedule.printer"),
        ({"types": [{"type": "rom"}]}, "schedule.types[0].type"),
        ({"types": [{"type": "room", "where": {"a b": "x"}}]}, "schedule.types[0].where.a b"),
        ({"types": [{"type": "room"}], "type": "{type}"}, "schedule.type"),
        ({"registration_tolerance": "wide"}, "schedule.registration_tolerance"),
    ],
)
def test_slips_in_how_schedules_are_read(table: object, path: str):
    assert [where for where, _ in faults(schedule=table)] == [path]


def test_figures_in_a_type_say_how_they_came_about():
    figure = {"is": "20 mm", "measured": "2027-02-03"}
    assert shop(sign_types={"own": type_with(ROOM, raised={**ROOM["raised"], "height": figure})})
    wrong = {**figure, "readings": 0}
    assert faults_of_type(ROOM, raised={**ROOM["raised"], "height": wrong}) == [
        ("sign_types.own.raised.height.readings", "0")
    ]
    passes = [{**NOTICE["passes"][0], "layers": {"is": 2, "assumed": ""}}]
    assert faults_of_type(NOTICE, passes=passes) == [
        ("sign_types.own.passes.characters.layers.assumed", "''")
    ]


def test_all_slips_at_once():
    table = shop_table()
    table["sign_types"]["room"]["sheet"] = "x"
    table["sign_types"]["notice"]["size"] = "x"
    table["schedule"]["decimal"] = "x"
    with pytest.raises(ShopError) as caught:
        shop_from_dict(table)
    assert [fault.path for fault in caught.value.faults] == [
        "sign_types.room.sheet",
        "sign_types.notice.size",
        "schedule.decimal",
    ]


def test_a_pass_of_a_sign_type_states_whatever_a_pass_may():
    # What it lacks is what a schedule makes of the whole sheet: where, of what, in which register.
    of_sheets = {"media", "registers_to", "artwork", "sheet_temperature"}
    left_out = {field.name for field in attrs.fields(Pass)} - {
        field.name for field in attrs.fields(TypePass)
    }
    assert left_out == of_sheets
