"""Mending a job: a search through combinations of candidate changes for a least one after which
nothing forbids it.
"""

from __future__ import annotations

import datetime
import heapq
import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any

from attrs import evolve, field, frozen

from signrules.documents.json_patch import patch_between
from signrules.documents.writing import job_to_dict
from signrules.evaluation import Evaluation, Live
from signrules.evaluation.live import trials_of
from signrules.given_values import day_or_today, demand_bounds, demand_given
from signrules.model.job import Job
from signrules.model.wording import counted_things
from signrules.plugins import Plugins
from signrules.remedies.after_change import holding_checks, worsened_checks
from signrules.remedies.alike_cases import Alike, Case
from signrules.remedies.candidates import Change, lasting_changes
from signrules.remedies.finder import extra_minutes
from signrules.remedies.trial_budget import MENDING, TrialBudget
from signrules.remedies.trials import Progress, Trials
from signrules.remedies.unlike_rows import candidate_changes, candidates_for_conflict
from signrules.rules.remedy import Remedy
from signrules.shop import Shop


@frozen(eq=False)
class Mended:
    """What came of mending a job.

    `job` is the mended job, None where none was found; `result` its evaluation, or that of the job
    as it was.
    `changes` says in words what was changed, `patch` is all of it as a JSON Patch on the job
    document; `setup_minutes` is what the plan then costs more. What is changed in the same way at
    several that are alike is one change. `needed` is True where it was tried to leave out each of
    them, and none can be. `least` is True where it is shown that no fewer of the changes that are
    computed would do. `exhaustive` is True where all combinations of them were tried;
    `trials` is the number of evaluations, `states` what they took of the budget.
    """

    job: Job | None
    result: Evaluation
    changes: tuple[str, ...] = ()
    patch: tuple[dict[str, Any], ...] = ()
    setup_minutes: float | None = None
    needed: bool = False
    least: bool = False
    exhaustive: bool = False
    trials: int = 0
    states: int = 0

    @property
    def message(self) -> str:
        """What came of it, in words."""
        if not self.result.complete:
            return "Nothing was mended: a rule or plugin failed, so it is not known what is wrong."
        if self.job is None:
            count = counted_things(self.trials, "evaluation")
            why = f"the search ended after {count} and had not tried everything"
            if self.exhaustive:
                why = "all combinations of the computed changes were tried"
            return f"No change was found that leaves nothing of level STOP broken: {why}."
        if not self.changes:
            return "Nothing of level STOP is broken or doubtful: there is nothing to mend."
        fewest = "the search ended before it was known whether all of them are needed"
        if self.needed:
            fewest = "fewer would not do" if self.least else "none of them can be left out"
        head = f"{counted_things(len(self.changes), 'change')} ({fewest}):"
        return "\n".join([head, *(f"  {text}" for text in self.changes)])

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        remedy = Remedy("", self.patch, self.setup_minutes).to_dict()
        return {
            "mended": self.job is not None,
            "changes": list(self.changes),
            "patch": remedy["patch"],
            "setup_minutes": remedy["setup_minutes"],
            "needed": self.needed,
            "least": self.least,
            "exhaustive": self.exhaustive,
            "trials": self.trials,
            "states": self.states,
        }


def mend(
    job: Job,
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    today: datetime.date | None = None,
    seconds: float | None = None,
    budget: int | None = None,
    progress: Progress | None = None,
) -> Mended:
    """A least change after which nothing of level STOP is broken or doubtful.

    Least: fewest changes, then fewest findings that someone must look at, then least set-up. It
    combines the changes from which remedies are made; alike findings are mended by one change.
    First it looks for any combination, those with the least left to mend first, and leaves out what
    turns out not to be needed; with the trials that are left it looks for a better one. A job with
    a rule that fails is not mended.

    `budget` is how many states of the planner all trials may take together, each counted with a
    fixed number besides; left out, what `signrules.remedies.trial_budget.MENDING` makes of the job.
    `progress` is called after each trial with the states spent and those that there are. Raises
    JobError and ShopError as `evaluate` does.
    """
    demand_given("mend", (job, Job), (plugins, Plugins | None), (shop, Shop | None))
    demand_bounds(budget=0 if budget is None else budget, seconds=seconds)
    today = day_or_today(today)
    live = Live(plugins=plugins, shop=shop, seconds=seconds)
    start = live.evaluate(job, today=today)
    if start.ok:
        return Mended(job, start, needed=True, least=True, exhaustive=True, trials=1)
    if not start.complete:
        return Mended(None, start, trials=1)
    total: TrialBudget | int = MENDING if budget is None else budget
    # From the plan that there is first, which is quick; where the planner alone does not come to
    # such a plan, once more from scratch.
    for from_plan in (True, False):
        trials = trials_of(start, total, from_plan=from_plan, progress=progress)
        mended = _Search(trials).mended()
        if mended.job is None:
            return mended
        result = live.evaluate(mended.job, today=today)
        if result.ok:
            minutes = extra_minutes(start, result)
            return evolve(mended, result=result, setup_minutes=minutes, trials=mended.trials + 1)
        # It holds for a plan to which the planner does not come by itself, so that plan is not
        # started from any more.
        total = trials.left
    return Mended(None, start, trials=mended.trials + 1, states=mended.states)


