"""What lies on the bed, which side is up, and what has moved it?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.model.passes import Handling
from signrules.planning.audit.findings import Findings

Moved = tuple[int, str, str, str | None, float | None]
"""Before which item a load moved, which load, what moved it, and how it was put back.

The method comes last, and by how many mm it may miss; both None where nothing puts it back.
"""

NEVER = (0, 0.0)


class Bed:
    """The bed as loads come and go and sheets are handled."""

    def __init__(self, job: Job, findings: Findings) -> None:
        self.job, self.findings = job, findings
        self.known = {sheet.load for sheet in job.media}
        self.load: str | None = None
        self.loads = 0
        """How many loads, reloads and flips there were."""
        self.turned = {sheet.id for sheet in job.media if sheet.up == "back"}
        """The sheets that lie with their back up, or will when they go on the bed again."""
        self.moves: list[Moved] = []
        self.shifts: dict[str, tuple[int, float]] = {}
        """For each load how often nothing put it back, and by how many mm it may be off."""
        self._taken: str | None = None
        self._new = False
        self._seen: set[str] = set()

    def put_on(self, load: object, back_up: object, again: object, place: int) -> None:
        """Put a load on before the item of that place; `back_up` are the sheets said to lie so, and
        `again` is what is said of whether the load has lain there before.
        """
        if not isinstance(load, str) or load not in self.known:
            self.findings.tell(f"{load} is no load of the job")
            return
        if self.load is not None:
            self.findings.tell(f"load {load} goes on while {self.load} lies there")
        lying = tuple(
            sheet.id for sheet in self.job.media if sheet.load == load and sheet.id in self.turned
        )
        if back_up != lying:
            told = f"load {load} goes on with the back of {back_up} up, and that of {lying} is up"
            self.findings.tell(told)
        if again is not (load in self._seen):
            word = "has lain there before" if load in self._seen else "goes on for the first time"
            self.findings.tell(f"load {load} {word}, and its step says again={again}")
        self._seen.add(load)
        # Only when something follows: what comes off at the end moves nothing that still registers.
        if self._taken is not None:
            self.moves.append((place, self._taken, "unload", None, None))
        self.load, self._taken, self._new = load, None, True
        self.loads += 1

    def take_off(self, load: object) -> None:
        """Take the load off."""
        if load is None or self.load != load:
            self.findings.tell(f"load {load} comes off, and {self.load} lies there")
        if self.load is not None:
            self._shift(self.load, None)
        self.load, self._taken = None, self.load

    def handle(self, item: Handling, place: int) -> None:
        """Handle a sheet, or wait."""
        kind = self.job.kind_of(item)
        if not kind.on_sheet:
            # A pause needs no load, so one that was put on just before it was put on for nothing.
            if self._new:
                self.findings.tell(f"load {self.load} goes on before {item.id}, which needs none")
            return
        self._new = False
        sheet = self.job.media_of(item)
        if sheet.load != self.load:
            self.findings.tell(f"{item.id} handles {sheet.id} while load {self.load} lies there")
        if kind.moves:
            method = item.locates_by
            error = self._error_of(method)
            self.moves.append((place, sheet.load, item.id, method, error))
            self._shift(sheet.load, method)
        # Taking a sheet off the bed and putting it back is the work of a load.
        self.loads += kind.counts_as_load
        if kind.turns:
            self.turned ^= {sheet.id}

    def use(self) -> None:
        """Print on what lies there."""
        self._new = False

    def _shift(self, load: str, method: str | None) -> None:
        lost, shift = self.shifts.get(load, NEVER)
        # Running sums: how far a sheet moved between two passes is the difference of two of them.
        self.shifts[load] = (lost + (method is None), shift + (self._error_of(method) or 0.0))

    def _error_of(self, method: str | None) -> float | None:
        """By how many mm a method may miss; None without one, or where the printer says nothing."""
        if method is None:
            return None
        return self.job.printer.locating_error(method)
