"""Heights as sums of unknowns.

A tolerance is one unknown, not two: the thickness of the sheet from which the gap was set stands in
the head plane and again in the surface below it, and cancels. So a height stays symbolic, so many
times this unknown and so many times that one, and becomes an interval only when a difference has
been taken.
"""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from signrules.model.quantities import Interval, clamped_interval


@frozen(cache_hash=True)
class Unknown:
    """One physical quantity in mm that has one value, known only as an interval."""

    name: str
    value: Interval


@frozen(eq=False)
class Form:
    """A height in mm: the sum over its terms of count times unknown."""

    terms: Mapping[Unknown, int]

    @classmethod
    def of(cls, *unknowns: Unknown) -> Form:
        """The plain sum of some unknowns."""
        terms: dict[Unknown, int] = {}
        for unknown in unknowns:
            terms[unknown] = terms.get(unknown, 0) + 1
        return cls(terms)

    def __add__(self, other: Form) -> Form:
        return self._combined(other, 1)

    def __sub__(self, other: Form) -> Form:
        return self._combined(other, -1)

    def _combined(self, other: Form, sign: int) -> Form:
        terms = dict(self.terms)
        for unknown, count in other.terms.items():
            total = terms.get(unknown, 0) + sign * count
            # A term that cancels is dropped, so that equal heights have equal terms.
            if total:
                terms[unknown] = total
            else:
                terms.pop(unknown, None)
        return Form(terms)

    def interval(self) -> Interval:
        """The height as an interval: each unknown at whichever of its ends is worse."""
        low = nominal = high = 0.0
        for unknown, count in self.terms.items():
            value = unknown.value
            nominal += count * value.nominal
            if count > 0:
                low += count * value.low
                high += count * value.high
            else:
                low += count * value.high
                high += count * value.low
        # Rounding of the three sums may differ in the last bit.
        return clamped_interval(low, nominal, high)
