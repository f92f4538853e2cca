"""Tables for plugins as plain data: how deep they may be, and what they may hold."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from signrules.documents import Refused
from signrules.documents.plain_tables import read_plugin_tables
from signrules.model.plugin_data import tables_in


def nested(levels: int, *, in_lists: bool) -> Any:
    value: Any = 1
    for _ in range(levels):
        value = [value] if in_lists else {"a": value}
    return value


@pytest.mark.parametrize("in_lists", [True, False])
def test_twenty_levels_are_read_and_no_more(in_lists: bool) -> None:
    # The table of the plugin is the first level.
    deepest = {"house": {"a": nested(19, in_lists=in_lists)}}
    assert tables_in(read_plugin_tables(deepest)) == deepest
    with pytest.raises(Refused) as caught:
        read_plugin_tables({"house": {"a": nested(20, in_lists=in_lists)}})
    (fault,) = caught.value.faults
    assert fault.path == "house.a" + ("[0]" * 19 if in_lists else ".a" * 19)
    assert "at most 20 deep" in fault.expected


def test_a_date_becomes_text_and_a_time_is_none() -> None:
    day = datetime.date(2027, 2, 3)
    assert tables_in(read_plugin_tables({"house": {"a": day}})) == {"house": {"a": "2027-02-03"}}
    for value in (datetime.datetime(2027, 2, 3), float("nan"), None, "\ud800"):
        with pytest.raises(Refused) as caught:
            read_plugin_tables({"house": {"a": ["x", value]}})
        assert [fault.path for fault in caught.value.faults] == ["house.a[1]"]


@pytest.mark.parametrize(
    ("tables", "path"),
    [([], ""), ({"house": 1}, "house"), ({3: {}}, ""), ({"house": {3: 1}}, "house")],
)
def test_what_is_no_table_of_a_plugin_is_named(tables: object, path: str) -> None:
    with pytest.raises(Refused) as caught:
        read_plugin_tables(tables)
    assert [fault.path for fault in caught.value.faults] == [path]
