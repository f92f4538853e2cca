"""Waivers: which findings somebody answers for, and which waivers answer for nothing."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator

from attrs import evolve

from signrules.model.job import Waiver
from signrules.model.quantities import Interval
from signrules.rules.checks import Check, Draft, Level, Outcome, Source

WAIVERS = Source("signrules", "waivers must match a finding and must not have expired")

_Key = tuple[str, str]
"""A rule, and the path of what it found something about."""


def apply_waivers(
    checks: list[Check], waivers: Collection[Waiver], today: datetime.date
) -> list[Check]:
    """The checks with waivers set, and a finding for each waiver that matches nothing or has
    expired.

    Only findings of level REVIEW and NOTE can be waived.
    """
    if not waivers:
        return checks
    findings = _Findings(checks)
    for number, waiver in enumerate(waivers):
        path = f"waivers[{number}]"
        name = f"the waiver of {waiver.rule} on {waiver.subject}"
        if waiver.until is not None and waiver.until < today:
            text = f"{name} expired on {waiver.until.isoformat()}"
            findings.add(_waiver_finding("waivers.expired", path, text))
        elif why := findings.waive(waiver):
            findings.add(_waiver_finding("waivers.unmatched", path, f"{name} {why}"))
    return findings.waived()


class _Findings:
    """Checks, and among them what can be waived, by rule and subject.

    A waiver is put to its findings at the end, the last one of each rule and subject alone: each
    finding is then touched once, however many waivers it has.
    """

    def __init__(self, checks: Iterable[Check]) -> None:
        self._checks: list[Check] = []
        self._waivable: dict[_Key, list[int]] = defaultdict(list)
        self._stops: set[_Key] = set()
        self._waivers: dict[_Key, Waiver] = {}
        for check in checks:
            self.add(check)

    def add(self, check: Check) -> None:
        """Take one more check in, which the waivers so far do not reach."""
        if check.outcome is not Outcome.MET:
            for key in _keys_of(check):
                self._settle(key)
                if check.level is Level.STOP:
                    self._stops.add(key)
                else:
                    self._waivable[key].append(len(self._checks))
        self._checks.append(check)

    def waive(self, waiver: Waiver) -> str:
        """Keep a waiver for the findings that it answers for; where there are none, why."""
        key = waiver.rule, waiver.subject
        if key in self._waivable:
            self._waivers.pop(key, None)  # A finding that two keys reach has the later waiver.
            self._waivers[key] = waiver
            return ""
        if key in self._stops:
            return "waives a check of level STOP, which cannot be waived"
        return "matches no finding"

    def waived(self) -> list[Check]:
        """All checks, with their waivers."""
        for key in tuple(self._waivers):
            self._settle(key)
        return self._checks

    def _settle(self, key: _Key) -> None:
        waiver = self._waivers.pop(key, None)
        if waiver is not None:
            for position in self._waivable[key]:
                self._checks[position] = evolve(self._checks[position], waiver=waiver)


def _keys_of(check: Check) -> Iterator[_Key]:
    """By what a waiver may name a check: its first subject, and of one on the whole job also the
    first part that it names.
    """
    yield check.rule, check.subjects[0]
    if check.subjects[0] == "job" and len(check.subjects) > 1:
        yield check.rule, check.subjects[1]


def _waiver_finding(rule: str, path: str, text: str) -> Check:
    draft = Draft("findings that the waiver answers for", Interval.exact(0), least=1)
    limit = (draft.least, draft.most)
    return Check(
        rule,
        (path,),
        draft.outcome,
        Level.REVIEW,
        draft.measured,
        limit,
        "",
        draft.margin,
        f"{path}: {text}.",
        WAIVERS,
    )
