"""Many files: folders, worker processes, progress on a terminal."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from signrules.cli.progress_line import ProgressLine
from signrules.cli.shared_options import SHOP_FILE
from signrules.cli.standard_streams import (
    STANDARD_INPUT,
    document_input,
    is_spooled,
    shown_path,
)
from signrules.errors import DocumentError, DocumentFault, JobError, SignrulesError, WorkOrderError

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future

    from signrules.evaluation import Evaluation
    from signrules.many_jobs.any_job import NamedFile
    from signrules.many_jobs.workers import ManyResult
    from signrules.plugins import Plugins
    from signrules.shop import Shop

SUFFIXES = (".toml", ".json")

# Windows waits for 63 handles at a time, of which a pool of processes needs two (from memory; the
# manual of concurrent.futures has the 61).
MOST_WORKERS = 61
"""The most processes that every system can wait for."""


def add_files(command: argparse.ArgumentParser) -> None:
    """The files and folders."""
    command.add_argument(
        "jobs",
        nargs="+",
        type=document_input,
        metavar="JOB",
        help="a job document, .toml or .json, or a folder of them, or - for standard input",
    )
    command.add_argument(
        "--recursive", action="store_true", help="take the folders inside folders too"
    )


def add_many_options(command: argparse.ArgumentParser) -> None:
    """The files and folders, and how many workers there are."""
    add_files(command)
    add_workers_option(command)


def add_workers_option(command: argparse.ArgumentParser) -> None:
    """How many workers there are."""
    command.add_argument(
        "--jobs",
        dest="workers",
        type=count_option,
        default=1,
        metavar="N",
        help="processes that evaluate",
    )


def count_option(text: str) -> int:
    """How many workers an option says. Raises ArgumentTypeError."""
    # Nine digits are enough to tell, and int() refuses thousands of them.
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST_WORKERS):
        raise argparse.ArgumentTypeError(
            f"found {text[:20]!r}, expected a whole number from 1 to {MOST_WORKERS}"
        )
    return int(text)


def files_of(names: Sequence[str], *, recursive: bool = False) -> tuple[list[str], list[JobError]]:
    """The files of jobs: those named, and in each folder those that end in .toml or .json and are
    neither hidden nor its shop file or work order, sorted.

    Each once, however often it is named. Also an error for each folder that cannot be read or has
    none.
    """
    files: list[str] = []
    errors: list[JobError] = []
    for name in _each_once(names):
        if not os.path.isdir(name):
            files.append(name)
            continue
        own, refused = _files_in_folder(name, recursive)
        files += own
        errors += refused
        if not own and not refused:
            deeper = "" if recursive else "; --recursive looks into the folders inside"
            errors.append(
                _refused_file(
                    name, "a folder without jobs", f"files that end in .toml or .json{deeper}"
                )
            )
    return _each_once(files), errors


def _files_in_folder(name: str, recursive: bool) -> tuple[list[str], list[JobError]]:
    """The files of jobs in a folder, and errors for what cannot be read or is not there."""
    from signrules.documents.work_orders import FILE_NAME

    files: list[str] = []
    errors: list[JobError] = []
    for folder, folders, found in os.walk(
        name, onerror=lambda error: errors.append(_unreadable_file(error))
    ):
        # In place: os.walk goes into what is left in the list.
        folders[:] = sorted(each for each in folders if recursive and not each.startswith("."))
        own = sorted(
            each
            for each in found
            if each.lower().endswith(SUFFIXES)
            and not each.startswith(".")
            and each not in (SHOP_FILE, FILE_NAME)
        )
        files += (os.path.join(folder, each) for each in own)
        if FILE_NAME in found:
            errors.extend(_lost_loads(folder))
    return files, errors


def _lost_loads(folder: str) -> Iterator[JobError]:
    """An error for each job that the work order in a folder names and that is not there."""
    from signrules.documents.work_orders import read_work_order

    try:
        order = read_work_order(folder)
    except WorkOrderError as error:
        yield JobError(error.faults, error.origin)
        return
    for load in order.loads:
        path = os.path.join(folder, load.file)
        if not os.path.exists(path):
            expected = f"the job of {load.id}, which the work order beside it names"
            yield _refused_file(path, "no such file", expected)


def unfit_work_orders(
    files: Sequence[str], named: Sequence[str], plugins: Plugins, shop: Shop
) -> Iterator[tuple[str, WorkOrderError]]:
    """The job of each load that a work order beside some files has otherwise, with the error.

    Files that are `named` themselves are taken by themselves.
    """
    # Who names one load by itself does not ask for its work order.
    folders = dict.fromkeys(os.path.dirname(file) for file in files if file not in named)
    for folder in folders:
        # Here, since of files named one by one nothing is asked: it takes a quarter of the time.
        from signrules.work_order_files import unfit_loads

        yield from unfit_loads(folder, plugins=plugins, shop=shop)


def _each_once(names: Iterable[str]) -> list[str]:
    """The names, each place once: the first name that leads there; a link is a place of its own."""
    first: dict[str, str] = {}
    for name in names:
        # The name as it was given is shown; the place alone tells whether it is the same.
        first.setdefault(os.path.normcase(os.path.abspath(name)), name)
    return list(first.values())


def one_file(names: Sequence[str]) -> bool:
    """Whether a single file is named, and no folder."""
    return len(names) == 1 and not os.path.isdir(names[0])


def judged_files(
    files: Sequence[str],
    options: argparse.Namespace,
    plugins: Plugins,
    reduce: Callable[[Evaluation], Any],
    *,
    carry: bool = False,
    kept_in: str | None = None,
) -> Generator[ManyResult[Any], None, None]:
    """What comes of each file, in order, evaluated as the options say; on a terminal a line tells
    how far it is.

    With `carry` each is evaluated with what those before it left; more workers than one are then of
    no use. Results are kept in the folder `kept_in` and read there another time; the line tells how
    many were. Raises ShopError where the shop does not fit the rules.
    """
    from signrules.cli.shared_options import shop_of, states_of
    from signrules.many_jobs.evaluating import evaluate_many
    from signrules.many_jobs.workers import AHEAD

    shop = shop_of(options, plugins)
    # A process more than there are files would start, load all plugins and find nothing to do.
    workers = 1 if carry else min(options.workers, len(files))
    with ProgressLine() as line, ExitStack() as stack:
        executor, ahead = None, None
        if workers > 1:
            executor = stack.enter_context(worker_processes(workers))
            # So many results may wait for the one before them: a folder of thousands must fit in
            # memory.
            ahead = AHEAD * workers
        # Remedies are looked for where the result is made; only here can their progress be shown.
        elif kept_in is None:
            reduce = _told_reduction(reduce, line)
        results = evaluate_many(
            jobs_as_named(files, options),
            executor=executor,
            ahead=ahead,
            plugins=plugins,
            shop=shop,
            seconds=options.seconds,
            budget=states_of(options),
            reduce=reduce,
            carry=carry,
            kept_in=kept_in,
        )
        # Ends the workers' queue at once where whoever takes the results stops early.
        with closing(results):
            shown = [shown_path(options, file) for file in files]
            yield from _told_results(results, shown, line)


def _told_results(
    results: Iterable[ManyResult[Any]], files: Sequence[str], line: ProgressLine
) -> Iterator[ManyResult[Any]]:
    """The results, with a line that tells how far it is while the next one is waited for."""
    from signrules.evaluation import Evaluation

    were_kept = 0
    line.show(_waiting_for(files, 0))
    for item in results:
        if isinstance(item.result, Evaluation):
            item.result.look_for_remedies(line.trials)
        were_kept += item.was_kept
        line.hide()
        yield item
        line.show(_waiting_for(files, item.number + 1, were_kept))


def jobs_as_named(files: Sequence[str], options: argparse.Namespace) -> list[str | NamedFile]:
    """The files as jobs to be judged: what came by standard input is called so."""
    from signrules.many_jobs.any_job import NamedFile

    return [
        NamedFile(STANDARD_INPUT, Path(file)) if is_spooled(options, file) else file
        for file in files
    ]


def _told_reduction(
    reduce: Callable[[Evaluation], Any], line: ProgressLine
) -> Callable[[Evaluation], Any]:
    """A reduction that first looks for remedies and shows the progress on a line."""

    def reduced(result: Evaluation) -> Any:
        result.look_for_remedies(line.trials)
        return reduce(result)

    return reduced


def _waiting_for(files: Sequence[str], done: int, were_kept: int = 0) -> str:
    """What is waited for when so many files are done, of which some were there already."""
    from signrules.reports.text_report import one_line

    if len(files) > 1:
        already = f", {were_kept} of them there already" if were_kept else ""
        return f"{done} of {len(files)} jobs{already}"
    if not files:
        return ""
    return f"judging {one_line(files[0])}"


def error_to_dict(error: SignrulesError) -> dict[str, Any]:
    """An error as plain data, with the faults of a document."""
    faults = error.faults if isinstance(error, DocumentError) else ()
    return {"message": str(error), "faults": list(map(_fault_to_dict, faults))}


def _fault_to_dict(fault: DocumentFault) -> dict[str, Any]:
    listed: dict[str, Any] = {"path": fault.path, "found": fault.found, "expected": fault.expected}
    if fault.more:
        listed["more"] = fault.more
    return listed


@contextmanager
def worker_processes(workers: int) -> Iterator[_Submits]:
    """Fresh processes, and what sends them work."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # A fresh process on every system: nothing of this one is in it, and it loads its plugins
    # itself.
    fresh = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers, mp_context=fresh, initializer=_ends_when_interrupted)
    try:
        yield _Submits(pool)
    finally:
        pool.shutdown(cancel_futures=True)


class _Submits:
    """A pool that cancels what waits by itself, at its end.

    A future that is cancelled from outside, and whose worker an interrupt has ended, makes some
    versions of Python print a traceback.
    """

    def __init__(self, pool: Executor) -> None:
        self._pool = pool

    def submit(self, function: Callable[..., Any], /, *arguments: Any) -> _Submits.Waiting:
        return self.Waiting(self._pool.submit(function, *arguments))

    class Waiting:
        """A future that is left alone."""

        def __init__(self, future: Future[Any]) -> None:
            self.result = future.result

        def cancel(self) -> None:
            """Left to the pool."""


def _ends_when_interrupted() -> None:
    # An interrupt goes to the workers too; they end at once and leave it to the first process to
    # say so. Where that was started not to mind interrupts, as shells start what runs in the
    # background, no worker does either.
    import signal

    if signal.getsignal(signal.SIGINT) != signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.SIG_DFL)


def _unreadable_file(error: OSError) -> JobError:
    return _refused_file(
        str(error.filename), (error.strerror or str(error)).lower(), "a folder that can be read"
    )


def _refused_file(name: str, found: str, expected: str) -> JobError:
    return JobError([DocumentFault("", found, expected)], name)
