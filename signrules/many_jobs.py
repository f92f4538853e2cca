"""Many jobs, evaluated here or by the workers of any executor, and given back in their order."""

from __future__ import annotations

import datetime
import os
import pickle
import traceback
from collections import deque
from collections.abc import Callable, Generator, Iterable, Mapping, Sized
from concurrent.futures import BrokenExecutor, ThreadPoolExecutor
from contextlib import closing
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Generic, Protocol, TypeAlias, TypeVar, overload

from attrs import evolve, frozen

from signrules import evaluation
from signrules.documents.reading import job_from_dict, read_job
from signrules.errors import JobError, NotEvaluated, SignrulesError
from signrules.evaluation import Evaluation, Live
from signrules.model.job import Job
from signrules.model.wording import shown_value
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

AnyJob: TypeAlias = Job | Mapping[str, Any] | str | os.PathLike[str]
"""A job, its document as plain data, or the path of its file."""

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
    signrules or a worker failed, and whatever else signrules raises on purpose.
    """

    number: int
    origin: str
    result: T | None = None
    error: SignrulesError | None = None


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

    A worker process loads the plugins again. Raises, before anything is evaluated, PluginError
    where they cannot be sent, SignrulesError where `reduce` cannot, ShopError where the shop does
    not fit the rules, TypeError for a single job instead of several, ValueError for an `ahead`
    below 1. What `jobs` itself raises comes out after the results of the jobs before.
    """
    if isinstance(jobs, Job | Mapping | str | os.PathLike):
        raise TypeError(f"jobs is {shown_value(jobs)}, expected a list or another iterable of jobs")
    if ahead is not None and ahead < 1:
        raise ValueError(f"ahead is {ahead}, expected 1 or more")
    plugins = plugins or load_plugins()
    shop = shop or Shop()
    shop.placed(plugins.rules, plugins.names, plugins.settings)
    how = _How(plugins, shop, budget, today or datetime.date.today(), audited, seconds, reduce)
    if executor is None:
        results = (_evaluated_job(how, number, job) for number, job in enumerate(jobs))
    else:
        carrier = _Carrier(how)
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
    sent: AnyJob | _File = job
    if isinstance(job, str | os.PathLike):
        sent = _File(os.fspath(job), Path(job).absolute())
    try:
        return executor.submit(_work_on_job, carrier, number, sent)
    except Exception as error:
        return error


@frozen
class _File:
    """A file by the name that it was given, and where it is."""

    name: str
    path: Path


def _work_on_job(carrier: _Carrier | _Arrived, number: int, job: AnyJob | _File) -> ManyResult[Any]:
    """What a worker does."""
    try:
        how = carrier.how
    except Exception as error:
        return ManyResult(
            number,
            _origin_of_job(number, job),
            error=_failure_result(error, _origin_of_job(number, job)),
        )
    return _evaluated_job(how, number, job)


def _evaluated_job(how: _How, number: int, job: AnyJob | _File) -> ManyResult[Any]:
    origin = _origin_of_job(number, job)
    try:
        result = how.evaluate(_read_any_job(job, how))
        if how.reduce is None:
            return ManyResult(number, origin, result)
        return ManyResult(number, origin, how.reduce(result))
    except JobError as error:
        return ManyResult(number, origin, error=JobError(error.faults, origin))
    except Exception as error:
        return ManyResult(number, origin, error=_failure_result(error, origin))


def _read_any_job(job: AnyJob | _File, how: _How) -> Job:
    if isinstance(job, Job):
        return job
    if isinstance(job, _File):
        return read_job(job.path, plugins=how.plugins, shop=how.shop)
    if isinstance(job, str | os.PathLike):
        return read_job(job, plugins=how.plugins, shop=how.shop)
    return job_from_dict(job, plugins=how.plugins, shop=how.shop)


def _origin_of_job(number: int, job: AnyJob | _File) -> str:
    if isinstance(job, _File):
        return job.name
    if isinstance(job, str | os.PathLike):
        return os.fspath(job)
    return f"jobs[{number}]"


def _failure_result(error: BaseException, origin: str) -> SignrulesError:
    if isinstance(error, SignrulesError):
        return error
    if isinstance(error, BrokenExecutor):
        why = (
            "a worker process ended abruptly; it may have run out of memory, in this job or in"
            " another"
        )
        return NotEvaluated(f"{origin} was not evaluated: {why}")
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return NotEvaluated(
        f"{origin} was not evaluated: {what}", "".join(traceback.format_exception(error))
    )


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
            origin = _origin_of_job(number, job)
            return ManyResult(number, origin, error=_failure_result(error, origin))
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
