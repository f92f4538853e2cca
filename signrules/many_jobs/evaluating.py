"""Many jobs, evaluated here or by the workers of any executor, and given back in their order."""

from __future__ import annotations

import datetime
import os
import pickle
from collections import deque
from collections.abc import Callable, Generator, Iterable, Sized
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Generic, Protocol, TypeAlias, TypeVar, overload

from attrs import evolve, frozen

from signrules import __version__, evaluation
from signrules.errors import JobError, SignrulesError
from signrules.evaluation import Evaluation, Live
from signrules.many_jobs.any_job import (
    AnyJob,
    NamedFile,
    demand_several,
    failure_result,
    origin_of_job,
    read_any_job,
)
from signrules.many_jobs.carrying import Carried, JobRow
from signrules.many_jobs.kept_results import (
    KeptResults,
    kept_results,
    name_of_function,
    plugins_as_plain,
)
from signrules.model.job import Job
from signrules.planning.pipeline import BUDGET
from signrules.plugins import Plugins, load_plugins
from signrules.shop import Shop

__all__ = ["ManyResult", "evaluate_many"]

AHEAD = 4
"""How many jobs are taken ahead for each worker: enough that none waits for the next, few enough to
hold.
"""

UNKNOWN_AHEAD = 64
"""Jobs under way in all, where the executor does not say how many workers it has."""

T = TypeVar("T")

_Results: TypeAlias = "Generator[ManyResult[Any], None, None]"


class Executor(Protocol):
    """What evaluates elsewhere: a `concurrent.futures.Executor`, or whatever has its `submit`."""

    def submit(self, fn: Callable[..., Any], /, *args: Any) -> Any:
        """Something with `result()` and `cancel()`."""


@frozen
class ManyResult(Generic[T]):
    """What came of one of many jobs: a result, or the error that says why there is none.

    `number` counts from 0 in the order of the jobs; `origin` is the path of the file, or
    `jobs[number]`. The error is a JobError where the job is at fault, a NotEvaluated where
    signrules or a worker failed, and whatever else signrules raises on purpose. `carried` is what
    earlier jobs left for this one; None where nothing is carried, or where there was no evaluation.
    `was_kept` says that the result was there already and nothing was evaluated.
    """

    number: int
    origin: str
    result: T | None = None
    error: SignrulesError | None = None
    carried: Carried | None = None
    was_kept: bool = False


@overload
def evaluate_many(
    jobs: Iterable[AnyJob],
    *,
    executor: Executor | None = None,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    reduce: None = None,
    progress: Callable[[int, int | None], object] | None = None,
    ahead: int | None = None,
    carry: bool = False,
    kept_in: str | os.PathLike[str] | None = None,
) -> Generator[ManyResult[Evaluation], None, None]: ...


@overload
def evaluate_many(
    jobs: Iterable[AnyJob],
    *,
    executor: Executor | None = None,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    reduce: Callable[[Evaluation], T],
    progress: Callable[[int, int | None], object] | None = None,
    ahead: int | None = None,
    carry: bool = False,
    kept_in: str | os.PathLike[str] | None = None,
) -> Generator[ManyResult[T], None, None]: ...


