"""Whether each pass registers with its partners before it."""

from __future__ import annotations

from functools import cached_property

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Pass
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import Heights
from signrules.planning.audit.bed import NEVER, Bed
from signrules.planning.audit.findings import Findings


class Registration:
    """Remembers how far each load had been moved when each pass was printed."""

    def __init__(self, job: Job, heights: Heights, bed: Bed, findings: Findings) -> None:
        self.job, self.heights, self.bed, self.findings = job, heights, bed, findings
        self.loose = any(sheet.hold == "none" for sheet in job.media)
        self._seen = 0
        self._printed: set[str] = set()
        self._shift_at: dict[str, tuple[int, float]] = {}
        self._first_of: dict[tuple[str, str], str] = {}

    def check(self, item: Pass, sheet: Media, done: list[str]) -> None:
        """Tell with which of those that are done a pass does not register."""
        # Most jobs move nothing between passes, and then there is nothing to remember either.
        if not self.loose and not self.bed.shifts:
            return
        self._catch_up(done)
        for name in sorted(self._partners(item, sheet) & self._printed):
            self._check_pair(item, sheet, name)
        self._shift_at[item.id] = self.bed.shifts.get(sheet.load, NEVER)

    def _catch_up(self, done: list[str]) -> None:
        """Take note of what has been printed since the last look."""
        for name in done[self._seen :]:
            pass_index = self.heights.index.get(name)
            if pass_index is not None:
                self._printed.add(name)
                item = self.job.passes[pass_index]
                if item.registers_to is None:
                    # The first stands for all of its sheet and side: what moved since a later one
                    # moved since it too.
                    self._first_of.setdefault((self.heights.media[pass_index].id, item.side), name)
        self._seen = len(done)

    def _check_pair(self, item: Pass, sheet: Media, name: str) -> None:
        tolerance = self.job.registration_tolerance
        other = self.heights.media[self.heights.index[name]]
        now, then = self.bed.shifts.get(other.load, NEVER), self._shift_at.get(name, NEVER)
        lost, shift = now[0] - then[0], now[1] - then[1]
        if lost or (tolerance is not None and not shift <= tolerance + GUARD_MM):
            self.findings.warn(f"{item.id} does not register with {name}: the sheet has been moved")
        if "none" in (sheet.hold, other.hold):
            self.findings.warn(f"{item.id} does not register with {name}: nothing holds the sheet")

    def _partners(self, item: Pass, sheet: Media) -> set[str]:
        """Those that `item` names or that name it, and of those of its sheet and side the first."""
        names = {*item.over, *(item.registers_to or ()), *self._named_by.get(item.id, ())}
        if item.registers_to is None:
            names.add(self._first_of.get((sheet.id, item.side), item.id))
        return names - {item.id}

    @cached_property
    def _named_by(self) -> dict[str, set[str]]:
        partners: dict[str, set[str]] = {}
        for item in self.job.passes:
            for name in (*item.over, *(item.registers_to or ())):
                partners.setdefault(name, set()).add(item.id)
        return partners
