"""What must hold between the parts of a job; filled in by `inconsistencies`."""

from __future__ import annotations

from signrules.errors import DocumentFault
from signrules.model.job import Job


def inconsistencies(job: Job) -> list[DocumentFault]:
    """Everything that does not fit together in a job."""
    return []
