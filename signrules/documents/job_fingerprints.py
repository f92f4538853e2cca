"""The fingerprint of a job: two jobs with the same figures have the same one."""

from __future__ import annotations

import hashlib
import json

from signrules.documents.writing import job_to_dict
from signrules.model.job import Job

SHORT = 12
"""So many digits are told where a person compares two by eye."""


def job_fingerprint(job: Job) -> str:
    """The SHA-256 of a job: "sha256:" and 64 hexadecimal digits (FIPS 180-4).

    It is that of the document as `write_job` would write it, as JSON with sorted keys: comments,
    the sequence of keys and the units of a document make no difference, each figure does.
    """
    # Escaped, so that the bytes do not depend on how a system encodes text.
    text = json.dumps(job_to_dict(job), sort_keys=True, ensure_ascii=True, allow_nan=False)
    return f"sha256:{hashlib.sha256(text.encode()).hexdigest()}"


def short_fingerprint(fingerprint: str) -> str:
    """The first digits of a fingerprint, in groups of four."""
    digits = fingerprint.rpartition(":")[2][:SHORT]
    return " ".join(digits[start : start + 4] for start in range(0, len(digits), 4))
