"""From a job to a document that reads back as the same job."""

from __future__ import annotations

import json
import os
import secrets
from pathlib import Path
from typing import Any

from signrules.documents.reading import VERSION
from signrules.documents.tables import write_table
from signrules.documents.toml import to_toml
from signrules.errors import DocumentFault, JobError
from signrules.model.consistency import TABLES
from signrules.model.job import Job
from signrules.model.wording import shown


def job_to_dict(job: Job) -> dict[str, Any]:
    """The job as plain data, JSON-ready, without what is default: `job_from_dict` makes the same job of it."""
    tables = {name: [write_table(item) for item in getattr(job, name)] for name in TABLES}
    return {
        "signrules": VERSION,
        **write_table(job),
        "printer": write_table(job.printer),
        **{name: rows for name, rows in tables.items() if rows},
    }


def write_job(job: Job, path: str | os.PathLike[str]) -> None:
    """Writes the job as TOML or JSON, told apart by the file's suffix; all of it or nothing.

    Raises JobError, with the file's name as its origin, where the suffix is another or the file cannot be written.
    """
    origin = os.fspath(path)
    suffix = Path(path).suffix.lower()
    if suffix == ".toml":
        text = to_toml(job_to_dict(job))
    elif suffix == ".json":
        text = json.dumps(job_to_dict(job), ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    else:
        fault = DocumentFault("", f"the suffix {shown(suffix)}", "a file name that ends in .toml or .json")
        raise JobError([fault], origin)
    try:
        _replace(Path(os.path.realpath(path)), text.encode())
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise JobError([DocumentFault("", reason.lower(), "a file that can be written")], origin) from None


def _replace(path: Path, data: bytes) -> None:
    """Writes beside the file first, then puts that in its place."""
    beside = path.with_name(f".signrules-{secrets.token_hex(8)}.tmp")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)
