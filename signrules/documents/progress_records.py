"""The record of a half-printed job: what is done, and what was measured and noticed meanwhile.

A page of a run sheet writes it, `signrules next` reads it. `RECORD_KEYS` declares it once: the
reader and the JSON Schema are made of that.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from attrs import field, frozen

from signrules.documents.job_fingerprints import job_fingerprint, short_fingerprint
from signrules.documents.reading import plain_data
from signrules.errors import DocumentFault, JobError, RecordError
from signrules.model.job import Job
from signrules.model.wording import NOTHING, expected_name, shown_value

VERSION = 1
VERSION_KEY = "signrules_record"
MOST_BYTES = 1_000_000
"""The largest file of heights that is read."""

Faults = Iterator[DocumentFault]


@frozen
class RecordKey:
    """One key of a record: what it means, its JSON Schema, and what is wrong with a value."""

    meaning: str
    schema: Mapping[str, Any]
    faults: Callable[[object, str], Faults]


def _text_faults(value: object, path: str) -> Faults:
    if not isinstance(value, str):
        yield DocumentFault(path, shown_value(value), "a text")


def _flag_faults(value: object, path: str) -> Faults:
    if not isinstance(value, bool):
        yield DocumentFault(path, shown_value(value), "true or false")


def _names_faults(value: object, path: str) -> Faults:
    if not isinstance(value, list | tuple):
        yield DocumentFault(path, shown_value(value), "a list of names")
        return
    for number, name in enumerate(value):
        yield from _text_faults(name, f"{path}[{number}]")


def _moved_faults(value: object, path: str) -> Faults:
    if not isinstance(value, Mapping):
        yield from _names_faults(value, path)
        return
    for sheet, method in value.items():
        if method is not None:
            yield from _text_faults(method, f"{path}.{sheet}")


def _heights_faults(value: object, path: str) -> Faults:
    if not isinstance(value, Mapping):
        yield DocumentFault(path, shown_value(value), "lists of heights in mm by sign")
        return
    for sign, heights in value.items():
        where = f"{path}.{sign}"
        if not isinstance(heights, list | tuple):
            expected = "a list of heights in mm, as [0.62, 0.65]"
            yield DocumentFault(where, shown_value(heights), expected)
            continue
        for number, height in enumerate(heights):
            if isinstance(height, bool) or not isinstance(height, int | float):
                expected = "a number of mm, without its unit, as 0.65"
                yield DocumentFault(f"{where}[{number}]", shown_value(height), expected)


def _table_faults(value: object, path: str) -> Faults:
    if not isinstance(value, Mapping):
        yield DocumentFault(path, shown_value(value), "a table")


_TEXT = {"type": "string"}
_NAMES = {"type": "array", "items": _TEXT}
_HEIGHTS = {
    "type": "object",
    "additionalProperties": {"type": "array", "items": {"type": "number"}},
}
_MOVED = {
    "anyOf": [
        _NAMES,
        {"type": "object", "additionalProperties": {"type": ["string", "null"]}},
    ]
}
_FLAG = {"type": "boolean"}

RECORD_KEYS = {
    "job": RecordKey("name of the job", _TEXT, _text_faults),
    "fingerprint": RecordKey("fingerprint of the job that was printed", _TEXT, _text_faults),
    "done": RecordKey("passes and handling that are done, in their order", _NAMES, _names_faults),
    "measured": RecordKey("heights of printed dots in mm, by sign", _HEIGHTS, _heights_faults),
    "moved": RecordKey(
        "sheets that were moved meanwhile, or by sheet the method that puts it back",
        _MOVED,
        _moved_faults,
    ),
    "struck": RecordKey("whether a head struck something", _FLAG, _flag_faults),
    "readings": RecordKey(
        "what else was noted; nothing here is made of it", {"type": "object"}, _table_faults
    ),
    "entries": RecordKey(
        "what a page needs to show itself again; nothing here is made of it",
        {"type": "object"},
        _table_faults,
    ),
}
"""The keys of a record beside its version. None is required."""


def methods_by_sheet(
    moved: Mapping[str, str | None] | Iterable[str],
) -> dict[str, str | None]:
    """For each sheet that was moved the method that puts it back, None where none is stated."""
    if isinstance(moved, Mapping):
        return dict(moved)
    return dict.fromkeys(moved)


@frozen
class ProgressRecord:
    """How far a job is printed. Heights in mm; the fields mean what `RECORD_KEYS` says."""

    job: str = ""
    fingerprint: str = ""
    done: tuple[str, ...] = field(default=(), converter=tuple)
    measured: Mapping[str, tuple[float, ...]] = field(factory=dict)
    moved: Mapping[str, str | None] = field(default=(), converter=methods_by_sheet)
    struck: bool = False
    readings: Mapping[str, Any] = field(factory=dict)
    entries: Mapping[str, Any] = field(factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON: `record_from_dict` makes the same of it."""
        return {
            VERSION_KEY: VERSION,
            "job": self.job,
            "fingerprint": self.fingerprint,
            "done": list(self.done),
            "measured": {sign: list(heights) for sign, heights in self.measured.items()},
            "moved": dict(self.moved),
            "struck": self.struck,
            "readings": dict(self.readings),
            "entries": dict(self.entries),
        }

    def differs_from(self, job: Job) -> str | None:
        """What tells that the record is one of another job, in words; None where nothing does."""
        own = job_fingerprint(job)
        if self.fingerprint and self.fingerprint != own:
            theirs = short_fingerprint(self.fingerprint)
            return (
                f"the record is of a job with the fingerprint {theirs}, this one has"
                f" {short_fingerprint(own)}: the job was changed since, or is another"
            )
        if self.job and self.job != job.name:
            return f"the record is of the job {self.job!r}, this one is called {job.name!r}"
        return None


