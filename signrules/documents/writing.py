"""From a job to a document that reads back as the same job."""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from signrules.documents.figures import figure_table
from signrules.documents.paths import path_parts
from signrules.documents.reading import VERSION
from signrules.documents.table_reader import write_table
from signrules.documents.toml import to_toml
from signrules.documents.whole_files import put_in_place, put_new
from signrules.errors import DocumentFault, JobError
from signrules.given_values import demand_given
from signrules.model.consistency import TABLES
from signrules.model.job import Job
from signrules.model.origins import Origin
from signrules.model.wording import shown_value


def job_to_dict(job: Job) -> dict[str, Any]:
    """The job as plain data, JSON-ready, without what is default: `job_from_dict` makes the same
    job of it.
    """
    demand_given("job_to_dict", (job, Job))
    tables = {name: [write_table(item) for item in getattr(job, name)] for name in TABLES}
    document = {
        "signrules": VERSION,
        **write_table(job),
        "printer": write_table(job.printer),
        **{name: rows for name, rows in tables.items() if rows},
    }
    for path, origin in job.origins.items():
        _write_origin(document, path, origin)
    return document


def _write_origin(document: dict[str, Any], path: str, origin: Origin) -> None:
    """Put a figure table in the place of a value; what is a default is not there and stays so.

    The word that chooses what a table is stays a word.
    """
    *parts, last = path_parts(path)
    if last == "control":
        return
    holder: Any = document
    for part in parts:
        holder = _inside(holder, part)
    if isinstance(holder, dict) and last in holder:
        holder[last] = figure_table(holder[last], origin)


def _inside(holder: object, part: str | int) -> object:
    if isinstance(holder, dict):
        return holder.get(part)
    if isinstance(holder, list):
        for position, row in enumerate(holder):
            if part == position or (isinstance(row, dict) and row.get("id") == part):
                return row
    return None


def write_job(job: Job, path: str | os.PathLike[str]) -> None:
    """Writes the job as TOML or JSON, told apart by the file's suffix; all of it or nothing.

    Raises JobError, with the file's name as its origin, where the suffix is another or the file
    cannot be written.
    """
    write_document(job_to_dict(job), path)


def write_document(document: Mapping[str, Any], path: str | os.PathLike[str]) -> None:
    """Writes a document as TOML or JSON, in the place of what stands there; all of it or nothing.

    Raises JobError, with the file's name as its origin, where the suffix is another or the file
    cannot be written.
    """
    _write_document(document, path, put_in_place)


def write_new_document(
    document: Mapping[str, Any], path: str | os.PathLike[str], *, first_line: str = ""
) -> None:
    """Writes a document as TOML or JSON to a file that is not there yet; all of it or nothing.

    `first_line` is a comment that stands above one in TOML.
    Raises JobError, with the file's name as its origin, where there is such a file, where the
    suffix is another or the file cannot be written.
    """
    _write_document(document, path, put_new, first_line)


def _write_document(
    document: Mapping[str, Any],
    path: str | os.PathLike[str],
    put: Callable[[Path, bytes], None],
    first_line: str = "",
) -> None:
    origin = os.fspath(path)
    suffix = Path(path).suffix.lower()
    if suffix == ".toml":
        text = first_line + to_toml(document)
    elif suffix == ".json":
        text = (
            json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False, default=_date_text)
            + "\n"
        )
    else:
        fault = DocumentFault(
            "", f"the suffix {shown_value(suffix)}", "a file name that ends in .toml or .json"
        )
        raise JobError([fault], origin)
    try:
        put(Path(path), text.encode())
    except FileExistsError:
        fault = DocumentFault(
            "", "a file of that name", "a name that is not taken: nothing is written over a file"
        )
        raise JobError([fault], origin) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise JobError(
            [DocumentFault("", reason.lower(), "a file that can be written")], origin
        ) from None


def _date_text(value: object) -> str:
    if isinstance(value, datetime.date):
        return value.isoformat()
    raise TypeError(f"expected a value that JSON can hold, got {type(value).__name__}")