def evaluate_many(
    jobs: Iterable[AnyJob],
    *,
    executor: Executor | None = None,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    reduce: Callable[[Evaluation], Any] | None = None,
    progress: Callable[[int, int | None], object] | None = None,
    ahead: int | None = None,
    carry: bool = False,
    kept_in: str | os.PathLike[str] | None = None,
) -> _Results:
    """Evaluate jobs lazily: one ManyResult for each, in their order, whatever comes of the others.

    `jobs` may be endless; no more than `ahead` of them are under way at a time, by default four for
    each worker.
    `executor` is any `concurrent.futures.Executor`; without one, jobs are evaluated here, each when
    it is asked for. Files are read by the workers. `plugins` to `seconds` are those of
    `evaluate`; `today` is the same day for all.
    `reduce` is called with each evaluation where it was made; what it gives back is the result, and
    nothing else is sent. `progress` is called here with the number of jobs done and that of all,
    None where it is not known.
    With `carry` the jobs are printed in their order: the alignments that their plans make, dated
    `today`, are on record for later jobs of the same printer, and the gap stands where the job
    before left it. Each result says what was carried. A job without a safe order leaves nothing.
    `kept_in` is a folder in which the worker keeps each result, to be read there another time: the
    report of `Evaluation.to_dict`, or what `reduce` makes, as JSON gives it back. Errors are not
    kept.

    A worker process loads the plugins again. Raises, before anything is evaluated, PluginError
    where they cannot be sent, SignrulesError where `reduce` cannot, ShopError where the shop does
    not fit the rules, TypeError for a single job instead of several, ValueError for an `ahead`
    below 1 and for `carry` beside an `executor` or `kept_in`, SignrulesError for a folder that
    cannot be made. What `jobs` itself raises comes out after the results of the jobs before.
    """
    demand_several(jobs)
    if ahead is not None and ahead < 1:
        raise ValueError(f"ahead is {ahead}, expected 1 or more")
    if carry and executor is not None:
        raise ValueError(
            "found carry and an executor, expected one of them: with carry each job waits for the"
            " one before it"
        )
    if carry and kept_in is not None:
        raise ValueError(
            "found carry and kept_in, expected one of them: with carry a result depends on the jobs"
            " before it"
        )
    plugins = plugins or load_plugins()
    shop = shop or Shop()
    shop.placed(plugins.rules, plugins.names, plugins.settings)
    how = _How(plugins, shop, budget, today or datetime.date.today(), audited, seconds, reduce)
    if kept_in is not None:
        how = how.keeping(Path(kept_in))
    if executor is None:
        row = JobRow(how.evaluate, how.today) if carry else None
        results = (_evaluated_job(how, number, job, row) for number, job in enumerate(jobs))
    else:
        carrier = _Carrier(how)
        # Threads share what there is, so plugins that cannot be sent still work there.
        if not isinstance(executor, ThreadPoolExecutor):
            carrier.check()
        results = _in_order(jobs, executor, carrier, ahead or _how_far_ahead(executor))
    if progress is None:
        return results
    total = len(jobs) if isinstance(jobs, Sized) else None
    return _with_progress(results, progress, total)


def _with_progress(
    results: _Results, progress: Callable[[int, int | None], object], total: int | None
) -> _Results:
    # Whoever leaves the loop closes this generator, and with it the one that holds the futures.
    with closing(results):
        for item in results:
            progress(item.number + 1, total)
            yield item


def _how_far_ahead(executor: Executor) -> int:
    workers = getattr(executor, "_max_workers", None)
    return AHEAD * workers if isinstance(workers, int) and workers > 0 else UNKNOWN_AHEAD


def _in_order(
    jobs: Iterable[AnyJob], executor: Executor, carrier: _Carrier, ahead: int
) -> _Results:
    waiting: deque[tuple[int, AnyJob, Any]] = deque()
    source = enumerate(jobs)
    stopped: Exception | None = None
    more = True
    try:
        while more or waiting:
            # Filled up before anything is waited for, so that all workers have something to do.
            while more and len(waiting) < ahead:
                try:
                    number, job = next(source)
                except StopIteration:
                    more = False
                except Exception as error:
                    more, stopped = False, error
                else:
                    waiting.append((number, job, _submit_job(executor, carrier, number, job)))
            if waiting:
                yield carrier.how.received(*waiting.popleft())
        if stopped is not None:
            raise stopped
    finally:
        # Whoever stops listening, by an interrupt or by leaving the loop, wants no more of them.
        for _, _, future in waiting:
            if not isinstance(future, Exception):
                future.cancel()


def _submit_job(executor: Executor, carrier: _Carrier, number: int, job: AnyJob) -> Any:
    """The future, or the exception with which the executor refuses the job."""
    # A worker may stand in another folder.
    sent: AnyJob | NamedFile = job
    if isinstance(job, str | os.PathLike):
        sent = NamedFile(os.fspath(job), Path(job).absolute())
    try:
        return executor.submit(_work_on_job, carrier, number, sent)
    except Exception as error:
        return error


def _work_on_job(
    carrier: _Carrier | _Arrived, number: int, job: AnyJob | NamedFile
) -> ManyResult[Any]:
    """What a worker does."""
    try:
        how = carrier.how
    except Exception as error:
        return ManyResult(
            number,
            origin_of_job(number, job),
            error=failure_result(error, origin_of_job(number, job)),
        )
    return _evaluated_job(how, number, job)


