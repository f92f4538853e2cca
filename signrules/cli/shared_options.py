"""What the commands share: statuses, options, loading plugins, evaluating a file, printing JSON."""

from __future__ import annotations

import argparse
import json
import math
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from signrules.cli.progress_line import ProgressLine
from signrules.cli.standard_streams import (
    DASH,
    document_input,
    is_spooled,
    named_file,
    shown_path,
    write_to_output,
)
from signrules.errors import SignrulesError
from signrules.model.plugin_data import whole_name
from signrules.model.wording import expected_name, shown_value

if TYPE_CHECKING:
    from signrules.artwork.fingerprints import ChangedArtwork, ReadPass
    from signrules.evaluation import Evaluation
    from signrules.model.job import Job
    from signrules.plugins import Plugins
    from signrules.shop import Shop

FINE, BROKEN, BAD_INPUT, INCOMPLETE = 0, 1, 2, 3

INTERRUPTED, READER_GONE = 130, 141
"""As shells do it: 128 plus the number of the signal."""

EXIT_STATUSES = {
    FINE: "it is done, and nothing of level STOP is broken or doubtful in what was judged",
    BROKEN: "it is not fine: something of level STOP is wrong, no order is safe, artwork has"
    " changed, a font or a price list does not suffice",
    BAD_INPUT: "the input or the command line is at fault",
    INCOMPLETE: "a rule or plugin failed, or the output could not be written",
    INTERRUPTED: "it was interrupted",
    READER_GONE: "whoever read the output has gone",
}
"""What the exit status of any command means; some commands say more in their own help."""

MOST_STATES = 10**9
"""More states than anyone waits for."""

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def add_shared(command: argparse.ArgumentParser, formats: Sequence[str] = ("text", "json")) -> None:
    """The options of every command: format, the first being the usual one, and plugins."""
    command.add_argument(
        "--format", choices=formats, default=formats[0], help=f"usually {formats[0]}"
    )
    add_plugin_options(command)


def add_job_options(
    command: argparse.ArgumentParser, formats: Sequence[str] = (), *, folder: bool = False
) -> None:
    """What every command on one job takes: the job, the format if there are several, plugins and
    what the shop sets. `folder` says that it may be one of a work order, or of jobs.
    """
    or_folder = ", or a folder of a work order or of jobs" if folder else ""
    command.add_argument(
        "job",
        metavar="JOB",
        type=document_input,
        help=f"a job document, .toml or .json, or - for standard input{or_folder}",
    )
    if formats:
        add_shared(command, formats)
    else:
        add_plugin_options(command)
    add_shop_options(command)
    add_planner_options(command)


def add_plugin_options(command: argparse.ArgumentParser) -> None:
    """The options that say which plugins there are."""
    command.add_argument(
        "--plugin",
        action="append",
        type=named_file,
        default=[],
        metavar="FILE",
        help="a Python file with rules",
    )
    command.add_argument(
        "--block", action="append", default=[], metavar="NAME", help="leave a plugin out"
    )


def add_shop_options(command: argparse.ArgumentParser) -> None:
    """The options that say what a shop sets for the rules, and how long a plugin may take."""
    command.add_argument(
        "--shop",
        type=named_file,
        metavar="FILE",
        help=(
            "a shop file: printers, inks and sheets, settings of rules; left out, signrules.toml"
            " in the folder of the job or one above"
        ),
    )
    command.add_argument(
        "--accept",
        nargs=2,
        action="append",
        default=[],
        metavar=("NAME", "REASON"),
        help="judge without a rule or plugin that fails, and say so in the report",
    )
    command.add_argument(
        "--seconds",
        type=_seconds_option,
        metavar="S",
        help="the most time for each rule, hook and report of a plugin; its loading is not limited",
    )


def add_planner_options(command: argparse.ArgumentParser) -> None:
    """The option that says how far the planner may search."""
    command.add_argument(
        "--states",
        type=whole_number_option(MOST_STATES),
        metavar="N",
        help="the most states that the planner reaches for a job, usually 10000",
    )


def whole_number_option(most: int) -> Callable[[str], int]:
    """What reads a whole number from 1 to so many; it raises ArgumentTypeError."""

    def number_of(text: str) -> int:
        # Ten digits are enough to tell, and int() refuses thousands of them.
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:10]) <= most):
            raise argparse.ArgumentTypeError(
                f"found {text[:20]!r}, expected a whole number from 1 to {most}"
            )
        return int(text)

    return number_of


