"""What a plugin gives so that `signrules check --format` knows another format."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from attrs import frozen

from signrules.errors import PluginError
from signrules.model.wording import shown_value
from signrules.rules.sound_drafts import is_said_text

OWN_FORMATS = ("text", "json", "jsonl", "sarif", "junit")
"""The formats of the command itself, which no plugin may bring."""

_FORMAT = re.compile(r"[a-z][a-z0-9-]{0,39}\Z")


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


def demand_usable_format(each: ReportFormat) -> None:
    """Raises PluginError for a format that nobody can ask for, or that says nothing of itself."""
    name = each.name
    if not (type(name) is str and _FORMAT.match(name)) or name in OWN_FORMATS:
        raise PluginError(
            f"signrules_report_formats gave back a format {shown_value(name)}, expected a word in"
            f" lower case that is none of {', '.join(OWN_FORMATS)}"
        )
    if not callable(each.write):
        raise PluginError(
            f"signrules_report_formats gave back the format {name} with {shown_value(each.write)}"
            " as `write`, expected a function that writes it"
        )
    if not is_said_text(each.summary):
        raise PluginError(
            f"signrules_report_formats gave back the format {name} with {shown_value(each.summary)}"
            " as `summary`, expected a word on what it is"
        )
