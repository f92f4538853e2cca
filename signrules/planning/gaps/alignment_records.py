"""Alignments on record and still to be made, as the extras at which each would serve."""

from __future__ import annotations

from bisect import bisect_left

from attrs import frozen

from signrules.model.job import Job
from signrules.model.passes import Pass
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.landing import Window, alignment_window

Needs = frozenset[Window]
"""For each alignment the extras over a bare sheet at which it serves."""


@frozen
class Records:
    """The alignments on record that hold, by their extra over a bare sheet in mm, ascending.

    `tolerance` is how far apart both directions may land, in mm; None where that is not known.
    """

    extras: tuple[float, ...]
    printer: Printer
    tolerance: float | None

    @classmethod
    def of_job(cls, job: Job) -> Records:
        """Those of a job, each extra once."""
        extras = sorted({alignment.extra for alignment in job.usable_alignments})
        return cls(tuple(extras), job.printer, job.printer.allowed_landing_error)

    def are_asked_by(self, item: Pass) -> bool:
        """Whether an alignment must serve a pass: it prints both ways, and a tolerance is known."""
        return self.tolerance is not None and item.directions == 2

    def missing(self, crisp: Interval) -> Window | None:
        """The alignments that serve a pass with such a throw; None where one on record does."""
        assert self.tolerance is not None
        wanted = alignment_window(self.printer, crisp, self.tolerance)
        if self.serve(wanted):
            return None
        return wanted

    def serve_between(self, low: float, high: float) -> bool:
        """Whether one lies between two extras."""
        # Sorted, so the first one at or above the low end tells whether any lies between.
        first = bisect_left(self.extras, low - GUARD_MM)
        return first < len(self.extras) and self.extras[first] <= high + GUARD_MM

    def serve(self, wanted: Window) -> bool:
        """Whether one lies within a window."""
        return self.serve_between(wanted.low, wanted.high)


def with_window(needs: Needs, wanted: Window) -> Needs:
    """The needs with one more, without any that holds another: what serves the inner serves it."""
    if any(wanted.low <= need.low and need.high <= wanted.high for need in needs):
        return needs
    inner = (need for need in needs if not (need.low <= wanted.low and wanted.high <= need.high))
    return frozenset({wanted, *inner})
