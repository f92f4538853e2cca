"""What happens, step by step? Which pass meets what, and what may not be done at that time?"""

from __future__ import annotations

from collections.abc import Mapping

from signrules.model.job import Job
from signrules.model.passes import BED, SURFACES_BELOW, Handling, Pass
from signrules.model.quantities import Interval
from signrules.physics.heights import HeadPlane, Heights
from signrules.physics.timeline import Step, Timeline
from signrules.planning.audit.bed import Bed
from signrules.planning.audit.claims import is_mm
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.head import Head
from signrules.planning.audit.printings import PrintingCheck
from signrules.planning.audit.registered_passes import Registration
from signrules.planning.audit.safety import Safety
from signrules.planning.audit.shapes import KINDS, check_shape

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
        self.done: set[str] = set()
        self.order: list[str] = []
        """The items that have been done, in order."""
        self.crisp_extras: dict[int, Interval] = {}
        """For each pass the extra over a bare sheet with its throw to where it must be crisp."""
        self.crisp_extras_at_end: dict[int, Interval] = {}
        """That extra at the last layer of the pass."""
        self.aligned: list[float] = []
        """Where alignments are made, as extras over a bare sheet in mm."""
        self.alignments = 0
        self.setting: Step | None = None
        self.last: str | None = None

    def do(self, step: object) -> None:
        """Do one step."""
        kind = step.kind if isinstance(step, Step) else None
        if not isinstance(step, Step) or kind not in KINDS:
            self.findings.tell(f"there is no step of kind {kind}")
            return
        if self.last in FOLLOWERS:
            self._follows(kind)
        self.last = kind
        check_shape(kind, step, self.findings)
        if kind == "print":
            self._print(step)
        elif kind == "gap":
            self._set_gap(step)
        elif kind == "align":
            self._align(step)
        elif kind == "load":
            self.bed.put_on(step.subject, step.back_up, step.again, len(self.order))
        elif kind == "unload":
            self.bed.take_off(step.subject)
        else:
            self._handle(step)

    def end(self) -> None:
        """Say what is missing once every step is done."""
        if self.last in FOLLOWERS:
            self._follows(None)
        for name in self.items:
            if name not in self.done:
                self.findings.tell(f"{name} is never done")
        if self.bed.load is not None:
            self.findings.tell(f"load {self.bed.load} is left on the bed")

    def _follows(self, kind: str | None) -> None:
        assert self.last is not None
        if kind not in FOLLOWERS[self.last]:
            self.findings.tell(f"{kind or 'nothing'} follows on a step of kind {self.last}")

    def _align(self, step: Step) -> None:
        # Once a sheet lies there, an alignment would be printed on it.
        if self.bed.loads:
            self.findings.tell("an alignment is made after a load has gone on")
        self.alignments += 1
        if is_mm(step.extra):
            self.aligned.append(step.extra)
        else:
            self.findings.tell(f"an alignment is made at {step.extra}, which is no length")

    def _set_gap(self, step: Step) -> None:
        if not is_mm(step.extra) or step.above not in (*SURFACES_BELOW, BED):
            self.findings.tell("a gap step does not say how much above what")
        self.setting = step

    def _handle(self, step: Step) -> None:
        item = self._named(step.subject)
        if not isinstance(item, Handling):
            self.findings.tell(f"{step.subject} is no handling of the job")
            return
        if self._is_new(item):
            self.bed.handle(item, len(self.order))
            self._finish(item)

    def _print(self, step: Step) -> None:
        setting, self.setting = self.setting, None
        item = self._named(step.subject)
        if not isinstance(item, Pass):
            self.findings.tell(f"{step.subject} is no pass of the job")
            return
        # A pass that is said to print twice is told once, and its ink is not laid twice.
        if not self._is_new(item):
            return
        pass_index = self.heights.index[item.id]
        sheet = self.heights.media[pass_index]
        if sheet.load != self.bed.load:
            where = f"on {sheet.id} while load {self.bed.load} lies there"
            self.findings.tell(f"{item.id} prints {where}")
        self.bed.use()
        plane = self.head.take_plane(pass_index, item, sheet, setting)
        if plane is None:
            self.findings.tell(f"{item.id} is printed before any gap is set")
        else:
            self._meet(pass_index, item, plane, step, setting)
        self.registration.check(item, sheet, self.order)
        self._finish(item)

    def _meet(
        self,
        pass_index: int,
        item: Pass,
        plane: HeadPlane,
        step: Step,
        setting: Step | None,
    ) -> None:
        """Print a pass, and hold what it meets to the plan and to the limits of the printer."""
        numbers, turned, head = self.numbers, self.bed.turned, self.head
        met = numbers.meet(pass_index, item, plane)
        self.standing.add(pass_index)
        clearance = self.standing.clearance(pass_index, plane, turned)
        side_up = "back" if self.heights.media[pass_index].id in turned else "front"
        found = (pass_index, len(self.order), head.counts_as_setting, clearance, side_up)
        said = self.printings.get(pass_index)
        numbers.compare(item, plane, found, met, said)
        # A plan has the numbers in several places. Where they are one object they are compared
        # once.
        if step.printing is not said:
            numbers.compare(item, plane, found, met, step.printing)
        if setting is not None and setting.printing is not said:
            numbers.compare(item, plane, found, met, setting.printing)
        self.crisp_extras[pass_index] = met.crisp_extra
        self.crisp_extras_at_end[pass_index] = met.crisp_extra_at_end
        self.safety.check(item, clearance.low, met.throw.to_lowest.high, side_up, kept=head.kept)

    def _named(self, subject: object) -> Pass | Handling | None:
        if not isinstance(subject, str):
            return None
        return self.items.get(subject)

    def _is_new(self, item: Pass | Handling) -> bool:
        """Whether an item has not been done before; and what it must follow has been."""
        if item.id in self.done:
            self.findings.tell(f"{item.id} is done twice")
            return False
        earlier = item.after
        if isinstance(item, Pass):
            earlier = (*item.after, *item.over)
        for name in earlier:
            if name not in self.done:
                self.findings.warn(f"{item.id} is done before {name}")
        return True

    def _finish(self, item: Pass | Handling) -> None:
        self.done.add(item.id)
        self.order.append(item.id)
