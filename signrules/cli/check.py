"""`signrules check`: judge jobs."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from signrules.cli.common import (
    BAD_INPUT,
    FINE,
    Commands,
    add_shared,
    add_shop_options,
    evaluated,
    plugins_of,
    print_json,
    print_xml,
    status_of,
)
from signrules.errors import JobError, SignrulesError
from signrules.reports.colour import CHOICES, wants_colour

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation
    from signrules.plugins import Plugins


def add(commands: Commands) -> None:
    """Add the command."""
    check = commands.add_parser("check", help="judge jobs: checks with numbers, violations, a safe order")
    check.add_argument("jobs", nargs="+", metavar="JOB", help="a job document, .toml or .json")
    check.add_argument("--all", action="store_true", help="list met checks and notes too")
    check.add_argument("--colour", choices=CHOICES, default="auto", help="colour in text; auto: on a terminal")
    check.set_defaults(run=_check)
    add_shared(check, ("text", "json", "sarif", "junit"))
    add_shop_options(check)


def _check(options: argparse.Namespace) -> int:
    from signrules.reports.text import plain

    plugins = plugins_of(options)
    status = FINE
    judged: dict[str, Evaluation | JobError] = {}
    for path in options.jobs:
        try:
            result = judged[path] = evaluated(path, plugins, options)
            status = max(status, status_of(result, fine=result.ok))
        except SignrulesError as error:
            print(plain(str(error)), file=sys.stderr)
            status = max(status, BAD_INPUT)
            if isinstance(error, JobError):
                judged[path] = error
            continue
        if options.format == "text":
            _print_text(result, plugins, options)
    _print_data(judged, plugins, options)
    return status


def _print_text(result: Evaluation, plugins: Plugins, options: argparse.Namespace) -> None:
    from signrules.reports.text import evaluation_text, plain

    others = ", ".join(plugin.name for plugin in plugins.loaded[1:])
    colour = wants_colour(options.colour, sys.stdout)
    sys.stdout.write(evaluation_text(result, everything=options.all, colour=colour))
    sys.stdout.write(f"\nPlugins: {plain(others) or 'none besides the built-in sets'}\n")


def _print_data(judged: dict[str, Evaluation | JobError], plugins: Plugins, options: argparse.Namespace) -> None:
    if options.format == "sarif":
        from signrules.reports.sarif import sarif

        print_json(sarif(judged, plugins=plugins))
    elif options.format == "junit":
        from signrules.reports.junit import junit

        print_xml(junit(judged))
    elif options.format == "json":
        reports = [judged[path] for path in options.jobs if path in judged]
        sound = [each.to_dict() for each in reports if not isinstance(each, JobError)]
        if sound:
            print_json(sound[0] if len(options.jobs) == 1 else sound)
