"""`signrules sheet`: the run sheet of a job."""

from __future__ import annotations

import argparse

from signrules.cli.shared_options import (
    Commands,
    add_job_options,
    demand_other_file,
    evaluated_file,
    plugins_of,
    status_of,
    status_with_artwork,
    write_whole,
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    sheet = commands.add_parser("sheet", help="write the run sheet of a job: an HTML page to print")
    sheet.add_argument(
        "-o",
        "--output",
        required=True,
        metavar="FILE",
        help="where to write; what stands there is replaced",
    )
    sheet.set_defaults(run=_write_sheet)
    add_job_options(sheet)


def _write_sheet(options: argparse.Namespace) -> int:
    from signrules.reports.text_report import plain_text
    from signrules.sheet.page import run_sheet

    demand_other_file(options.output, options.job)
    result = evaluated_file(options.job, plugins_of(options), options)
    write_whole(options.output, run_sheet(result))
    print(plain_text(f"{options.output}: {result.verdict}"))
    status = status_of(result, fine=result.ok)
    return status_with_artwork(options.job, result.job, status)
