"""How far a number of a job can go before a check of level STOP that was met breaks."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable

from attrs import evolve, frozen

from signrules.documents.value_paths import Number, declared_at, number_at, with_number
from signrules.errors import JobError
from signrules.evaluation import Evaluation, Live
from signrules.evaluation.live import trials_of
from signrules.given_values import day_or_today, demand_bounds, demand_given
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.notebook_tables import notebook_html
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

NO_ORDER_FOUND = "none of the orders that were tried is safe"


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


@frozen(repr=False)
class Headroom:
    """How far a number can go down and up; a toleranced length moves with its tolerance.

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

    def __repr__(self) -> str:
        return f"<Headroom: {self}>"

    def _repr_html_(self) -> str:
        """What a notebook shows: how far the number can go either way, and what breaks there."""
        rows = [
            (way, f"{reach.limit:.9g}", _bad_value(reach), _what_breaks(reach))
            for way, reach in (("down", self.down), ("up", self.up))
        ]
        columns = ("way", "good to", "bad at", "what breaks")
        return notebook_html(self._stated(), "", (), [(columns, rows)])

    def __str__(self) -> str:
        return (
            f"{self._stated()}: {_words_of_reach('down', self.down)},"
            f" {_words_of_reach('up', self.up)}"
        )

    def _stated(self) -> str:
        """The number as it is, in the unit of all numbers here."""
        declared = declared_at(self.path)
        unit = "" if declared is None else declared.unit
        return f"{self.path} is {self.value:.9g} {unit}".rstrip()


def _bad_value(reach: Reach) -> str:
    return "" if reach.beyond is None else f"{reach.beyond:.9g}"


def _what_breaks(reach: Reach) -> str:
    return reach.why if reach.breaks is None else f"{reach.breaks.rule}: {reach.breaks.message}"


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
    demand_given("headroom", (job, Job), (plugins, Plugins | None), (shop, Shop | None))
    demand_bounds(budget=0 if budget is None else budget)
    _demand_above_0(within=within, resolution=resolution)
    grid = _grid_of(number_at(job, path), within, resolution)
    start = Live(plugins=plugins, shop=shop, audited=False).evaluate(job, today=day_or_today(today))
    if budget is None:
        budget = HEADROOM.states_for(len(job.items), start.states)
    return _headroom_of(job, path, start, grid, budget, progress)


