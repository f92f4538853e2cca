"""`signrules estimate`: what a job takes, and what it costs by a rate table."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from signrules.cli.rate_option import add_rate_option, rates_of
from signrules.cli.shared_options import (
    FINE,
    INCOMPLETE,
    Commands,
    add_job_options,
    evaluated_file,
    plugins_of,
    print_json,
    say_terms,
    say_verdict,
    say_why_not_safe,
    shop_of,
    status_of,
    status_with_artwork,
)
from signrules.cli.standard_streams import shown_path
from signrules.errors import SignrulesError

if TYPE_CHECKING:
    from signrules.estimating import Estimate, WorkOrderEstimate

_SPREADSHEETS = {"plain": (",", False), "english": (",", False), "german": (";", True)}


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "estimate",
        help="minutes, ink, sheets and dots of a job or a work order, priced by a rate table",
    )
    add_rate_option(command)
    command.add_argument(
        "--spreadsheet",
        choices=_SPREADSHEETS,
        default="plain",
        help=(
            "of csv: english adds a byte order mark, german also takes semicolons and decimal"
            " commas"
        ),
    )
    add_job_options(command, ("text", "json", "csv"), folder=True)
    command.set_defaults(run=_run_estimate)


def _run_estimate(options: argparse.Namespace) -> int:
    if options.spreadsheet != "plain" and options.format != "csv":
        raise SignrulesError(
            f"--spreadsheet {options.spreadsheet}: found --format {options.format}, expected csv"
        )
    if os.path.isdir(options.job):
        return _estimate_folder(options)
    return _estimate_file(options)


def _estimate_file(options: argparse.Namespace) -> int:
    from signrules.estimating import estimate
    from signrules.reports.estimate_report import estimate_csv, estimate_text

    plugins = plugins_of(options)
    rates = rates_of(options, shop_of(options, plugins))
    result = evaluated_file(options.job, plugins, options)
    if result.plan is None or not result.complete:
        say_verdict(result)
        say_why_not_safe(result)
    # Minutes and gaps come from a plan; ink alone would look like an estimate of the job.
    if result.plan is None:
        say_terms(result)
        return status_with_artwork(
            shown_path(options, options.job), result.job, status_of(result, fine=False)
        )
    found = estimate(result, rates, plugins=plugins, seconds=options.seconds)
    _print_estimate(found, options, estimate_text, estimate_csv)
    status = status_of(result, fine=rates is None or found.complete)
    return max(
        _status_of_lines(found),
        status_with_artwork(shown_path(options, options.job), result.job, status),
    )


def _estimate_folder(options: argparse.Namespace) -> int:
    """The estimate of a work order, or of all jobs in a folder."""
    from signrules.cli.work_order_folder import judged_folder, say_lost_jobs, status_of_folder
    from signrules.reports.order_estimate_report import order_estimate_csv, order_estimate_text

    plugins = plugins_of(options)
    rates = rates_of(options, shop_of(options, plugins))
    judged = judged_folder(options.job, options, plugins)
    say_lost_jobs(judged)
    found = judged.estimate(rates, plugins=plugins, seconds=options.seconds)
    _print_estimate(found, options, order_estimate_text, order_estimate_csv)
    fine = found.complete or (rates is None and not found.without_plan)
    return max(_status_of_lines(found), status_of_folder(judged, fine=fine))


Found = TypeVar("Found", "Estimate", "WorkOrderEstimate")


def _print_estimate(
    found: Found,
    options: argparse.Namespace,
    as_text: Callable[[Found], str],
    as_csv: Callable[..., str],
) -> None:
    if options.format == "json":
        print_json(found.to_dict())
    elif options.format == "csv":
        delimiter, comma = _SPREADSHEETS[options.spreadsheet]
        # Without it a spreadsheet takes UTF-8 for the encoding of its country.
        mark = "" if options.spreadsheet == "plain" else "\ufeff"
        text = as_csv(found, delimiter=delimiter, decimal_comma=comma)
        # The stream ends lines as the system does.
        sys.stdout.write(mark + text.replace("\r\n", "\n"))
    else:
        sys.stdout.write(as_text(found))


def _status_of_lines(found: Estimate | WorkOrderEstimate) -> int:
    """The exit status for the lines of plugins: one that failed may have asked for more."""
    return INCOMPLETE if found.faults else FINE
