"""Figures that say how they came about, and the verdicts that hang on the doubtful ones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from attrs import frozen

from signrules.documents.value_paths import declared_at, number_at, with_number
from signrules.errors import JobError, PathError
from signrules.model.declared import Declared
from signrules.model.job import Job
from signrules.model.origins import ASSUMED, Origin
from signrules.model.quantities import Interval
from signrules.rules.checks import Check, Level, Outcome

if TYPE_CHECKING:
    from signrules.evaluation.result import Evaluation, Judge

ASSUMED_OFF = 0.25
"""How far off, as a share, an assumed figure is taken to be where no usual range is declared."""


@frozen
class Figure:
    """A figure of a job with its origin.

    `hangs` are the rules and subjects of level STOP of which the outcome is another one at an end
    of what the figure may be: of its uncertainty, of what was measured later, or, where it is
    assumed, of what is usual.
    """

    path: str
    value: object
    origin: Origin
    unit: str = ""
    hangs: tuple[tuple[str, str], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        measured = self.origin.date and self.origin.date.isoformat()
        return {
            "path": self.path,
            "value": _plain_value(self.value),
            "unit": self.unit,
            "kind": self.origin.kind,
            "origin": self.origin.text,
            "stated_in": self.origin.stated_in,
            "measured": measured,
            "readings": self.origin.readings,
            "drift": self.origin.drift,
            "hangs": [{"rule": rule, "subject": subject} for rule, subject in self.hangs],
        }


def figures_of(result: Evaluation, judge: Judge | None) -> tuple[Figure, ...]:
    """The figures of an evaluated job that have an origin, in the order of their paths.

    `judge` evaluates changed jobs in the same way. Each doubtful figure is tried at both ends of
    what it may be, the others as they are stated; where `judge` is None, every check of level STOP
    hangs on it.
    """
    outcomes = _stop_outcomes(result.checks)
    figures = []
    for path, origin in sorted(result.job.origins.items()):
        declared = declared_at(path)
        unit = "" if declared is None else declared.unit
        hangs = _hanging(result, path, origin, outcomes, judge)
        figures.append(Figure(path, _value_at(result.job, path), origin, unit, hangs))
    return tuple(figures)


def _hanging(
    result: Evaluation,
    path: str,
    origin: Origin,
    outcomes: Mapping[tuple[str, str], Outcome],
    judge: Judge | None,
) -> tuple[tuple[str, str], ...]:
    ends = _ends_of(result.job, path, origin)
    # An evaluation that came from another process cannot judge: then nothing may be called settled.
    if ends and judge is None:
        return tuple(sorted(outcomes))
    hanging: set[tuple[str, str]] = set()
    for end in ends:
        try:
            changed = with_number(result.job, path, end)
        except (JobError, PathError):
            continue  # The job cannot hold it, so the figure cannot be that.
        assert judge is not None
        others = _stop_outcomes(judge(changed).checks)
        # Checks that come or go count too: where one is no longer made, its verdict hung on the
        # figure.
        hanging |= {key for key in {*outcomes, *others} if outcomes.get(key) != others.get(key)}
    return tuple(sorted(hanging))


def _ends_of(job: Job, path: str, origin: Origin) -> tuple[float | int | Interval, ...]:
    """The ends of what a figure may be; none where it is not in doubt."""
    # What was measured last may already lie outside of the uncertainty that was stated once.
    if origin.newest is not None:
        return _newest_ends(job, path, origin.newest)
    if origin.low is not None and origin.high is not None:
        return origin.low, origin.high
    if origin.kind != ASSUMED:
        return ()
    try:
        value = number_at(job, path)
    except PathError:
        return ()  # A word, or a list: nothing in between can be tried.
    low, high = _assumed_range(value, declared_at(path))
    if isinstance(value, Interval):
        return Interval.exact(low), Interval.exact(high)
    if isinstance(value, int):
        return round(low), round(high)
    return low, high


def _newest_ends(job: Job, path: str, newest: Interval) -> tuple[float | int | Interval, ...]:
    """What stands for a figure as it was measured last: the interval, or its ends for a number."""
    value = _value_at(job, path)
    if isinstance(value, Interval):
        return (newest,)
    return (newest.low, newest.high)


def _assumed_range(value: float | int | Interval, declared: Declared | None) -> tuple[float, float]:
    if declared is not None and declared.usual is not None:
        return declared.usual
    middle = value.nominal if isinstance(value, Interval) else value
    return middle * (1 - ASSUMED_OFF), middle * (1 + ASSUMED_OFF)


def _stop_outcomes(checks: tuple[Check, ...]) -> dict[tuple[str, str], Outcome]:
    """The worst outcome of each rule of level STOP on each subject."""
    worst: dict[tuple[str, str], Outcome] = {}
    for check in checks:
        key = check.rule, check.subjects[0]
        if check.level is Level.STOP and _is_worse(check.outcome, worst.get(key)):
            worst[key] = check.outcome
    return worst


def _is_worse(outcome: Outcome, other: Outcome | None) -> bool:
    order = [Outcome.MET, Outcome.UNASSESSED, Outcome.DOUBTFUL, Outcome.BROKEN]
    return other is None or order.index(outcome) > order.index(other)


def _value_at(job: Job, path: str) -> object:
    try:
        return number_at(job, path)
    except PathError:
        return None


def _plain_value(value: object) -> object:
    if isinstance(value, Interval):
        return [value.low, value.nominal, value.high]
    return value
