"""How far a number of a job can go before a check of level STOP that was met breaks."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable

from attrs import frozen

from signrules.errors import JobError
from signrules.evaluation import Evaluation, Live
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.plugins import Plugins
from signrules.remedies.comparing import newly_failing, worsened
from signrules.rules.checks import Check
from signrules.shop import Shop
from signrules.whatif.values import Number, number_at, with_number

FINEST = 1e-6
"""No number is pinned down more finely, in its own unit: one nanometre for a length."""

SAMPLES = 8


@frozen
class Reach:
    """How far a number can go one way.

    `limit` is the furthest value that was found good. `beyond` is the nearest that was found bad, None where none was
    within the range that was searched. `breaks` is the check that breaks there; where it is None, `why` says what else
    stands against it.
    """

    limit: float
    beyond: float | None
    breaks: Check | None
    why: str


@frozen
class Headroom:
    """How far a number can go down and up; of a toleranced length the nominal value, its tolerance moving along.

    `samples` values on either side, evenly spread up to the limit, were evaluated and found good. Between them it is
    taken for granted that what is good at both ends is good in the middle.
    """

    path: str
    value: float
    down: Reach
    up: Reach
    samples: int
    trials: int

    def __str__(self) -> str:
        return f"{self.path} is {self.value:.9g}: {_words('down', self.down)}, {_words('up', self.up)}"


def headroom(
    job: Job,
    path: str,
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    today: datetime.date | None = None,
    within: float | None = None,
    resolution: float | None = None,
) -> Headroom:
    """How far the number at a path can go before a check of level STOP that was met breaks.

    Found by evaluating the job with other numbers: ever larger steps until something breaks, then halving. Gaps and
    order are planned anew each time, where the job leaves them open. Whole numbers are taken as whole numbers. `within`
    is how far the search goes either way: left out, ten times the number and at least 10. `resolution` is how finely
    the limits of a number that is not whole are pinned down: left out, to the power of ten next below a thousandth of
    it. Raises PathError where the path leads to no number, JobError and ShopError as `evaluate` does, ValueError unless
    `within` and `resolution` are above 0.
    """
    for name, stated in (("within", within), ("resolution", resolution)):
        if stated is not None and not 0 < stated < math.inf:
            raise ValueError(f"expected {name} above 0, got {stated!r}")
    value = number_at(job, path)
    nominal = float(value.nominal if isinstance(value, Interval) else value)
    whole = isinstance(value, int)
    live, today = Live(plugins=plugins, shop=shop, audited=False), today or datetime.date.today()
    tried = _Tried(live.evaluate(job, today=today), lambda at: with_number(job, path, _moved(value, at)), live, today)
    fine = 1.0 if whole else resolution or _resolution(nominal)
    far = fine * math.floor((max(10 * abs(nominal), 10.0) if within is None else within) / fine + 1e-9)
    search = _Search(tried, nominal, far, fine, whole)
    return Headroom(path, nominal, search.reach(-1), search.reach(1), SAMPLES, len(tried.verdicts))


def _resolution(value: float) -> float:
    return max(FINEST, 10.0 ** math.floor(math.log10(abs(value) / 1000) + 1e-9)) if value else 0.001


def _moved(value: Number, nominal: float) -> Number:
    if isinstance(value, Interval):
        return value.moved_to(nominal)
    return round(nominal) if isinstance(value, int) else nominal


@frozen
class _Verdict:
    """What came of one value: good, or a check that breaks, or something else that stands against it."""

    good: bool
    breaks: Check | None = None
    why: str = ""


class _Tried:
    """Evaluates the job with other numbers, each once."""

    def __init__(self, start: Evaluation, make: Callable[[float], Job], live: Live, today: datetime.date) -> None:
        self.start, self.make, self.live, self.today = start, make, live, today
        self.verdicts: dict[float, _Verdict] = {}

    def __call__(self, value: float) -> _Verdict:
        if value not in self.verdicts:
            self.verdicts[value] = self._verdict(value)
        return self.verdicts[value]

    def _verdict(self, value: float) -> _Verdict:
        try:
            result = self.live.evaluate(self.make(value), today=self.today)
        except JobError as error:
            return _Verdict(False, None, f"the job cannot hold it, expected is {error.faults[0].expected}")
        if result.conflict is not None and self.start.conflict is None:
            return _Verdict(False, None, result.conflict.message)
        if failing := newly_failing(self.start, result):
            return _Verdict(False, None, f"judging fails: {failing[0]}")
        worse = worsened(self.start, result)
        if worse is None:
            return _Verdict(False, None, "a check of level STOP that was met can no longer be made")
        return _Verdict(False, worse[0], worse[0].message) if worse else _Verdict(True)


@frozen
class _Search:
    """Brackets and halves, one way at a time."""

    tried: _Tried
    start: float
    far: float
    resolution: float
    whole: bool

    def reach(self, way: int) -> Reach:
        """How far the number can go down (-1) or up (1)."""
        good, bad = self._bracket(way)
        while True:
            if bad is not None:
                good, bad = self._halved(good, bad)
            between = self._first_bad_sample(good)
            if between is None:
                break
            good, bad = between
        if bad is None:
            return Reach(good, None, None, f"nothing breaks up to {good:.9g}, where the search ended")
        verdict = self.tried(bad)
        return Reach(good, bad, verdict.breaks, verdict.why)

    def _bracket(self, way: int) -> tuple[float, float | None]:
        step = 1.0 if self.whole else max(self.resolution, abs(self.start) / 100)
        good = self.start
        while True:
            value = self._at(self.start + way * min(step, self.far))
            if value == good:
                return good, None
            if not self.tried(value).good:
                return good, value
            good, step = value, 2 * step

    def _halved(self, good: float, bad: float) -> tuple[float, float]:
        while abs(bad - good) > self.resolution * (1 + 1e-9):
            middle = self._at((good + bad) / 2)
            if middle in (good, bad):
                break
            if self.tried(middle).good:
                good = middle
            else:
                bad = middle
        return good, bad

    def _first_bad_sample(self, good: float) -> tuple[float, float] | None:
        """The first sample on the way to a good value that is bad, with the good one before it."""
        before = self.start
        for count in range(1, SAMPLES + 1):
            value = self._at(self.start + (good - self.start) * count / (SAMPLES + 1))
            if value in (before, self.start):
                continue
            if not self.tried(value).good:
                return before, value
            before = value
        return None

    def _at(self, value: float) -> float:
        if self.whole:
            return float(round(value))
        return round(self.start + round((value - self.start) / self.resolution) * self.resolution, 9)


def _words(way: str, reach: Reach) -> str:
    if reach.beyond is None:
        return f"{way} to {reach.limit:.9g} at least"
    why = reach.why.partition("\n")[0].rstrip(".")
    what = f"{reach.breaks.rule} on {reach.breaks.subjects[0]} breaks" if reach.breaks is not None else why
    return f"{way} to {reach.limit:.9g} ({what} at {reach.beyond:.9g})"
