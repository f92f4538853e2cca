"""A job as it may be given: itself, its document as plain data, or the path of its file."""

from __future__ import annotations

import os
import traceback
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, TypeAlias

from attrs import frozen

from signrules.documents.reading import job_from_dict, read_job
from signrules.errors import JobError, NotEvaluated, SignrulesError
from signrules.model.job import Job
from signrules.model.wording import shown_value
from signrules.plugins import Plugins
from signrules.shop import Shop


@frozen
class NamedJob:
    """What is called by a name of its own and not by its place among the jobs."""

    name: str


@frozen
class NamedFile(NamedJob):
    """A file by the name that it was given, and where it is."""

    path: Path


AnyJob: TypeAlias = Job | Mapping[str, Any] | str | os.PathLike[str] | NamedFile
"""A job, its document as plain data, the path of its file, or a file by another name."""


def read_any_job(job: AnyJob, *, plugins: Plugins, shop: Shop) -> Job:
    """The job that is meant. Raises JobError with every fault of its document."""
    if isinstance(job, Job):
        return job
    if isinstance(job, NamedFile):
        return read_job(job.path, plugins=plugins, shop=shop)
    if isinstance(job, str | os.PathLike):
        return read_job(job, plugins=plugins, shop=shop)
    return job_from_dict(job, plugins=plugins, shop=shop)


def origin_of_job(number: int, job: AnyJob | NamedJob) -> str:
    """What errors call a job: the path of its file, or its place among the jobs."""
    if isinstance(job, NamedJob):
        return job.name
    if isinstance(job, str | os.PathLike):
        return os.fspath(job)
    return f"jobs[{number}]"


def failure_result(error: BaseException, origin: str) -> SignrulesError:
    """An exception as the error that tells why a job was not evaluated."""
    # The file is named by the caller's own word for it, wherever it was read.
    if isinstance(error, JobError):
        return JobError(error.faults, origin)
    if isinstance(error, SignrulesError):
        return error
    # Loaded here: jobs that are judged one after the other need no executor.
    from concurrent.futures import BrokenExecutor

    if isinstance(error, BrokenExecutor):
        why = (
            "a worker process ended abruptly; it may have run out of memory, in this job or in"
            " another"
        )
        return NotEvaluated(f"{origin} was not evaluated: {why}")
    # On one line: it becomes a line of a report.
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return NotEvaluated(
        f"{origin} was not evaluated: {what}", "".join(traceback.format_exception(error))
    )


def demand_several(jobs: object) -> None:
    """Raises TypeError for a single job where several are expected, and for what holds none."""
    if isinstance(jobs, Job | Mapping | str | os.PathLike) or not isinstance(jobs, Iterable):
        raise TypeError(f"jobs is {shown_value(jobs)}, expected a list or another iterable of jobs")
