"""What repeated readings and fits say, with an uncertainty.

GUM is JCGM 100:2008, "Guide to the expression of uncertainty in measurement". Clauses, from
memory: 4.2 the deviation of repeated readings, 4.3.7 a value known between two bounds, 5.1.2 the
combination of what is independent, 5.2.2 of what is not, G.3 and G.4 the factor for a level.
Fits by least squares: NIST/SEMATECH e-Handbook of Statistical Methods, section 4.1.4.1, from
memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from types import ModuleType

from attrs import frozen

from signrules.errors import SignrulesError
from signrules.model.quantities import Interval, clamped_interval
from signrules.physics.ink import sample_deviation

LEVEL = 0.95
"""How sure an interval is to hold the figure."""

DOUBT = 0.01
"""A model is given up where what is seen had less chance than this under it."""


def scipy_part(name: str) -> ModuleType:
    """A part of scipy, loaded when it is needed. Raises SignrulesError where it is not there."""
    # scipy takes longer to load than a whole check; only measuring needs it.
    from importlib import import_module

    try:
        return import_module(f"scipy.{name}")
    except ModuleNotFoundError:
        raise SignrulesError(
            "measuring needs the package scipy, which is not installed: pip install"
            " 'signrules[measure]'"
        ) from None


@frozen
class Part:
    """A part of an uncertainty: a standard uncertainty and its degrees of freedom."""

    uncertainty: float
    freedom: float = math.inf


@frozen
class Estimate:
    """A value, its standard uncertainty, and the degrees of freedom of that."""

    value: float
    uncertainty: float
    freedom: float

    def interval(self) -> Interval:
        """The value with its tolerance at `LEVEL`: the uncertainty times Student's t (GUM G.3)."""
        half_width = two_sided_factor(self.freedom) * self.uncertainty if self.uncertainty else 0.0
        return Interval(self.value - half_width, self.value, self.value + half_width)

    def upper_end(self) -> float:
        """What the value stays below at `LEVEL`, one-sided."""
        half_width = one_sided_factor(self.freedom) * self.uncertainty if self.uncertainty else 0.0
        return self.value + half_width

    def scaled(self, factor: float) -> Estimate:
        """The same in another unit."""
        return Estimate(self.value * factor, self.uncertainty * abs(factor), self.freedom)


def two_sided_factor(freedom: float, level: float = LEVEL) -> float:
    """Student's t for an interval with two ends; the normal distribution where nothing is
    estimated.

    Degrees of freedom need not be whole: GUM G.4.1 (note) lets a table be interpolated.
    """
    return _quantile(freedom, (1 + level) / 2)


def one_sided_factor(freedom: float, level: float = LEVEL) -> float:
    """Student's t for a bound."""
    return _quantile(freedom, level)


def _quantile(freedom: float, share: float) -> float:
    # Nothing was estimated from readings, so Student's t is the normal distribution.
    if math.isinf(freedom):
        # The inverse of the normal distribution is in the standard library.
        from statistics import NormalDist

        return NormalDist().inv_cdf(share)
    return float(scipy_part("special").stdtrit(freedom, share))


def combined_estimate(value: float, parts: Iterable[Part]) -> Estimate:
    """A value whose uncertainty has independent parts.

    They add as squares (GUM 5.1.2); degrees of freedom after Welch and Satterthwaite (GUM G.4.1).
    """
    # Welch and Satterthwaite divide by the total, which may be 0.
    counted = [part for part in parts if part.uncertainty > 0]
    total = math.sqrt(math.fsum(part.uncertainty**2 for part in counted))
    spent = math.fsum((part.uncertainty / total) ** 4 / part.freedom for part in counted)
    return Estimate(value, total, 1 / spent if spent else math.inf)


def reading_part(reads_to: float) -> Part:
    """What a tool that reads to a step leaves open: step / sqrt(12) (GUM F.2.2.1)."""
    return Part(reads_to / math.sqrt(12))


def tolerance_part(value: Interval) -> Part:
    """What a stated tolerance leaves open: half its width / sqrt(3), evenly spread (GUM 4.3.7)."""
    return Part((value.high - value.low) / math.sqrt(12))


def mean_value(values: Sequence[float]) -> float:
    """The mean of one or more values."""
    return math.fsum(values) / len(values)


def mean_estimate(values: Sequence[float], reads_to: float = 0.0) -> Estimate:
    """The mean of two or more readings: deviation / sqrt(n), n - 1 degrees of freedom (GUM 4.2.3),
    and the step that the tool reads to.
    """
    scatter = Part(sample_deviation(values) / math.sqrt(len(values)), len(values) - 1)
    return combined_estimate(mean_value(values), (scatter, reading_part(reads_to)))


def next_estimate(values: Sequence[float], reads_to: float = 0.0) -> Estimate:
    """One more reading like two or more others: deviation x sqrt(1 + 1/n) around their mean.

    A prediction interval for one more of a normal distribution: Hahn and Meeker, Statistical
    Intervals, chapter 4, from memory.
    """
    spread = sample_deviation(values) * math.sqrt(1 + 1 / len(values))
    scatter = Part(spread, len(values) - 1)
    return combined_estimate(mean_value(values), (scatter, reading_part(reads_to)))


def range_of(values: Sequence[float]) -> Interval:
    """From the least to the greatest reading, their mean as nominal value."""
    # The mean of equal values may be rounded to a hair beside them.
    return clamped_interval(min(values), mean_value(values), max(values))


