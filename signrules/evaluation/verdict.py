"""The verdict in words: what was decided, and what was not looked at.

A verdict is about the job and never about people: nothing is called safe here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from signrules.planning.plan import Conflict
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.engine import Fault

if TYPE_CHECKING:
    from signrules.evaluation.result import Evaluation

CHECKS_PASS, DO_NOT_PRINT = "CHECKS PASS", "DO NOT PRINT"


def verdict_of(result: Evaluation) -> str:
    """What was decided; of what passes, how much is to review, unchecked, or accepted as absent."""
    # One reason, the worst: a list would be read as a ranking of what may be ignored.
    reason = worst_reason(result)
    if reason:
        return f"{DO_NOT_PRINT}: {reason}"
    to_review = sum(check.level is Level.REVIEW for check in result.violations)
    counts = {
        "to review": to_review,
        "not checked": len(result.unassessed),
        "accepted as absent": len(result.accepted),
    }
    return ", ".join([CHECKS_PASS, *(f"{count} {what}" for what, count in counts.items() if count)])


def worst_reason(result: Evaluation) -> str:
    """Why the job is not to be printed; empty where it is `ok`.

    What failed comes first, since nothing is known then; next that there is no order; last what
    checks found.
    """
    if result.faults:
        return _what_failed(result.faults)
    if result.conflict is not None:
        return _no_order(result.conflict)
    broken = [check for check in result.checks if check.holds_back]
    return _worst_finding(broken) if broken else ""


def is_settled(result: Evaluation) -> bool:
    """Whether nothing of level STOP is wrong, left unchecked, or hangs on a doubtful figure."""
    if not result.ok or unsettled_checks(result):
        return False
    return not any(figure.hangs for figure in result.figures)


def unsettled_checks(result: Evaluation) -> list[Check]:
    """The checks of level STOP that could not be made."""
    return [check for check in result.unassessed if check.level is Level.STOP]


def _what_failed(faults: Sequence[Fault]) -> str:
    names = {fault.rule for fault in faults}
    if "(audit)" in names:
        return "the plan did not pass its audit"
    # The name of a rule is two words with a full stop between them; that of a hook has none.
    return "a rule failed" if any("." in name for name in names) else "a plugin failed"


def _no_order(conflict: Conflict) -> str:
    if conflict.proven:
        return "no order of the passes works"
    return "no order found, but not all were tried"


Finds = Callable[[Check], bool]


def _of_rules(*names: str) -> Finds:
    """Whether a check is of one of these rules, or of one of these sets of rules."""
    return lambda check: check.rule in names or check.rule.partition(".")[0] in names


def _forbids_the_order(check: Check) -> bool:
    return check.decides


def _limited_by_a_standard(check: Check) -> bool:
    return check.source.kind == "standard"


def _is_any(check: Check) -> bool:
    return True


WORST_FIRST: tuple[tuple[Finds, str], ...] = (
    (_of_rules("clearance.strike"), "the head {would} hit"),
    (_of_rules("clearance"), "the head {would} come too close"),
    (_of_rules("order.cycle"), "passes wait for each other in a circle"),
    (_of_rules("order.side"), "a pass {would} print on the wrong side"),
    (_of_rules("order.sequence"), "something {would} be done too early"),
    (_of_rules("gap.settable"), "the printer cannot set this gap"),
    (_of_rules("registration"), "passes {would} not register"),
    (_forbids_the_order, "the rule {rule} forbids this order"),
    (
        _of_rules("braille.text", "braille.numbers"),
        "the braille {would} not say what the sign says",
    ),
    (_of_rules("drawing.place"), "parts of one sign {would} be printed on another"),
    (_of_rules("drawing.side"), "braille {would} be printed on the other side from its text"),
    (_limited_by_a_standard, "the sign {would} fail its standard"),
    (_is_any, "the rule {rule} {would} be broken"),
)
"""What a check of level STOP that is not met means, the worst first: machine, print, sign."""


def _worst_finding(broken: Sequence[Check]) -> str:
    """The worst of some checks in words; `might` where all that mean the same are doubtful."""
    for finds, words in WORST_FIRST:
        findings = [check for check in broken if finds(check)]
        if findings:
            # One that is broken makes it certain, however many others are only doubtful.
            certain = [check for check in findings if check.outcome is Outcome.BROKEN]
            would = "would" if certain else "might"
            return words.format(would=would, rule=(certain or findings)[0].rule)
    raise AssertionError("one of them finds every check")
