"""Mending a job: a search through combinations of candidate changes for a least one after which nothing forbids it."""

from __future__ import annotations

import datetime
import heapq
import math
from collections.abc import Iterator
from typing import Any

from attrs import field, frozen

from signrules.documents.patching import difference
from signrules.documents.writing import job_to_dict
from signrules.evaluation import Evaluation, Live
from signrules.model.job import Job
from signrules.model.wording import counted
from signrules.plugins import Plugins
from signrules.remedies.changes import Change
from signrules.remedies.comparing import holding, worsened
from signrules.remedies.finder import extra_minutes
from signrules.remedies.makers import changes_for, changes_for_conflict
from signrules.rules.remedy import Remedy
from signrules.shop import Shop

MOST_TRIALS = 400
"""As many evaluations as a search may take, in jobs of up to 20 passes and handling; fewer in larger ones."""


@frozen(eq=False)
class Mended:
    """What came of mending a job.

    `job` is the mended job, None where none was found; `result` its evaluation, or that of the job as it was.
    `changes` says in words what was changed, `patch` is all of it as a JSON Patch on the job document; `setup_minutes`
    is what the plan then costs more. No change of it can be left out. `least` is True where it is shown that no fewer
    of the changes that are computed would do. `exhaustive` is True where all combinations of them were tried; `trials`
    is the number of evaluations.
    """

    job: Job | None
    result: Evaluation
    changes: tuple[str, ...] = ()
    patch: tuple[dict[str, Any], ...] = ()
    setup_minutes: float | None = None
    least: bool = False
    exhaustive: bool = False
    trials: int = 0

    @property
    def message(self) -> str:
        """What came of it, in words."""
        if not self.result.complete:
            return "Nothing was mended: a rule or plugin failed, so nothing is known to be in order."
        if self.job is None:
            why = (
                "all combinations of the changes that are computed were tried"
                if self.exhaustive
                else f"the search ended after {self.trials} evaluations and had not tried everything"
            )
            return f"No change was found after which nothing of level STOP is broken: {why}."
        if not self.changes:
            return "Nothing of level STOP is broken or doubtful: there is nothing to mend."
        fewest = "fewer would not do" if self.least else "none of them can be left out"
        head = f"{counted(len(self.changes), 'change')} ({fewest}):"
        return "\n".join([head, *(f"  {text}" for text in self.changes)])

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        remedy = Remedy("", self.patch, self.setup_minutes).to_dict()
        return {
            "mended": self.job is not None,
            "changes": list(self.changes),
            "patch": remedy["patch"],
            "setup_minutes": remedy["setup_minutes"],
            "least": self.least,
            "exhaustive": self.exhaustive,
            "trials": self.trials,
        }


def mend(
    job: Job,
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    today: datetime.date | None = None,
    seconds: float | None = None,
    trials: int = MOST_TRIALS,
) -> Mended:
    """A least change after which nothing of level STOP is broken or doubtful.

    Least: fewest changes, then fewest findings that someone must look at, then least set-up. It combines the changes
    from which remedies are made. First it looks for any combination, those with the least left to mend first, and
    leaves out what turns out not to be needed; with the trials that are left it looks for a better one. A job with a
    rule that fails is not mended. `trials` is the most evaluations that it may take in a job of up to 20 passes and
    handling; a larger job gets fewer. Raises JobError and ShopError as `evaluate` does.
    """
    search = _Search(job, Live(plugins=plugins, shop=shop, seconds=seconds), today or datetime.date.today(), trials)
    start = search.start
    if start.solved:
        return Mended(job, start.result, least=True, exhaustive=True, trials=search.tried)
    if not start.result.complete:
        return Mended(None, start.result, trials=search.tried)
    found, complete = search.run(greedily=True)
    if found is None:
        return Mended(None, start.result, exhaustive=complete, trials=search.tried)
    found = search.without_the_needless(found)
    fewer, complete = search.run(greedily=False, most=len(found.steps))
    found = found if fewer is None else fewer
    patch = difference(job_to_dict(job), job_to_dict(found.result.job))
    return Mended(
        found.result.job,
        found.result,
        tuple(step.summary for step in found.steps),
        tuple(patch),
        extra_minutes(start.result, found.result),
        least=complete,
        trials=search.tried,
    )