def record_from_dict(document: object) -> ProgressRecord:
    """The record that plain data describes. Raises RecordError with every fault."""
    if not isinstance(document, Mapping):
        raise RecordError([DocumentFault("", shown_value(document), "a table")])
    faults = [*_faults_of_version(document), *_faults_of_keys(document)]
    if faults:
        raise RecordError(faults)
    stated = {key: value for key, value in document.items() if key != VERSION_KEY}
    heights = stated.get("measured", {})
    stated["measured"] = {sign: tuple(map(float, values)) for sign, values in heights.items()}
    return ProgressRecord(**stated)


def _faults_of_version(document: Mapping[Any, Any]) -> Faults:
    version = document.get(VERSION_KEY)
    if type(version) is not int or version != VERSION:
        found = shown_value(version) if VERSION_KEY in document else NOTHING
        yield DocumentFault(VERSION_KEY, found, f"the version of the record, {VERSION}")


def _faults_of_keys(document: Mapping[Any, Any]) -> Faults:
    for key, value in document.items():
        if key in RECORD_KEYS:
            yield from RECORD_KEYS[key].faults(value, key)
        elif key != VERSION_KEY:
            known = tuple(RECORD_KEYS)
            expected = expected_name(str(key), known, f"one of {', '.join(known)}")
            yield DocumentFault(str(key), "an unknown key", expected)


def read_record(path: str | os.PathLike[str]) -> ProgressRecord:
    """The record in a JSON or TOML file. Raises RecordError with the file as its origin."""
    try:
        return record_from_dict(plain_data(Path(path)))
    except (JobError, RecordError) as error:
        raise RecordError(error.faults, os.fspath(path)) from None


def read_heights(path: str | os.PathLike[str]) -> dict[str, tuple[float, ...]]:
    """Measured heights in mm by sign: a CSV file with the columns sign and height, a record, or
    lists of heights by sign alone.

    Raises RecordError with the file as its origin.
    """
    if Path(path).suffix.lower() != ".csv":
        return _heights_of_data(path)
    try:
        data = Path(path).read_bytes()
        if len(data) > MOST_BYTES:
            raise ValueError(f"more than {MOST_BYTES:,} bytes")
        text = data.decode("utf-8-sig")
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        fault = DocumentFault("", found, "a CSV file in UTF-8 that can be read")
        raise RecordError([fault], os.fspath(path)) from None
    return _heights_of_csv(text, os.fspath(path))


def _heights_of_data(path: str | os.PathLike[str]) -> dict[str, tuple[float, ...]]:
    try:
        document = plain_data(Path(path))
        if isinstance(document, Mapping) and not {VERSION_KEY, *RECORD_KEYS}.intersection(document):
            return heights_from_dict(document)
        return dict(record_from_dict(document).measured)
    except (JobError, RecordError) as error:
        raise RecordError(error.faults, os.fspath(path)) from None


def heights_from_dict(document: object) -> dict[str, tuple[float, ...]]:
    """Heights in mm by sign, as `{"room-214": [0.62, 0.65]}`. Raises RecordError."""
    faults = list(_heights_faults(document, "measured"))
    if faults or not isinstance(document, Mapping):
        raise RecordError(faults)
    return {str(sign): tuple(map(float, heights)) for sign, heights in document.items()}


def _heights_of_csv(text: str, origin: str) -> dict[str, tuple[float, ...]]:
    rows = csv.DictReader(io.StringIO(text))
    columns = list(rows.fieldnames or ())
    if not {"sign", "height"} <= set(columns):
        found = ", ".join(columns) or NOTHING
        raise RecordError([DocumentFault("row 1", found, "columns sign and height")], origin)
    heights: dict[str, tuple[float, ...]] = {}
    faults = []
    for number, row in enumerate(rows, start=2):
        sign, written = row["sign"] or "", row["height"] or ""
        try:
            heights[sign] = (*heights.get(sign, ()), float(written))
        except ValueError:
            path = f"row {number}, height"
            faults.append(DocumentFault(path, shown_value(written), "a number of mm, as 0.65"))
    if faults:
        raise RecordError(faults, origin)
    return heights


def record_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a record, made of `RECORD_KEYS`."""
    properties: dict[str, Any] = {
        VERSION_KEY: {"const": VERSION, "description": "the version of the record"}
    }
    for key, declared in RECORD_KEYS.items():
        properties[key] = {"description": declared.meaning, **declared.schema}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A signrules record of a half-printed job",
        "type": "object",
        "required": [VERSION_KEY],
        "additionalProperties": False,
        "properties": properties,
    }
