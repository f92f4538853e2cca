"""The answer: how a job goes on after what is done."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from attrs import frozen

from signrules.continuing.fixed_order import as_planned, demand_done, done_first
from signrules.continuing.remaining import Lost, Remaining, lost_of, remaining_of
from signrules.continuing.standing_now import InkOnSheet, ink_on_sheets
from signrules.evaluation import Evaluation, Live
from signrules.model.job import Job
from signrules.planning.pipeline import BUDGET
from signrules.plugins import Plugins
from signrules.shop import Shop

FORMAT = 1
"""The version of the shape that `NextSteps.to_dict` gives."""


@frozen(eq=False)
class NextSteps:
    """How a half-printed job goes on.

    `whole` is the evaluation of the job as it was planned, `result` that of the job as it stands,
    with what is done first. `standing` is the ink that stands now. `remaining` is what is left to
    do, None where nothing safe is; then `lost` says why.
    """

    job: Job
    done: tuple[str, ...]
    whole: Evaluation
    result: Evaluation
    standing: tuple[InkOnSheet, ...]
    remaining: Remaining | None
    lost: Lost | None

    @property
    def can_go_on(self) -> bool:
        """Whether what remains has a safe order."""
        return self.remaining is not None

    @property
    def as_whole_plan(self) -> bool:
        """Whether what is done and what remains are the order of the whole plan."""
        left = () if self.remaining is None else self.remaining.order
        return (*self.done, *left) == self.whole.order

    def to_dict(self) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON."""
        return {
            "signrules_next": FORMAT,
            "job": self.job.name,
            "done": list(self.done),
            "can_go_on": self.can_go_on,
            "planned_order": list(self.whole.order),
            "standing": [face.to_dict() for face in self.standing],
            "remaining": None if self.remaining is None else self.remaining.to_dict(),
            "lost": None if self.lost is None else self.lost.to_dict(),
        }


def next_steps(
    job: Job,
    done: Sequence[str] = (),
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
) -> NextSteps:
    """How a job goes on after the passes and the handling that are `done`, in their order.

    Only what remains is planned. Alignments that the plan made are on record. A pass that was done
    out of turn is no fault as long as the rest still has a safe order. Raises RecordError where
    `done` does not fit the job, and what `evaluate` raises.
    """
    demand_done(job, done)
    live = Live(plugins=plugins, shop=shop, budget=budget)
    day = today or datetime.date.today()
    whole = live.evaluate(job, today=day)
    standing_job = done_first(as_planned(job, whole.plan, done), done)
    result = live.evaluate(standing_job, today=day)
    lost = lost_of(result, done)
    remaining = None if lost else remaining_of(result.timeline, done)
    return NextSteps(
        job, tuple(done), whole, result, ink_on_sheets(standing_job, done), remaining, lost
    )
