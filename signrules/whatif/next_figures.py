"""What to measure next: the figures on which verdicts of level STOP hang, those first that settle
most, and how precisely each must be known.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from typing import Any

from attrs import evolve, frozen

from signrules.documents.value_paths import Number, declared_at, number_at, with_number
from signrules.errors import JobError, PathError
from signrules.evaluation import Evaluation, evaluate
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.wording import counted_things
from signrules.plugins import Plugins, load_plugins
from signrules.rules.checks import Level, Outcome
from signrules.shop import Shop
from signrules.whatif.headroom import headroom

Verdict = tuple[str, str]
"""A rule and its first subject."""

OF_PRINTER = (
    "base_gap",
    "min_clearance",
    "max_throw",
    "drop_speed",
    "landing_tolerance",
    "drop_volume",
    "absorbed_dose",
    "cooling",
)
OF_SHEETS = ("thickness", "bow", "expansion", "friction")
"""The figures of a printer and of a sheet that a shop can measure and verdicts depend on."""

OF_MACHINE = ("printer.", "inks.", "media.")
"""The paths of what a shop can measure begin so; all else is said of the job and its signs."""

UNSTATED, DOUBTFUL, TOLERANCE = "not stated", "doubtful", "its tolerance"


@frozen
class NextFigure:
    """A figure that is worth a measurement.

    `why` says what is wrong: it is not stated; it is doubtful, which is assumed or measured with
    ends at which a verdict would be another; or its tolerance leaves a check doubtful.
    `verdicts` are the rules and subjects that a measurement settles, by the job. `low` and `high`
    are the values between which every verdict of level STOP stays as it is, None where none breaks
    within ten times the figure; of a toleranced figure those of its nominal value.
    """

    path: str
    why: str
    verdicts: tuple[tuple[str, Verdict], ...]
    value: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "path": self.path,
            "why": self.why,
            "value": self.value,
            "low": self.low,
            "high": self.high,
            "unit": self.unit,
            "verdicts": [
                {"job": job, "rule": rule, "subject": subject}
                for job, (rule, subject) in self.verdicts
            ],
        }

    def __str__(self) -> str:
        settled = counted_things(len(self.verdicts), "verdict")
        stated = "" if self.value is None else f" = {self.value:.6g} {self.unit}".rstrip()
        return f"{self.path}{stated} ({self.why}, {settled}): {_range_in_words(self)}"


def what_to_measure(
    jobs: Iterable[Job],
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    today: datetime.date | None = None,
) -> tuple[NextFigure, ...]:
    """The figures of some jobs that are worth a measurement, those first that settle most verdicts.

    Raises JobError and ShopError as `evaluate` does.
    """
    if plugins is None:
        plugins = load_plugins()
    figures: dict[tuple[str, str], NextFigure] = {}
    for number, job in enumerate(jobs):
        name = job.name or f"job {number + 1}"
        result = evaluate(job, plugins=plugins, shop=shop, today=today)
        for path, why, verdicts in _worth_measuring(result):
            key = why, path
            named = tuple((name, verdict) for verdict in verdicts)
            declared = declared_at(path)
            figure = NextFigure(path, why, named, unit="" if declared is None else declared.unit)
            # Nothing is known of what is not stated, so there is no value to start a search from.
            if why != UNSTATED:
                figure = _with_range(figure, job, plugins, shop)
            figures[key] = figure if key not in figures else _of_both(figures[key], figure)
    order = (UNSTATED, DOUBTFUL, TOLERANCE)
    return tuple(
        sorted(
            figures.values(),
            key=lambda figure: (-len(figure.verdicts), order.index(figure.why), figure.path),
        )
    )


def _of_both(figure: NextFigure, other: NextFigure) -> NextFigure:
    """The same figure of two jobs: the verdicts of both, and the range that holds for both."""
    lows = [end for end in (figure.low, other.low) if end is not None]
    highs = [end for end in (figure.high, other.high) if end is not None]
    return evolve(
        figure,
        verdicts=(*figure.verdicts, *other.verdicts),
        low=max(lows, default=None),
        high=min(highs, default=None),
    )


def _worth_measuring(result: Evaluation) -> Iterator[tuple[str, str, list[Verdict]]]:
    """The paths of figures, why each is worth it, and which verdicts hang on it."""
    paths = list(measurable_paths(result.job))
    unstated: dict[str, list[Verdict]] = {}
    for check in result.unassessed:
        is_figure = (check.missing or "").startswith(OF_MACHINE)
        if check.level is Level.STOP and check.missing is not None and is_figure:
            unstated.setdefault(check.missing, []).append((check.rule, check.subjects[0]))
    yield from ((path, UNSTATED, verdicts) for path, verdicts in unstated.items())
    for figure in result.figures:
        if figure.hangs:
            yield figure.path, DOUBTFUL, list(figure.hangs)
    for path in paths:
        verdicts = _left_doubtful_by(result, path)
        if verdicts:
            yield path, TOLERANCE, verdicts


def measurable_paths(job: Job) -> Iterator[str]:
    """The paths of figures that a shop can measure, stated or not."""
    yield from (f"printer.{name}" for name in OF_PRINTER)
    yield from (f"printer.locating.{method}" for method, _ in job.printer.locating)
    yield from (f"inks.{ink.id}.layer" for ink in job.inks)
    for sheet in job.media:
        yield from (f"media.{sheet.id}.{name}" for name in OF_SHEETS)


def _left_doubtful_by(result: Evaluation, path: str) -> list[Verdict]:
    """The doubtful checks that are not doubtful any more where a figure is known exactly."""
    doubtful = _doubtful_verdicts(result)
    if not doubtful:
        return []
    try:
        value = number_at(result.job, path)
    except PathError:
        return []
    if not isinstance(value, Interval) or value.is_exact:
        return []
    settled: set[Verdict] = set()
    # The true value is not known: the check is settled if it is at any of these, either way.
    for end in (value.low, value.nominal, value.high):
        try:
            exact = with_number(result.job, path, Interval.exact(end))
        except JobError:
            continue
        settled |= doubtful - _doubtful_verdicts(result.with_job(exact))
    return sorted(settled)


def _doubtful_verdicts(result: Evaluation) -> set[Verdict]:
    return {
        (check.rule, check.subjects[0])
        for check in result.checks
        if check.level is Level.STOP and check.outcome is Outcome.DOUBTFUL
    }


def _with_range(figure: NextFigure, job: Job, plugins: Plugins, shop: Shop | None) -> NextFigure:
    """The figure with the range in which every verdict stays as it is, once it is known exactly."""
    try:
        stated = number_at(job, figure.path)
        value = _nominal_of(stated)
        exact = Interval.exact(value) if isinstance(stated, Interval) else stated
        job_with_number = with_number(job, figure.path, exact)
        # Of the exact value, since its own tolerance would take away from the range twice.
        room = headroom(job_with_number, figure.path, plugins=plugins, shop=shop)
    except (PathError, JobError):
        return figure
    low = None if room.down.beyond is None else room.down.limit
    high = None if room.up.beyond is None else room.up.limit
    return evolve(figure, value=value, low=low, high=high)


def _nominal_of(value: Number) -> float:
    return float(value.nominal if isinstance(value, Interval) else value)


def _range_in_words(figure: NextFigure) -> str:
    if figure.value is None:
        return "nothing is known of it; state it, and it is judged"
    unit = f" {figure.unit}" if figure.unit else ""
    if figure.low is None and figure.high is None:
        return "any value gives the same verdicts elsewhere"
    if figure.low is None:
        return f"any value up to {figure.high:.6g}{unit} gives the same verdicts"
    if figure.high is None:
        return f"any value from {figure.low:.6g}{unit} on gives the same verdicts"
    sentence = f"any value from {figure.low:.6g} to {figure.high:.6g}{unit} gives the same verdicts"
    off = min(figure.value - figure.low, figure.high - figure.value)
    return f"{sentence}; it may be off by at most {off:.3g}{unit}" if off > 0 else sentence
