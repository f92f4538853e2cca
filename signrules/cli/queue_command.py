"""`signrules queue`: the order of jobs that takes the least set-up."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

from signrules.cli.many_files import add_files, files_of, jobs_as_named, unfit_work_orders
from signrules.cli.progress_line import ProgressLine
from signrules.cli.shared_options import (
    BAD_INPUT,
    FINE,
    INCOMPLETE,
    Commands,
    add_planner_options,
    add_shared,
    add_shop_options,
    plugins_of,
    print_json,
    say_cautions,
    shop_of,
    states_of,
    status_of,
    status_with_artwork,
    whole_number_option,
)
from signrules.errors import NotEvaluated, SignrulesError

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation
    from signrules.many_jobs.job_sequence import JobSequence
    from signrules.plugins import Plugins
    from signrules.shop import Shop

MOST_TRIALS = 10**6
"""More plans than anyone waits for."""


STATUSES = (
    "Exit status: 0 every job has its place, and in none is anything of level STOP broken or"
    " doubtful; 1 something is, or a job has no safe order, or artwork has changed since its job"
    " was read from it; 2 the input is at fault; 3 a rule or plugin failed. It is the highest of"
    " all."
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "queue", help="the order of jobs that takes the least set-up", epilog=STATUSES
    )
    add_files(command)
    command.add_argument(
        "--trials",
        type=whole_number_option(MOST_TRIALS),
        metavar="N",
        help="the most plans that are made to look for an order, usually 300",
    )
    add_shared(command)
    add_shop_options(command)
    add_planner_options(command)
    command.set_defaults(run=_run_queue)


def _run_queue(options: argparse.Namespace) -> int:
    from signrules.reports.job_row_report import job_sequence_text

    plugins = plugins_of(options)
    shop = shop_of(options, plugins)
    files, lost = files_of(options.jobs, recursive=options.recursive)
    unfit = unfit_work_orders(files, options.jobs, plugins, shop)
    # Told after the order and not before: it takes long, and they should stand where people look.
    errors = [*lost, *(error for _, error in unfit)]
    sequence = _sequence_of(files, options, plugins, shop)
    if options.format == "json":
        print_json(sequence.to_dict())
    else:
        sys.stdout.write(job_sequence_text(sequence))
        say_cautions()
    unread = [each.error for each in sequence.left_out if each.error is not None]
    _say_errors([*errors, *unread])
    return max([_status_of_sequence(sequence), *(BAD_INPUT for _ in errors)])


def _sequence_of(
    files: list[str], options: argparse.Namespace, plugins: Plugins, shop: Shop
) -> JobSequence:
    from signrules.many_jobs.job_sequence import TRIALS, order_of_jobs

    with ProgressLine() as line:
        line.show(f"putting {len(files)} jobs in order")
        return order_of_jobs(
            jobs_as_named(files, options),
            plugins=plugins,
            shop=shop,
            budget=states_of(options),
            seconds=options.seconds,
            trials=options.trials or TRIALS,
        )


def _say_errors(errors: Iterable[SignrulesError]) -> None:
    from signrules.reports.text_report import plain_text

    for error in errors:
        details = error.details if isinstance(error, NotEvaluated) else ""
        print(plain_text(details + str(error)), file=sys.stderr)


def _status_of_sequence(sequence: JobSequence) -> int:
    """The highest status of all jobs."""
    statuses = [FINE]
    statuses += [_status_of_job(each.origin, each.result) for each in sequence.jobs]
    for item in sequence.left_out:
        if item.result is not None:
            statuses.append(_status_of_job(item.origin, item.result))
        else:
            statuses.append(INCOMPLETE if isinstance(item.error, NotEvaluated) else BAD_INPUT)
    return max(statuses)


def _status_of_job(path: str, result: Evaluation) -> int:
    return status_with_artwork(path, result.job, status_of(result, fine=result.ok))
