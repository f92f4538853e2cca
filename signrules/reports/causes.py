"""What checks found on all loads of a work order, by cause and not by sign."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from attrs import field, frozen

from signrules.evaluation import Evaluation
from signrules.evaluation.order_verdict import signs_of_check
from signrules.model.wording import counted_things
from signrules.reports.id_runs import runs_of_ids
from signrules.rules.checks import Check, Level, Outcome

STOP, REVIEW, NOT_CHECKED, WAIVED = "stop", "review", "not checked", "waived"
KINDS = (STOP, REVIEW, NOT_CHECKED, WAIVED)
"""The kinds of causes, the worst first."""

_ID = re.compile(r"\b(signs|passes|media|inks|handling)\.[^.\s,]+")


@frozen
class Cause:
    """Checks of one rule with one source: how many, on which signs and in which loads.

    `example` is the message of the check that misses its limit by most, or the first. `missing` is
    the field that is not stated, with `*` in place of an id.
    """

    kind: str
    rule: str
    level: str
    source: str
    missing: str
    checks: int
    signs: tuple[str, ...]
    loads: tuple[str, ...]
    example: str

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "kind": self.kind,
            "rule": self.rule,
            "level": self.level,
            "source": self.source,
            "missing": self.missing or None,
            "checks": self.checks,
            "signs": list(self.signs),
            "loads": list(self.loads),
            "example": self.example,
        }


@frozen
class _Found:
    """A check in its load, and the signs that it is about."""

    check: Check
    load: str
    signs: tuple[str, ...] = field(default=())

    @property
    def key(self) -> tuple[str, str, str, str, str]:
        """What checks of one cause have in common."""
        check = self.check
        return (
            _kind_of(check),
            check.rule,
            check.level.value,
            str(check.source),
            general_path(check.missing or ""),
        )


def general_path(path: str) -> str:
    """A path, with `*` in place of ids."""
    return _ID.sub(r"\1.*", path)


def causes_of(evaluations: Mapping[str, Evaluation]) -> tuple[Cause, ...]:
    """The causes of all findings, the worst kind first and what concerns most before the rest."""
    groups: dict[tuple[str, str, str, str, str], list[_Found]] = {}
    for load, result in evaluations.items():
        for each in _findings_of(load, result):
            groups.setdefault(each.key, []).append(each)
    causes = [_cause_of(key, group) for key, group in groups.items()]
    return tuple(sorted(causes, key=_rank_of))


def _rank_of(cause: Cause) -> tuple[int, int, int]:
    return KINDS.index(cause.kind), -len(cause.signs), -cause.checks


def _findings_of(load: str, result: Evaluation) -> Iterator[_Found]:
    for check in result.checks:
        if _kind_of(check):
            yield _Found(check, load, signs_of_check(check, result.job))


def _kind_of(check: Check) -> str:
    """Which kind of cause a check is one of; empty for one that asks nothing of anybody."""
    # Before the waiver: what nobody could check is not answered for by anybody.
    if check.outcome is Outcome.UNASSESSED:
        return NOT_CHECKED
    if check.waiver is not None:
        return WAIVED
    if not check.is_violation:
        return ""
    return STOP if check.level is Level.STOP else REVIEW


def _cause_of(key: tuple[str, str, str, str, str], group: Sequence[_Found]) -> Cause:
    kind, rule, level, source, missing = key
    # A margin below 0 is how much is missing; a check without numbers has none.
    worst = min(group, key=lambda each: each.check.margin or 0.0)
    return Cause(
        kind,
        rule,
        level,
        source,
        missing,
        len(group),
        tuple(dict.fromkeys(sign for each in group for sign in each.signs)),
        tuple(dict.fromkeys(each.load for each in group)),
        worst.check.message,
    )


def where_words(cause: Mapping[str, Any], signs: Sequence[str], loads: Sequence[str]) -> str:
    """The signs of a cause as plain data, with the rows of their schedule, else its loads: "on 12
    signs: K-01 to K-08, K-11 (rows 3 to 9)".
    """
    if cause["signs"]:
        return _counted_ids(cause["signs"], "sign", signs) + _rows_words(cause["rows"])
    return _counted_ids(cause["loads"], "load", loads)


def _rows_words(rows: Sequence[int]) -> str:
    if not rows:
        return ""
    numbers = map(str, range(min(rows), max(rows) + 1))
    noun = "row" if len(rows) == 1 else "rows"
    return f" ({noun} {runs_of_ids(map(str, rows), list(numbers))})"


def _counted_ids(ids: Iterable[str], thing: str, order: Sequence[str]) -> str:
    every = tuple(ids)
    return f"on {counted_things(len(every), thing)}: {runs_of_ids(every, order)}"
