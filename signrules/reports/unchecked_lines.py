"""What was not checked, in lines: one for each check, or one for all that differ in an id alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from signrules.model.job import Job
from signrules.reports.causes import general_path
from signrules.reports.id_runs import runs_of_ids
from signrules.rules.checks import Check

THINGS = {
    "signs": "signs",
    "passes": "passes",
    "media": "sheets",
    "inks": "inks",
    "handling": "handling steps",
}
"""What the path of a subject begins with, and the things that it names."""


def not_checked(check: Check) -> str:
    """A check that could not be made, its level, and why."""
    return _line(check, check.subjects[0], _reason(check))


def lines_not_checked(checks: Iterable[Check], job: Job) -> Iterator[str]:
    """The checks that could not be made: those of one rule that lack the same are one line."""
    groups: dict[tuple[str, str, str, str], list[Check]] = {}
    for check in checks:
        kind = check.subjects[0].partition(".")[0]
        key = (check.level.value, check.rule, kind, general_path(_reason(check)))
        groups.setdefault(key, []).append(check)
    for (*_, kind, reason), alike in groups.items():
        # A whole job is one thing, and has no ids to count.
        if len(alike) == 1 or kind not in THINGS:
            yield from map(not_checked, alike)
        else:
            yield _line(alike[0], _where(kind, alike, job), reason)


def _reason(check: Check) -> str:
    if check.told:
        return check.told
    lacking = check.missing or ""
    # A rule may lack something that is no field, and says so in words.
    is_path = " " not in lacking.partition(".")[0]
    return f"{lacking} is not stated" if is_path else f"it needs {lacking}"


def _line(check: Check, where: str, reason: str) -> str:
    return f"[{check.level.value}] {check.rule} on {where}: {reason}"


def _where(kind: str, checks: Sequence[Check], job: Job) -> str:
    ids = [check.subjects[0].partition(".")[2] for check in checks]
    order = [each.id for each in getattr(job, kind)]
    return f"{len(set(ids))} {THINGS[kind]} ({runs_of_ids(ids, order)})"
