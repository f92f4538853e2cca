"""`signrules compose`: the signs of a door schedule on stock sheets, and these in bed loads."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from signrules.cli.many_files import add_workers_option, worker_processes
from signrules.cli.schedule_command import add_column_option
from signrules.cli.shared_options import (
    BROKEN,
    FINE,
    Commands,
    add_plugin_options,
    add_shop_options,
    plugins_of,
    shop_of,
)
from signrules.cli.standard_streams import named_file, named_folder, schedule_input, shown_path
from signrules.errors import MOST_OF_A_KIND
from signrules.model.wording import counted_things, number_text

if TYPE_CHECKING:
    from signrules.composing.composition import Composition
    from signrules.composing.judged_loads import ComposedLoad
    from signrules.model.work_order import WorkOrder

KEPT_BESIDE = " beside what is kept"


def add_command(commands: Commands) -> None:
    """Add the command."""
    compose = commands.add_parser(
        "compose", help="place the signs of a door schedule on stock sheets and in bed loads"
    )
    compose.add_argument(
        "job",
        type=schedule_input,
        metavar="SCHEDULE",
        help="a CSV file or a workbook (.xlsx), or - for standard input",
    )
    compose.add_argument(
        "-o",
        "--output",
        required=True,
        type=named_folder,
        metavar="FOLDER",
        help="where the work order goes, with a job for each bed load",
    )
    compose.add_argument("--name", default="", help="what the work is called")
    compose.add_argument(
        "--keep",
        type=named_file,
        metavar="FILE",
        help="an earlier work order, or its folder, whose signs stay where they lie",
    )
    add_column_option(compose)
    add_workers_option(compose)
    compose.add_argument(
        "--kept-in",
        metavar="FOLDER",
        help="keep the judgement of each load there, and go on where an earlier run stopped",
    )
    compose.add_argument(
        "--replace", action="store_true", help="in place of the work order that is there"
    )
    add_plugin_options(compose)
    add_shop_options(compose)
    compose.set_defaults(run=_compose)


def _compose(options: argparse.Namespace) -> int:
    from signrules.composing.composition import compose
    from signrules.composing.folders import write_composition
    from signrules.reports.text_report import plain_text

    plugins = plugins_of(options)
    with ExitStack() as stack:
        # One worker is this process: starting another takes longer than most schedules.
        executor = None
        if options.workers > 1:
            executor = stack.enter_context(worker_processes(options.workers))
        composition = compose(
            Path(options.job),
            shop_of(options, plugins),
            columns=dict(options.column),
            plugins=plugins,
            name=options.name or Path(shown_path(options, options.job)).stem,
            keep=options.keep or None,
            executor=executor,
            kept_in=options.kept_in,
            folder=options.output,
        )
    write_composition(composition, options.output, replace=options.replace)
    beside = KEPT_BESIDE if options.keep else ""
    lines = _composition_lines(composition, Path(options.output), beside)
    print(plain_text("\n".join(lines)))
    fine = all(load.ok for load in composition.loads)
    return FINE if fine else BROKEN


def _composition_lines(composition: Composition, folder: Path, beside: str) -> Iterator[str]:
    """What is printed; `beside` says beside what the counts are the fewest."""
    order = composition.order
    yield f"{order.name}: {counted_things(len(order.signs), 'sign')}"
    yield _count_line("stock sheet", len(order.stock_sheets), order.at_least.stock_sheets, beside)
    yield _count_line("bed load", len(order.loads), order.at_least.loads, beside)
    yield from _setup_lines(composition)
    for row, load in zip(order.loads, composition.loads, strict=True):
        yield f"{(folder / row.file).as_posix()}: {_load_words(order, load)}"
    yield from (f"  {note}" for note in order.notes)


def _setup_lines(composition: Composition) -> Iterator[str]:
    setup = composition.setup
    planned = all(load.carried.setup is not None for load in composition.loads)
    # A sum over some of the loads would read as that of all.
    if not composition.loads or not planned:
        return
    if setup.minutes is None:
        printer = f"printers.{composition.order.printer}"
        yield f"  minutes of set-up are not known: {printer} does not state all of its minutes"
        return
    bound = composition.least_setup[1]
    # Settings may cost no minutes on this printer, so the whole cost is compared and not its
    # minutes.
    proof = "which is the least for these loads"
    if setup.cost > composition.least_setup:
        proof = f"no sequence of these loads takes less than {number_text(bound)}"
    yield f"  {number_text(setup.minutes)} minutes of set-up in a row, {proof}"


def _count_line(what: str, count: int, at_least: int, beside: str) -> str:
    plural = "" if count == 1 else "s"
    if count == at_least:
        return f"  {count} {what}{plural}, which is the fewest{beside}"
    return f"  {count} {what}{plural}; no placing{beside} takes fewer than {at_least}"


def _load_words(order: WorkOrder, load: ComposedLoad) -> str:
    pieces = [piece for piece in order.pieces if piece.load == load.id]
    stocks = {sheet.id: sheet.stock for sheet in order.stock_sheets}
    names = " and ".join(sorted({stocks[piece.stock_sheet] for piece in pieces}))
    signs = len(load.document["signs"])
    words = f"{signs} sign{'' if signs == 1 else 's'} on {len(pieces)} of {names}"
    setup = load.carried.setup
    minutes = None if setup is None else setup.minutes
    if minutes is not None:
        words += f", {number_text(minutes)} minutes of set-up"
    return f"{words}: {load.verdict}{_failing_words(order, load.summary.failing)}"


def _failing_words(order: WorkOrder, failing: Sequence[str]) -> str:
    """The signs on which a load fails, each with its row; nothing of a load that fails on none."""
    rows = {sign.id: sign.row for sign in order.signs}
    named = [f"{id} (row {rows[id]})" for id in failing[:MOST_OF_A_KIND]]
    if not named:
        return ""
    more = len(failing) - len(named)
    left = f" and {more} more" if more else ""
    return f"; fails on {', '.join(named)}{left}"
