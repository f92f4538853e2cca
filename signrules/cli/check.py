"""`signrules check`: judge jobs."""

from __future__ import annotations

import argparse
import sys

from signrules.cli.common import (
    BAD_INPUT,
    FINE,
    Commands,
    add_shared,
    add_shop_options,
    evaluated,
    plugins_of,
    print_json,
    status_of,
)
from signrules.errors import SignrulesError


def add(commands: Commands) -> None:
    """Add the command."""
    check = commands.add_parser("check", help="judge jobs: checks with numbers, violations, a safe order")
    check.add_argument("jobs", nargs="+", metavar="JOB", help="a job document, .toml or .json")
    check.add_argument("--all", action="store_true", help="list met checks and notes too")
    check.set_defaults(run=_check)
    add_shared(check)
    add_shop_options(check)


def _check(options: argparse.Namespace) -> int:
    from signrules.reports.text import evaluation_text, plain

    plugins = plugins_of(options)
    status = FINE
    reports = []
    for path in options.jobs:
        try:
            result = evaluated(path, plugins, options)
        except SignrulesError as error:
            print(plain(str(error)), file=sys.stderr)
            status = max(status, BAD_INPUT)
            continue
        status = max(status, status_of(result, fine=result.ok))
        if options.format == "json":
            reports.append(result.to_dict())
        else:
            others = ", ".join(plugin.name for plugin in plugins.loaded[1:])
            sys.stdout.write(evaluation_text(result, everything=options.all))
            sys.stdout.write(f"\nPlugins: {plain(others) or 'none besides the built-in sets'}\n")
    if reports:
        print_json(reports[0] if len(options.jobs) == 1 else reports)
    return status