def states_of(options: argparse.Namespace) -> int:
    """How many states the planner may reach for a job."""
    from signrules.planning.pipeline import BUDGET

    states: int | None = options.states
    return BUDGET if states is None else states


def _seconds_option(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    # NaN fails this as well.
    if not 0 < seconds < math.inf:
        raise argparse.ArgumentTypeError(f"found {text[:20]!r}, expected seconds above 0")
    return seconds


def shop_of(options: argparse.Namespace, plugins: Plugins) -> Shop:
    """What the shop sets, by its file and by the options, and which of its figures have drifted
    since, by the records beside it.

    Raises ShopError and ReadingsError.
    """
    from signrules.shop import Shop
    from signrules.shop_file import read_shop

    path = found_shop_file(options) if options.shop is None else options.shop
    shop = Shop() if path is None else _with_its_records(read_shop(path), path)
    rules = [placed.rule.name for placed in plugins.rules]
    for name, _ in options.accept:
        _demand_accepted(name, rules, plugins)
    return shop.accepting(dict(options.accept), rules)


def _demand_accepted(name: str, rules: Sequence[str], plugins: Plugins) -> None:
    """Raises SignrulesError for what is neither a rule nor a plugin."""
    known = (*rules, *plugins.names)
    # A rule of a plugin that failed is not known, and may well be what is accepted.
    if plugins.failed or whole_name(name, known) in known:
        return
    expected = expected_name(name, known, "the name of a rule or of a plugin")
    raise SignrulesError(f"--accept: found {shown_value(name)}, expected {expected}")


def _with_its_records(shop: Shop, path: str) -> Shop:
    # Most shops keep none, and need not load what reads them.
    if not Path(path).with_suffix(RECORDS_SUFFIX).exists():
        return shop
    from signrules.measuring.drifting import shop_with_drift
    from signrules.measuring.figure_records import read_records, records_path

    return shop_with_drift(shop, read_records(records_path(path)))


RECORDS_SUFFIX = ".records.jsonl"
"""The end of the name of the records beside a shop file."""

SHOP_FILE = "signrules.toml"
"""The name of a shop file that the command finds by itself."""


def found_shop_file(options: argparse.Namespace) -> str | None:
    """The shop file in the folder of the first job or the nearest folder above; None without one.

    A job given by no file, by standard input too, or no job at all, is taken to lie in the folder
    where one is.
    """
    jobs = getattr(options, "jobs", None) or [getattr(options, "job", None) or "."]
    start = Path("." if is_spooled(options, jobs[0]) else jobs[0])
    folder = start if start.is_dir() else start.parent
    # The folder as it was named first: a link may lead out of the tree of the shop.
    for above in (folder, *folder.resolve().parents):
        if (above / SHOP_FILE).is_file():
            # As a person would write it from here; reports name the shop file.
            return os.path.relpath(above / SHOP_FILE)
    return None


def plugins_of(options: argparse.Namespace) -> Plugins:
    """The installed plugins and those that the options name."""
    from signrules.plugins import load_plugins

    return load_plugins(entry_points=True, files=options.plugin, block=options.block)


def without_failed(plugins: Plugins) -> int:
    """The exit status of a list of what plugins bring; says which plugins it is without."""
    from signrules.reports.text_report import plain_text

    for failed in plugins.failed:
        print(
            plain_text(f"{failed.name} ({failed.origin}) could not be loaded: {failed.error}"),
            file=sys.stderr,
        )
    return INCOMPLETE if plugins.failed else FINE


def evaluated_file(path: str, plugins: Plugins, options: argparse.Namespace) -> Evaluation:
    """The job of a file, evaluated as the shop options say.

    Raises JobError with the file as its origin.
    """
    from signrules.documents import read_job
    from signrules.errors import JobError
    from signrules.evaluation import evaluate
    from signrules.reports.text_report import one_line

    shop = shop_of(options, plugins)
    try:
        with ProgressLine() as line:
            line.show(f"judging {one_line(shown_path(options, path))}")
            job, budget = read_job(path, plugins=plugins, shop=shop), states_of(options)
            return evaluate(job, plugins=plugins, shop=shop, seconds=options.seconds, budget=budget)
    except JobError as error:
        # A shop file that a job leads to has a name of its own.
        if error.origin:
            raise
        raise JobError(error.faults, path) from None


def say_terms(result: Evaluation) -> None:
    """On standard error, beside output that scripts read: whose failing the shop accepts, and what
    it has set.
    """
    from signrules.evaluation.terms import on_terms
    from signrules.reports.text_report import one_line

    for title, lines in on_terms(result.accepted, result.shop):
        print(f"{title}:", *map(one_line, lines), sep="\n  ", file=sys.stderr)


def say_verdict(result: Evaluation) -> None:
    """Say on standard error, beside output for scripts, what was decided and what not looked at."""
    print(result.verdict, file=sys.stderr)


def say_cautions() -> None:
    """On standard error: what whoever prints must heed."""
    from signrules.cautions import CAUTIONS

    print("Cautions:", *CAUTIONS, sep="\n  ", file=sys.stderr)


def say_why_not_safe(result: Evaluation) -> None:
    """On standard error: why no order is called safe, and everything that failed."""
    from signrules.evaluation import why_not_safe
    from signrules.reports.text_report import plain_text

    print(plain_text(why_not_safe(result).message), file=sys.stderr)
    # Without a conflict the failures are the reason, and have been told by it.
    if result.conflict is not None:
        for fault in result.faults:
            print(plain_text(f"Failed while judging: {fault}"), file=sys.stderr)


def read_passes(job: Job) -> tuple[ReadPass, ...]:
    """The passes that were read from artwork."""
    passes = [item for item in job.passes if item.artwork]
    if not passes:  # Mostly: a job that was written by hand needs nothing of artwork loaded.
        return ()
    from signrules.artwork.fingerprints import ReadPass

    return tuple(ReadPass(item.id, item.artwork) for item in passes)


def changes_of_artwork(path: str, passes: tuple[ReadPass, ...]) -> tuple[ChangedArtwork, ...]:
    """Artwork that is not as it was when the job of a file was read from it; said on standard
    error.
    """
    if not passes:
        return ()
    from signrules.artwork_files import changed_files
    from signrules.reports.text_report import plain_text

    changed = changed_files(passes, os.path.dirname(path) or ".")
    for each in changed:
        print(plain_text(f"{path}: {each}"), file=sys.stderr)
    return changed


def status_of_changes(changed: Sequence[ChangedArtwork]) -> int:
    """The exit status for artwork that has changed; what cannot be read may be as it was."""
    return BROKEN if any(not each.lost for each in changed) else FINE


def status_with_artwork(path: str, job: Job, status: int) -> int:
    """An exit status, or that for artwork which has changed since a job was read, if higher."""
    return max(status, status_of_changes(changes_of_artwork(path, read_passes(job))))


def status_of(result: Evaluation, *, fine: bool) -> int:
    """The exit status for an evaluation; `fine` says whether what was asked for is there."""
    if not result.complete:
        return INCOMPLETE
    return FINE if fine else BROKEN


def print_json(data: object) -> None:
    """Data as JSON, in ASCII where the terminal cannot show more."""
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    print(json.dumps(data, indent=2, ensure_ascii=not unicode))


def print_json_line(data: object) -> None:
    """Data as JSON on one line, which whoever reads along gets at once."""
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    # JSON Lines ends a line at a line feed alone; the other ends of line that Unicode knows are not
    # escaped.
    print(json.dumps(data, ensure_ascii=not unicode), flush=True)


def print_xml(text: str) -> None:
    """XML, whose declaration says UTF-8, in references what the terminal cannot show."""
    if not (sys.stdout.encoding or "").lower().startswith("utf"):
        text = text.encode("ascii", "xmlcharrefreplace").decode("ascii")
    sys.stdout.write(text)


def demand_other_file(output: str, job: str) -> None:
    """Raises SignrulesError where an output would be written over the job document."""
    try:
        # By what it is and not by its name: a link to the job is the job.
        same = os.path.samefile(job, output)
    except OSError:  # One of them is not there yet.
        return
    if same:
        raise SignrulesError(
            f"{output}: found the job document itself, expected another file to write to"
        )


def write_whole(target: str, text: str) -> None:
    """Write a file of text so that it is there in full or not at all.

    `-` is standard output. Raises SignrulesError where that cannot be done.
    """
    if target == DASH:
        write_to_output(text)
        return
    write_whole_bytes(target, text.encode())


def write_whole_bytes(target: str, data: bytes) -> None:
    """The same for any file."""
    from signrules.documents.whole_files import put_in_place

    try:
        put_in_place(Path(target), data)
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        raise SignrulesError(
            f"{target}: found {found}, expected a file that can be written"
        ) from None
