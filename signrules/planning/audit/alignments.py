"""Does some alignment serve each two-way pass, and is each made where its passes land off least?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from signrules.model.job import Job
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.physics.landing import landing_error
from signrules.planning.audit.claims import is_mm
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.replay import Replay

SLACK_MM = 1e-5
"""So far an alignment may miss what serves: those of a plan are rounded to the nanometre."""

MOVED_MM = 1e-3
"""So far an alignment is moved to see whether its passes would land off less."""


@frozen
class Throws:
    """The throws of a two-way pass to where it must be crisp, at its first and its last layer."""

    first: Interval
    last: Interval


def check_alignments(job: Job, replay: Replay, findings: Findings) -> None:
    """Tell which two-way passes no alignment serves, and which alignment would be better elsewhere.

    They are held to the extras that the audit found itself, never to those of the plan.
    """
    tolerance = job.printer.allowed_landing_error
    if tolerance is None:
        return
    landings = _Landings(job.printer, tolerance)
    records = [alignment.extra for alignment in job.usable_alignments]
    made_extras = [extra for extra in replay.aligned if is_mm(extra)]
    unrecorded: set[Throws] = set()
    served_throws: dict[Throws, bool] = {}  # Very many passes have one of a few throws.
    for pass_index, crisp in replay.crisp_extras.items():
        if job.passes[pass_index].directions == 1:
            continue
        throws = Throws(crisp, replay.crisp_extras_at_end[pass_index])
        served = served_throws.get(throws)
        if served is None:
            # Told apart, because only what no record serves has a say in where a new one is made.
            by_record = landings.are_served(throws, records)
            served = served_throws[throws] = by_record or landings.are_served(throws, made_extras)
            if not by_record:
                unrecorded.add(throws)
        if not served:
            findings.tell(f"{job.passes[pass_index].id}: no alignment serves it")
    _check_places(landings, made_extras, unrecorded, findings)


def _check_places(
    landings: _Landings,
    made_extras: Sequence[float],
    unrecorded: Iterable[Throws],
    findings: Findings,
) -> None:
    """Tell which alignments would serve the same passes from a place where these land off less.

    Where another alignment serves one of them too, whose it is cannot be told, and nothing is.
    """
    users = {
        throws: [extra for extra in made_extras if landings.are_served(throws, [extra])]
        for throws in unrecorded
    }
    for extra in made_extras:
        throws_served = [
            throws for throws, serving_extras in users.items() if extra in serving_extras
        ]
        # Which of two alignments a pass uses is the operator's; moving one may suit the passes of
        # another.
        if not throws_served or any(len(users[throws]) > 1 for throws in throws_served):
            continue
        worst = landings.worst(throws_served, extra)
        # The worst error has one valley along the extra: if neither side is lower, this is its
        # floor.
        for moved in (extra - MOVED_MM, extra + MOVED_MM):
            serves = all(
                landings.are_served(throws, [moved], slack=0.0) for throws in throws_served
            )
            if serves and landings.worst(throws_served, moved) < worst - SLACK_MM:
                findings.tell(f"the alignment at {extra} would land off less at {moved:.3f}")


@frozen
class _Landings:
    """Landing errors on one printer."""

    printer: Printer
    tolerance: float

    def are_served(self, throws: Throws, extras: Sequence[float], slack: float = SLACK_MM) -> bool:
        """Whether an alignment brings both ends of the first throw within tolerance.

        Where none can, it must lie in the middle of it.
        """
        within = self.tolerance + slack
        if any(self._error(throws.first, extra) <= within for extra in extras):
            return True
        middle = (throws.first.low + throws.first.high) / 2
        best = self._error(throws.first, middle)
        in_the_middle = any(abs(extra - middle) <= slack for extra in extras)
        # The middle is excused only where even it leaves an end out of tolerance.
        return best > self.tolerance - SLACK_MM and in_the_middle

    def worst(self, some: Iterable[Throws], extra: float) -> float:
        """The largest landing error of some passes, at the first or the last layer, in mm."""
        return max(
            max(self._error(throws.first, extra), self._error(throws.last, extra))
            for throws in some
        )

    def _error(self, throw: Interval, extra: float) -> float:
        return landing_error(self.printer, throw, extra).high
