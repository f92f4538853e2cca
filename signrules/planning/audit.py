"""An independent replay of a plan: step by step, from the job alone, as an operator would do it.

It shares the heights with the rest of the library and nothing with the search or with the replay that made the plan.
It is linear in the steps of the plan.
"""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.job import Job
from signrules.model.passes import Gap, Handling, Pass
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.heights import HeadPlane, Heights, Throw
from signrules.physics.landing import landing_error
from signrules.physics.timeline import Step
from signrules.planning.plan import Plan

_NEVER = (0, 0.0)


def audit(job: Job, plan: Plan) -> list[str]:
    """What does not hold in a plan, in words; empty is good.

    Every pass and handling once; everything after what it must follow; loads, sides and registration; each head
    plane, clearance and throw; each open gap one that the printer can set and reach with; the alignments; the cost.
    For a judged sequence the numbers are confirmed, and what is unsafe in it is not held against the plan.
    """
    return list(_Audit(job, plan).findings())


class _Audit:
    def __init__(self, job: Job, plan: Plan) -> None:
        self.job, self.plan = job, plan
        self.heights = Heights(job)
        self.items: dict[str, Pass | Handling] = {item.id: item for item in job.items}
        self.number = {item.id: at for at, item in enumerate(job.passes)}
        self.sheets = {item.id: job.media_of(item) for item in job.items}
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
        self.named_by: dict[str, set[str]] = {}
        for item in job.passes:
            for name in (*item.over, *(item.registers_to or ())):
                self.named_by.setdefault(name, set()).add(item.id)
        self.first_of: dict[tuple[str, str], str] = {}
        self.aligned: list[float] = []
        self.loads = self.settings = 0

    def findings(self) -> Iterator[str]:
        for step in self.plan.steps:
            match step.kind:
                case "align":
                    yield from self._align(step)
                case "load":
                    yield from self._put_on(step)
                case "unload":
                    yield from self._take_off(step)
                case "gap":
                    yield from self._set_gap(step)
                case "print":
                    yield from self._print(step)
                case "handle":
                    yield from self._handle(step)
                case other:
                    yield f"there is no step of kind {other}"
        yield from self._whole()

    # --- steps -----------------------------------------------------------------------------------------------------

    def _align(self, step: Step) -> Iterator[str]:
        if self.load is not None or self.loads:
            yield "an alignment is made after a load has gone on"
        self.aligned.append(step.offset or 0.0)

    def _put_on(self, step: Step) -> Iterator[str]:
        if self.load is not None:
            yield f"load {step.subject} goes on while {self.load} lies there"
        self.load = step.subject
        self.loads += 1

    def _take_off(self, step: Step) -> Iterator[str]:
        if self.load != step.subject:
            yield f"load {step.subject} comes off, and {self.load} lies there"
        self._move(self.load, None)
        self.load = None

    def _move(self, load: str | None, method: str | None) -> None:
        if load is not None:
            lost, shift = self.moved.get(load, _NEVER)
            error = 0.0 if method is None else self.job.printer.locating_error(method) or 0.0
            self.moved[load] = (lost + (method is None), shift + error)

    def _set_gap(self, step: Step) -> Iterator[str]:
        if step.printing is None or step.offset is None or step.reference is None:
            yield "a gap step says neither offset nor reference"
            return
        at = step.printing.at
        gap = step.printing.plane.gap
        if abs(gap.offset.nominal - step.offset) > GUARD_MM or gap.reference != step.reference:
            yield f"the gap step before {self.job.passes[at].id} is not that of its head plane"
        plane = self.standing.head_plane(at, gap)
        if self.plane is None or abs(plane.height.nominal - self.plane.height.nominal) > GUARD_MM:
            self.settings += 1
        self.plane, self.set_for_next = plane, True

    def _handle(self, step: Step) -> Iterator[str]:
        item = self.items.get(step.subject or "")
        if not isinstance(item, Handling):
            yield f"{step.subject} is no handling of the job"
            return
        yield from self._follows(item)
        if item.does == "pause":
            return
        sheet = self.sheets[item.id]
        if sheet.load != self.load:
            yield f"{item.id} handles {sheet.id} while load {self.load} lies there"
        self._move(sheet.load, item.locates_by)
        self.loads += item.does in ("reload", "flip")
        if item.does == "flip":
            self.turned ^= {sheet.id}

    def _print(self, step: Step) -> Iterator[str]:
        item = self.items.get(step.subject or "")
        if not isinstance(item, Pass) or step.printing is None:
            yield f"{step.subject} is no pass of the job"
            return
        yield from self._follows(item)
        at, sheet = self.number[item.id], self.sheets[item.id]
        if sheet.load != self.load:
            yield f"{item.id} prints on {sheet.id} while load {self.load} lies there"
        if self.plane is None:
            yield f"{item.id} is printed before any gap is set"
            return
        yield from self._right_gap(item, at)
        throw = self.standing.throw(at, self.plane)
        self.standing.add(at)
        clearance = self.standing.clearance(at, self.plane, self.turned)
        yield from self._numbers(item, step, clearance, throw)
        if not self.plan.judged:
            yield from self._safe(item, clearance.low, throw.to_lowest.high)
            yield from self._registers(item)
        if self.kept and not self._clears(clearance.low):
            yield f"{item.id}: its head plane was kept though it leaves too little clearance"
        self.moved_before[item.id] = self.moved.get(sheet.load, _NEVER)
        if item.registers_to is None:
            self.first_of.setdefault((sheet.id, item.side), item.id)
        self.stated = None if item.gap is None else (item.gap, sheet.id)
        self.set_for_next = False

    # --- what must hold --------------------------------------------------------------------------------------------

    def _follows(self, item: Pass | Handling) -> Iterator[str]:
        if item.id in self.done:
            yield f"{item.id} is done twice"
        if not self.plan.judged:
            for name in (*item.after, *(item.over if isinstance(item, Pass) else ())):
                if name not in self.done:
                    yield f"{item.id} is done before {name}"
        self.done[item.id] = len(self.done)

    def _numbers(self, item: Pass, step: Step, clearance: Interval, throw: Throw) -> Iterator[str]:
        assert self.plane is not None
        assert step.printing is not None
        claimed = step.printing
        for what, said, found in (
            ("head plane", claimed.plane.height, self.plane.height),
            ("clearance", claimed.clearance, clearance),
            ("throw to the highest surface", claimed.throw.to_highest, throw.to_highest),
            ("throw to the lowest surface", claimed.throw.to_lowest, throw.to_lowest),
        ):
            if not _alike(said, found):
                yield f"{item.id}: the {what} is {found.low:.6f} to {found.high:.6f} mm, not as the plan says"

    def _clears(self, clearance: float) -> bool:
        return clearance > GUARD_MM and clearance >= self.job.printer.min_clearance - GUARD_MM

    def _safe(self, item: Pass, clearance: float, reach: float) -> Iterator[str]:
        if not self._clears(clearance):
            yield f"{item.id}: the head is left {clearance:.6f} mm"
        up = "back" if self.sheets[item.id].id in self.turned else "front"
        if up != item.side:
            yield f"{item.id} prints on the {item.side}, and the {up} lies up"
        most = self.job.printer.max_throw
        if item.gap is None and most is not None and reach > most + GUARD_MM:
            yield f"{item.id}: the throw of {reach:.6f} mm is more than the drops reach"

    def _registers(self, item: Pass) -> Iterator[str]:
        tolerance, hold = self.job.registration_tolerance, self.sheets[item.id].hold
        for name in self._earlier_partners(item):
            now, then = self.moved.get(self.sheets[name].load, _NEVER), self.moved_before[name]
            lost, shift = now[0] - then[0], now[1] - then[1]
            if lost or (tolerance is not None and shift > tolerance + GUARD_MM):
                yield f"{item.id} does not register with {name}: the sheet has been moved"
            if "none" in (hold, self.sheets[name].hold):
                yield f"{item.id} does not register with {name}: nothing holds the sheet"

    def _earlier_partners(self, item: Pass) -> set[str]:
        """Those that `item` names, and of those that register with it by sheet and side the first."""
        names = {*item.over, *(item.registers_to or ()), *self.named_by.get(item.id, ())}
        if item.registers_to is None:
            names.add(self.first_of.get((self.sheets[item.id].id, item.side), item.id))
        return {name for name in names if name in self.moved_before and name != item.id}

    def _right_gap(self, item: Pass, at: int) -> Iterator[str]:
        """A stated gap is set as stated, or kept from the pass just before; an open one can be set."""
        assert self.plane is not None
        self.kept = False
        if item.gap is None:
            gap = self.plane.gap
            settable = any(abs(gap.offset.nominal - offset) <= GUARD_MM for offset in self.job.printer.gap.offsets())
            if self.set_for_next and not (settable and gap.reference != "bed"):
                yield f"{item.id}: the printer cannot set {gap.offset.nominal:g} mm over the {gap.reference}"
        elif not self.plane.is_as(self.standing.head_plane(at, item.gap)):
            self.kept = self.stated == (item.gap, self.sheets[item.id].id) and not self.set_for_next
            if not self.kept:
                yield f"{item.id}: the head plane is not that of its stated gap"

    def _whole(self) -> Iterator[str]:
        for name in self.items:
            if name not in self.done:
                yield f"{name} is never done"
        if self.load is not None:
            yield f"load {self.load} is left on the bed"
        if tuple(self.done) != self.plan.order:
            yield "the order is not that of the steps"
        for edge in self.plan.timeline.machine.precedence if not self.plan.judged else ():
            first, then = (self.plan.timeline.machine.items[at].id for at in (edge.before, edge.then))
            if self.done.get(first, -1) > self.done.get(then, len(self.done)):
                yield f"{then} is done before {first}: {edge.reason}"
        yield from self._alignments()
        minutes = self.job.printer.minutes
        parts = (minutes.load, minutes.gap, minutes.alignment)
        load, gap, alignment = parts if None not in parts else (0.0, 1.0, 1.0)
        assert load is not None
        assert gap is not None
        assert alignment is not None
        weight = self.loads * load + self.settings * gap + len(self.aligned) * alignment
        if self.plan.loads != self.loads or abs(self.plan.cost[1] - weight) > 1e-6:
            yield f"the cost is {self.loads} loads and {weight:g}, not as the plan says"

    def _alignments(self) -> Iterator[str]:
        """Each two-way pass lands within tolerance by some alignment, where one can bring both ends of it there."""
        printer, tolerance = self.job.printer, self.job.printer.allowed_landing_error
        if tolerance is None:
            return
        records = [*(a.offset for a in self.job.usable_alignments), *self.aligned]
        known: dict[Interval, bool] = {}  # Very many passes have one of a few throws.
        for at, printing in self.plan.timeline.printings.items():
            if self.job.passes[at].directions == 1:
                continue
            if printing.crisp not in known:
                middle = (printing.crisp.low + printing.crisp.high) / 2
                best = landing_error(printer, printing.crisp, middle).high
                served = any(landing_error(printer, printing.crisp, a).high <= tolerance + 1e-5 for a in records)
                near = any(abs(a - middle) <= 1e-5 for a in records)
                known[printing.crisp] = served or (best > tolerance - 1e-5 and near)
            if not known[printing.crisp]:
                yield f"{self.job.passes[at].id}: no alignment serves it"


def _alike(a: Interval, b: Interval) -> bool:
    return abs(a.low - b.low) <= GUARD_MM and abs(a.high - b.high) <= GUARD_MM
