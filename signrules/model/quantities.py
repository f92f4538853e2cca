"""Numbers with a tolerance, and the one guard with which lengths are compared."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import field, frozen

GUARD_MM = 1e-6
"""One nanometre: two lengths that differ by less count as equal.

Binary floats cannot hold most decimal millimetres exactly; every comparison of computed lengths
allows this much.
"""


@frozen(order=False)
class Interval:
    """A number known to lie from `low` to `high`; `nominal` is the value that it is meant to have.

    Raises ValueError unless low <= nominal <= high, all finite.
    """

    low: float = field(converter=float)
    nominal: float = field(converter=float)
    high: float = field(converter=float)

    def __attrs_post_init__(self) -> None:
        # One comparison, since jobs make very many of these; what is no number fails it too.
        if not -math.inf < self.low <= self.nominal <= self.high < math.inf:
            numbers = f"{self.low}, {self.nominal}, {self.high}"
            raise ValueError(f"expected finite numbers with low <= nominal <= high, got {numbers}")

    @classmethod
    def exact(cls, value: float) -> Interval:
        """A number without a tolerance."""
        return cls(value, value, value)

    @classmethod
    def between(cls, low: float, high: float) -> Interval:
        """A number from low to high whose nominal value is the middle."""
        return clamped_interval(low, (low + high) / 2, high)

    @property
    def is_exact(self) -> bool:
        """Whether the number carries no tolerance."""
        return self.low == self.high

    def __add__(self, other: Interval) -> Interval:
        """The sum of two numbers that err independently."""
        return Interval(self.low + other.low, self.nominal + other.nominal, self.high + other.high)

    def __sub__(self, other: Interval) -> Interval:
        """The difference of two numbers that err independently; too wide if they do not."""
        return Interval(self.low - other.high, self.nominal - other.nominal, self.high - other.low)

    def moved_to(self, nominal: float) -> Interval:
        """This tolerance around another nominal value."""
        below, above = self.nominal - self.low, self.high - self.nominal
        return Interval(nominal - below, nominal, nominal + above)

    def scaled(self, factor: float) -> Interval:
        """The interval times a plain number."""
        ends = (self.low * factor, self.high * factor)
        # A factor below 0 turns the ends round.
        return Interval(min(ends), self.nominal * factor, max(ends))


def clamped_interval(low: float, nominal: float, high: float) -> Interval:
    """A number from low to high; a nominal value outside is moved to the nearer end.

    Rounding may put it outside where it is computed by another way than the ends.
    """
    return Interval(low, min(max(nominal, low), high), high)


def least_of(intervals: Iterable[Interval]) -> Interval:
    """The smallest of several numbers, each known only as an interval (at least one)."""
    items = tuple(intervals)
    if len(items) == 1:  # Mostly it is one.
        return items[0]
    return Interval(
        min(i.low for i in items), min(i.nominal for i in items), min(i.high for i in items)
    )


def greatest_of(intervals: Iterable[Interval]) -> Interval:
    """The greatest of several numbers, each known only as an interval (at least one)."""
    items = tuple(intervals)
    if len(items) == 1:  # Mostly it is one.
        return items[0]
    return Interval(
        max(i.low for i in items), max(i.nominal for i in items), max(i.high for i in items)
    )
