"""What plugins offer to change where their own rules are broken: candidates, to be tried as any."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing
from functools import partial
from itertools import islice
from types import MappingProxyType
from typing import Any

from attrs import evolve

from signrules.documents.document_changes import changed
from signrules.documents.plugin_tables import NO_TABLE, DataClasses
from signrules.documents.reading import job_again
from signrules.documents.refusal import Refused
from signrules.documents.table_reader import UNKNOWN_KEY, kind_of
from signrules.documents.value_paths import declared_at
from signrules.documents.writing import job_to_dict
from signrules.errors import DocumentFault, JobError, PathError, PluginError, SignrulesError
from signrules.hook_answers import answers_of_hook, copied_job, demand_unchanged
from signrules.model.job import Job
from signrules.model.wording import shown_value
from signrules.plugins import Plugins, hook_fault
from signrules.remedies.candidates import Change, worded_change
from signrules.rules.checks import Check
from signrules.rules.containment import Contained, call_contained
from signrules.rules.engine import Fault
from signrules.rules.sound_drafts import is_said_text, nothing_returned

HOOK = "signrules_remedies"
MOST_OFFERS = 100
"""The most changes that a plugin may offer for one finding."""

Offers = Mapping[tuple[str, tuple[str, ...]], tuple[Change, ...]]
"""What is offered for a finding, by its rule and its subjects."""

NO_OFFERS: Offers = MappingProxyType({})
_CHANGES = "tuples (words, {path: value})"
_MISFIT = f"{HOOK} offers what does not fit the job"


def offered_changes(
    plugins: Plugins, job: Job, checks: Iterable[Check], seconds: float | None
) -> tuple[Offers, list[Fault]]:
    """What plugins offer for what their own rules found broken or doubtful, and the faults of those
    that failed.
    """
    offers: dict[tuple[str, tuple[str, ...]], tuple[Change, ...]] = {}
    faults = []
    hooks = {one.name: (one, hook) for one, hook in plugins.implementing(HOOK)}
    bad = [check for check in checks if check.plugin in hooks and check.is_bad]
    for check in bad:
        one, hook = hooks[check.plugin]
        given = copied_job(job)
        try:
            ask = partial(hook, check=check, job=given)
            asked = partial(changes_from, ask, job, plugins.data)
            offers[check.rule, check.subjects] = call_contained(asked, seconds)
            demand_unchanged(given, job)
        except (Contained, PluginError) as error:
            fault = hook_fault(HOOK, one, check.subjects[0], error)
            # Two rules may be broken on one subject, and the hook is asked about each.
            faults.append(evolve(fault, error=f"{fault.error}; asked about {check.rule}"))
    return offers, faults


def changes_from(
    ask: Callable[[], list[Any]], job: Job, classes: DataClasses
) -> tuple[Change, ...]:
    """The changes that `signrules_remedies` offers when it is asked; what they state for plugins is
    checked by `classes`. Raises PluginError.
    """
    document = job_to_dict(job)
    found: list[Change] = []
    for answer in answers_of_hook(HOOK, ask(), _CHANGES):
        if isinstance(answer, str | Mapping) or not isinstance(answer, Iterable):
            raise PluginError(f"{HOOK} gave back {shown_value(answer)}, expected {_CHANGES}")
        with closing(nothing_returned(answer)) as steps:
            offered = islice(steps, MOST_OFFERS + 1 - len(found))
            found += (_change(pair, job, document, classes) for pair in offered)
    if len(found) > MOST_OFFERS:
        raise PluginError(f"{HOOK} offers more than {MOST_OFFERS} changes for one finding")
    return tuple(found)


def _change(pair: Any, job: Job, document: Mapping[str, Any], classes: DataClasses) -> Change:
    if not (type(pair) is tuple and len(pair) == 2 and isinstance(pair[1], Mapping) and pair[1]):
        raise PluginError(f"{HOOK} gave back {shown_value(pair)}, expected {_CHANGES}")
    words, changes = pair
    if not is_said_text(words):
        raise PluginError(f"{HOOK} does not say what to change: found {shown_value(words)}")
    if not all(type(path) is str for path in changes):
        raise PluginError(f"{HOOK} gave back {shown_value(pair)}, expected {_CHANGES}")
    _demand_fitting(job, document, changes, classes)
    return worded_change(words, partial(_edited, dict(changes), classes))


def _demand_fitting(
    job: Job, document: Mapping[str, Any], changes: Mapping[str, Any], classes: DataClasses
) -> None:
    """Raises PluginError where a path leads nowhere, to a key that no job has, or where what is to
    stand there is no plain data.
    """
    for path, value in changes.items():
        try:
            json.dumps(value, allow_nan=False)
        except (TypeError, ValueError, RecursionError):
            raise PluginError(
                f"{HOOK} offers for {shown_value(path)} what no job can hold: found"
                f" {shown_value(value)}, expected a finite number, text or another plain value"
            ) from None
    try:
        job_again(changed(document, changes), job, classes)
    except PathError as error:
        raise PluginError(f"{_MISFIT}: {error}") from None
    except JobError as error:
        for fault in error.faults:
            if fault.found == UNKNOWN_KEY or fault.expected.startswith(NO_TABLE):
                raise PluginError(f"{_MISFIT}: {fault}") from None
        # A value that was computed may well be out of its range, which is no slip; a text in place
        # of a number is one.
        for path, value in changes.items():
            for fault in _faults_of_kind(path, value):
                raise PluginError(f"{_MISFIT}: {fault}") from None


def _faults_of_kind(path: str, value: object) -> Iterator[DocumentFault]:
    """What is wrong with a value of another kind than the field that a path leads to."""
    declared = declared_at(path)
    if declared is None or value is None:
        return
    try:
        kind_of(declared).read(value)
    except Refused as refused:
        # What is wrong within a list or a table may be a number out of range as well.
        yield from (fault for fault in refused.under(path) if fault.path == path)


def _edited(changes: Mapping[str, Any], classes: DataClasses, job: Job) -> Job:
    """The job with the changes; ValueError where there is no such job."""
    try:
        return job_again(changed(job_to_dict(job), changes), job, classes)
    except SignrulesError as error:
        raise ValueError(str(error)) from None
