"""What happens, step by step? Which pass meets what, and what may not be done at that time?"""

from __future__ import annotations

from collections.abc import Mapping

from signrules.model.job import Job
from signrules.model.passes import Handling, Pass
from signrules.model.quantities import Interval
from signrules.physics.heights import Heights
from signrules.physics.timeline import Step, Timeline
from signrules.planning.audit.bed import Bed
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.head import Head
from signrules.planning.audit.printings import PrintingCheck
from signrules.planning.audit.registration import Registration
from signrules.planning.audit.safety import Safety
from signrules.planning.audit.shapes import check_shape

FOLLOWERS = {
    "gap": ("print",),
    "load": ("gap", "print", "handle"),
    "unload": ("load", None),
}
"""What alone may follow some kinds of step; None stands for the end."""


class Replay:
    """One replay: `do` each step and then `end`; what does not hold is added to the findings."""

    def __init__(self, job: Job, heights: Heights, timeline: Timeline, findings: Findings) -> None:
        self.job, self.heights, self.findings = job, heights, findings
        self.items: dict[str, Pass | Handling] = {item.id: item for item in job.items}
        self.standing = heights.standing()
        self.bed = Bed(job, findings)
        self.head = Head(job, self.standing, findings)
        self.numbers = PrintingCheck(self.standing, findings)
        self.safety = Safety(job, findings)
        self.registration = Registration(job, heights, self.bed, findings)
        printings: object = timeline.printings
        self.printings = printings if isinstance(printings, Mapping) else {}
        self.done: dict[str, int] = {}
        """The items that have been done, and which number each has in that order."""
        self.crisp: dict[int, Interval] = {}
        """For each pass that was printed the offset over a bare sheet with its throw to where it must be crisp."""
        self.aligned: list[float] = []
        """Where alignments are made, as offsets over a bare sheet in mm; NaN where the plan gives no length."""
        self.setting: Step | None = None
        self.last: str | None = None

    def do(self, step: object) -> None:
        """Do one step."""
        if not isinstance(step, Step):
            self.findings.tell(f"{step!r} is no step")
            return
        kind = step.kind
        self._follows(kind)
        check_shape(step, self.findings)
        if kind == "print":
            self._print(step)
        elif kind == "gap":
            self.setting = step
        elif kind == "align":
            self._align(step)
        elif kind == "load":
            self.bed.put_on(step.subject, len(self.done))
        elif kind == "unload":
            self.bed.take_off(step.subject)
        elif kind == "handle":
            self._handle(step)
        else:
            self.findings.tell(f"there is no step of kind {kind}")

    def end(self) -> None:
        """Say what is missing once every step is done."""
        self._follows(None)
        for name in self.items:
            if name not in self.done:
                self.findings.tell(f"{name} is never done")
        if self.bed.load is not None:
            self.findings.tell(f"load {self.bed.load} is left on the bed")

    def _follows(self, kind: str | None) -> None:
        if self.last in FOLLOWERS and kind not in FOLLOWERS[self.last]:
            self.findings.tell(f"a step of kind {self.last} comes before {kind or 'nothing'}")
        self.last = kind if isinstance(kind, str) else None

    def _align(self, step: Step) -> None:
        if self.bed.loads:
            self.findings.tell("an alignment is made after a load has gone on")
        self.aligned.append(float("nan") if step.offset is None else step.offset)

    def _handle(self, step: Step) -> None:
        item = self._named(step.subject)
        if not isinstance(item, Handling):
            self.findings.tell(f"{step.subject} is no handling of the job")
            return
        if self._is_new(item):
            self.bed.handle(item, len(self.done))
            self._finish(item)

    def _print(self, step: Step) -> None:
        setting, self.setting = self.setting, None
        item = self._named(step.subject)
        if not isinstance(item, Pass):
            self.findings.tell(f"{step.subject} is no pass of the job")
            return
        if not self._is_new(item):
            return
        at = self.heights.index[item.id]
        sheet = self.heights.media[at]
        if sheet.load != self.bed.load:
            self.findings.tell(
                f"{item.id} prints on {sheet.id} while load {self.bed.load} lies there"
            )
        plane = self.head.take_plane(at, item, sheet, setting)
        if plane is None:
            self.findings.tell(f"{item.id} is printed before any gap is set")
        else:
            place = at, len(self.done), self.head.paid
            found = self.numbers.print(item, place, plane, self.bed.turned)
            claims = [step.printing, self.printings.get(at)]
            claims += [] if setting is None else [setting.printing]
            self.numbers.compare(item, found, plane, claims)
            self.crisp[at] = found.crisp
            self.safety.check(item, sheet, found, kept=self.head.kept)
        self.registration.check(item, sheet)
        self._finish(item)

    def _named(self, subject: object) -> Pass | Handling | None:
        return self.items.get(subject) if isinstance(subject, str) else None

    def _is_new(self, item: Pass | Handling) -> bool:
        """Whether an item has not been done before; and what it must follow has been."""
        if item.id in self.done:
            self.findings.tell(f"{item.id} is done twice")
            return False
        for name in (*item.after, *item.over) if isinstance(item, Pass) else item.after:
            if name not in self.done:
                self.findings.warn(f"{item.id} is done before {name}")
        return True

    def _finish(self, item: Pass | Handling) -> None:
        self.done[item.id] = len(self.done)
