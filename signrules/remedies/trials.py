"""Trials: changed jobs that are evaluated, each once, as long as a budget lasts."""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from typing import Generic, Protocol, TypeVar

from attrs import frozen

from signrules.model.job import Job, same_work
from signrules.remedies.candidates import Judged
from signrules.remedies.trial_budget import KEPT_PRICE, PART_OF_A_TRIAL, PLANNED_PRICE, TrialBudget

Progress = Callable[[int, int], object]
"""Is called after each trial with the states that are spent and those that there are."""


J = TypeVar("J", bound=Judged)
J_co = TypeVar("J_co", bound=Judged, covariant=True)


class Evaluates(Protocol[J_co]):
    """What evaluates a changed job as the job itself was evaluated."""

    @property
    def budget(self) -> int:
        """The states that the planner opens for a job at the most."""

    def trial(self, job: Job, most: int) -> tuple[J_co, int]:
        """A changed job judged, with at most so many states, and how many were opened for it."""


@frozen
class Trial(Generic[J]):
    """A changed job judged, and how many states the planner opened for it."""

    judged: J
    states: int


class Trials(Generic[J]):
    """Evaluates changed jobs until a budget is used up.

    A trial finds what an evaluation would: where the planner may open fewer states for it, and used
    up all of them, it counts as not tried. `shared` are trials that other searches have made. They
    save time and make no other difference.
    """

    def __init__(
        self,
        judged: J,
        evaluates: Evaluates[J],
        total: TrialBudget | int,
        *,
        shared: MutableMapping[Job, Trial[J]] | None = None,
        progress: Progress | None = None,
    ) -> None:
        self.judged = judged
        if isinstance(total, TrialBudget):
            total = total.states_for(len(judged.job.items), judged.states)
        self.total = total
        self.spent = self.count = 0
        self.untried = 0
        """How often a trial was asked for that was not made, or not to its end."""
        self.refused = 0
        """Those of them that were not begun, since too little is left."""
        self._evaluates = evaluates
        if shared is None:
            shared = {}
        self._shared = shared
        self._progress = progress
        self._known: dict[Job, J | None] = {judged.job: judged}
        self._ordered: dict[Job, J] = {}

    @property
    def left(self) -> int:
        """The states that are left."""
        return self.total - self.spent

    @property
    def used_up(self) -> bool:
        """Whether not even the cheapest trial can be made any more."""
        return self.left < KEPT_PRICE

    @property
    def can_plan(self) -> bool:
        """Whether enough is left for a trial in which something that is printed changes."""
        return self.left > PLANNED_PRICE

    def evaluated(self, job: Job) -> J | None:
        """A changed job judged; None where the budget does not allow that."""
        if job not in self._known:
            kept = same_work(self.judged.job, job)
            if self.used_up or (not kept and not self.can_plan):
                self.untried += 1
                self.refused += 1
                return None
            self._known[job] = self._tried(job, kept)
            if self._progress is not None:
                self._progress(self.spent, self.total)
        result = self._known[job]
        # Each time that it is asked for: a later case has not tried it to its end either.
        if result is None:
            self.untried += 1
        return result

    def leave_out(self) -> None:
        """Count a trial that would be asked for and is not made."""
        self.untried += 1

    def settle_for_order(self, job: Job) -> J | None:
        """What came of a trial that was cut short, where that found a safe order and the job itself
        has none.

        With more states the planner finds an order all the same, perhaps a cheaper one. The trial
        then counts as made, though it counted as untried when it was cut short.
        """
        ordered = self._ordered.get(job)
        if ordered is not None:
            self.untried -= 1
        return ordered

    def _tried(self, job: Job, kept: bool) -> J | None:
        # Shared trials are paid for like the others: what was asked for before must not decide how
        # far this search comes.
        price = KEPT_PRICE if kept else PLANNED_PRICE
        all_states = self._evaluates.budget
        most_states = min(all_states, self.left - price, max(self.total // PART_OF_A_TRIAL, 1))
        trial = self._shared.get(job)
        if trial is None:
            trial = Trial(*self._evaluates.trial(job, most_states))
        # A planner that was stopped short may have found another plan than an evaluation would.
        used_less = trial.states < most_states or (kept and not trial.states)
        ended = most_states == all_states or used_less
        self.count += 1
        self.spent += price + min(trial.states, most_states)
        if not ended:
            if self.judged.conflict is not None and trial.judged.conflict is None:
                self._ordered[job] = trial.judged
            return None
        # Only a trial that ended is shared: another search may have more states left for this job.
        self._shared[job] = trial
        return trial.judged
