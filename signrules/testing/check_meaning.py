"""Comparing what a rule says of two jobs that come to the same; judging a check once more."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from signrules.model.quantities import GUARD_MM
from signrules.rules.checks import Check, Outcome
from signrules.rules.engine import PlacedRule

RANK = {Outcome.MET: 0, Outcome.DOUBTFUL: 1, Outcome.BROKEN: 2}
"""How bad an outcome is."""


Meant = list[tuple[Any, ...]]
"""What a rule means by its checks."""


def meaning_of(placed: PlacedRule, checks: list[Check], back: Callable[[str], str] = str) -> Meant:
    """What a rule means by its checks, apart from names and places.

    It is subject, outcome, level, words and numbers of each check.
    """
    meaning = []
    for check in checks:
        measured: tuple[float, ...] = ()
        if check.measured is not None:
            # Nominal values may be rounded otherwise where sums are added in another order.
            measured = (check.measured.low, check.measured.high)
        meaning.append(
            (
                _subjects_of(placed, check, back),
                check.outcome,
                check.level,
                check.unit,
                check.found or "",
                check.allowed,
                measured,
                # None cannot be sorted among numbers.
                tuple(-math.inf if end is None else end for end in check.limit),
            )
        )
    return sorted(meaning)


def _subjects_of(placed: PlacedRule, check: Check, back: Callable[[str], str]) -> tuple[str, ...]:
    """What a check is about, in the words of the first job.

    Of two passes either may be listed first: a check that names one alone is about that pair, and
    which of the two it names says nothing.
    """
    if placed.rule.each != "pair":
        return tuple(map(back, check.subjects[:1]))
    if len(check.subjects) < 2:
        return ()
    return tuple(sorted(map(back, check.subjects)))


def mean_alike(one: Meant, other: Meant) -> bool:
    """Whether both mean the same; sums that are added otherwise may differ in the last digits."""

    def close(a: Any, b: Any) -> bool:
        if isinstance(a, float) and isinstance(b, float):
            return is_close(a, b)
        if isinstance(a, tuple) and isinstance(b, tuple):
            return len(a) == len(b) and all(map(close, a, b))
        return bool(a == b)

    return len(one) == len(other) and all(map(close, one, other))


# A second time on purpose: a law that used the engine's own comparison could not find it wrong.
def outcome_of(measured: Any, limit: tuple[float | None, float | None], strictly: bool) -> Outcome:
    """The outcome, worked out here once more."""
    if measured is None:
        return Outcome.UNASSESSED
    lower_limit, upper_limit = limit

    def holds(value: float) -> bool:
        if strictly:
            return (lower_limit is None or value > lower_limit + GUARD_MM) and (
                upper_limit is None or value < upper_limit - GUARD_MM
            )
        return (lower_limit is None or value >= lower_limit - GUARD_MM) and (
            upper_limit is None or value <= upper_limit + GUARD_MM
        )

    ends = [holds(measured.low), holds(measured.high)]
    if all(ends):
        return Outcome.MET
    # Both ends may lie beyond different limits: what lies between them then holds.
    around = (
        lower_limit is not None
        and upper_limit is not None
        and measured.low < lower_limit
        and measured.high > upper_limit
    )
    return Outcome.DOUBTFUL if any(ends) or around else Outcome.BROKEN


def worst_by_subject(checks: list[Check]) -> dict[str, int]:
    """How bad the worst check of each subject is, of the subjects that are assessed in full."""
    worst: dict[str, int] = {}
    open_ = {check.subjects[0] for check in checks if check.outcome is Outcome.UNASSESSED}
    for check in checks:
        if check.subjects[0] not in open_:
            worst[check.subjects[0]] = max(worst.get(check.subjects[0], 0), RANK[check.outcome])
    return worst


def measures_other(one: list[Check], other: list[Check]) -> bool:
    """Whether what is measured differs, and not just the limit; counts are left out."""
    pairs = [
        (measured.measured, other_measured.measured)
        for measured, other_measured in zip(one, other, strict=False)
    ]
    return len(one) == len(other) and any(
        not is_close(measured.nominal, other_measured.nominal)
        # A count of passes or of dots goes up in steps, and depends on no tolerance.
        and not (measured.nominal.is_integer() and other_measured.nominal.is_integer())
        for measured, other_measured in pairs
        if measured is not None and other_measured is not None
    )


def is_close(a: float, b: float) -> bool:
    """Whether two numbers are the same but for the last digits of a sum, or for a nanometre."""
    return math.isclose(a, b, rel_tol=1e-9, abs_tol=GUARD_MM)
