"""`signrules estimate`: what a job takes, and what it costs by a rate table."""

from __future__ import annotations

import argparse
import sys

from signrules.cli.common import (
    BROKEN,
    FINE,
    INCOMPLETE,
    Commands,
    add_job_options,
    evaluated,
    plugins_of,
    print_json,
    say_terms,
)

_SPREADSHEETS = {"plain": (",", False), "english": (",", False), "german": (";", True)}


def add(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser("estimate", help="minutes, ink, sheets and dots of a job, priced by a rate table")
    command.add_argument("--rates", metavar="FILE", help="a rate table, .toml")
    command.add_argument(
        "--spreadsheet",
        choices=_SPREADSHEETS,
        default="plain",
        help="of csv: english adds a byte order mark, german also takes semicolons and decimal commas",
    )
    add_job_options(command, ("text", "json", "csv"))
    command.set_defaults(run=_run)


def _run(options: argparse.Namespace) -> int:
    from signrules.estimating import estimate, read_rates
    from signrules.evaluation import why_not_safe
    from signrules.reports.estimate import estimate_csv, estimate_text
    from signrules.reports.text import plain

    rates = None if options.rates is None else read_rates(options.rates)
    result = evaluated(options.job, plugins_of(options), options)
    if result.plan is None:
        print(plain(why_not_safe(result).message), file=sys.stderr)
        say_terms(result)
        return BROKEN if result.complete else INCOMPLETE
    found = estimate(result, rates)
    if options.format == "json":
        print_json(found.to_dict())
    elif options.format == "csv":
        delimiter, comma = _SPREADSHEETS[options.spreadsheet]
        mark = "" if options.spreadsheet == "plain" else "\ufeff"
        text = estimate_csv(found, delimiter=delimiter, decimal_comma=comma)
        sys.stdout.write(mark + text.replace("\r\n", "\n"))  # The stream ends lines as the system does.
    else:
        sys.stdout.write(estimate_text(found))
    if not result.complete:
        return INCOMPLETE
    return FINE if rates is None or found.complete else BROKEN
