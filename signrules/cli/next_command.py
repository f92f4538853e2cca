"""`signrules next`: the way on from a sheet that is printed in part."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from signrules.cli.shared_options import (
    BROKEN,
    FINE,
    Commands,
    add_job_options,
    plugins_of,
    print_json,
    say_cautions,
    shop_of,
)
from signrules.errors import DocumentFault, RecordError

if TYPE_CHECKING:
    from signrules.continuing import Progress
    from signrules.model.job import Job


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "next", help="say what is left to do on a sheet that is printed in part"
    )
    command.add_argument(
        "--done",
        action="append",
        default=[],
        metavar="PASS",
        help="a pass or handling that is done, in order",
    )
    command.add_argument(
        "--measured",
        action="append",
        default=[],
        metavar="SIGN=HEIGHTS",
        help="heights in mm of dots of a sign, with commas between: room-214=0.62,0.65",
    )
    command.add_argument(
        "--moved",
        action="append",
        default=[],
        metavar="SHEET[=METHOD]",
        help="a sheet that has moved, and the method that puts it back, if any",
    )
    command.add_argument("--struck", action="store_true", help="the head has hit something")
    command.add_argument(
        "--record", metavar="FILE", help="the record that the page of a run sheet has saved"
    )
    command.set_defaults(run=_say_next)
    add_job_options(command, ("text", "json"))


def _say_next(options: argparse.Namespace) -> int:
    from signrules.continuing import next_steps
    from signrules.documents import read_job
    from signrules.reports.next_report import next_text

    plugins = plugins_of(options)
    shop = shop_of(options, plugins)
    job = read_job(options.job, plugins=plugins, shop=shop)
    found = next_steps(job, _progress_of(options, job), plugins=plugins, shop=shop)
    if options.format == "json":
        print_json(found.to_dict())
    else:
        print(next_text(found), end="")
        say_cautions()
    return FINE if found.ok else BROKEN


def _progress_of(options: argparse.Namespace, job: Job) -> Progress:
    """What the record and the options say together; options add to the record."""
    from signrules.continuing import Progress, read_progress

    recorded = Progress()
    if options.record is not None:
        recorded = read_progress(options.record, job)
    return Progress(
        (*recorded.done, *(name for name in options.done if name not in recorded.done)),
        (*recorded.measured, *map(_measured_option, options.measured)),
        (*recorded.moved, *map(_moved_option, options.moved)),
        recorded.struck or options.struck,
    )


def _measured_option(text: str) -> tuple[str, tuple[float, ...]]:
    """SIGN=HEIGHTS: a point is the decimal mark, and a comma or a space stands between heights."""
    sign, mark, heights = text.partition("=")
    try:
        numbers = tuple(float(height) for height in heights.replace(",", " ").split())
    except ValueError:
        numbers = ()
    if not (sign and mark and numbers):
        expected = "a sign and heights in mm, such as room-214=0.62,0.65"
        raise RecordError([DocumentFault("--measured", text, expected)])
    return sign, numbers


def _moved_option(text: str) -> tuple[str, str | None]:
    sheet, _, method = text.partition("=")
    return sheet, method or None
