"""Work on many jobs by the workers of any executor, given back in the order of the jobs."""

from __future__ import annotations

import os
import pickle
from collections import deque
from collections.abc import Callable, Generator, Iterable
from functools import cached_property, lru_cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeAlias, TypeVar

from attrs import frozen

from signrules.errors import SignrulesError
from signrules.many_jobs.any_job import NamedFile, failure_result, origin_of_job

if TYPE_CHECKING:
    from signrules.many_jobs.carrying import Carried

AHEAD = 4
"""How many jobs are taken ahead for each worker: enough that none waits for the next, few enough to
hold.
"""

UNKNOWN_AHEAD = 64
"""Jobs under way in all, where the executor does not say how many workers it has."""

T = TypeVar("T")

Results: TypeAlias = "Generator[ManyResult[Any], None, None]"


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


class Work(Protocol):
    """What is done with each job. It is sent to the workers, so it can be pickled."""

    def result_of(self, number: int, job: Any) -> ManyResult[Any]:
        """What comes of a job, in a worker; failures are part of it."""

    def received(self, item: ManyResult[Any]) -> ManyResult[Any]:
        """What came from a worker, made whole again here."""


def _how_far_ahead(executor: Executor) -> int:
    workers = getattr(executor, "_max_workers", None)
    return AHEAD * workers if isinstance(workers, int) and workers > 0 else UNKNOWN_AHEAD


def in_order(
    jobs: Iterable[Any], executor: Executor, work: Work, ahead: int | None = None
) -> Results:
    """What comes of each job, in their order; no more than `ahead` are under way at a time.

    Raises PluginError or SignrulesError at once for work that cannot be sent to another process.
    """
    from concurrent.futures import ThreadPoolExecutor

    parcel = _Parcel(work)
    # Threads share what there is, so plugins that cannot be sent still work there.
    if not isinstance(executor, ThreadPoolExecutor):
        parcel.check()
    return _submitted_in_order(jobs, executor, parcel, ahead or _how_far_ahead(executor))


def _submitted_in_order(
    jobs: Iterable[Any], executor: Executor, parcel: _Parcel, ahead: int
) -> Results:
    waiting: deque[tuple[int, Any, Any]] = deque()
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
                    waiting.append((number, job, _submit_job(executor, parcel, number, job)))
            if waiting:
                yield _received(parcel.work, *waiting.popleft())
        if stopped is not None:
            raise stopped
    finally:
        # Whoever stops listening, by an interrupt or by leaving the loop, wants no more of them.
        for _, _, future in waiting:
            if not isinstance(future, Exception):
                future.cancel()


def _submit_job(executor: Executor, parcel: _Parcel, number: int, job: Any) -> Any:
    """The future, or the exception with which the executor refuses the job."""
    # A worker may stand in another folder.
    sent = job
    if isinstance(job, str | os.PathLike):
        sent = NamedFile(os.fspath(job), Path(job).absolute())
    try:
        return executor.submit(_work_on_job, parcel, number, sent)
    except Exception as error:
        return error


def _received(work: Work, number: int, job: Any, future: Any) -> ManyResult[Any]:
    """What came of a job that was submitted."""
    try:
        if isinstance(future, Exception):
            raise future
        item: ManyResult[Any] = future.result()
    except Exception as error:
        origin = origin_of_job(number, job)
        return ManyResult(number, origin, error=failure_result(error, origin))
    return work.received(item)


def _work_on_job(parcel: _Parcel | _ReceivedParcel, number: int, job: Any) -> ManyResult[Any]:
    """What a worker does."""
    try:
        work = parcel.work
    except Exception as error:
        origin = origin_of_job(number, job)
        return ManyResult(number, origin, error=failure_result(error, origin))
    return work.result_of(number, job)


class _Parcel:
    """The work as it goes to the workers.

    It is pickled only where an executor pickles at all, and only once.
    """

    def __init__(self, work: Work) -> None:
        self.work = work

    def check(self) -> None:
        """Raises PluginError or SignrulesError for what cannot be sent to another process."""
        self.data  # noqa: B018

    @cached_property
    def data(self) -> bytes:
        try:
            return pickle.dumps(self.work)
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
        return _ReceivedParcel, (self.data,)


_UNPACKING = Lock()


@frozen
class _ReceivedParcel:
    """A parcel that has come to a worker.

    It is unpacked in the task, where an error can be told, and once in each process.
    """

    data: bytes

    @property
    def work(self) -> Work:
        # Threads of one process that all begin at once would load the plugins as often; and sources
        # that are read in several threads at a time fail now and then in CPython 3.11.
        with _UNPACKING:
            return _unpacked_data(self.data)


@lru_cache(maxsize=2)
def _unpacked_data(data: bytes) -> Work:
    work: Work = pickle.loads(data)
    return work
