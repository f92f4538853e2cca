"""Job documents, TOML, JSON or plain data, to a job and back, and quantities as they write them."""

from signrules.documents.lengths import (
    format_length,
    format_speed,
    format_toleranced,
    parse_length,
    parse_speed,
    parse_toleranced,
)
from signrules.documents.reading import VERSION, job_from_dict, read_job
from signrules.documents.refusal import Refused
from signrules.documents.writing import job_to_dict, write_job

__all__ = [
    "VERSION",
    "Refused",
    "format_length",
    "format_speed",
    "format_toleranced",
    "job_from_dict",
    "job_to_dict",
    "parse_length",
    "parse_speed",
    "parse_toleranced",
    "read_job",
    "write_job",
]
