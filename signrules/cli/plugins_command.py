"""`signrules plugins`: what is loaded, from where, and what it adds."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from signrules.cli.shared_options import (
    FINE,
    INCOMPLETE,
    Commands,
    add_shared,
    plugins_of,
    print_json,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from signrules.documents.plugin_tables import OwnData
    from signrules.plugins import Loaded, Plugins


def add_command(commands: Commands) -> None:
    """Add the command."""
    plugins = commands.add_parser(
        "plugins", help="list the plugins, where they come from and what they add"
    )
    plugins.set_defaults(run=_print_plugins)
    add_shared(plugins)


def _print_plugins(options: argparse.Namespace) -> int:
    from signrules.reports.text_report import plain_text

    plugins = plugins_of(options)
    if options.format == "json":
        print_json(_to_dict(plugins))
    else:
        print(plain_text("\n".join(_plugin_lines(plugins))))
    # Whoever asks which plugins there are needs to notice one that is not.
    return INCOMPLETE if plugins.failed else FINE


def _plugin_lines(plugins: Plugins) -> Iterator[str]:
    from signrules.model.wording import counted_things
    from signrules.reports.explaining import setting_text
    from signrules.standards.looser_tables import looser_sentences

    for one in plugins.loaded:
        yield (
            f"{one.name} {one.version}".rstrip()
            + f" ({one.origin}, plugin API {one.api or 'not declared'})"
        )
        yield f"  hooks: {', '.join(one.hooks) or 'none'}"
        counts = {kind: sum(name.startswith(f"{kind} ") for name in one.adds) for kind in _KINDS}
        added = [counted_things(count, kind) for kind, count in counts.items() if count]
        yield f"  adds: {', '.join(added) or 'nothing'}"
        yield from (f"  setting {setting_text(each)}" for each in one.settings)
        yield from _data_lines(one.data)
        yield from (f"  answers {word} {', '.join(names)}" for word, names in _order(one) if names)
        yield from (f"  {each}" for each in (*one.passed_over, *one.order_notes))
        yield from (f"  LOOK AT {each}" for each in one.unusual)
    yield from looser_sentences(plugins.standards.values())
    for failed in plugins.failed:
        yield f"{failed.name} ({failed.origin}) FAILED: {failed.error}"


def _order(one: Loaded) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return (("before", one.before), ("after", one.after))


def _data_lines(data: OwnData) -> Iterator[str]:
    for place, cls in data.classes.items():
        for each in _data_keys(cls):
            yield f"  data of a {_PLACES[place]}, {each['key']} ({each['type']}): {each['meaning']}"


def _data_keys(cls: type) -> list[dict[str, str]]:
    """The keys of a table of a plugin's data."""
    from signrules.model.declared import declared_fields, document_key
    from signrules.reports.field_tables import type_in_words

    return [
        {
            "key": document_key(cls, name),
            "type": type_in_words(declared).replace("`", ""),
            "meaning": declared.meaning,
        }
        for name, declared in declared_fields(cls).items()
    ]


_PLACES = {"job": "job", "media": "sheet", "pass": "pass", "sign": "sign"}
_KINDS = (
    "rule",
    "standard",
    "printer",
    "material",
    "reader",
    "language",
    "format",
    "handling kind",
)


def _to_dict(plugins: Plugins) -> dict[str, Any]:
    from signrules.hookspecs import API_VERSION
    from signrules.reports.explaining import settings_schema
    from signrules.standards.looser_tables import looser_sentences

    return {
        "api": API_VERSION,
        "loaded": [
            {"name": one.name, "version": one.version, "origin": one.origin, "api": one.api or None}
            | {
                "hooks": list(one.hooks),
                "adds": list(one.adds),
                "settings": settings_schema(one.settings),
                "data": {place: _data_keys(cls) for place, cls in one.data.classes.items()},
                "data_name": one.data.name,
                "unusual": list(one.unusual),
                "passed_over": list(one.passed_over),
                "before": list(one.before),
                "after": list(one.after),
                "order_notes": list(one.order_notes),
            }
            for one in plugins.loaded
        ],
        "looser": list(looser_sentences(plugins.standards.values())),
        "failed": [
            {"name": one.name, "version": one.version, "origin": one.origin, "error": one.error}
            for one in plugins.failed
        ],
    }