def _evaluated_job(
    how: _How, number: int, job: AnyJob | NamedFile, row: JobRow | None = None
) -> ManyResult[Any]:
    origin = origin_of_job(number, job)
    carried = None
    try:
        found = read_any_job(job, plugins=how.plugins, shop=how.shop)
        if how.kept is not None:
            made, was_kept = how.kept_result(found, how.kept)
            return ManyResult(number, origin, made, was_kept=was_kept)
        if row is None:
            result = how.evaluate(found)
        else:
            result, carried = row.evaluate(found)
        if how.reduce is None:
            return ManyResult(number, origin, result, carried=carried)
        return ManyResult(number, origin, how.reduce(result), carried=carried)
    except JobError as error:
        failure: SignrulesError = JobError(error.faults, origin)
    except Exception as error:
        failure = failure_result(error, origin)
    return ManyResult(number, origin, error=failure, carried=carried)


@frozen(eq=False)
class _How:
    """How each job is evaluated."""

    plugins: Plugins
    shop: Shop
    budget: int
    today: datetime.date
    audited: bool
    seconds: float | None
    reduce: Callable[[Evaluation], Any] | None
    kept: KeptResults | None = None

    def keeping(self, folder: Path) -> _How:
        """The same with results kept in a folder, each as plain data."""
        reduce = Evaluation.to_dict if self.reduce is None else self.reduce
        options = (self.budget, self.today, self.audited, self.seconds)
        plugins, name = plugins_as_plain(self.plugins), name_of_function(reduce)
        kept = kept_results(folder, __version__, plugins, self.shop, options, name)
        return evolve(self, reduce=reduce, kept=kept)

    def kept_result(self, job: Job, kept: KeptResults) -> tuple[Any, bool]:
        """The result of a job, made and kept where it is not there, and whether it was there."""
        path = kept.path_of(job)
        try:
            return kept.result_at(path), True
        except LookupError:
            assert self.reduce is not None
            return kept.keep(path, self.reduce(self.evaluate(job))), False

    def evaluate(self, job: Job) -> Evaluation:
        return evaluation.evaluate(
            job,
            plugins=self.plugins,
            shop=self.shop,
            budget=self.budget,
            today=self.today,
            audited=self.audited,
            seconds=self.seconds,
        )

    def received(self, number: int, job: AnyJob, future: Any) -> ManyResult[Any]:
        """What came of a job that was submitted."""
        try:
            if isinstance(future, Exception):
                raise future
            item: ManyResult[Any] = future.result()
        except Exception as error:
            origin = origin_of_job(number, job)
            return ManyResult(number, origin, error=failure_result(error, origin))
        if isinstance(item.result, Evaluation):
            return evolve(item, result=self._here.adopted(item.result, today=self.today))
        return item

    @cached_property
    def _here(self) -> Live:
        return Live(
            plugins=self.plugins,
            shop=self.shop,
            budget=self.budget,
            audited=self.audited,
            seconds=self.seconds,
        )


class _Carrier:
    """Takes to the workers how to evaluate.

    It is pickled only where an executor pickles at all, and only once.
    """

    def __init__(self, how: _How) -> None:
        self.how = how

    def check(self) -> None:
        """Raises PluginError or SignrulesError for what cannot be sent to another process."""
        self.data  # noqa: B018

    @cached_property
    def data(self) -> bytes:
        try:
            return pickle.dumps(self.how)
        except SignrulesError:
            raise
        except Exception as error:
            advice = "define it at the top of a module that can be imported"
            raise SignrulesError(
                f"`reduce` cannot be sent to another process ({error}): {advice}"
            ) from None

    def __reduce__(self) -> tuple[object, ...]:
        # Pickled once as bytes: each task would pickle rules and plugins again, which takes longer
        # than to judge a small job.
        return _Arrived, (self.data,)


@frozen
class _Arrived:
    """A carrier in a worker.

    It is unpacked in the task, where an error can be told, and once in each process.
    """

    data: bytes

    @property
    def how(self) -> _How:
        return _unpacked_data(self.data)


@lru_cache(maxsize=2)
def _unpacked_data(data: bytes) -> _How:
    how: _How = pickle.loads(data)
    return how
