"""What a job leaves on its printer for the next: alignments that were made, and the gap as set."""

from __future__ import annotations

import datetime
from typing import Any

from attrs import evolve, frozen

from signrules.evaluation import Evaluation, Judge
from signrules.many_jobs.row_setup import Setup
from signrules.model.job import Alignment, Job
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM
from signrules.plain import rounded_number
from signrules.planning.plan import Plan
from signrules.planning.setup_cost import Cost


@frozen
class Carried:
    """What earlier jobs left on the printer for a job, and the set-up that is left to it.

    `alignments` were made by the plans of earlier jobs and are on record for this one, beside those
    that it states. `head_above_bed` is how high the head stands as the job begins, nominal and in
    mm; None where no earlier job has set it. `gap_is_kept` says that the plan begins at that very
    height, so that its first gap setting costs nothing. `setup` is what is left to do; None where
    no order of the job is safe.
    """

    alignments: tuple[Alignment, ...] = ()
    head_above_bed: float | None = None
    gap_is_kept: bool = False
    setup: Setup | None = None

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        height = self.head_above_bed
        return {
            "alignments_mm": [rounded_number(one.extra) for one in self.alignments],
            "head_above_bed_mm": None if height is None else rounded_number(height),
            "gap_is_kept": self.gap_is_kept,
            "setup": None if self.setup is None else self.setup.to_dict(),
        }


@frozen
class LeftBehind:
    """What the jobs so far have left on one printer.

    `alignments` were made by their plans, by ascending extra; `head_above_bed` is where the last
    one left the head, nominal and in mm.
    """

    alignments: tuple[Alignment, ...] = ()
    head_above_bed: float | None = None

    def after(self, result: Evaluation, today: datetime.date) -> LeftBehind:
        """What is left after one more job; a job without a safe order is not printed."""
        plan = result.plan
        if plan is None or not result.order_is_safe:
            return self
        return self.after_plan(made_alignments(plan, today), head_heights(plan)[1])

    def after_plan(self, made: tuple[Alignment, ...], last_height: float) -> LeftBehind:
        """What is left after a plan that makes some alignments and leaves the head at a height."""
        # Made again at the same extra, an alignment keeps the day that it was made first.
        by_extra = {one.extra: one for one in (*made, *self.alignments)}
        ascending = tuple(by_extra[extra] for extra in sorted(by_extra))
        return LeftBehind(ascending, last_height)

    def keeps_gap(self, first_height: float) -> bool:
        """Whether the head stands already where a plan sets it first."""
        height = self.head_above_bed
        return height is not None and abs(height - first_height) <= GUARD_MM


def made_alignments(plan: Plan, today: datetime.date) -> tuple[Alignment, ...]:
    """The alignments that a plan makes, as on record from that day on."""
    return tuple(Alignment(extra, today) for extra in plan.timeline.new_alignments)


def head_heights(plan: Plan) -> tuple[float, float]:
    """How high the head stands above the bed at the first and at the last pass, nominal, in mm."""
    printings = plan.timeline.printings
    passes = [item_index for item_index in plan.timeline.order if item_index in printings]
    first, last = printings[passes[0]], printings[passes[-1]]
    return first.plane.height.nominal, last.plane.height.nominal


def judge_after(job: Job, left: LeftBehind, judge: Judge) -> tuple[Evaluation, Carried]:
    """A job evaluated with what earlier ones left, and what that was.

    What they left never makes it dearer: where the planner gave up before its plan was proven, and
    finds a cheaper one without their alignments, that one holds.
    """
    alignments = _fresh_alignments(job, left)
    result = judge(_with_alignments(job, alignments))
    # A planner that gives up may do worse with more to choose from. What a job would get alone it
    # must get in a row.
    if alignments and not _is_proven(result):
        alone = judge(job)
        if _rank(alone) < _rank(result):
            result, alignments = alone, ()
    if result.plan is None or not result.order_is_safe:
        return result, Carried(alignments, left.head_above_bed)
    kept = left.keeps_gap(head_heights(result.plan)[0])
    setup = Setup.of_plan(result.plan, gap_is_kept=kept)
    return result, Carried(alignments, left.head_above_bed, kept, setup)


def _fresh_alignments(job: Job, left: LeftBehind) -> tuple[Alignment, ...]:
    """Of the alignments left behind those that hold and that the job does not state itself."""
    known = {one.extra for one in job.usable_alignments}
    head_work = job.printer.head_work
    return tuple(
        one for one in left.alignments if one.extra not in known and not one.stale_by(head_work)
    )


def _with_alignments(job: Job, alignments: tuple[Alignment, ...]) -> Job:
    if not alignments:
        return job
    return evolve(job, alignments=(*job.alignments, *alignments))


def _is_proven(result: Evaluation) -> bool:
    return result.order_is_safe and result.plan is not None and result.plan.optimal


def _rank(result: Evaluation) -> tuple[bool, Cost]:
    """Of two evaluations the one to keep is that with the lower rank."""
    if result.plan is None or not result.order_is_safe:
        return True, (0, 0.0)
    return False, result.plan.cost


class JobRow:
    """Jobs evaluated one after the other, each with what the earlier ones left on its printer.

    Printers are one where they are equal in all that they state.
    """

    def __init__(self, judge: Judge, today: datetime.date) -> None:
        self._judge, self._today = judge, today
        self._left: dict[Printer, LeftBehind] = {}

    def evaluate(self, job: Job) -> tuple[Evaluation, Carried]:
        """The next job, and what was carried to it."""
        left = self._left.get(job.printer, LeftBehind())
        result, carried = judge_after(job, left, self._judge)
        self._left[job.printer] = left.after(result, self._today)
        return result, carried
