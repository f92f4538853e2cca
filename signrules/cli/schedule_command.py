"""`signrules schedule`: the rows of a door schedule become jobs, by the sign types of the shop."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from signrules.cli.shared_options import (
    FINE,
    Commands,
    add_plugin_options,
    add_shop_options,
    plugins_of,
    shop_of,
)
from signrules.cli.standard_streams import named_folder, schedule_input
from signrules.documents.whole_files import NEW_FOLDER, made_folder
from signrules.errors import DocumentFault, ScheduleError

if TYPE_CHECKING:
    from signrules.schedules.jobs import ScheduledJob

_UNFIT = re.compile(r"[^\w -]")
"""What stands in no name of a file."""


def add_command(commands: Commands) -> None:
    """Add the command."""
    schedule = commands.add_parser(
        "schedule", help="make jobs of the rows of a door schedule, by the sign types of the shop"
    )
    schedule.add_argument(
        "job",
        type=schedule_input,
        metavar="SCHEDULE",
        help="a CSV file or a workbook (.xlsx), or - for standard input",
    )
    schedule.add_argument(
        "-o",
        "--output",
        required=True,
        type=named_folder,
        metavar="FOLDER",
        help="where the jobs go",
    )
    add_column_option(schedule)
    schedule.add_argument("--replace", action="store_true", help="write over jobs that are there")
    add_plugin_options(schedule)
    add_shop_options(schedule)
    schedule.set_defaults(run=_write_jobs)


def add_column_option(command: argparse.ArgumentParser) -> None:
    """Add the option that maps columns of a schedule."""
    command.add_argument(
        "--column",
        action="append",
        type=_column_option,
        default=[],
        metavar="NAME=HEADING",
        help='the heading of a column: room="Room No."; over what the shop file says',
    )


def _column_option(text: str) -> tuple[str, str]:
    from signrules.documents.placeholders import is_placeholder_name

    name, mark, heading = text.partition("=")
    if not mark or not heading.strip() or not is_placeholder_name(name):
        raise argparse.ArgumentTypeError(
            f'found {text[:60]!r}, expected a name and a heading: room="Room No."'
        )
    return name, heading


def _write_jobs(options: argparse.Namespace) -> int:
    from signrules.documents.writing import write_document, write_new_document
    from signrules.reports.text_report import plain_text
    from signrules.schedules.jobs import jobs_from_schedule

    plugins = plugins_of(options)
    made = jobs_from_schedule(
        Path(options.job),
        shop_of(options, plugins),
        columns=dict(options.column),
        plugins=plugins,
        folder=options.output,
    )
    targets = _targets(made_folder(Path(options.output), NEW_FOLDER), made.jobs)
    write = write_document if options.replace else write_new_document
    for target, each in zip(targets, made.jobs, strict=True):
        write(each.document, str(target))
        times = "" if each.quantity == 1 else f", {each.quantity} times"
        print(plain_text(f"{target.as_posix()}: {each.type}, row {each.row}{times}"))
    print(plain_text("\n".join(f"  {note}" for note in made.notes)))
    return FINE


def _targets(folder: Path, jobs: Sequence[ScheduledJob]) -> list[Path]:
    """The file of each job, called after its sign. Raises ScheduleError for two of one name."""
    rows: dict[str, int] = {}
    targets = []
    for each in jobs:
        name = _UNFIT.sub("-", each.job.name)
        # Some file systems do not tell capitals from small letters.
        first = rows.setdefault(name.casefold(), each.row)
        if first != each.row:
            expected = f"an id whose file is not that of row {first}"
            raise ScheduleError([DocumentFault(f"row {each.row}", repr(name), expected)])
        targets.append(folder / f"{name}.toml")
    return targets
