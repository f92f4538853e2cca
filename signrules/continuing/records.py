"""The record of a run sheet: a JSON document that says how far a job has come.

    {"signrules_record": 1, "fingerprint": "sha256:...", "done": ["ground"],
     "measured": {"room-214": [0.62, 0.65]}, "moved": {"panel": "pins"}, "struck": false}

A browser adds what else was written on the page; that is kept in the file and not read here.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from signrules.continuing.progress import Progress
from signrules.documents.job_fingerprints import job_fingerprint, short_fingerprint
from signrules.documents.reading import plain_data
from signrules.errors import DocumentFault, JobError, RecordError
from signrules.model.job import Job
from signrules.model.wording import NOTHING, expected_name, shown_value

VERSION = 1
VERSION_KEY = "signrules_record"
READ = ("done", "measured", "moved", "struck")
BESIDE = ("job", "fingerprint", "readings", "entries")
"""What a page writes besides: for people, and to see that it is of the same job."""


def read_progress(path: str | os.PathLike[str], job: Job) -> Progress:
    """How far a job has come, as a file tells.

    Raises RecordError, with the file's name as its origin, for every fault of it, and where it is
    the record of another job.
    """
    origin = os.fspath(path)
    try:
        return progress_from_dict(plain_data(Path(path)), job)
    except (JobError, RecordError) as error:
        raise RecordError(error.faults, origin) from None


def progress_from_dict(document: object, job: Job) -> Progress:
    """The same of plain data. Raises RecordError with every fault."""
    if not isinstance(document, Mapping):
        raise RecordError([DocumentFault("", shown_value(document), "a table")])
    faults = [
        *_faults_of_keys(document),
        *_faults_of_kinds(document),
        *_fault_of_job(document, job),
    ]
    if faults:
        raise RecordError(faults)
    progress = Progress(
        document.get("done", ()),
        document.get("measured", {}),
        document.get("moved", {}),
        document.get("struck", False),
    )
    progress.demand_fit(job)
    return progress


def _faults_of_keys(document: Mapping[Any, Any]) -> Iterator[DocumentFault]:
    version = document.get(VERSION_KEY)
    if type(version) is not int or version != VERSION:
        found = shown_value(version) if VERSION_KEY in document else NOTHING
        yield DocumentFault(VERSION_KEY, found, f"the version of the record, {VERSION}")
    known = (VERSION_KEY, *READ, *BESIDE)
    for key in document:
        if key not in known:
            expected = expected_name(str(key), known, f"one of {', '.join(READ)}")
            yield DocumentFault(str(key), "an unknown key", expected)


def _faults_of_kinds(document: Mapping[Any, Any]) -> Iterator[DocumentFault]:
    done = document.get("done", [])
    if not isinstance(done, list) or not all(isinstance(name, str) for name in done):
        yield DocumentFault("done", shown_value(done), "a list of passes and handling")
    measured = document.get("measured", {})
    if not isinstance(measured, Mapping) or not all(
        isinstance(heights, list) for heights in measured.values()
    ):
        yield DocumentFault("measured", shown_value(measured), "for each sign a list of heights")
    moved = document.get("moved", {})
    if not isinstance(moved, Mapping) or not all(
        method is None or isinstance(method, str) for method in moved.values()
    ):
        expected = "for each sheet the method that puts it back, or null"
        yield DocumentFault("moved", shown_value(moved), expected)
    struck = document.get("struck", False)
    if type(struck) is not bool:
        yield DocumentFault("struck", shown_value(struck), "true or false")


def _fault_of_job(document: Mapping[Any, Any], job: Job) -> Iterator[DocumentFault]:
    """A record that names a job by its fingerprint must be of this one."""
    found = document.get("fingerprint")
    expected = job_fingerprint(job)
    if found is not None and found != expected:
        shown = short_fingerprint(found) if isinstance(found, str) else shown_value(found)
        yield DocumentFault(
            "fingerprint",
            shown,
            f"that of this job, {short_fingerprint(expected)}: the job was changed since the sheet"
            " was printed, or it is another",
        )
