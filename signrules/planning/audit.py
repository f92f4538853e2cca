"""An independent replay of a plan: step by step, from the job alone, as an operator would do it.

It shares the heights with the rest of the library and nothing with the search or with the replay that made the plan.
It is linear in the steps of the plan.
"""

from __future__ import annotations

from functools import cached_property

from signrules.model.job import Job
from signrules.model.passes import Gap, Handling, Pass
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sheet import Media
from signrules.physics.heights import HeadPlane, Heights, Throw
from signrules.physics.landing import landing_error
from signrules.physics.timeline import Printing, Step
from signrules.planning.plan import Plan

_NEVER = (0, 0.0)
_NUMBERS = ("head plane", "clearance", "throw to the highest surface", "throw to the lowest surface")


def audit(job: Job, plan: Plan) -> list[str]:
    """What does not hold in a plan, in words; empty is good.

    Every pass and handling once; everything after what it must follow; loads, sides and registration; each head
    plane, clearance and throw; each open gap one that the printer can set and reach with; the alignments; the cost.
    For a judged sequence the numbers are confirmed, and what is unsafe in it is not held against the plan.
    """
    return _Audit(job, plan).findings()


class _Audit:
    """One replay: `findings` goes through the plan, and every method adds what does not hold to `found`."""

    def __init__(self, job: Job, plan: Plan) -> None:
        self.job, self.plan = job, plan
        self.found: list[str] = []
        self.tell = self.found.append
        self.heights = Heights(job)
        self.items: dict[str, Pass | Handling] = {item.id: item for item in job.items}
        self.loose = any(sheet.hold == "none" for sheet in job.media)
        self.done: dict[str, int] = {}
        self.standing = self.heights.standing()
        self.turned: set[str] = set()
        self.load: str | None = None
        self.plane: HeadPlane | None = None
        self.stated: tuple[Gap, str] | None = None
        self.set_for_next = self.kept = False
        # For each load how often it moved with nothing to put it back, and by how much where something did.
        self.moved: dict[str, tuple[int, float]] = {}
        self.moved_before: dict[str, tuple[int, float]] = {}
        self.first_of: dict[tuple[str, str], str] = {}
        self.aligned: list[float] = []
        self.loads = self.settings = 0

    def findings(self) -> list[str]:
        for step in self.plan.steps:
            match step.kind:
                case "print":
                    self._print(step)
                case "gap":
                    self._set_gap(step)
                case "align":
                    self._align(step)
                case "load":
                    self._put_on(step)
                case "unload":
                    self._take_off(step)
                case "handle":
                    self._handle(step)
                case other:
                    self.tell(f"there is no step of kind {other}")
        self._whole()
        return self.found

    # --- steps -----------------------------------------------------------------------------------------------------

    def _align(self, step: Step) -> None:
        if self.load is not None or self.loads:
            self.tell("an alignment is made after a load has gone on")
        self.aligned.append(step.offset or 0.0)

    def _put_on(self, step: Step) -> None:
        if self.load is not None:
            self.tell(f"load {step.subject} goes on while {self.load} lies there")
        self.load = step.subject
        self.loads += 1

    def _take_off(self, step: Step) -> None:
        if self.load != step.subject:
            self.tell(f"load {step.subject} comes off, and {self.load} lies there")
        self._move(self.load, None)
        self.load = None

    def _move(self, load: str | None, method: str | None) -> None:
        if load is not None:
            lost, shift = self.moved.get(load, _NEVER)
            error = 0.0 if method is None else self.job.printer.locating_error(method) or 0.0
            self.moved[load] = (lost + (method is None), shift + error)

    def _set_gap(self, step: Step) -> None:
        if step.printing is None or step.offset is None or step.reference is None:
            self.tell("a gap step says neither offset nor reference")
            return
        at = step.printing.at
        gap = step.printing.plane.gap
        if abs(gap.offset.nominal - step.offset) > GUARD_MM or gap.reference != step.reference:
            self.tell(f"the gap step before {self.job.passes[at].id} is not that of its head plane")
        plane = self.standing.head_plane(at, gap)
        if self.plane is None or abs(plane.height.nominal - self.plane.height.nominal) > GUARD_MM:
            self.settings += 1
        self.plane, self.set_for_next = plane, True

    def _handle(self, step: Step) -> None:
        item = self.items.get(step.subject or "")
        if not isinstance(item, Handling):
            self.tell(f"{step.subject} is no handling of the job")
            return
        self._follows(item)
        if item.does == "pause":
            return
        sheet = self.job.media_of(item)
        if sheet.load != self.load:
            self.tell(f"{item.id} handles {sheet.id} while load {self.load} lies there")
        self._move(sheet.load, item.locates_by)
        self.loads += item.does in ("reload", "flip")
        if item.does == "flip":
            self.turned ^= {sheet.id}

    def _print(self, step: Step) -> None:
        item = self.items.get(step.subject or "")
        if not isinstance(item, Pass) or step.printing is None:
            self.tell(f"{step.subject} is no pass of the job")
            return
        self._follows(item)
        at = self.heights.index[item.id]
        sheet = self.heights.media[at]
        if sheet.load != self.load:
            self.tell(f"{item.id} prints on {sheet.id} while load {self.load} lies there")
        if self.plane is None:
            self.tell(f"{item.id} is printed before any gap is set")
            return
        self._right_gap(item, at, sheet)
        throw = self.standing.throw(at, self.plane)
        self.standing.add(at)
        clearance = self.standing.clearance(at, self.plane, self.turned)
        self._numbers(item, step.printing, clearance, throw)
        if not self.plan.judged:
            self._safe(item, sheet, clearance.low, throw.to_lowest.high)
            if self.loose or self.moved:
                self._registers(item, sheet)
        if self.kept and not self._clears(clearance.low):
            self.tell(f"{item.id}: its head plane was kept though it leaves too little clearance")
        if sheet.load in self.moved:
            self.moved_before[item.id] = self.moved[sheet.load]
        if item.registers_to is None:
            self.first_of.setdefault((sheet.id, item.side), item.id)
        self.stated = None if item.gap is None else (item.gap, sheet.id)
        self.set_for_next = False

    # --- what must hold --------------------------------------------------------------------------------------------

    def _follows(self, item: Pass | Handling) -> None:
        if item.id in self.done:
            self.tell(f"{item.id} is done twice")
        if not self.plan.judged:
            for name in (*item.after, *item.over) if isinstance(item, Pass) else item.after:
                if name not in self.done:
                    self.tell(f"{item.id} is done before {name}")
        self.done[item.id] = len(self.done)

    def _numbers(self, item: Pass, claimed: Printing, clearance: Interval, throw: Throw) -> None:
        assert self.plane is not None
        claims = (claimed.plane.height, claimed.clearance, claimed.throw.to_highest, claimed.throw.to_lowest)
        truths = (self.plane.height, clearance, throw.to_highest, throw.to_lowest)
        for what, said, found in zip(_NUMBERS, claims, truths, strict=True):
            if abs(said.low - found.low) > GUARD_MM or abs(said.high - found.high) > GUARD_MM:
                self.tell(f"{item.id}: the {what} is {found.low:.6f} to {found.high:.6f} mm, not as the plan says")

    def _clears(self, clearance: float) -> bool:
        return clearance > GUARD_MM and clearance >= self.job.printer.min_clearance - GUARD_MM

    def _safe(self, item: Pass, sheet: Media, clearance: float, reach: float) -> None:
        if not self._clears(clearance):
            self.tell(f"{item.id}: the head is left {clearance:.6f} mm")
        up = "back" if sheet.id in self.turned else "front"
        if up != item.side:
            self.tell(f"{item.id} prints on the {item.side}, and the {up} lies up")
        most = self.job.printer.max_throw
        if item.gap is None and most is not None and reach > most + GUARD_MM:
            self.tell(f"{item.id}: the throw of {reach:.6f} mm is more than the drops reach")

    def _registers(self, item: Pass, sheet: Media) -> None:
        tolerance = self.job.registration_tolerance
        for name in self._earlier_partners(item, sheet):
            other = self.heights.media[self.heights.index[name]]
            now, then = self.moved.get(other.load, _NEVER), self.moved_before.get(name, _NEVER)
            lost, shift = now[0] - then[0], now[1] - then[1]
            if lost or (tolerance is not None and shift > tolerance + GUARD_MM):
                self.tell(f"{item.id} does not register with {name}: the sheet has been moved")
            if "none" in (sheet.hold, other.hold):
                self.tell(f"{item.id} does not register with {name}: nothing holds the sheet")

    def _earlier_partners(self, item: Pass, sheet: Media) -> set[str]:
        """Those that `item` names, and of those that register with it by sheet and side the first."""
        names = {*item.over, *(item.registers_to or ()), *self._named_by.get(item.id, ())}
        if item.registers_to is None:
            names.add(self.first_of.get((sheet.id, item.side), item.id))
        return {name for name in names if name in self.done and name != item.id}

    @cached_property
    def _named_by(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for item in self.job.passes:
            for name in (*item.over, *(item.registers_to or ())):
                found.setdefault(name, set()).add(item.id)
        return found

    def _right_gap(self, item: Pass, at: int, sheet: Media) -> None:
        """A stated gap is set as stated, or kept from the pass just before; an open one can be set."""
        assert self.plane is not None
        self.kept = False
        if item.gap is None:
            gap = self.plane.gap
            settable = any(abs(gap.offset.nominal - offset) <= GUARD_MM for offset in self.job.printer.gap.offsets())
            if self.set_for_next and not (settable and gap.reference != "bed"):
                self.tell(f"{item.id}: the printer cannot set {gap.offset.nominal:g} mm over the {gap.reference}")
        elif not self.plane.is_as(self.standing.head_plane(at, item.gap)):
            self.kept = self.stated == (item.gap, sheet.id) and not self.set_for_next
            if not self.kept:
                self.tell(f"{item.id}: the head plane is not that of its stated gap")

    def _whole(self) -> None:
        for name in self.items:
            if name not in self.done:
                self.tell(f"{name} is never done")
        if self.load is not None:
            self.tell(f"load {self.load} is left on the bed")
        if tuple(self.done) != self.plan.order:
            self.tell("the order is not that of the steps")
        if not self.plan.judged:
            self._precedence()
        self._alignments()
        minutes = self.job.printer.minutes
        parts = (minutes.load, minutes.gap, minutes.alignment)
        load, gap, alignment = parts if None not in parts else (0.0, 1.0, 1.0)
        assert load is not None
        assert gap is not None
        assert alignment is not None
        weight = self.loads * load + self.settings * gap + len(self.aligned) * alignment
        if self.plan.loads != self.loads or abs(self.plan.cost[1] - weight) > 1e-6:
            self.tell(f"the cost is {self.loads} loads and {weight:g}, not as the plan says")

    def _precedence(self) -> None:
        machine = self.plan.timeline.machine
        ids = [item.id for item in machine.items]
        done = [self.done.get(name, -1) for name in ids]
        for edge in machine.precedence:
            if done[edge.before] > done[edge.then] >= 0:
                self.tell(f"{ids[edge.then]} is done before {ids[edge.before]}: {edge.reason}")

    def _alignments(self) -> None:
        """Each two-way pass lands within tolerance by some alignment, where one can bring both ends of it there."""
        printer, tolerance = self.job.printer, self.job.printer.allowed_landing_error
        if tolerance is None:
            return
        records = [*(a.offset for a in self.job.usable_alignments), *self.aligned]
        known: dict[tuple[float, float], bool] = {}  # Very many passes have one of a few throws.
        for at, printing in self.plan.timeline.printings.items():
            if self.job.passes[at].directions == 1:
                continue
            ends = printing.crisp.low, printing.crisp.high
            served = known.get(ends)
            if served is None:
                middle = sum(ends) / 2
                best = landing_error(printer, printing.crisp, middle).high
                served = any(landing_error(printer, printing.crisp, a).high <= tolerance + 1e-5 for a in records)
                near = any(abs(a - middle) <= 1e-5 for a in records)
                served = known[ends] = served or (best > tolerance - 1e-5 and near)
            if not served:
                self.tell(f"{self.job.passes[at].id}: no alignment serves it")
