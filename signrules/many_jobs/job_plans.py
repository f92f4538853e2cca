"""How jobs of one printer are planned after others, each question asked of the planner once."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence

from attrs import evolve, frozen

from signrules.documents.writing import job_to_dict
from signrules.many_jobs.carrying import (
    Judge,
    LeftBehind,
    head_heights,
    judge_after,
    made_alignments,
)
from signrules.many_jobs.row_setup import Setup
from signrules.model.job import Alignment, Job
from signrules.planning.setup_cost import Cost

MOST_STEPS = 200_000
"""Jobs put behind others before a search gives up, however few plans it needs."""


class OutOfTrials(Exception):
    """The planner has been asked as often as it may."""


@frozen
class Step:
    """A job behind others: what it costs there, and what is left behind then."""

    cost: Cost
    left: LeftBehind


@frozen
class _Planned:
    """A plan: its cost where the gap is set first, and where it is kept; what it leaves."""

    cost: Cost
    cost_kept: Cost
    first_height: float
    last_height: float
    made: tuple[Alignment, ...]


class JobPlans:
    """The plans of jobs of one printer, by the alignments that earlier jobs have left.

    Jobs that differ in their names alone are of one kind and are planned once; `kinds` has a number
    for each, the same whatever the order in which the jobs are given. Once `kept_back` is set, no
    more than `trials` plans are made, without the share of them that it says.
    """

    def __init__(
        self, jobs: Sequence[Job], judge: Judge, today: datetime.date, trials: int
    ) -> None:
        self.jobs, self._judge, self._today = tuple(jobs), judge, today
        self.kinds = _kinds_of_jobs(self.jobs)
        self.kept_back: float | None = None
        self._trials, self._trials_made, self._steps_made = trials, 0, 0
        self._planned: dict[tuple[int, tuple[Alignment, ...]], _Planned | None] = {}

    @property
    def may_go_on(self) -> bool:
        """Whether further orders may be tried."""
        if self.kept_back is None:
            return True
        share = 1 - self.kept_back
        enough_trials = self._trials_made < share * self._trials
        return enough_trials and self._steps_made < share * MOST_STEPS

    def after(self, at: int, left: LeftBehind) -> Step:
        """A job behind what others have left. Raises OutOfTrials where it may not be planned."""
        if not self.may_go_on:
            raise OutOfTrials
        self._steps_made += 1
        planned = self._plan_of(at, left)
        if planned is None:
            return Step((0, 0.0), left)
        cost = planned.cost
        if left.keeps_gap(planned.first_height):
            cost = planned.cost_kept
        return Step(cost, left.after_plan(planned.made, planned.last_height))

    def _plan_of(self, at: int, left: LeftBehind) -> _Planned | None:
        job = self.jobs[at]
        alignments = left.alignments if _asks_alignments(job) else ()
        key = self.kinds[at], alignments
        if key not in self._planned:
            self._trials_made += 1
            self._planned[key] = self._plan_anew(job, LeftBehind(alignments))
        return self._planned[key]

    def _plan_anew(self, job: Job, left: LeftBehind) -> _Planned | None:
        result, _ = judge_after(job, left, self._judge)
        plan = result.plan
        if plan is None or not result.order_is_safe:
            return None
        return _Planned(
            Setup.of_plan(plan).cost,
            Setup.of_plan(plan, gap_is_kept=True).cost,
            *head_heights(plan),
            made_alignments(plan, self._today),
        )


def _asks_alignments(job: Job) -> bool:
    """Whether alignments make a difference to a job: it prints both ways, to a known tolerance."""
    if job.printer.allowed_landing_error is None:
        return False
    return any(item.directions == 2 for item in job.passes)


def _kinds_of_jobs(jobs: Sequence[Job]) -> tuple[int, ...]:
    """A number for each job, by what its document says but for its name."""
    documents = [_nameless_document(job) for job in jobs]
    numbers = {document: number for number, document in enumerate(sorted(set(documents)))}
    return tuple(numbers[document] for document in documents)


def _nameless_document(job: Job) -> str:
    return json.dumps(job_to_dict(evolve(job, name="")), sort_keys=True)
