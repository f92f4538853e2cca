"""Work orders as they lie in a folder: `work-order.toml` and the jobs of its loads beside it."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping

from attrs import frozen

from signrules.documents.work_orders import FILE_NAME, read_work_order
from signrules.errors import DocumentFault, NotEvaluated, SignrulesError, WorkOrderError
from signrules.estimating import Rates, WorkOrderEstimate, estimate_jobs, estimate_work_order
from signrules.evaluation import Evaluation
from signrules.many_jobs import evaluate_many
from signrules.model.wording import NOTHING, listed_names, shown_value
from signrules.model.work_order import WorkOrder
from signrules.planning.pipeline import BUDGET
from signrules.plugins import Plugins
from signrules.shop import Shop

Progress = Callable[[int, int | None], object]


@frozen(eq=False)
class JudgedOrder:
    """What came of the jobs of a work order, or of a folder of jobs that has none.

    `outcomes` are the evaluations, or the errors that say why there is none, by the id of the load;
    without a work order, by the name of the file. `files` are the paths of the jobs by the same.
    """

    name: str
    order: WorkOrder | None
    files: Mapping[str, str]
    outcomes: Mapping[str, Evaluation | SignrulesError]

    @property
    def evaluations(self) -> dict[str, Evaluation]:
        """The evaluations alone."""
        return {
            load: outcome
            for load, outcome in self.outcomes.items()
            if isinstance(outcome, Evaluation)
        }

    @property
    def ok(self) -> bool:
        """Whether every job was judged and is `ok`."""
        judged = self.evaluations
        return len(judged) == len(self.outcomes) and all(each.ok for each in judged.values())

    def estimate(
        self,
        rates: Rates | None = None,
        *,
        plugins: Plugins | None = None,
        seconds: float | None = None,
    ) -> WorkOrderEstimate:
        """What all of it takes and, with a rate table, what it costs."""
        if self.order is None:
            return estimate_jobs(self.name, self.outcomes, rates, plugins=plugins, seconds=seconds)
        return estimate_work_order(
            self.order, self.outcomes, rates, plugins=plugins, seconds=seconds
        )


def judge_work_order(
    folder: str | os.PathLike[str],
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    seconds: float | None = None,
    progress: Progress | None = None,
) -> JudgedOrder:
    """Evaluate the jobs of the work order in a folder, in its order.

    The options are those of `evaluate_many`. Raises WorkOrderError where the work order cannot be
    read; a job that cannot, or has other signs or pieces than the work order lists, is an outcome.
    """
    order = read_work_order(folder)
    files = {load.id: os.path.join(folder, load.file) for load in order.loads}
    outcomes = _outcomes_of(
        files,
        plugins=plugins,
        shop=shop,
        budget=budget,
        today=today,
        seconds=seconds,
        progress=progress,
    )
    for load, outcome in outcomes.items():
        faults = list(_faults_of_load(order, load, outcome))
        if faults:
            outcomes[load] = WorkOrderError(faults, os.path.join(folder, FILE_NAME))
    return JudgedOrder(order.name, order, files, outcomes)


def _faults_of_load(
    order: WorkOrder, load: str, outcome: Evaluation | SignrulesError
) -> Iterator[DocumentFault]:
    """Signs and pieces that only one has of a work order and the job of a load: one is outdated."""
    if not isinstance(outcome, Evaluation):
        return
    pieces = [piece.id for piece in order.pieces if piece.load == load]
    signs = [sign.id for sign in order.signs if sign.piece in set(pieces)]
    job = outcome.job
    for table, listed, there in (
        ("pieces", pieces, [sheet.id for sheet in job.media]),
        ("signs", signs, [sign.id for sign in job.signs]),
    ):
        expected = f"as in the job of {load}: {listed_names(sorted(there)) or NOTHING}"
        for id in sorted(set(listed) ^ set(there)):
            found = "that its job has not" if id in listed else "only in its job"
            yield DocumentFault(table, f"{shown_value(id)}, {found}", expected)


def judge_jobs(
    name: str,
    files: Iterable[str],
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    seconds: float | None = None,
    progress: Progress | None = None,
) -> JudgedOrder:
    """Evaluate jobs that belong to no work order; `name` is what they are called together."""
    by_name = {file: file for file in files}
    outcomes = _outcomes_of(
        by_name,
        plugins=plugins,
        shop=shop,
        budget=budget,
        today=today,
        seconds=seconds,
        progress=progress,
    )
    return JudgedOrder(name, None, by_name, outcomes)


def _outcomes_of(
    files: Mapping[str, str],
    *,
    plugins: Plugins | None,
    shop: Shop | None,
    budget: int,
    today: datetime.date | None,
    seconds: float | None,
    progress: Progress | None,
) -> dict[str, Evaluation | SignrulesError]:
    items = evaluate_many(
        list(files.values()),
        plugins=plugins,
        shop=shop,
        budget=budget,
        today=today,
        seconds=seconds,
        progress=progress,
    )
    outcomes: dict[str, Evaluation | SignrulesError] = {}
    for load, item in zip(files, items, strict=True):
        outcomes[load] = item.result or item.error or NotEvaluated(f"{load} was not evaluated")
    return outcomes
