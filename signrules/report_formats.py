"""What a plugin gives so that `signrules check --format` knows another format."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from attrs import frozen

OWN_FORMATS = ("text", "json", "jsonl", "sarif", "junit")
"""The formats of the command itself, which no plugin may bring."""


@frozen
class ReportFormat:
    """A format of reports, as the hook `signrules_report_formats` gives it.

    `name` is a word in lower case, by which it is asked for. `write` is given what came of each
    job by the path of its file, an `Evaluation` or the `SignrulesError` that says why there is
    none, and gives back the whole report as text. `summary` says in some words what it is.
    """

    name: str
    write: Callable[[Mapping[str, Any]], str]
    summary: str
