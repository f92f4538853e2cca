"""How far a number of a job can go before a check of level STOP that was met breaks."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable

from attrs import evolve, frozen

from signrules.documents.value_paths import Number, number_at, with_number
from signrules.errors import JobError
from signrules.evaluation import Evaluation, Live
from signrules.evaluation.live import trials_of
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.plugins import Plugins
from signrules.remedies.after_change import newly_failing, worsened_checks
from signrules.remedies.trial_budget import HEADROOM, PLANNED_PRICE
from signrules.remedies.trials import Progress, Trials
from signrules.rules.checks import Check
from signrules.shop import Shop

FINEST = 1e-6
"""No number is pinned down more finely, in its own unit: one nanometre for a length."""

SAMPLES = 8

ENDS = 4
"""Values that are evaluated again at the end, at the most: the last good and the first bad one on
either side.
"""


@frozen
class Reach:
    """How far a number can go one way.

    `limit` is the furthest value that was found good. `beyond` is the nearest that was found bad,
    None where none was within the range that was searched. `breaks` is the check that breaks
    there; where it is None, `why` says what else stands against it. `settled` is False where the
    trials were used up before the limit was pinned down and the values on the way to it were
    sampled.
    """

    limit: float
    beyond: float | None
    breaks: Check | None
    why: str
    settled: bool = True


@frozen
class Headroom:
    """How far a number can go down and up; of a toleranced length the nominal value, its tolerance
    moving along.

    `samples` values on either side that is settled, evenly spread up to the limit, were evaluated
    and found good. Between them it is taken for granted that what is good at both ends is good in
    the middle. `trials` is how many evaluations that took, `states` what they took of the budget.
    """

    path: str
    value: float
    down: Reach
    up: Reach
    samples: int
    trials: int
    states: int = 0

    def __str__(self) -> str:
        return (
            f"{self.path} is {self.value:.9g}: {_words_of_reach('down', self.down)},"
            f" {_words_of_reach('up', self.up)}"
        )


def headroom(
    job: Job,
    path: str,
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    today: datetime.date | None = None,
    within: float | None = None,
    resolution: float | None = None,
    budget: int | None = None,
    progress: Progress | None = None,
) -> Headroom:
    """How far the number at a path can go before a check of level STOP that was met breaks.

    Found by evaluating the job with other numbers: ever larger steps until something breaks, then
    halving. Gaps and order are planned again each time, where the job leaves them open. Whole
    numbers are taken as whole numbers. `within` is how far the search goes either way: left out,
    ten times the number and at least 10. `resolution` is how finely the limits of a number that is
    not whole are pinned down: left out, to the power of ten next below a thousandth of it.

    `budget` is how many states of the planner all trials may take together, each counted with a
    fixed number besides; left out, what `signrules.remedies.trial_budget.HEADROOM` makes of the
    job.
    `progress` is called after each trial with the states spent and those that there are. Raises
    PathError where the path leads to no number, JobError and ShopError as
    `evaluate` does, ValueError unless `within` and `resolution` are above 0.
    """
    _demand_above_0(within=within, resolution=resolution)
    value = number_at(job, path)
    nominal = float(value.nominal if isinstance(value, Interval) else value)
    whole = isinstance(value, int)
    live, today = Live(plugins=plugins, shop=shop, audited=False), today or datetime.date.today()
    start = live.evaluate(job, today=today)
    fine = 1.0 if whole else resolution or _resolution_of(nominal)
    far = fine * math.floor(
        (max(10 * abs(nominal), 10.0) if within is None else within) / fine + 1e-9
    )
    total = HEADROOM.states_for(len(job.items), start.states) if budget is None else budget
    aside = min(ENDS * (PLANNED_PRICE + 1 + start.states), total // 2)

    def make(at: float) -> Job:
        return with_number(job, path, _moved_value(value, at))

    def reaches(tried: _Tried) -> list[Reach]:
        return [_Search(tried, nominal, far, fine, whole, way).reach() for way in (-1, 1)]

    quick = _Tried(trials_of(start, total - aside, knowing=True, progress=progress), make)
    found = reaches(quick)
    plain = _Tried(trials_of(start, total - quick.trials.spent, progress=progress), make)
    kept = [reach for each in found if (reach := plain.confirmed(each)) is not None]
    down, up = kept if len(kept) == len(found) else reaches(plain)
    count, spent = quick.trials.count + plain.trials.count, quick.trials.spent + plain.trials.spent
    return Headroom(path, nominal, down, up, SAMPLES, count, spent)


def _demand_above_0(**stated: float | None) -> None:
    for name, value in stated.items():
        if value is not None and not 0 < value < math.inf:
            raise ValueError(f"expected {name} above 0, got {value!r}")


def _resolution_of(value: float) -> float:
    return max(FINEST, 10.0 ** math.floor(math.log10(abs(value) / 1000) + 1e-9)) if value else 0.001


def _moved_value(value: Number, nominal: float) -> Number:
    if isinstance(value, Interval):
        return value.moved_to(nominal)
    return round(nominal) if isinstance(value, int) else nominal


@frozen
class _Verdict:
    """What came of one value: good, or a check that breaks, or something else that stands against
    it.
    """

    good: bool
    breaks: Check | None = None
    why: str = ""


class _UsedUp(Exception):
    """The budget allows no further trial."""


class _Tried:
    """Evaluates the job with other numbers, each once."""

    def __init__(self, trials: Trials[Evaluation], make: Callable[[float], Job]) -> None:
        self.trials, self.start, self._make = trials, trials.judged, make
        self.verdicts: dict[float, _Verdict] = {}

    def __call__(self, value: float) -> _Verdict:
        if value not in self.verdicts:
            self.verdicts[value] = self._verdict(value)
        return self.verdicts[value]

    def confirmed(self, reach: Reach) -> Reach | None:
        """A reach that was found otherwise, None where its ends are found to be others here.

        Where the budget does not go so far, it is not settled.
        """
        try:
            same = self(reach.limit).good and (reach.beyond is None or not self(reach.beyond).good)
        except _UsedUp:
            return evolve(reach, settled=False)
        return reach if same else None

    def _verdict(self, value: float) -> _Verdict:
        try:
            job = self._make(value)
        except JobError as error:
            return _Verdict(
                False, None, f"the job cannot hold it, expected {error.faults[0].expected}"
            )
        result = self.trials.evaluated(job)
        if result is None:
            raise _UsedUp
        if result.conflict is not None and self.start.conflict is None:
            return _Verdict(False, None, result.conflict.message)
        if failing := newly_failing(self.start, result):
            return _Verdict(False, None, f"judging fails: {failing[0]}")
        worse = worsened_checks(self.start, result)
        if worse is None:
            return _Verdict(False, None, "a check of level STOP that was met can no longer be made")
        return _Verdict(False, worse[0], worse[0].message) if worse else _Verdict(True)


class _Search:
    """Brackets and halves one way, down (-1) or up (1)."""

    def __init__(
        self, tried: _Tried, start: float, far: float, resolution: float, whole: bool, way: int
    ) -> None:
        self.tried, self.start, self.far, self.resolution, self.whole = (
            tried,
            start,
            far,
            resolution,
            whole,
        )
        self.way = way
        self.good: float = start
        self.bad: float | None = None

    def reach(self) -> Reach:
        """How far the number can go."""
        settled = True
        try:
            self._bracket()
            self._halve()
            while self._found_bad_sample():
                self._halve()
        except _UsedUp:
            settled = False
        if self.bad is not None:
            verdict = self.tried(self.bad)
            return Reach(self.good, self.bad, verdict.breaks, verdict.why, settled)
        ended = "where the search ended" if settled else "where the trials were used up"
        return Reach(
            self.good, None, None, f"nothing breaks up to {self.good:.9g}, {ended}", settled
        )

    def _bracket(self) -> None:
        """Goes on in ever larger steps until something breaks."""
        step = 1.0 if self.whole else max(self.resolution, abs(self.start) / 100)
        while True:
            value = self._at(self.start + self.way * min(step, self.far))
            if value == self.good:
                return
            if not self.tried(value).good:
                self.bad = value
                return
            self.good, step = value, 2 * step

    def _halve(self) -> None:
        while self.bad is not None and abs(self.bad - self.good) > self.resolution * (1 + 1e-9):
            middle = self._at((self.good + self.bad) / 2)
            if middle in (self.good, self.bad):
                return
            if self.tried(middle).good:
                self.good = middle
            else:
                self.bad = middle

    def _found_bad_sample(self) -> bool:
        """Whether a sample on the way to the good value is bad; the first, with the good one before
        it, is kept.
        """
        before, good = self.start, self.good
        for count in range(1, SAMPLES + 1):
            value = self._at(self.start + (good - self.start) * count / (SAMPLES + 1))
            if value in (before, self.start):
                continue
            if not self.tried(value).good:
                self.good, self.bad = before, value
                return True
            before = value
        return False

    def _at(self, value: float) -> float:
        if self.whole:
            return float(round(value))
        return round(
            self.start + round((value - self.start) / self.resolution) * self.resolution, 9
        )


def _words_of_reach(way: str, reach: Reach) -> str:
    ended = "" if reach.settled else ", as far as the trials went"
    if reach.beyond is None:
        return f"{way} to {reach.limit:.9g} at least{ended}"
    why = reach.why.partition("\n")[0].rstrip(".")
    what = (
        f"{reach.breaks.rule} on {reach.breaks.subjects[0]} breaks"
        if reach.breaks is not None
        else why
    )
    return f"{way} to {reach.limit:.9g} ({what} at {reach.beyond:.9g}{ended})"
