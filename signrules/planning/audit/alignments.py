"""Does some alignment serve each two-way pass?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.physics.landing import landing_error
from signrules.planning.audit.claims import is_mm
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.replay import Replay

SLACK_MM = 1e-5
"""So far an alignment may miss what serves: those of a plan are rounded to the nanometre."""


def check_alignments(job: Job, replay: Replay, findings: Findings) -> None:
    """Tell which two-way passes no alignment serves.

    They are held to the offsets that the audit found itself, never to those of the plan.
    """
    tolerance = job.printer.allowed_landing_error
    if tolerance is None:
        return
    records = [one.offset for one in job.usable_alignments]
    records += [offset for offset in replay.aligned if is_mm(offset)]
    known: dict[tuple[float, float], bool] = {}  # Very many passes have one of a few throws.
    for at, crisp in replay.crisp.items():
        if job.passes[at].directions == 1:
            continue
        ends = crisp.low, crisp.high
        served = known.get(ends)
        if served is None:
            served = known[ends] = _is_served(job.printer, crisp, tolerance, records)
        if not served:
            findings.tell(f"{job.passes[at].id}: no alignment serves it")


def _is_served(printer: Printer, crisp: Interval, tolerance: float, records: list[float]) -> bool:
    """Whether an alignment brings both ends of a throw within tolerance.

    Where none can, it must lie in the middle of the throw.
    """
    if any(landing_error(printer, crisp, one).high <= tolerance + SLACK_MM for one in records):
        return True
    middle = (crisp.low + crisp.high) / 2
    best = landing_error(printer, crisp, middle).high
    return best > tolerance - SLACK_MM and any(abs(one - middle) <= SLACK_MM for one in records)
