"""`signrules check`: judge jobs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from attrs import astuple

from signrules.cli.by_cause import add_cause_option, check_by_cause
from signrules.cli.many_files import (
    add_many_options,
    error_to_dict,
    files_of,
    judged_files,
    one_file,
    unfit_work_orders,
)
from signrules.cli.mend_option import mend_file, refuse_early
from signrules.cli.shared_options import (
    BAD_INPUT,
    FINE,
    INCOMPLETE,
    Commands,
    add_planner_options,
    add_plugin_options,
    add_shop_options,
    changes_of_artwork,
    plugins_of,
    print_json,
    print_json_line,
    print_xml,
    read_passes,
    shop_of,
    status_of,
    status_of_changes,
)
from signrules.cli.standard_streams import STANDARD_INPUT, named_file
from signrules.cli.watching import add_watch_option, refuse_beside_watch, watch_files
from signrules.errors import NotEvaluated, PluginError, SignrulesError, WorkOrderError
from signrules.report_formats import OWN_FORMATS
from signrules.reports.colour import CHOICES, wants_colour
from signrules.reports.tally import Tally

if TYPE_CHECKING:
    from signrules.artwork.fingerprints import ReadPass
    from signrules.evaluation import Evaluation
    from signrules.many_jobs.carrying import Carried
    from signrules.model.job import Job
    from signrules.plugins import Plugins

_REDUCED = ("text", "json", "jsonl")
"""The formats that need no whole evaluation once it is made."""

_Rows = list[list[Any]]
"""For each pass its id, and the layers that it was read from."""

STATUSES = (
    "Exit status: 0 nothing of level STOP is broken or doubtful; 1 something is, or no order works,"
    " or with --strict a check of level STOP could not be made, or artwork has changed since its"
    " job was read from it; 2 the input is at fault; 3 a rule or plugin failed."
    " Of several jobs it is the highest."
)


def add_command(commands: Commands) -> None:
    """Add the command."""
    check = commands.add_parser(
        "check", help="judge jobs: a verdict, checks with numbers, an order", epilog=STATUSES
    )
    add_many_options(check)
    add_cause_option(check)
    check.add_argument(
        "--in-a-row",
        action="store_true",
        help="judge each job with what those before it leave on the printer",
    )
    check.add_argument("--all", action="store_true", help="list met checks and notes too")
    check.add_argument(
        "--strict",
        action="store_true",
        help="end with 1 where a check of level STOP could not be made",
    )
    check.add_argument(
        "--colour", choices=CHOICES, default="auto", help="colour in text; auto: on a terminal"
    )
    check.add_argument(
        "--mend",
        type=named_file,
        metavar="FILE",
        help="write a mended job to a new file; one JOB only",
    )
    check.add_argument(
        "--kept-in",
        metavar="FOLDER",
        help="keep what comes of each job there, and go on where an earlier run stopped",
    )
    add_watch_option(check)
    check.set_defaults(run=_run_check)
    check.add_argument(
        "--format",
        default="text",
        metavar="FORMAT",
        help=f"{', '.join(OWN_FORMATS)}, or one that a plugin brings",
    )
    add_plugin_options(check)
    add_shop_options(check)
    add_planner_options(check)


def _run_check(options: argparse.Namespace) -> int:
    if not options.watch:
        return _check_jobs(options)
    refuse_beside_watch(options)
    return watch_files(options, _check_jobs)


def _check_jobs(options: argparse.Namespace) -> int:
    from signrules.reports.plugin_report import demand_format

    refuse_early(options)
    # Refused and not passed over: who asks for workers expects the time that they save.
    if options.in_a_row and options.workers > 1:
        raise SignrulesError(
            f"--jobs {options.workers}: found --in-a-row, expected --jobs 1: each job waits for the"
            " one before it"
        )
    if options.kept_in is not None:
        _refuse_beside_kept(options)
    if options.by_cause:
        return check_by_cause(options)
    plugins = plugins_of(options)
    files, errors = files_of(options.jobs, recursive=options.recursive)
    if options.format not in OWN_FORMATS:
        demand_format(plugins, options.format)
    output, judged = _Output(options, plugins), False
    # Told before the jobs are judged: a work order that no longer fits makes their verdicts moot.
    unfit = unfit_work_orders(files, options.jobs, plugins, shop_of(options, plugins))
    for error in errors:
        output.take_error(error.origin, error)
    for path, misfit in unfit:
        output.take_unfit(path, misfit)
    results = judged_files(
        files,
        options,
        plugins,
        output.reduce,
        carry=options.in_a_row,
        kept_in=options.kept_in,
    )
    with closing(results) as items:
        for item in items:
            if item.error is not None:
                output.take_error(item.origin, item.error)
            else:
                output.take(item.origin, item.result, item.carried)
                judged = True
    output.end()
    # A job that could not be judged cannot be mended either.
    if judged:
        mend_file(options, plugins)
    return output.status


def _refuse_beside_kept(options: argparse.Namespace) -> None:
    """Raises SignrulesError for what needs more than the results that are kept."""
    if options.in_a_row:
        raise SignrulesError(
            "--kept-in: found --in-a-row, expected one of them: in a row a result depends on the"
            " jobs before it"
        )
    if options.by_cause or options.mend is not None:
        raise SignrulesError(
            "--kept-in: found --by-cause or --mend, expected neither: they need whole evaluations"
        )
    if options.format not in _REDUCED:
        raise SignrulesError(
            f"--kept-in: found --format {options.format}, expected text, json or jsonl: the others"
            " need whole evaluations"
        )


class _Output:
    """Prints what comes of each file: text and lines at once, one document at the end."""

    def __init__(self, options: argparse.Namespace, plugins: Plugins) -> None:
        self.status = FINE
        self._options, self._plugins, self._format = options, plugins, options.format
        self._reports: list[tuple[str, Any]] = []
        self._changed: dict[str, tuple[str, ...]] = {}
        self._carried: list[Carried] = []
        self._between = ""
        self._tally = Tally()
        spooled = options.spooled_input
        self._files = {} if spooled is None else {STANDARD_INPUT: Path(spooled)}

    @property
    def reduce(self) -> Callable[[Evaluation], Any]:
        """What is made of an evaluation where it is made."""
        strict = self._options.strict
        if self._format not in _REDUCED:
            return _whole_text
        if self._format != "text":
            return partial(_data_of, strict=strict)
        colour = wants_colour(self._options.colour, sys.stdout)
        return partial(
            _text_of_result,
            strict=strict,
            everything=self._options.all,
            colour=colour,
        )

    def take(self, path: str, made: Any, carried: Carried | None) -> None:
        """What `reduce` has made of an evaluation, and what was carried to the job, if anything."""
        from signrules.reports.changed_artwork import report_beside_artwork

        # A list where the result was kept as JSON.
        if isinstance(made, tuple | list):
            status, report, rows = made
            passes = _passes_of_rows(rows)
        else:
            status, report = _exit_status(made, self._options.strict), made
            passes = read_passes(made.job)
        # Anew each time, also for kept results: the file of artwork may have changed since.
        changed = changes_of_artwork(path, passes)
        self.status = max(self.status, status, status_of_changes(changed))
        if self._format == "text":
            colour = wants_colour(self._options.colour, sys.stdout)
            report = report_beside_artwork(report, changed, colour=colour)
            self._tally.take(path, report, is_fine=status == FINE and not changed)
            # Whoever reads along gets it at once.
            print(self._heading(path) + report + self._row_line(carried), end="", flush=True)
            return
        if carried is not None and isinstance(report, dict):
            report["carried"] = carried.to_dict()
        if changed and isinstance(report, dict):
            report["changed_artwork"] = [each.to_dict() for each in changed]
        self._changed[path] = tuple(map(str, changed))
        if self._format == "jsonl":
            print_json_line({"file": path, "report": report})
        else:
            self._reports.append((path, report))

    def _row_line(self, carried: Carried | None) -> str:
        """What a job needs after those before it, where they are judged in a row."""
        if carried is None:
            return ""
        from signrules.reports.job_row_report import carried_text

        self._carried.append(carried)
        return f"In a row: {carried_text(carried)}\n"

    def _heading(self, path: str) -> str:
        """Of several files, which one it is."""
        from signrules.reports.text_report import one_line

        between, self._between = self._between, "\n"
        if one_file(self._options.jobs):
            return ""
        return f"{between}{one_line(path)}\n"

    def take_error(self, path: str, error: SignrulesError) -> None:
        """Why there is no evaluation."""
        self._tell_error(path, error)
        self._tally.take_error(path)

    def take_unfit(self, path: str, error: WorkOrderError) -> None:
        """What a work order has otherwise than the job at a path, which is judged all the same."""
        self._tell_error(error.origin, error)
        self._tally.take_unfit(path)

    def _tell_error(self, path: str, error: SignrulesError) -> None:
        text, status = str(error), BAD_INPUT
        if isinstance(error, NotEvaluated):
            text, status = error.details + text, INCOMPLETE
        self.status = max(self.status, status)
        if self._format == "jsonl":
            print_json_line({"file": path, "error": error_to_dict(error)})
            return
        from signrules.reports.text_report import plain_text

        print(plain_text(text), file=sys.stderr)
        self._reports.append((path, error))

    def end(self) -> None:
        """Print what is one document, or what is said once of all jobs."""
        if self._carried:
            from signrules.reports.job_row_report import row_total_text

            # Only text gathers what is carried; in data each report has its own.
            print(f"\n{row_total_text(self._carried)}")
        if self._format == "text":
            self._end_text()
        elif self._format == "sarif":
            from signrules.reports.sarif import sarif

            log = sarif(
                dict(self._reports),
                plugins=self._plugins,
                warnings=self._changed,
                files=self._files,
            )
            print_json(log)
        elif self._format == "junit":
            from signrules.reports.junit import junit

            print_xml(junit(dict(self._reports), changed=self._changed, files=self._files))
        elif self._format not in _REDUCED:
            self._end_in_format_of_plugin()
        elif self._format == "json":
            sound = [
                report for _, report in self._reports if not isinstance(report, SignrulesError)
            ]
            if not one_file(self._options.jobs):
                print_json(sound)
            elif sound:
                print_json(sound[0])

    def _end_in_format_of_plugin(self) -> None:
        """Print what a plugin makes of all that came of the jobs."""
        from signrules.reports.plugin_report import plugin_report
        from signrules.reports.text_report import plain_text

        try:
            text = plugin_report(
                self._plugins,
                self._format,
                dict(self._reports),
                seconds=self._options.seconds,
            )
        except PluginError as error:
            self.status = INCOMPLETE
            print(plain_text(str(error)), file=sys.stderr)
        else:
            sys.stdout.write(text)

    def _end_text(self) -> None:
        """The cautions and the plugins, once; and of several jobs how many fail and which."""
        from signrules.reports.text_report import caution_text, plain_text

        if self._tally.jobs:
            # The first is the built-in one.
            others = ", ".join(plugin.name for plugin in self._plugins.loaded[1:])
            print(caution_text(colour=wants_colour(self._options.colour, sys.stdout)), end="")
            print(f"\nPlugins: {plain_text(others) or 'none besides the built-in sets'}")
        # One job is one object and several are a list, whichever of them are sound.
        if not one_file(self._options.jobs):
            print(self._tally.text(), end="")


def _whole_text(result: Evaluation) -> Evaluation:
    return result


# Module functions and plain data from here on: they go to worker processes and back.
def _data_of(result: Evaluation, *, strict: bool) -> tuple[int, dict[str, Any], _Rows]:
    return _exit_status(result, strict), result.to_dict(), _rows_of_passes(result.job)


def _rows_of_passes(job: Job) -> _Rows:
    """The passes that were read from artwork, as plain data."""
    return [[item.id, [astuple(source) for source in item.artwork]] for item in read_passes(job)]


def _passes_of_rows(rows: _Rows) -> tuple[ReadPass, ...]:
    if not rows:
        return ()
    from signrules.artwork.fingerprints import ReadPass
    from signrules.model.passes import ArtworkSource

    return tuple(
        ReadPass(id, tuple(ArtworkSource(*source) for source in sources)) for id, sources in rows
    )


def _text_of_result(
    result: Evaluation, *, strict: bool, everything: bool, colour: bool
) -> tuple[int, str, _Rows]:
    from signrules.reports.text_report import evaluation_text

    text = evaluation_text(result, everything=everything, colour=colour, cautions=False)
    return _exit_status(result, strict), text, _rows_of_passes(result.job)


def _exit_status(result: Evaluation, strict: bool) -> int:
    fine = result.settled if strict else result.ok
    return status_of(result, fine=fine)
