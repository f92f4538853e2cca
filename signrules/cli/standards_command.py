"""`signrules standards`: the dimension tables."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from signrules.cli.shared_options import (
    Commands,
    add_shared,
    plugins_of,
    print_json,
    without_failed,
)
from signrules.errors import SignrulesError


def add_command(commands: Commands) -> None:
    """Add the command."""
    standards = commands.add_parser(
        "standards", help="list the dimension tables, show one, or combine some of them"
    )
    standards.add_argument(
        "table", nargs="?", metavar="ID", help="the rows of this table, with clauses and notes"
    )
    standards.add_argument(
        "--together", nargs="+", metavar="ID", help="the range of each quantity that satisfies all"
    )
    standards.set_defaults(run=_print_standards)
    add_shared(standards)


def _print_standards(options: argparse.Namespace) -> int:
    from signrules.reports.standards_report import tables_text, tables_to_dict, together_text
    from signrules.reports.table_rows import known_table, table_text, table_to_dict
    from signrules.standards.common_ranges import together

    plugins = plugins_of(options)
    status, known = without_failed(plugins), plugins.standards
    if options.together is not None:
        if options.table is not None:
            raise SignrulesError("expected one table, or --together with several, and not both")
        # A name that is not known is left to `together`, which says why a publication is missing.
        found = together([known.get(name, name) for name in options.together])
        _print(options, found.to_dict(), together_text(found))
    elif options.table is not None:
        table = known_table(options.table, dict(known))
        _print(options, table_to_dict(table), table_text(table))
    else:
        _print(options, tables_to_dict(known), tables_text(known))
    return status


def _print(options: argparse.Namespace, data: dict[str, Any], text: str) -> None:
    if options.format == "json":
        print_json(data)
    else:
        sys.stdout.write(text)
