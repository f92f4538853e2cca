"""`signrules schema`: the JSON Schemas of what signrules reads and writes."""

from __future__ import annotations

import argparse

from signrules.cli.shared_options import (
    FINE,
    Commands,
    add_plugin_options,
    plugins_of,
    print_json,
    without_failed,
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "schema", help="print a JSON Schema, or list those that there are"
    )
    command.add_argument("name", nargs="?", metavar="NAME", help="one of those listed")
    add_plugin_options(command)
    command.set_defaults(run=_print_schema)


def _print_schema(options: argparse.Namespace) -> int:
    from signrules.schemas import SCHEMAS, schema

    if options.name is None:
        width = max(map(len, SCHEMAS))
        print("\n".join(f"{name:<{width}}  {text}" for name, text in SCHEMAS.items()))
    # Only that of the job depends on plugins: they declare data of their own.
    elif options.name == "job":
        plugins = plugins_of(options)
        print_json(schema("job", plugins=plugins))
        return without_failed(plugins)
    else:
        print_json(schema(options.name))
    return FINE