@frozen
class Fit:
    """Two figures that readings y over x were fitted with by least squares, weights equal.

    `figures` are slope and intercept of a line, or what a model has in their stead.
    `unit_covariance` holds their variances and their covariance for readings of deviation 1, in
    the order first, second, both.
    """

    x: tuple[float, ...]
    figures: tuple[float, float]
    unit_covariance: tuple[float, float, float]
    residuals: tuple[float, ...]

    @property
    def freedom(self) -> int:
        """Degrees of freedom: readings less two."""
        return len(self.x) - 2

    @property
    def deviation(self) -> float:
        """The standard deviation of the residuals of three readings or more."""
        squares = math.fsum(residual**2 for residual in self.residuals)
        return math.sqrt(squares / self.freedom)

    def estimate(
        self,
        function: Callable[[float, float], float],
        reading: Part,
        others: Iterable[Part] = (),
    ) -> Estimate:
        """A figure made of both, with its uncertainty.

        The two are correlated, so GUM 5.2.2 applies: variances and covariance through the
        derivatives of the function, taken numerically. `reading` is that of each y, `others` are
        parts of the uncertainty of the result.
        """
        first, second = (
            derivative_of(function, self.figures, figure_index) for figure_index in (0, 1)
        )
        variances = self.unit_covariance
        spread = (
            first**2 * variances[0] + second**2 * variances[1] + 2 * first * second * variances[2]
        )
        # Where variances and covariance cancel, rounding may leave a hair less than 0.
        unit = math.sqrt(max(spread, 0.0))
        # Two points lie on their line whatever the readings are worth: only the step of the tool is
        # left.
        parts = [Part(reading.uncertainty * unit), *others]
        if self.freedom:
            parts.append(Part(self.deviation * unit, self.freedom))
        return combined_estimate(function(*self.figures), parts)

    def holds(self, reading: Part) -> bool | None:
        """Whether the readings keep to the model: False where they bend away from it.

        A term in x squared, beside what the line takes of it, is tested with Student's t at
        `DOUBT`; a bend that the step of the reading may feign is none. None where there are too few
        readings, or fewer than three different x.
        """
        freedom = len(self.x) - 3
        if freedom < 1 or len(set(self.x)) < 3:
            return None
        # What of x squared no straight line takes up.
        bend = line_fit(self.x, [value**2 for value in self.x]).residuals
        size = math.fsum(value**2 for value in bend)
        along = (
            math.fsum(
                bend_there * residual
                for bend_there, residual in zip(bend, self.residuals, strict=True)
            )
            / size
        )
        total = math.fsum(residual**2 for residual in self.residuals)
        squares_left = max(total - along**2 * size, 0.0)
        deviation = math.sqrt((squares_left / freedom + reading.uncertainty**2) / size)
        return abs(along) < two_sided_factor(freedom, 1 - DOUBT) * deviation


def line_fit(x: Sequence[float], y: Sequence[float]) -> Fit:
    """The straight line through readings, by scipy.stats.linregress: slope and intercept.

    The variances are those of e-Handbook 4.1.4.1: 1 / S of the slope, 1/n + mean**2 / S of the
    intercept, -mean / S of both, S being the squares of x about its mean.
    """
    fitted = scipy_part("stats").linregress(x, y)
    slope, intercept = float(fitted.slope), float(fitted.intercept)
    middle = mean_value(x)
    squares = math.fsum((value - middle) ** 2 for value in x)
    covariance = (1 / squares, 1 / len(x) + middle**2 / squares, -middle / squares)
    residuals = tuple(
        ordinate - intercept - slope * abscissa for abscissa, ordinate in zip(x, y, strict=True)
    )
    return Fit(tuple(x), (slope, intercept), covariance, residuals)


def curve_fit(
    model: Callable[[float, float, float], float],
    x: Sequence[float],
    y: Sequence[float],
    start: tuple[float, float],
) -> Fit:
    """A model of x and two figures through readings, by scipy.optimize.leastsq.

    Raises SignrulesError where no figures fit.
    """

    def apart(figures: Sequence[float]) -> list[float]:
        first, second = float(figures[0]), float(figures[1])
        return [
            ordinate - model(abscissa, first, second)
            for abscissa, ordinate in zip(x, y, strict=True)
        ]

    fitted, variances, _, _, status = scipy_part("optimize").leastsq(apart, start, full_output=True)
    # 1 to 4 are the ways in which MINPACK's lmdif says that it has come to an end (scipy's manual,
    # from memory).
    if variances is None or status not in (1, 2, 3, 4):
        raise SignrulesError("no figures were found that the readings fit")
    figures = (float(fitted[0]), float(fitted[1]))
    covariance = (float(variances[0][0]), float(variances[1][1]), float(variances[0][1]))
    return Fit(tuple(x), figures, covariance, tuple(apart(figures)))


def derivative_of(
    function: Callable[[float, float], float], figures: tuple[float, float], figure_index: int
) -> float:
    """By central differences, as GUM 5.1.3 (note 2) allows."""
    # Near the cube root of what a float resolves, where truncation and rounding of a central
    # difference balance (common practice, no published source).
    step = abs(figures[figure_index]) * 1e-5 or 1e-8
    above, below = list(figures), list(figures)
    above[figure_index] += step
    below[figure_index] -= step
    return (function(*above) - function(*below)) / (2 * step)