@frozen(eq=False)
class _Node:
    """A job on the way, its evaluation, and the changes that made it."""

    result: Evaluation
    steps: tuple[Change, ...] = ()
    left: int = field(init=False)

    def __attrs_post_init__(self) -> None:
        findings = {(check.rule, check.subjects[0]) for check in holding(self.result)}
        object.__setattr__(self, "left", len(findings) + (self.result.conflict is not None))

    @property
    def solved(self) -> bool:
        return self.result.ok

    @property
    def cost(self) -> tuple[float, float]:
        """What someone must look at, and the minutes of set-up."""
        plan = self.result.found_plan
        minutes = math.inf if plan is None or plan.setup_minutes is None else plan.setup_minutes
        return float(len(self.result.violations)), minutes

    def rank(self, greedily: bool) -> tuple[float, ...]:
        """Whose turn it is before others; see `_Search.run`."""
        count = len(self.steps)
        first = (count + self.left, -count) if greedily else (count + (not self.solved),)
        return (*first, *self.cost)

    def changes(self) -> Iterator[Change]:
        """Every candidate change for what is left."""
        if self.result.conflict is not None:
            yield from changes_for_conflict(self.result)
        for check in holding(self.result):
            yield from changes_for(check, self.result)


class _Search:
    """Evaluates changed jobs, each once, as long as the trials last."""

    def __init__(self, job: Job, live: Live, today: datetime.date, trials: int) -> None:
        self.start = _Node(live.evaluate(job, today=today))
        self.tried = 1
        self._most = max(2, min(trials, trials * 400 // len(job.items) ** 2))
        self._known: dict[Job, Evaluation | None] = {job: self.start.result}
        self._live, self._today = live, today

    def run(self, *, greedily: bool, most: int | None = None) -> tuple[_Node | None, bool]:
        """The first node that is solved, and whether everything before it was tried.

        Greedily: those with the least changes made and findings left first, of these the ones with the most made, and
        on from the first change that leaves less; otherwise those with the fewest changes, then the least cost, up to
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
            for change in changes:
                job = change.made(node.result.job)
                if job is None or job in seen:
                    continue
                seen.add(job)
                if self.tried >= self._most and job not in self._known:
                    complete = False
                    continue
                result = self._evaluated(job)
                if result is None:
                    continue
                then = _Node(result, (*node.steps, change))
                serial += 2
                heapq.heappush(queue, (then.rank(greedily), serial, then, then.changes()))
                if greedily and then.left < node.left:
                    # On from here: what else could be done to this node waits until nothing better is left.
                    heapq.heappush(queue, (rank, serial + 1, node, changes))
                    break
        return None, complete

    def without_the_needless(self, node: _Node) -> _Node:
        """The same without the changes that can be left out one by one."""
        at = 0
        while at < len(node.steps):
            rest = (*node.steps[:at], *node.steps[at + 1 :])
            job: Job | None = self.start.result.job
            for step in rest:
                job = None if job is None else step.made(job)
            result = None if job is None else self._evaluated(job)
            if result is not None and result.ok:
                node, at = _Node(result, rest), 0
            else:
                at += 1
        return node

    def _evaluated(self, job: Job) -> Evaluation | None:
        """A changed job's evaluation; None where something failed, or a check of level STOP that was met is gone."""
        if job not in self._known:
            self.tried += 1
            result = self._live.evaluate(job, today=self._today)
            self._known[job] = None if worsened(self.start.result, result) is None else result
        return self._known[job]
