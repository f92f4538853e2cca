"""Is a pass safe: does the head clear, do the drops reach, and does the right side lie up?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.model.passes import Pass
from signrules.model.quantities import GUARD_MM
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.printings import Found, Met


class Safety:
    """The limits of a printer, to which each pass is held."""

    def __init__(self, job: Job, findings: Findings) -> None:
        self.findings = findings
        self.min_clearance, self.max_throw = job.printer.min_clearance, job.printer.max_throw

    def check(self, item: Pass, found: Found, met: Met, *, kept: bool) -> None:
        """Tell what is unsafe; a head plane that is `kept` must clear also where an order is only judged."""
        left, reach = found.clearance.low, met.throw.to_lowest.high
        if not self.clears(left):
            self.findings.warn(f"{item.id}: the head is left {left:.6f} mm")
            if kept:
                self.findings.tell(f"{item.id}: its head plane was kept though it leaves too little clearance")
        if found.side_up != item.side:
            self.findings.warn(f"{item.id} prints on the {item.side}, and the {found.side_up} lies up")
        if item.gap is None and self.max_throw is not None and not reach <= self.max_throw + GUARD_MM:
            self.findings.warn(f"{item.id}: the throw of {reach:.6f} mm is more than the drops reach")

    def clears(self, clearance: float) -> bool:
        """Whether a clearance in mm is no strike and reaches the least that the printer asks for."""
        return clearance > GUARD_MM and clearance >= self.min_clearance - GUARD_MM
