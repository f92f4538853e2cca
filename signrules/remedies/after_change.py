"""Whether one evaluation is at least as good as another on the checks of level STOP."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from signrules.model.job import Job
from signrules.remedies.candidates import CELLS_RULE, Judged
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.engine import Fault

BAD = (Outcome.BROKEN, Outcome.DOUBTFUL)
BY_ORDER = "registration."
"""How rules begin that compare a pass with an earlier one: in another order such a check may stand
at the other pass.
"""

BETWEEN = ("registration.budget", "registration.growth", "registration.total")
"""Rules that compare what lies between two passes, and say nothing where nothing does."""

Key = tuple[str, str, str]
"""What is the same before and after a change: of a check its rule, subject and source, of a failure
its plugin, rule and subject.
"""


def key_of(check: Check) -> Key:
    """By what a check is found again in another evaluation."""
    return check.rule, check.subjects[0], str(check.source)


def grouped_checks(checks: Iterable[Check]) -> dict[Key, list[Check]]:
    """The checks by what makes them the same."""
    groups: dict[Key, list[Check]] = {}
    for check in checks:
        groups.setdefault(key_of(check), []).append(check)
    return groups


def is_met(group: Iterable[Check]) -> bool:
    """Whether something was compared and nothing is broken or doubtful."""
    outcomes = [check.outcome for check in group]
    # A check that could not be made is not met: to state less would mend everything.
    return Outcome.MET in outcomes and not any(outcome in BAD for outcome in outcomes)


class After:
    """The checks after a change, looked up one by one."""

    def __init__(self, judged: Judged) -> None:
        self.judged = judged
        self._groups = grouped_checks(judged.checks)

    def meets(self, check: Check) -> bool:
        """Whether a check that was not met is there after the change, and met.

        A check of `BETWEEN` may also be gone, since nothing lies between the passes any more: then
        nothing must move the sheet between them.
        """
        same = self._groups.get(key_of(check), [])
        if not same and check.rule in BETWEEN:
            # That nothing lies between the passes must have been judged itself, and met.
            frame = ("registration.frame", check.subjects[0])
            same = [
                other for other in self.judged.checks if (other.rule, other.subjects[0]) == frame
            ]
        return is_met(same)


def holding_checks(judged: Judged) -> list[Check]:
    """The checks of level STOP that are broken or doubtful."""
    return [check for check in judged.checks if check.holds_back]


def newly_failing(before: Judged, after: Judged) -> list[Fault]:
    """What failed after a change and not before: a plugin, rule and subject not seen together.

    One failure is not paid for with another that is gone. Failures that the shop accepts count too:
    it accepts to be without what fails at present, and a change after which a rule fails where it
    judged before would seem to mend what is only no longer looked at. The text of an error may
    differ, since it often holds numbers.
    """
    known_failures = {_failure_of(fault) for fault in _failures_of(before)}
    return [fault for fault in _failures_of(after) if _failure_of(fault) not in known_failures]


def _failures_of(judged: Judged) -> Iterator[Fault]:
    yield from judged.faults
    yield from (fault for fault, _ in judged.accepted)


def _failure_of(fault: Fault) -> Key:
    return fault.plugin, fault.rule, fault.subject


def cells_confirmed(before: Judged, after: Judged) -> bool:
    """Whether a translator finds that cells which were changed say the text of their sign.

    Cells of which nobody can tell are not to be changed.
    """
    changed = set(_with_other_cells(before.job, after.job))
    if not changed:
        return True
    judged: dict[str, list[Outcome]] = {path: [] for path in changed}
    for check in after.checks:
        if check.rule == CELLS_RULE and check.subjects[0] in changed:
            judged[check.subjects[0]].append(check.outcome)
    return all(set(outcomes) == {Outcome.MET} for outcomes in judged.values())


def _with_other_cells(before: Job, after: Job) -> Iterator[str]:
    """The paths of the signs whose cells differ."""
    signs_before = {sign.id: sign for sign in before.signs}
    for sign in after.signs:
        sign_before = signs_before.get(sign.id, sign)
        # By identity first: most changes leave most signs alone, and trials are many.
        if sign_before is sign or sign_before.braille is None or sign.braille is None:
            continue
        if sign_before.braille.cells != sign.braille.cells:
            yield f"signs.{sign.id}"


def worsened_checks(before: Judged, after: Judged) -> list[Check] | None:
    """The checks that are worse after a change, which a further change might mend.

    A check is worse if it is broken or doubtful, and the same check was of level STOP and met
    before; or if it is also of level STOP, and fewer of the same checks held back before.

    None where no further change can help: a plugin or a rule fails that did not, cells were changed
    and no translator confirms them, or a check of level STOP that was met is gone, though what it
    looked at is still there.
    """
    if newly_failing(before, after) or not cells_confirmed(before, after):
        return None
    groups_before, groups_after = grouped_checks(before.checks), grouped_checks(after.checks)
    worse: list[Check] = []
    for key, group in groups_after.items():
        bad = [check for check in group if check.outcome in BAD]
        held_back = [check for check in bad if check.level is Level.STOP]
        group_before = groups_before.get(key, [])
        if _was_met(group_before):
            worse += bad
        # One key may stand for several checks, of which some were broken before: more of them
        # broken is worse, as many is not.
        elif len(held_back) > sum(check.holds_back for check in group_before):
            worse += held_back
    kept_handling = {f"handling.{item.id}" for item in after.job.handling}
    left_out = {f"handling.{item.id}" for item in before.job.handling} - kept_handling
    for key, group in groups_before.items():
        rule, subject, _ = key
        # A check that is gone is not met: to leave out what is judged would be the easiest remedy.
        is_gone = not any(
            check.outcome is Outcome.MET or check.outcome in BAD
            for check in groups_after.get(key, [])
        )
        may_be_gone = rule.startswith(BY_ORDER) or subject in left_out
        if is_gone and _was_met(group) and not may_be_gone:
            return None
    return worse


def _was_met(group: list[Check]) -> bool:
    return any(check.level is Level.STOP for check in group) and is_met(group)
