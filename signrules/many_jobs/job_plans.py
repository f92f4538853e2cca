"""How jobs of one printer are planned after others, each question asked of the planner once."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager

from attrs import evolve, frozen

from signrules.evaluation import Evaluation, Judge
from signrules.many_jobs.carrying import (
    LeftBehind,
    head_heights,
    judge_after,
    made_alignments,
)
from signrules.many_jobs.row_setup import Setup
from signrules.model.job import Alignment, Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.gaps.alignment_windows import Serving
from signrules.planning.gaps.plane_reaches import SLACK_MM, Reach, plane_reaches
from signrules.planning.setup_cost import Cost

MOST_STEPS = 1_000_000
"""Jobs put behind others before a search gives up, however few plans it needs."""

NOTHING_LEFT = 0
"""The number of what is left before the first job."""


class OutOfTrials(Exception):
    """The planner has been asked as often as it may."""


@frozen
class _Planned:
    """A plan: its cost where the gap is set first, and where it is kept; what it leaves."""

    cost: Cost
    cost_kept: Cost
    first_height: float
    last_height: float
    made: tuple[Alignment, ...]


class JobPlans:
    """The plans of jobs of one printer, each with what earlier jobs have left.

    Jobs that need the same set-up are of one kind, and one of them is planned for all. `alone` has
    one of each kind evaluated by itself, with a safe order: that plan holds where none comes of it
    in another place, such as where a plugin fails there. `kinds` has the number of its kind for
    each job, as they are given.

    What is left has a number, `NOTHING_LEFT` before the first job. `trials` is how many plans may
    be made inside `within_trials`; outside of it plans are made whatever their number.
    """

    def __init__(
        self,
        alone: Sequence[Evaluation],
        kinds: Sequence[int],
        judge: Judge,
        today: datetime.date,
        trials: int,
    ) -> None:
        self.alone, self._judge, self._today = tuple(alone), judge, today
        self.kinds = tuple(kinds)
        self._kept_back: float | None = None
        self._trials, self._trials_made, self._steps_made = trials, 0, 0
        self._spans = [_served_spans(result.job) for result in alone]
        self._planned: dict[tuple[int, tuple[Alignment, ...]], _Planned] = {}
        self._left = [LeftBehind()]
        # Numbers stand for what is left: a search compares and keeps them a million times.
        self._numbers = {LeftBehind(): NOTHING_LEFT}
        self._steps: dict[tuple[int, int], tuple[Cost, int]] = {}

    @contextmanager
    def within_trials(self, kept_back: float = 0.0) -> Iterator[None]:
        """Hold all that is asked inside to the trials, less a share that is kept back for later."""
        self._kept_back = kept_back
        try:
            yield
        finally:
            self._kept_back = None

    @property
    def _may_go_on(self) -> bool:
        """Whether a job may be put behind others once more."""
        if self._kept_back is None:
            return True
        share = 1 - self._kept_back
        enough_trials = self._trials_made < share * self._trials
        return enough_trials and self._steps_made < share * MOST_STEPS

    @property
    def steps_left(self) -> int:
        """How many jobs may still be put behind others, if nothing is kept back."""
        return MOST_STEPS - self._steps_made

    def after(self, kind: int, left: int) -> tuple[Cost, int]:
        """What a job of a kind costs behind others, and the number of what is left after it.

        `left` is the number of what the others have left. Inside `within_trials` it raises
        OutOfTrials where the job would have to be planned, or put somewhere, once too often.
        """
        if not self._may_go_on:
            raise OutOfTrials
        self._steps_made += 1
        key = kind, left
        if key not in self._steps:
            self._steps[key] = self._step_anew(kind, self._left[left])
        return self._steps[key]

    def left_after(self, kind: int, left: LeftBehind) -> LeftBehind:
        """What is left after a job of a kind that finds `left`."""
        _, number = self.after(kind, self._number_of(left))
        return self._left[number]

    def _step_anew(self, kind: int, left: LeftBehind) -> tuple[Cost, int]:
        planned = self._plan_of(kind, left)
        cost = planned.cost
        if left.keeps_gap(planned.first_height):
            cost = planned.cost_kept
        following = left.after_plan(planned.made, planned.last_height)
        return cost, self._number_of(following)

    def _number_of(self, left: LeftBehind) -> int:
        if left not in self._numbers:
            self._numbers[left] = len(self._left)
            self._left.append(left)
        return self._numbers[left]

    def _plan_of(self, kind: int, left: LeftBehind) -> _Planned:
        # What serves no pass of a job in any order makes no difference to its plan.
        spans = self._spans[kind]
        alignments = tuple(one for one in left.alignments if _lies_within(one.extra, spans))
        key = kind, alignments
        if key not in self._planned:
            # Plans are counted and not time, so that the answer is the same on every machine.
            self._trials_made += 1
            self._planned[key] = self._plan_anew(self.alone[kind], LeftBehind(alignments))
        return self._planned[key]

    def _plan_anew(self, alone: Evaluation, left: LeftBehind) -> _Planned:
        result, _ = judge_after(alone.job, left, self._judge)
        # A plugin may fail on what is carried: then the job is printed as it would be alone.
        plan = result.plan if result.order_is_safe else alone.plan
        assert plan is not None
        return _Planned(
            Setup.of_plan(plan).cost,
            Setup.of_plan(plan, gap_is_kept=True).cost,
            *head_heights(plan),
            made_alignments(plan, self._today),
        )


def _served_spans(job: Job) -> tuple[Reach, ...]:
    """Between which extras over a bare sheet alignments may serve some pass of a job, in mm."""
    # Without its own records, since spans are those of passes that none of these serves.
    machine = Machine(Heights(evolve(job, alignments=())))
    everything = frozenset(range(len(machine.items)))
    serving = Serving(machine, plane_reaches(machine), everything)
    return tuple(sorted(set(serving.spans.values())))


def _lies_within(extra: float, spans: Iterable[Reach]) -> bool:
    return any(low - SLACK_MM <= extra <= high + SLACK_MM for low, high in spans)