def _headroom_of(
    job: Job,
    path: str,
    start: Evaluation,
    grid: _Grid,
    budget: int,
    progress: Progress | None,
) -> Headroom:
    """The ends on both sides, found by quick trials and confirmed by trials from scratch."""
    value = number_at(job, path)
    # Kept back for the ends, which are confirmed from scratch.
    aside = min(ENDS * (PLANNED_PRICE + 1 + start.states), budget // 2)

    def make(nominal: float) -> Job:
        return with_number(job, path, _moved_value(value, nominal))

    # Trials that start from the plan that there is are quick, but their planner may come to
    # another order of the same cost than an evaluation would. So they find the ends, and trials
    # from scratch confirm these.
    quick = _Tried(trials_of(start, budget - aside, from_plan=True, progress=progress), make)
    reaches = _reaches(quick, grid)
    plain = _Tried(trials_of(start, budget - quick.trials.spent, progress=progress), make)
    confirmed = [plain.confirmed(reach) for reach in reaches]
    kept_reaches = [reach for reach in confirmed if reach is not None]
    # An end that is another from scratch: what the quick search found on the way cannot be trusted.
    if len(kept_reaches) < len(reaches):
        kept_reaches = _reaches(plain, grid)
    down, up = kept_reaches
    count, spent = quick.trials.count + plain.trials.count, quick.trials.spent + plain.trials.spent
    return Headroom(path, grid.start, down, up, SAMPLES, count, spent)


@frozen
class _Grid:
    """The values that a search may try: from `start` in steps of `resolution`, up to `far` away."""

    start: float
    far: float
    resolution: float
    whole: bool

    def nearest(self, value: float) -> float:
        """The value of the grid next to another one."""
        if self.whole:
            return float(round(value))
        steps = round((value - self.start) / self.resolution)
        return round(self.start + steps * self.resolution, 9)


def _grid_of(value: Number, within: float | None, resolution: float | None) -> _Grid:
    nominal = float(value.nominal if isinstance(value, Interval) else value)
    is_whole_number = isinstance(value, int)
    finest = 1.0
    if not is_whole_number:
        finest = resolution or _resolution_of(nominal)
    if within is None:
        within = max(10 * abs(nominal), 10.0)
    return _Grid(nominal, finest * math.floor(within / finest + 1e-9), finest, is_whole_number)


def _reaches(tried: _Tried, grid: _Grid) -> list[Reach]:
    """How far the number can go down, and how far up."""
    return [_Search(tried, grid, direction).reach() for direction in (-1, 1)]


def _demand_above_0(**stated: float | None) -> None:
    for name, value in stated.items():
        if value is None:
            continue
        if not isinstance(value, int | float) or not 0 < value < math.inf:
            raise ValueError(f"expected {name} above 0, got {value!r}")


def _resolution_of(value: float) -> float:
    if not value:
        return 0.001
    return max(FINEST, 10.0 ** math.floor(math.log10(abs(value) / 1000) + 1e-9))


def _moved_value(value: Number, nominal: float) -> Number:
    if isinstance(value, Interval):
        return value.moved_to(nominal)
    if isinstance(value, int):
        return round(nominal)
    return nominal


@frozen
class _Verdict:
    """What came of one value: good, or a check that breaks, or what else stands against it."""

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
            is_confirmed = self(reach.limit).good and (
                reach.beyond is None or not self(reach.beyond).good
            )
        except _UsedUp:
            return evolve(reach, settled=False)
        return reach if is_confirmed else None

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
            why = result.conflict.message if result.conflict.proven else NO_ORDER_FOUND
            return _Verdict(False, None, why)
        if failing := newly_failing(self.start, result):
            return _Verdict(False, None, f"judging fails: {failing[0]}")
        worse = worsened_checks(self.start, result)
        if worse is None:
            return _Verdict(False, None, "a check of level STOP that was met can no longer be made")
        if worse:
            return _Verdict(False, worse[0], worse[0].message)
        return _Verdict(True)


class _Search:
    """Brackets and halves one way, down (-1) or up (1)."""

    def __init__(self, tried: _Tried, grid: _Grid, way: int) -> None:
        self.tried, self.grid, self.way = tried, grid, way
        self.good: float = grid.start
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
        grid = self.grid
        step = 1.0
        if not grid.whole:
            # A hundredth at first, since most numbers near a limit are near it by some per cent.
            step = max(grid.resolution, abs(grid.start) / 100)
        while True:
            value = grid.nearest(grid.start + self.way * min(step, grid.far))
            if value == self.good:
                return
            if not self.tried(value).good:
                self.bad = value
                return
            self.good, step = value, 2 * step

    def _halve(self) -> None:
        # The guard keeps rounding of the two ends from asking for one halving more.
        least_width = self.grid.resolution * (1 + 1e-9)
        while self.bad is not None and abs(self.bad - self.good) > least_width:
            middle = self.grid.nearest((self.good + self.bad) / 2)
            # The grid has no value in between.
            if middle in (self.good, self.bad):
                return
            if self.tried(middle).good:
                self.good = middle
            else:
                self.bad = middle

    def _found_bad_sample(self) -> bool:
        """Whether a sample on the way to the good value is bad.

        The first such, with the good one before it, becomes the pair to halve. What is good far out
        need not be good on the way: ever larger steps may have jumped over a stretch that is bad.
        """
        start, before, good = self.grid.start, self.grid.start, self.good
        for count in range(1, SAMPLES + 1):
            value = self.grid.nearest(start + (good - start) * count / (SAMPLES + 1))
            if value in (before, start):
                continue
            if not self.tried(value).good:
                self.good, self.bad = before, value
                return True
            before = value
        return False


def _words_of_reach(way: str, reach: Reach) -> str:
    ended = "" if reach.settled else ", as far as the trials went"
    if reach.beyond is None:
        return f"{way} to {reach.limit:.9g} at least{ended}"
    reason = reach.why.partition("\n")[0].rstrip(".")
    reason = reason[:1].lower() + reason[1:]
    if reach.breaks is not None:
        reason = f"{reach.breaks.rule} on {reach.breaks.subjects[0]} breaks"
    return f"{way} to {reach.limit:.9g} (at {reach.beyond:.9g} {reason}{ended})"
