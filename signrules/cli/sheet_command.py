"""`signrules sheet`: the run sheet of a job, or all pages of a work order."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from signrules.cli.rate_option import add_rate_option, rates_of
from signrules.cli.shared_options import (
    Commands,
    add_job_options,
    changes_of_artwork,
    demand_other_file,
    evaluated_file,
    plugins_of,
    read_passes,
    shop_of,
    status_of,
    status_of_changes,
    write_whole,
)
from signrules.cli.standard_streams import DASH, say_beside, shown_path
from signrules.documents.whole_files import made_folder
from signrules.errors import SignrulesError

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation
    from signrules.plugins import Plugins
    from signrules.work_order_files import JudgedOrder

INDEX = "index.html"
"""The page of the work order, beside the run sheets of its loads."""


def add_command(commands: Commands) -> None:
    """Add the command."""
    sheet = commands.add_parser(
        "sheet", help="write the run sheet of a job, or all pages of a work order, to print"
    )
    sheet.add_argument(
        "-o",
        "--output",
        required=True,
        metavar="FILE",
        help=(
            "where to write, - for standard output; what stands there is replaced. For a folder of"
            f" jobs it is one too, with {INDEX} and a run sheet for each load"
        ),
    )
    sheet.add_argument(
        "--language",
        default="en",
        metavar="TAG",
        help="the language of the pages: en, de, or one that a plugin brings (default: en)",
    )
    sheet.add_argument(
        "--reasons",
        action="store_true",
        help="unfold what lies behind a run sheet, so that it is printed too",
    )
    sheet.add_argument(
        "--paper",
        action="store_true",
        help="run sheets without script: for paper alone",
    )
    add_rate_option(sheet)
    sheet.set_defaults(run=_run_sheet)
    add_job_options(sheet, folder=True)


def _run_sheet(options: argparse.Namespace) -> int:
    if os.path.isdir(options.job):
        if options.output == DASH:
            raise SignrulesError("-o: found -, expected a folder: each load has a run sheet")
        return _write_order(options)
    if options.rates is not None:
        raise SignrulesError(
            f"--rates {options.rates}: found a single job, expected a folder of a work order"
        )
    return _write_sheet(options)


def _write_sheet(options: argparse.Namespace) -> int:
    from signrules.reports.changed_artwork import verdict_beside_artwork
    from signrules.reports.text_report import plain_text

    demand_other_file(options.output, options.job)
    plugins = plugins_of(options)
    result = evaluated_file(options.job, plugins, options)
    changes = changes_of_artwork(shown_path(options, options.job), read_passes(result.job))
    changed = [str(each) for each in changes if not each.lost]
    write_whole(options.output, _sheet_text(result, options, plugins, changed))
    verdict = verdict_beside_artwork(result.verdict, changes)
    say_beside(options.output, plain_text(f"{options.output}: {verdict}"))
    return max(status_of(result, fine=result.ok), status_of_changes(changes))


def _sheet_text(
    result: Evaluation, options: argparse.Namespace, plugins: Plugins, changed: Sequence[str] = ()
) -> str:
    """The run sheet as the options ask for it."""
    from signrules.sheet.language import language_of
    from signrules.sheet.page import run_sheet

    return run_sheet(
        result,
        changed=changed,
        language=language_of(options.language, plugins.languages),
        reasons=options.reasons,
        script=not options.paper,
    )


def _write_order(options: argparse.Namespace) -> int:
    """The run sheets of all loads first, then the page that links them."""
    from signrules.cli.work_order_folder import judged_folder, say_lost_jobs, status_of_folder
    from signrules.reports.text_report import plain_text
    from signrules.sheet.language import language_of
    from signrules.sheet.order_page import work_order_page

    plugins = plugins_of(options)
    language = language_of(options.language, plugins.languages)
    rates = rates_of(options, shop_of(options, plugins))
    judged = judged_folder(options.job, options, plugins)
    say_lost_jobs(judged)
    folder = made_folder(Path(options.output), "a folder to write to", parents=True)
    # Before the first page is written, so that two jobs of one name leave no half of a folder.
    links = _page_names(judged)
    for load, result in judged.evaluations.items():
        page = _sheet_text(result, options, plugins, judged.outdated.get(load, ()))
        write_whole(str(folder / links[load]), page)
    estimate = judged.estimate(rates, plugins=plugins, seconds=options.seconds)
    index = str(folder / INDEX)
    write_whole(index, work_order_page(judged, estimate, links=links, language=language))
    print(plain_text(f"{index}: {estimate.verdict}"))
    return status_of_folder(judged, fine=judged.ok)


def _page_names(judged: JudgedOrder) -> dict[str, str]:
    """The names of the run sheets, by load: those of the jobs, each another and none the index.

    Raises SignrulesError where two loads would have the same.
    """
    names: dict[str, str] = {}
    for load in judged.evaluations:
        name = f"{Path(judged.files[load]).stem}.html"
        # In small letters: some file systems do not tell capitals apart.
        if name.lower() in {INDEX, *map(str.lower, names.values())}:
            raise SignrulesError(
                f"{judged.files[load]}: found a job whose page would be {name}, expected another"
                " name: that page is there already"
            )
        names[load] = name
    return names
