"""`signrules check --by-cause`: what was found on a work order or job, by cause, not by sign."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator

from signrules.cli.shared_options import plugins_of, print_json
from signrules.cli.standard_streams import is_spooled
from signrules.errors import SignrulesError

FORMATS = ("text", "json")


def add_cause_option(command: argparse.ArgumentParser) -> None:
    """The option that asks for causes."""
    command.add_argument(
        "--by-cause",
        action="store_true",
        help="of one job, or one folder (a work order or jobs): each cause once, with its signs",
    )


def _without_causes(options: argparse.Namespace) -> Iterator[tuple[str, bool]]:
    """The options that would be passed over, and whether each is given."""
    yield "--mend", options.mend is not None
    yield "--in-a-row", options.in_a_row
    yield "--recursive", options.recursive
    yield "--all", options.all


def check_by_cause(options: argparse.Namespace) -> int:
    """Judge a job or a folder and print its causes. Raises SignrulesError for what does not go
    with that.
    """
    from signrules.cli.work_order_folder import judged_folder, judged_job, status_of_folder
    from signrules.reports.work_order_report import work_order_report
    from signrules.reports.work_order_text import work_order_text

    if len(options.jobs) != 1:
        raise SignrulesError(
            f"--by-cause: found {len(options.jobs)} files and folders, expected one job, or one"
            " folder of jobs"
        )
    (named,) = options.jobs
    if is_spooled(options, named):
        raise SignrulesError("--by-cause: found standard input, expected a file or a folder")
    if options.format not in FORMATS:
        raise SignrulesError(
            f"--by-cause: found --format {options.format}, expected {' or '.join(FORMATS)}"
        )
    for option, given in _without_causes(options):
        if given:
            raise SignrulesError(f"--by-cause: found {option}, expected one of them alone")
    judge = judged_folder if os.path.isdir(named) else judged_job
    judged = judge(named, options, plugins_of(options))
    report = work_order_report(judged)
    if options.format == "json":
        print_json(report)
    else:
        print(work_order_text(report), end="")
    fine = judged.ok
    if options.strict:
        fine = fine and all(result.settled for result in judged.evaluations.values())
    return status_of_folder(judged, fine=fine)
