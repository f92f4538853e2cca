"""The tables that a document holds for plugins, as plain data: what is read without the plugin."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from signrules.documents.refusal import Refused, joined_path, path_label
from signrules.errors import DocumentFault
from signrules.model.limits import is_number, is_short_name
from signrules.model.plugin_data import PluginData, plugin_data
from signrules.model.wording import shown_value

MOST_NESTED = 20
"""So many tables and lists may stand within each other."""

_EXPECTED = "a table for each plugin, by its name: [data.NAME] in TOML"
_PLAIN = f"text, a number, true, false, a date, a table or a list, at most {MOST_NESTED} deep"


def read_plugin_tables(value: object) -> PluginData:
    """Tables by plugin. Raises Refused with the path of whatever is no plain data."""
    if not isinstance(value, Mapping):
        raise Refused.value(value, _EXPECTED)
    faults: list[DocumentFault] = []
    tables: dict[str, Any] = {}
    for plugin, table in value.items():
        path = path_label(plugin)
        if not is_short_name(plugin):
            faults.append(DocumentFault("", f"the key {shown_value(plugin)}", _EXPECTED))
        elif not isinstance(table, Mapping):
            faults.append(DocumentFault(path, shown_value(table), "a table"))
        else:
            tables[plugin] = _plain_value(table, path, faults)
    if faults:
        raise Refused(faults)
    return plugin_data(tables)


def _plain_value(value: object, path: str, faults: list[DocumentFault], depth: int = 0) -> object:
    """A value as JSON holds it; adds a fault for whatever it does not hold."""
    if isinstance(value, Mapping) and depth < MOST_NESTED:
        plain_table: dict[str, object] = {}
        for key, element in value.items():
            if _is_unicode(key):
                inside = joined_path(path, path_label(key))
                plain_table[str(key)] = _plain_value(element, inside, faults, depth + 1)
            else:
                faults.append(DocumentFault(path, f"the key {shown_value(key)}", "keys of text"))
        return plain_table
    if isinstance(value, list | tuple) and depth < MOST_NESTED:
        numbered = enumerate(value)
        return [
            _plain_value(element, f"{path}[{position}]", faults, depth + 1)
            for position, element in numbered
        ]
    if isinstance(value, bool) or is_number(value) or _is_unicode(value):
        return value
    # TOML has dates and JSON none: as text they are the same in both.
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    faults.append(DocumentFault(path, shown_value(value), _PLAIN))
    return None


def _is_unicode(value: object) -> bool:
    if not isinstance(value, str):
        return False
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
    return True
