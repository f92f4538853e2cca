"""What checks found on all loads of a work order, by cause and not by sign."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from attrs import frozen

from signrules.evaluation import Evaluation
from signrules.evaluation.order_verdict import signs_of_check
from signrules.rules.checks import Check, Level, Outcome

STOP, REVIEW, NOT_CHECKED, WAIVED = "stop", "review", "not checked", "waived"
KINDS = (STOP, REVIEW, NOT_CHECKED, WAIVED)
"""The kinds of causes, the worst first."""

_ID = re.compile(r"\b(signs|passes|media|inks|handling)\.[^.\s,]+")
_NUMBER = re.compile(r"\d+(\.\d+)?")


@frozen
class Cause:
    """Checks of one rule with one source that compare the same thing: how many, and where.

    `what` and `unit` are what the checks compare, as the example words it; empty where something
    is not stated, and then `missing` is the field, with `*` in place of an id. `by_load` are the
    loads that they are about, each with the ids of its signs that they concern. `example` is the
    message of the check that misses its limit by most, or the first, and `example_load` its load.
    """

    kind: str
    rule: str
    level: str
    source: str
    what: str
    unit: str
    missing: str
    checks: int
    by_load: Mapping[str, tuple[str, ...]]
    example: str
    example_load: str

    @property
    def signs(self) -> tuple[str, ...]:
        """The ids of the signs, load after load; one that several loads use stands for each."""
        return tuple(sign for signs in self.by_load.values() for sign in signs)

    @property
    def loads(self) -> tuple[str, ...]:
        """The ids of the loads."""
        return tuple(self.by_load)

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "kind": self.kind,
            "rule": self.rule,
            "level": self.level,
            "source": self.source,
            "what": self.what or None,
            "unit": self.unit or None,
            "missing": self.missing or None,
            "checks": self.checks,
            "signs": list(self.signs),
            "loads": list(self.loads),
            "by_load": {load: list(signs) for load, signs in self.by_load.items()},
            "example": self.example,
            "example_load": self.example_load,
        }


@frozen
class _Key:
    """What checks of one cause have in common; `what` is without its numbers and ids."""

    kind: str
    rule: str
    level: str
    source: str
    what: str
    unit: str
    missing: str


@frozen
class _Found:
    """A check in its load, and the signs that it is about."""

    check: Check
    load: str
    signs: tuple[str, ...]

    @property
    def key(self) -> _Key:
        """What it has in common with others."""
        check = self.check
        kind = _kind_of(check)
        # Nothing is measured where something is not stated, so nothing is compared in size.
        compared = kind != NOT_CHECKED
        return _Key(
            kind,
            check.rule,
            check.level.value,
            str(check.source),
            general_words(check.what) if compared else "",
            check.unit if compared else "",
            general_path(check.missing or ""),
        )


def general_path(path: str) -> str:
    """A path, with `*` in place of ids."""
    return _ID.sub(r"\1.*", path)


def general_words(words: str) -> str:
    """What is compared, with `*` in place of ids in paths and of numbers, which differ from sign
    to sign.
    """
    return _NUMBER.sub("*", general_path(words))


def causes_of(evaluations: Mapping[str, Evaluation]) -> tuple[Cause, ...]:
    """The causes of all findings, the worst kind first and what concerns most before the rest."""
    groups: dict[_Key, list[_Found]] = {}
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


def _cause_of(key: _Key, group: Sequence[_Found]) -> Cause:
    # A margin below 0 is how much is missing; a check without numbers has none.
    worst = min(group, key=lambda each: each.check.margin or 0.0)
    return Cause(
        key.kind,
        key.rule,
        key.level,
        key.source,
        worst.check.what if key.what else "",
        key.unit,
        key.missing,
        len(group),
        _signs_by_load(group),
        worst.check.message,
        worst.load,
    )


def _signs_by_load(group: Sequence[_Found]) -> dict[str, tuple[str, ...]]:
    """The loads of some checks with the signs that these concern there, each once."""
    found: dict[str, dict[str, None]] = {}
    for each in group:
        found.setdefault(each.load, {}).update(dict.fromkeys(each.signs))
    return {load: tuple(signs) for load, signs in found.items()}
