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
    from collections.abc import Iterator, Sequence

    from signrules.documents.plugin_tables import OwnData
    from signrules.plugins import Failed, Loaded


def add_command(commands: Commands) -> None:
    """Add the command."""
    plugins = commands.add_parser(
        "plugins", help="list the plugins, where they come from and what they add"
    )
    plugins.set_defaults(run=_print_plugins)
    add_shared(plugins)


def _print_plugins(options: argparse.Namespace) -> int:
    from signrules.errors import PluginError
    from signrules.standards.looser_tables import looser_sentences

    try:
        plugins = plugins_of(options)
    except PluginError:
        # Who looks for what two plugins bring both needs the list all the more.
        _print_each(options)
        raise
    looser = tuple(looser_sentences(plugins.standards.values()))
    _print_list(options, plugins.loaded, plugins.failed, looser)
    # Whoever asks which plugins there are needs to notice one that is not.
    return INCOMPLETE if plugins.failed else FINE


def _print_each(options: argparse.Namespace) -> None:
    """List the plugins that cannot be used together, each as it is by itself.

    Raises PluginError where two have one name: one name in the list would stand for both.
    """
    from signrules.plugin_gathering import gather_plugins
    from signrules.plugin_sources import recipe_of

    each = gather_plugins(recipe_of(True, options.plugin, (), options.block))
    _print_list(options, [one.loaded for one in each.brought], each.failed, ())


def _print_list(
    options: argparse.Namespace,
    loaded: Sequence[Loaded],
    failed: Sequence[Failed],
    looser: Sequence[str],
) -> None:
    from signrules.reports.text_report import plain_text

    if options.format == "json":
        print_json(_to_dict(loaded, failed, looser))
        return
    lines = [
        *_plugin_lines(loaded),
        *looser,
        *(f"{one.name} ({one.origin}) FAILED: {one.error}" for one in failed),
    ]
    print(plain_text("\n".join(lines)))


def _plugin_lines(loaded: Sequence[Loaded]) -> Iterator[str]:
    from signrules.model.wording import counted_things
    from signrules.reports.explaining import setting_text

    for one in loaded:
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


def _to_dict(
    loaded: Sequence[Loaded], failed: Sequence[Failed], looser: Sequence[str]
) -> dict[str, Any]:
    from signrules.hookspecs import API_VERSION
    from signrules.reports.explaining import settings_schema

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
            for one in loaded
        ],
        "looser": list(looser),
        "failed": [
            {"name": one.name, "version": one.version, "origin": one.origin, "error": one.error}
            for one in failed
        ],
    }
