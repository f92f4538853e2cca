"""The verdict on all loads of a work order in words, and which signs fail."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from signrules.errors import SignrulesError
from signrules.evaluation.result import Evaluation
from signrules.evaluation.verdict import CHECKS_PASS, DO_NOT_PRINT
from signrules.model.job import Job
from signrules.model.wording import counted_things, listed_names
from signrules.rules.checks import Check, Level

Outcomes = Mapping[str, Evaluation | SignrulesError]
"""What came of each load, by its id: its evaluation, or why there is none."""

NOTHING_TO_PRINT = "NOTHING TO PRINT: no loads"


def order_verdict(
    outcomes: Outcomes, outdated: Collection[str] = (), unread: Collection[str] = ()
) -> str:
    """How many loads are not to be printed, how many signs fail, and what was not looked at.

    `outdated` are the loads whose artwork has changed since their jobs were read from it, `unread`
    those whose artwork cannot be read.
    """
    if not outcomes:
        return NOTHING_TO_PRINT
    judged = {
        load: outcome for load, outcome in outcomes.items() if isinstance(outcome, Evaluation)
    }
    bad = sum(not result.ok or load in outdated for load, result in judged.items())
    not_judged = len(outcomes) - len(judged)
    results = judged.values()
    counts = {
        "to review": sum(_to_review(result) for result in results),
        "not checked": sum(len(result.unassessed) for result in results),
        "accepted as absent": sum(len(result.accepted) for result in results),
    }
    further = [f"{count} {what}" for what, count in counts.items() if count]
    if unread:
        further.append(f"{_artwork_of(unread)} cannot be read")
    if not bad and not not_judged:
        passed = counted_things(len(judged), "load")
        return ", ".join([f"{CHECKS_PASS}: {passed}", *further])
    reasons = [f"{counted_things(bad, 'load')} of {len(outcomes)}"] if bad else []
    if not_judged:
        reasons.append(f"{counted_things(not_judged, 'load')} not judged")
    if outdated:
        reasons.append(f"{_artwork_of(outdated)} changed")
    failing = sum(len(failing_signs(result)) for result in results)
    if failing:
        reasons.append("1 sign fails" if failing == 1 else f"{failing} signs fail")
    return f"{DO_NOT_PRINT}: {', '.join([*reasons, *further])}"


def _artwork_of(loads: Collection[str]) -> str:
    return f"artwork of {counted_things(len(loads), 'load')} ({listed_names(list(loads))})"


def _to_review(result: Evaluation) -> int:
    return sum(check.level is Level.REVIEW for check in result.violations)


def failing_signs(result: Evaluation) -> tuple[str, ...]:
    """The ids of the signs on which a check of level STOP is broken or doubtful."""
    failing: dict[str, None] = {}
    for check in result.checks:
        if check.holds_back:
            failing |= dict.fromkeys(signs_of_check(check, result.job))
    return tuple(sign.id for sign in result.job.signs if sign.id in failing)


def signs_of_check(check: Check, job: Job) -> tuple[str, ...]:
    """The ids of the signs that a check is about: those that it names.

    Where it names none, those that its passes build; else all that lie on its sheets.
    """
    named = tuple(_ids_of(check, "signs", (sign.id for sign in job.signs)))
    if named:
        return named
    passes = set(_ids_of(check, "passes", (item.id for item in job.passes)))
    printed = [item for item in job.passes if item.id in passes]
    built = {sign for item in printed for sign in item.built_signs}
    if built:
        return tuple(sign.id for sign in job.signs if sign.id in built)
    # A thick sheet or a strike over it spoils whatever lies there, also signs that no pass names.
    sheets = set(_ids_of(check, "media", (sheet.id for sheet in job.media)))
    sheets |= {job.media_of(item).id for item in printed}
    return tuple(sign.id for sign in job.signs if job.media_of(sign).id in sheets)


def _ids_of(check: Check, table: str, ids: Iterator[str]) -> Iterator[str]:
    """Those of some ids of a table that are among the subjects of a check."""
    subjects = set(check.subjects)
    starts = tuple(subject for subject in check.subjects if subject.startswith(f"{table}."))
    for id in ids if starts else ():
        path = f"{table}.{id}"
        if path in subjects or any(start.startswith(f"{path}.") for start in starts):
            yield id
