"""`signrules next`: how a job goes on from a half-printed sheet."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from signrules.cli.progress_line import ProgressLine
from signrules.cli.shared_options import (
    Commands,
    add_job_options,
    plugins_of,
    print_json,
    shop_of,
    states_of,
    status_of,
    status_with_artwork,
)
from signrules.cli.standard_streams import document_input, shown_path
from signrules.errors import DocumentFault, JobError, RecordError

if TYPE_CHECKING:
    from signrules.continuing.next_steps import NextSteps
    from signrules.documents.progress_records import ProgressRecord

STATUSES = (
    "Exit status: 0 what remains has a safe order and nothing is scrap; 1 something is, or no order"
    " is safe; 2 the input is at fault; 3 a rule or plugin failed."
)
FILES = (".csv", ".json", ".toml")
MEASURED = (
    'SIGN=0.62,0.65 with heights in mm, the same as JSON, {"SIGN": [0.62, 0.65]}, or a .csv or'
    " .json file"
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "next", help="how a job goes on from a half-printed sheet", epilog=STATUSES
    )
    command.add_argument(
        "--done",
        action="append",
        default=[],
        metavar="PASS",
        help=(
            "a pass or handling that is done in full; once for each, in their order. One that"
            " broke off halfway is neither done nor not done: leave the sheet, nothing here knows"
            " where its ink lies"
        ),
    )
    command.add_argument(
        "--measured",
        action="append",
        default=[],
        metavar="SIGN=HEIGHTS|FILE",
        help=(
            "heights in mm of printed dots, as room-214=0.62,0.65 or as JSON, or a file: CSV with"
            " the columns sign and height, JSON, or a record"
        ),
    )
    command.add_argument(
        "--moved",
        action="append",
        default=[],
        metavar="SHEET[=METHOD]",
        help="a sheet that was moved, and the method of printer.locating that puts it back",
    )
    command.add_argument("--struck", action="store_true", help="a head struck something")
    command.add_argument(
        "--record",
        type=document_input,
        metavar="FILE",
        help="a record, JSON, that says any of this; options add to it",
    )
    add_job_options(command, ("text", "json"))
    command.set_defaults(run=_run_next)


def _run_next(options: argparse.Namespace) -> int:
    record = _record_of(options)
    found, told = _answered(options, record)
    for line in told:
        print(line, file=sys.stderr)
    if options.format == "json":
        print_json(found.to_dict() | {"told": told})
    else:
        sys.stdout.write(str(found))
    fine = found.can_go_on and not found.scrapped
    status = status_of(found.result, fine=fine)
    return status_with_artwork(shown_path(options, options.job), found.job, status)


def _answered(options: argparse.Namespace, record: ProgressRecord) -> tuple[NextSteps, list[str]]:
    """The answer, and what is told of the record."""
    from signrules.continuing.fixed_order import with_needed_handling
    from signrules.continuing.next_steps import next_steps
    from signrules.documents import read_job
    from signrules.reports.text_report import one_line

    plugins = plugins_of(options)
    shop = shop_of(options, plugins)
    try:
        with ProgressLine() as line:
            line.show(f"planning what remains of {one_line(shown_path(options, options.job))}")
            job = read_job(options.job, plugins=plugins, shop=shop)
            differs, done = record.differs_from(job), record.done
            if options.record is not None:
                # A page ticks prints alone; the handling between them was done as well.
                done = with_needed_handling(job, done)
            found = next_steps(
                job,
                done,
                measured=record.measured,
                moved=record.moved,
                struck=record.struck,
                plugins=plugins,
                shop=shop,
                budget=states_of(options),
                seconds=options.seconds,
            )
    except JobError as error:
        # An error of a file names it; one of the options is about the job.
        if error.origin:
            raise
        raise JobError(error.faults, options.job) from None
    return found, [] if differs is None else [
        one_line(f"{shown_path(options, options.record)}: {differs}")
    ]


def _record_of(options: argparse.Namespace) -> ProgressRecord:
    """What the record says, and the options besides."""
    from attrs import evolve

    from signrules.documents.progress_records import ProgressRecord, read_record

    record = ProgressRecord() if options.record is None else read_record(options.record)
    measured: dict[str, Any] = dict(record.measured)
    for text in options.measured:
        measured |= _heights_of(text)
    return evolve(
        record,
        # What the record has came before: options say what was done since it was written.
        done=record.done + tuple(options.done),
        measured=measured,
        moved={**record.moved, **dict(map(_moved_option, options.moved))},
        struck=record.struck or options.struck,
    )


def _moved_option(text: str) -> tuple[str, str | None]:
    sheet, _, method = text.partition("=")
    return sheet, method or None


def _heights_of(text: str) -> dict[str, tuple[float, ...]]:
    """Heights in mm by sign, of an option that states them or names a file."""
    from signrules.documents.progress_records import heights_from_dict, read_heights

    if text.lstrip().startswith("{"):
        return heights_from_dict(_table_of(text))
    sign, is_stated, heights = text.partition("=")
    # A path may hold "=", but an option that names a file has none before its suffix.
    if not is_stated and text.lower().endswith(FILES):
        return read_heights(text)
    try:
        return {sign: tuple(float(height) for height in heights.split(","))}
    except ValueError:
        raise RecordError([DocumentFault("--measured", repr(text), MEASURED)]) from None


def _table_of(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        raise RecordError([DocumentFault("--measured", repr(text), MEASURED)]) from None
