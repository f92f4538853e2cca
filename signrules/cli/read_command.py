"""`signrules read`: artwork becomes jobs, by the layers that the shop file names."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from attrs import evolve, frozen

from signrules.cli.many_files import count_option, worker_processes
from signrules.cli.progress_line import ProgressLine
from signrules.cli.schedule_command import add_column_option
from signrules.cli.shared_options import (
    BAD_INPUT,
    FINE,
    Commands,
    add_plugin_options,
    add_shop_options,
    plugins_of,
    shop_of,
)
from signrules.cli.standard_streams import (
    DASH,
    named_file,
    say_beside,
    schedule_input,
    shown_path,
    write_to_output,
)
from signrules.errors import ArtworkError, DocumentFault, SignrulesError

if TYPE_CHECKING:
    from signrules.artwork.choices import ArtworkChoices
    from signrules.artwork.job_making import ArtworkJob
    from signrules.plugins import Plugins
    from signrules.schedules.drawn_signs import DrawnRow
    from signrules.shop import Shop

JOB_SUFFIXES = (".toml", ".json")

NOT_READ = (
    "Not read from artwork: contrast, finish, relief and where the sign hangs. State them, or the"
    " report calls them not checked."
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    read = commands.add_parser("read", help="make jobs of artwork, by the layers of the shop file")
    read.add_argument(
        "artwork",
        nargs="+",
        type=named_file,
        metavar="ART",
        help="files of artwork, or folders of them",
    )
    read.add_argument(
        "-o",
        "--output",
        dest="job",
        required=True,
        metavar="JOB",
        help=(
            "a job, .toml or .json, or - for TOML on standard output: the files lie on each other;"
            " or a folder: each file is a job of its own"
        ),
    )
    read.add_argument(
        "--schedule",
        type=schedule_input,
        metavar="FILE",
        help="a table, .csv, with text and kind of each sign: of each file, or of a sheet of signs",
    )
    read.add_argument("--replace", action="store_true", help="write over jobs that are there")
    read.add_argument("--printer", metavar="ID", help="the printer of the shop; its only one else")
    read.add_argument("--sheet", metavar="ID", help="the sheet of the shop; its only one else")
    read.add_argument(
        "--standard", action="append", default=[], metavar="ID", help="a standard to be met"
    )
    read.add_argument("--kind", metavar="KIND", help="what the signs are for: permanent-room")
    read.add_argument(
        "--text",
        action="append",
        default=[],
        metavar="LINE",
        help="a line of the sign, where its letters are outlines",
    )
    read.add_argument(
        "--page", action="append", type=int, metavar="N", help="a page; all pages else"
    )
    read.add_argument(
        "--jobs", dest="workers", type=count_option, default=1, metavar="N", help="processes"
    )
    add_column_option(read)
    add_plugin_options(read)
    add_shop_options(read)
    read.set_defaults(run=_read_artwork)


def _read_artwork(options: argparse.Namespace) -> int:
    plugins = plugins_of(options)
    shop = shop_of(options, plugins)
    choices = _choices_of(options, plugins)
    tasks = _scheduled(_tasks_of(options, plugins), options, shop)
    make = partial(_made_job, choices=choices, shop=shop, plugins=plugins)
    statuses = []
    with ProgressLine() as line:
        line.show(f"0 of {len(tasks)} jobs")
        for number, (task, made) in enumerate(_made_jobs(tasks, make, options.workers), 1):
            line.hide()
            statuses.append(_write(task.target, made, options))
            line.show(f"{number} of {len(tasks)} jobs")
    if FINE in statuses:
        say_beside(options.job, NOT_READ)
    return max(statuses)


def _choices_of(options: argparse.Namespace, plugins: Plugins) -> ArtworkChoices:
    from signrules.artwork.choices import ArtworkChoices
    from signrules.reports.table_rows import known_table

    # An unknown standard is refused once, and not again for each of a thousand files.
    for id in options.standard:
        known_table(id, dict(plugins.standards))
    return ArtworkChoices(
        printer=options.printer,
        sheet=options.sheet,
        standards=tuple(options.standard),
        kind=options.kind,
        text=tuple(options.text),
        pages=None if options.page is None else tuple(options.page),
    )


@frozen
class _Task:
    """A job that is to be written: the files that it is made of, and its rows of a schedule."""

    target: str
    files: list[str]
    schedule: str = ""
    rows: tuple[DrawnRow, ...] = ()


def _tasks_of(options: argparse.Namespace, plugins: Plugins) -> list[_Task]:
    """Each job that is to be written."""
    files = list(_files_in(options.artwork, tuple(plugins.readers)))
    target = Path(options.job)
    if options.schedule is not None:
        _demand_no_words(options)
    # A folder may be called "signs.toml".
    is_job = options.job == DASH or target.suffix.lower() in JOB_SUFFIXES
    if is_job and not target.is_dir():
        return [_Task(options.job, files)]
    if not target.is_dir():
        fault = DocumentFault(
            "", "no folder", "a folder that is there, or a name in .toml or .json"
        )
        raise ArtworkError([fault], options.job)
    named: dict[str, str] = {}
    for file in files:
        job = str(target / f"{Path(file).stem}.toml")
        # Two files of one stem in two folders, or with two suffixes.
        if job in named:
            fault = DocumentFault(
                "", f"the name of {named[job]}", "names that differ: one job each"
            )
            raise ArtworkError([fault], file)
        named[job] = file
    return [_Task(job, [file]) for job, file in named.items()]


def _demand_no_words(options: argparse.Namespace) -> None:
    """Raises SignrulesError where options say of signs what a schedule says."""
    if options.text or options.kind:
        raise SignrulesError(
            "found --schedule with --text or --kind, expected these in columns of the schedule"
        )


def _scheduled(tasks: Sequence[_Task], options: argparse.Namespace, shop: Shop) -> list[_Task]:
    """The tasks in the order of a schedule, each with its rows; all as they are without one.

    What was recognised of the schedule is told on standard error.
    """
    from signrules.reports.text_report import plain_text
    from signrules.schedules.drawn_signs import read_drawn_rows

    if options.schedule is None:
        return list(tasks)
    by_file = {os.path.basename(task.files[0]): task for task in tasks}
    use = shop.stock.schedule
    use = evolve(use, columns=tuple({**dict(use.columns), **dict(options.column)}.items()))
    found = read_drawn_rows(options.schedule, list(by_file), use)
    for note in found.notes:
        print(plain_text(f"{shown_path(options, options.schedule)}: {note}"), file=sys.stderr)
    rows_of: dict[str, list[DrawnRow]] = {}
    for row in found.rows:
        rows_of.setdefault(row.file, []).append(row)
    return [
        evolve(by_file[file], schedule=shown_path(options, options.schedule), rows=tuple(rows))
        for file, rows in rows_of.items()
    ]


def _files_in(names: Sequence[str], suffixes: tuple[str, ...]) -> Iterator[str]:
    """The files that are named, and in each folder those that a plugin reads."""
    for name in names:
        if not os.path.isdir(name):
            yield name
            continue
        found = sorted(each for each in os.listdir(name) if each.lower().endswith(suffixes))
        if not found or not suffixes:
            known = ", ".join(suffixes) or "a plugin that reads artwork"
            fault = DocumentFault("", "a folder without artwork", f"files in {known}")
            raise ArtworkError([fault], name)
        yield from (os.path.join(name, each) for each in found if not each.startswith("."))


def _made_jobs(
    tasks: Sequence[_Task], make: Any, workers: int
) -> Iterator[tuple[_Task, ArtworkJob | SignrulesError]]:
    """What comes of each job, in order, here or by worker processes."""
    with ExitStack() as stack:
        if workers < 2 or len(tasks) < 2:
            for task in tasks:
                yield task, make(task)
            return
        pool = stack.enter_context(worker_processes(min(workers, len(tasks))))
        futures = [(task, pool.submit(make, task)) for task in tasks]
        for task, future in futures:
            yield task, future.result()


def _made_job(
    task: _Task, *, choices: ArtworkChoices, shop: Shop, plugins: Plugins
) -> ArtworkJob | SignrulesError:
    """The document of one job, or why there is none."""
    from signrules.schedules.drawn_signs import at_its_row

    try:
        return _document_of(task, choices, shop, plugins)
    except SignrulesError as error:
        return at_its_row(task.rows, task.schedule, error) if task.rows else error


def _document_of(task: _Task, choices: ArtworkChoices, shop: Shop, plugins: Plugins) -> ArtworkJob:
    """The document of one job, whose passes name their files from its folder."""
    from signrules.artwork.job_making import document_from_artwork
    from signrules.artwork_files import read_artwork
    from signrules.documents import job_from_dict
    from signrules.schedules.drawn_signs import demand_as_scheduled

    # So that job and artwork can be moved together.
    folder = os.path.dirname(os.path.abspath(task.target))
    choices = _with_rows(evolve(choices, translate=partial(_translated, plugins)), task.rows)
    artworks = [
        evolve(read_artwork(file, plugins=plugins), file=_name_from(file, folder))
        for file in task.files
    ]
    made = document_from_artwork(artworks, shop, choices)
    demand_as_scheduled(task.rows, made.document)
    # What is written must be read again without a fault: better no job than one to mend by hand.
    job_from_dict(made.document, plugins=plugins, shop=shop)
    return made


def _with_rows(choices: ArtworkChoices, rows: Sequence[DrawnRow]) -> ArtworkChoices:
    """Choices with what rows of a schedule say of signs."""
    from signrules.artwork.choices import SignChoice

    # Rows without a sign are of files with one sign each; the file alone names it.
    if rows and not rows[0].sign:
        return evolve(choices, text=rows[0].text, kind=rows[0].kind)
    return evolve(choices, signs={row.sign: SignChoice(row.text, row.kind) for row in rows})


def _name_from(file: str, folder: str) -> str:
    try:
        return Path(os.path.relpath(file, folder)).as_posix()
    except ValueError:  # Another drive.
        return os.path.abspath(file)


def _translated(plugins: Plugins, grade: str, text: str) -> str | None:
    return plugins.translate(text, grade)[0]


def _write(target: str, made: ArtworkJob | SignrulesError, options: argparse.Namespace) -> int:
    from signrules.documents.toml import to_toml
    from signrules.documents.writing import write_document, write_new_document
    from signrules.reports.text_report import plain_text

    if isinstance(made, SignrulesError):
        print(plain_text(str(made)), file=sys.stderr)
        return BAD_INPUT
    write = write_document if options.replace else write_new_document
    try:
        if target == DASH:
            write_to_output(to_toml(made.document))
        else:
            write(made.document, target)
    except SignrulesError as error:
        print(plain_text(str(error)), file=sys.stderr)
        return BAD_INPUT
    lines = [f"{target}: {_counts(made.document)}", *(f"  {note}" for note in made.notes)]
    say_beside(target, plain_text("\n".join(lines)))
    return FINE


def _counts(document: Mapping[str, Any]) -> str:
    parts = []
    for key, one, many in (("passes", "pass", "passes"), ("signs", "sign", "signs")):
        count = len(document[key])
        parts.append(f"{count} {one if count == 1 else many}")
    return ", ".join(parts)
