"""What a job says to plugins: tables of their own, beside the fields that the model declares.

The model holds such a table as JSON text. So a job can be read, compared, hashed and sent to
another process where the plugin is not loaded, and nobody changes it by the way. Who has the plugin
makes an instance of its class of it: see `signrules.documents.plugin_tables`.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from signrules.model.limits import is_short_name
from signrules.model.wording import nearest_name

PluginData = tuple[tuple[str, str], ...]
"""The name of each plugin, in their order, and its table as JSON text."""


def plugin_data(tables: Mapping[str, Mapping[str, Any]]) -> PluginData:
    """Tables of plain data by plugin, as the model holds them: the order of keys is no difference.

    Raises TypeError or ValueError for what JSON cannot hold.
    """
    return tuple(
        (plugin, json.dumps(table, ensure_ascii=False, allow_nan=False, sort_keys=True))
        for plugin, table in sorted(tables.items())
    )


PREFIX = "signrules-"
"""How the names of distributions of plugins begin."""


def short_name_of(plugin: str) -> str:
    """What documents call a plugin by: `quay` for `signrules-quay`."""
    return plugin.removeprefix(PREFIX)


def whole_name(written: str, known: Collection[str]) -> str:
    """Which of some plugins is meant by a name: one that is called so, or `signrules-` before it.

    A name that is none of theirs comes back as it is.
    """
    longer = f"{PREFIX}{written}"
    return longer if written not in known and longer in known else written


def nearest_plugin(written: str, known: Collection[str]) -> str | None:
    """The plugin that is perhaps meant by a name that is none of theirs, or None.

    One that is loaded as a file is called otherwise than its distribution: names that differ in the
    prefix and in hyphens alone are as near as can be.
    """
    plain_names = {_plain_name(each): each for each in sorted(known, reverse=True)}
    near = nearest_name(_plain_name(written), tuple(plain_names))
    return None if near is None else plain_names[near]


def _plain_name(plugin: str) -> str:
    return short_name_of(plugin.replace("_", "-"))


def tables_in(data: PluginData) -> dict[str, dict[str, Any]]:
    """The tables by plugin, as plain data."""
    return {plugin: json.loads(text) for plugin, text in data}


def check_plugin_data(value: Any) -> Iterator[tuple[str, object, str]]:
    """What is wrong with a value that should be `PluginData`."""
    if not isinstance(value, tuple) or not all(map(_is_table_of_plugin, value)):
        yield "", value, "pairs of a plugin and its table as JSON text, as plugin_data(...) gives"
        return
    names = [plugin for plugin, _ in value]
    # In one order only, so that jobs that say the same are equal and have the same fingerprint.
    if names != sorted(set(names)):
        yield "", value, "one table for each plugin, in the order of their names"


def _is_table_of_plugin(pair: Any) -> bool:
    if not isinstance(pair, tuple) or len(pair) != 2 or not is_short_name(pair[0]):
        return False
    try:
        return isinstance(json.loads(pair[1]), dict)
    # JSON that is nested thousands deep ends the parser by recursion.
    except (TypeError, ValueError, RecursionError):
        return False
