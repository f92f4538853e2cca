"""`signrules estimate`: what a job takes, and what it costs by a rate table."""

from __future__ import annotations

import argparse
import sys

from signrules.cli.shared_options import (
    Commands,
    add_job_options,
    evaluated_file,
    plugins_of,
    print_json,
    say_terms,
    say_verdict,
    say_why_not_safe,
    status_of,
    status_with_artwork,
)
from signrules.errors import SignrulesError

_SPREADSHEETS = {"plain": (",", False), "english": (",", False), "german": (";", True)}


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "estimate", help="minutes, ink, sheets and dots of a job, priced by a rate table"
    )
    command.add_argument(
        "--rates", metavar="FILE", help="a rate table, .toml; left out, that of the shop file"
    )
    command.add_argument(
        "--spreadsheet",
        choices=_SPREADSHEETS,
        default="plain",
        help=(
            "of csv: english adds a byte order mark, german also takes semicolons and decimal"
            " commas"
        ),
    )
    add_job_options(command, ("text", "json", "csv"))
    command.set_defaults(run=_run_estimate)


def _run_estimate(options: argparse.Namespace) -> int:
    from signrules.estimating import estimate, rates_from_dict, read_rates
    from signrules.reports.estimate_report import estimate_csv, estimate_text

    if options.spreadsheet != "plain" and options.format != "csv":
        raise SignrulesError(
            f"--spreadsheet {options.spreadsheet}: found --format {options.format}, expected csv"
        )
    rates = None if options.rates is None else read_rates(options.rates)
    result = evaluated_file(options.job, plugins_of(options), options)
    if rates is None and result.shop.rates is not None:
        rates = rates_from_dict(result.shop.rates)
    if result.plan is None or not result.complete:
        say_verdict(result)
        say_why_not_safe(result)
    if result.plan is None:
        say_terms(result)
        return status_with_artwork(options.job, result.job, status_of(result, fine=False))
    found = estimate(result, rates)
    if options.format == "json":
        print_json(found.to_dict())
    elif options.format == "csv":
        delimiter, comma = _SPREADSHEETS[options.spreadsheet]
        mark = "" if options.spreadsheet == "plain" else "\ufeff"
        text = estimate_csv(found, delimiter=delimiter, decimal_comma=comma)
        sys.stdout.write(
            mark + text.replace("\r\n", "\n")
        )  # The stream ends lines as the system does.
    else:
        sys.stdout.write(estimate_text(found))
    status = status_of(result, fine=rates is None or found.complete)
    return status_with_artwork(options.job, result.job, status)
