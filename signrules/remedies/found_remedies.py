"""What a search for remedies has found, and what a report shows of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import field, frozen

from signrules.rules.checks import Check
from signrules.rules.remedy import Remedy

CONFLICT = ("conflict", "job")
"""What stands for the conflict among findings: rule and subject."""


@frozen
class Found:
    """The remedies of one finding.

    `whole` is False where something that could be one was not tried. `as_on` is the subject of the
    alike finding that has the same remedies, and speaks for this one.
    """

    remedies: tuple[Remedy, ...] = ()
    whole: bool = False
    as_on: str | None = None


NOTHING_FOUND = Found()

CaseKey = tuple[str, ...]
"""A finding in words: checks hold their finder, so they can be no keys of what travels with it."""


@frozen
class Reported:
    """The remedies that a report shows.

    `as_on` names for a finding the subject of the alike one that has the same remedies: those of
    many that are alike are long, and said once. `not_tried` are the findings, each by rule and
    subject, of which not everything was tried that could be a remedy.
    """

    of_checks: Mapping[Check, tuple[Remedy, ...]] = field(factory=dict)
    of_conflict: tuple[Remedy, ...] = ()
    not_tried: tuple[tuple[str, str], ...] = ()
    as_on: Mapping[Check, str] = field(factory=dict)

    @property
    def left_out(self) -> int:
        """How many findings these are."""
        return len(self.not_tried)


def reported_remedies(
    checks: Iterable[Check], found_by_check: Mapping[Check, Found], conflict: Found | None
) -> Reported:
    """What is shown of what was found for some checks and for the conflict."""
    untried = [check for check in checks if not found_by_check[check].whole]
    not_tried = [(check.rule, check.subjects[0]) for check in untried]
    if conflict is not None and not conflict.whole:
        not_tried.insert(0, CONFLICT)
    mended = {check: found for check, found in found_by_check.items() if found.remedies}
    remedies = {check: found.remedies for check, found in mended.items()}
    as_on = {check: found.as_on for check, found in mended.items() if found.as_on is not None}
    of_conflict = () if conflict is None else conflict.remedies
    return Reported(remedies, of_conflict, tuple(dict.fromkeys(not_tried)), as_on)


def case_key(check: Check | None) -> CaseKey:
    """A finding in words; that of the conflict for None."""
    if check is None:
        return ()
    return check.rule, *check.subjects, str(check.source), check.message