@frozen(eq=False)
class _Node:
    """A job on the way, its evaluation, and the changes that made it."""

    result: Evaluation
    steps: tuple[Change, ...] = ()
    cases: tuple[Case, ...] = field(init=False)

    def __attrs_post_init__(self) -> None:
        findings = {
            (check.rule, check.subjects[0]): check
            # Reversed, so that of several checks of one rule and subject the first stays; and back
            # again.
            for check in reversed(holding_checks(self.result))
        }
        object.__setattr__(self, "cases", tuple(self.alike.cases(reversed(findings.values()))))

    @cached_property
    def alike(self) -> Alike:
        """Which rows of its job are alike."""
        return Alike(self.result.job)

    @property
    def left(self) -> int:
        """How many findings are left, alike ones counted once."""
        return len(self.cases) + (self.result.conflict is not None)

    @property
    def solved(self) -> bool:
        """Whether nothing is left."""
        return self.result.ok

    @property
    def cost(self) -> tuple[float, float]:
        """What someone must look at, and the minutes of set-up."""
        plan = self.result.found_plan
        # Without minutes all plans are alike here, and the other parts of the rank decide.
        minutes = math.inf if plan is None or plan.setup_minutes is None else plan.setup_minutes
        return float(len(self.result.violations)), minutes

    def rank(self, greedily: bool) -> tuple[float, ...]:
        """Whose turn it is before others; see `_Search.run`."""
        count = len(self.steps)
        first = (count + self.left, -count) if greedily else (count + (not self.solved),)
        # Of as many changes, those that say what the likes have are what was meant.
        guessed = sum(not step.of_likes for step in self.steps)
        return (*first, guessed, *self.cost)

    def changes(self) -> Iterator[Change]:
        """Every candidate change for what is left, at all that is alike."""
        if self.result.conflict is not None:
            for change in _by_itself(candidates_for_conflict(self.result, self.alike)):
                yield from dict.fromkeys((change, self.alike.widened(change)))
        for case in self.cases:
            for change in _by_itself(candidate_changes(case.lead, self.result, self.alike)):
                yield self.alike.widened(change, case)


def _by_itself(changes: Iterable[Change]) -> Iterator[Change]:
    """The changes for which nothing must be bought and nobody asked.

    A mended job can be printed as it is.
    """
    return (change for change in changes if not (change.buys or change.asks))


class _Search:
    """Tries combinations of changes, as long as the trials last."""

    def __init__(self, trials: Trials[Evaluation]) -> None:
        self.trials = trials
        self.start = _Node(trials.judged)

    def mended(self) -> Mended:
        """What comes of the search."""
        best, complete = self.run(greedily=True)
        if best is None:
            start, trials = self.start.result, self.trials
            return Mended(
                None, start, exhaustive=complete, trials=trials.count + 1, states=trials.spent
            )
        best, needed = self.without_the_needless(best)
        fewer, complete = self.run(greedily=False, most=len(best.steps))
        if fewer is not None:
            # Of the fewest changes none can be left out, where everything with fewer was tried.
            best, needed = fewer, True
            if not complete:
                best, needed = self.without_the_needless(fewer)
        return self._mended(best, needed, complete)

    def _mended(self, node: _Node, needed: bool, least: bool) -> Mended:
        before, after = self.start.result.job, node.result.job
        return Mended(
            after,
            node.result,
            tuple(step.words(before) for step in lasting_changes(before, node.steps)),
            tuple(patch_between(job_to_dict(before), job_to_dict(after))),
            needed=needed,
            least=least,
            trials=self.trials.count + 1,
            states=self.trials.spent,
        )

    def run(self, *, greedily: bool, most: int | None = None) -> tuple[_Node | None, bool]:
        """The first node that is solved, and whether everything before it was tried.

        Greedily: those with the least changes made and findings left first, of these the ones with
        the most made, and on from the first change that leaves less; otherwise those with the
        fewest changes, then the least cost, up to
        `most` changes.
        """
        serial = 0
        queue = [(self.start.rank(greedily), serial, self.start, self.start.changes())]
        seen = {self.start.result.job}
        complete = True
        while queue:
            rank, _, node, changes = heapq.heappop(queue)
            if node.solved:
                return node, complete
            if most is not None and len(node.steps) >= most:
                continue
            if self.trials.used_up:
                complete = False
                continue
            for change in changes:
                job = change.made(node.result.job)
                if job is None or job in seen:
                    continue
                seen.add(job)
                result = self.trials.evaluated(job)
                if result is None:
                    complete = False
                    if not self.trials.can_plan:
                        # Making changes that are left untried takes long as well.
                        break
                    continue
                if worsened_checks(self.start.result, result) is None:
                    continue
                following = _Node(result, (*node.steps, change))
                serial += 2
                heapq.heappush(
                    queue, (following.rank(greedily), serial, following, following.changes())
                )
                if greedily and following.left < node.left:
                    # On from here: what else could be done to this node waits until nothing better
                    # is left.
                    heapq.heappush(queue, (rank, serial + 1, node, changes))
                    break
        return None, complete

    def without_the_needless(self, node: _Node) -> tuple[_Node, bool]:
        """The node without the needless changes, and whether each of them was tried."""
        place, before = 0, self.trials.untried
        while place < len(node.steps):
            fewer = self._made_of((*node.steps[:place], *node.steps[place + 1 :]))
            if fewer is None:
                place += 1
            else:
                # What was needed with the change that went may not be needed without it.
                node, place = fewer, 0
        return node, self.trials.untried == before

    def _made_of(self, steps: tuple[Change, ...]) -> _Node | None:
        """The job with some changes, where nothing is left to mend then; else None."""
        job = self.start.result.job
        for step in steps:
            changed = step.made(job)
            if changed is None:
                return None
            job = changed
        result = self.trials.evaluated(job)
        if result is None or not result.ok:
            return None
        if worsened_checks(self.start.result, result) is None:
            return None
        return _Node(result, steps)
