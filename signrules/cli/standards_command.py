"""`signrules standards`: the dimension tables."""

from __future__ import annotations

import argparse
import sys

from signrules.cli.shared_options import (
    Commands,
    add_shared,
    plugins_of,
    print_json,
    without_failed,
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    standards = commands.add_parser(
        "standards", help="list the dimension tables, or combine some of them"
    )
    standards.add_argument(
        "--together", nargs="+", metavar="ID", help="the range of each quantity that satisfies all"
    )
    standards.set_defaults(run=_print_standards)
    add_shared(standards)


def _print_standards(options: argparse.Namespace) -> int:
    from signrules.reports.standards_report import tables_text, tables_to_dict, together_text
    from signrules.standards.common_ranges import together

    plugins = plugins_of(options)
    status, known = without_failed(plugins), plugins.standards
    as_json = options.format == "json"
    if options.together is not None:
        found = together([known.get(name, name) for name in options.together])
        if as_json:
            print_json(found.to_dict())
        else:
            sys.stdout.write(together_text(found))
    elif as_json:
        print_json(tables_to_dict(known))
    else:
        sys.stdout.write(tables_text(known))
    return status
