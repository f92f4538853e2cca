"""A folder for the commands: its work order, or else its jobs, all of them judged; or one job."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from signrules.cli.many_files import files_of
from signrules.cli.progress_line import ProgressLine
from signrules.cli.shared_options import (
    BAD_INPUT,
    BROKEN,
    FINE,
    INCOMPLETE,
    shop_of,
    states_of,
    status_of,
)

if TYPE_CHECKING:
    from signrules.plugins import Plugins
    from signrules.work_order_files import JudgedOrder


def judged_folder(folder: str, options: argparse.Namespace, plugins: Plugins) -> JudgedOrder:
    """The work order in a folder with its jobs judged; without one, all jobs in the folder.

    Raises WorkOrderError, ShopError, and JobError for a folder without jobs.
    """
    from signrules.documents.work_orders import FILE_NAME
    from signrules.work_order_files import judge_jobs, judge_work_order

    shop = shop_of(options, plugins)
    budget, seconds = states_of(options), options.seconds
    with ProgressLine() as line:

        def tell(done: int, total: int | None) -> None:
            line.show(f"{done} of {total} jobs")

        # A work order knows in which order its loads are printed; a bare folder does not.
        if os.path.exists(os.path.join(folder, FILE_NAME)):
            return judge_work_order(
                folder, plugins=plugins, shop=shop, budget=budget, seconds=seconds, progress=tell
            )
        files, errors = files_of([folder])
        if errors:
            raise errors[0]
        name = os.path.basename(os.path.abspath(folder))
        return judge_jobs(
            name,
            files,
            plugins=plugins,
            shop=shop,
            budget=budget,
            seconds=seconds,
            progress=tell,
        )


def judged_job(file: str, options: argparse.Namespace, plugins: Plugins) -> JudgedOrder:
    """One job, judged by itself and called what it calls itself.

    Raises ShopError, and JobError where it cannot be read.
    """
    from attrs import evolve

    from signrules.errors import JobError
    from signrules.evaluation import Evaluation
    from signrules.work_order_files import judge_jobs

    judged = judge_jobs(
        os.path.basename(file),
        [file],
        plugins=plugins,
        shop=shop_of(options, plugins),
        budget=states_of(options),
        seconds=options.seconds,
    )
    outcome = judged.outcomes[file]
    if isinstance(outcome, JobError):
        raise outcome
    if isinstance(outcome, Evaluation) and outcome.job.name:
        return evolve(judged, name=outcome.job.name)
    return judged


def say_lost_jobs(judged: JudgedOrder) -> None:
    """On standard error: why jobs were not judged, and why others have no plan."""
    from signrules.errors import SignrulesError
    from signrules.evaluation import why_not_safe
    from signrules.reports.text_report import plain_text

    for load, outcome in judged.outcomes.items():
        if isinstance(outcome, SignrulesError):
            print(plain_text(str(outcome)), file=sys.stderr)
        elif outcome.plan is None:
            print(plain_text(f"{load}: {why_not_safe(outcome).message}"), file=sys.stderr)


def status_of_folder(judged: JudgedOrder, *, fine: bool) -> int:
    """The highest exit status of all jobs; `fine` says whether what was asked for is there.

    Artwork that is not as it was is told on standard error.
    """
    from signrules.errors import NotEvaluated, SignrulesError
    from signrules.reports.text_report import plain_text

    for load, changes in judged.changed.items():
        for each in changes:
            print(plain_text(f"{judged.files[load]}: {each}"), file=sys.stderr)

    status = FINE if fine else BROKEN
    for load, outcome in judged.outcomes.items():
        if isinstance(outcome, NotEvaluated):
            own = INCOMPLETE
        elif isinstance(outcome, SignrulesError):
            own = BAD_INPUT
        else:
            # What was asked for is in `fine`; here, that the load was evaluated in full, from
            # artwork that is as it was.
            own = status_of(outcome, fine=load not in judged.outdated)
        status = max(status, own)
    return status
