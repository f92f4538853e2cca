"""Is a pass safe: does the head clear, do the drops reach, and does the right side lie up?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.model.passes import Pass
from signrules.model.quantities import GUARD_MM
from signrules.model.wording import clearance_words
from signrules.planning.audit.findings import Findings


class Safety:
    """The limits of a printer, to which each pass is held."""

    def __init__(self, job: Job, findings: Findings) -> None:
        self.findings = findings
        self.min_clearance, self.max_throw = job.printer.min_clearance, job.printer.max_throw

    def check(
        self,
        item: Pass,
        clearance: float,
        reach: float,
        side_up: str,
        *,
        kept: bool,
    ) -> None:
        """Tell what is unsafe in the least clearance and the farthest reach, in mm, and the side.

        A head plane that is `kept` must clear also where an order is only judged.
        """
        if not self.clears(clearance):
            self.findings.warn(f"{item.id}: {clearance_words(clearance, self.min_clearance)}")
            # To keep a plane was the plan's own choice, so it is false and not merely unsafe.
            if kept:
                too_long = "its head plane was kept though it leaves too little clearance"
                self.findings.tell(f"{item.id}: {too_long}")
        if side_up != item.side:
            self.findings.warn(f"{item.id} prints on the {item.side}, and the {side_up} lies up")
        limit = self.max_throw
        # Written so that NaN counts as too far. A stated gap is someone's decision, and for a rule
        # to ask.
        if item.gap is None and limit is not None and not reach <= limit + GUARD_MM:
            too_far = f"the throw of {reach:.6f} mm is more than the drops reach"
            self.findings.warn(f"{item.id}: {too_far}")

    def clears(self, clearance: float) -> bool:
        """Whether a clearance in mm is no strike and reaches what the printer asks for."""
        return clearance > GUARD_MM and clearance >= self.min_clearance - GUARD_MM
