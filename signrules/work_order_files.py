"""Work orders as they lie in a folder: `work-order.toml` and the jobs of its loads beside it."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping

from attrs import field, frozen

from signrules.documents.work_orders import FILE_NAME, read_work_order
from signrules.errors import DocumentFault, NotEvaluated, SignrulesError, WorkOrderError
from signrules.estimating import Rates, WorkOrderEstimate, estimate_jobs, estimate_work_order
from signrules.evaluation import Evaluation
from signrules.many_jobs import Carried, ManyResult, evaluate_many
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
    `carried` is what the loads before left on the printer for each; nothing without a work order,
    since nobody knows in which order its jobs are printed.
    """

    name: str
    order: WorkOrder | None
    files: Mapping[str, str]
    outcomes: Mapping[str, Evaluation | SignrulesError]
    carried: Mapping[str, Carried] = field(factory=dict)

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
            self.order,
            self.outcomes,
            rates,
            kept_gaps=[load for load, left in self.carried.items() if left.gap_is_kept],
            plugins=plugins,
            seconds=seconds,
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
    """Evaluate the jobs of the work order in a folder in a row, each with what the loads before
    it leave on the printer.

    The options are those of `evaluate_many`. Raises WorkOrderError where the work order cannot be
    read; a job that cannot, or has other signs or pieces than the work order lists, is an outcome.
    """
    order = read_work_order(folder)
    files = {load.id: os.path.join(folder, load.file) for load in order.loads}
    items = evaluate_many(
        list(files.values()),
        plugins=plugins,
        shop=shop,
        budget=budget,
        today=today,
        seconds=seconds,
        progress=progress,
        carry=True,
    )
    by_load = dict(zip(files, items, strict=True))
    outcomes = {load: _outcome_of(item) for load, item in by_load.items()}
    for load, outcome in outcomes.items():
        faults = list(_faults_of_load(order, load, outcome))
        if faults:
            outcomes[load] = WorkOrderError(faults, os.path.join(folder, FILE_NAME))
    carried = {load: item.carried for load, item in by_load.items() if item.carried is not None}
    return JudgedOrder(order.name, order, files, outcomes, carried)


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
    items = evaluate_many(
        list(by_name),
        plugins=plugins,
        shop=shop,
        budget=budget,
        today=today,
        seconds=seconds,
        progress=progress,
    )
    outcomes = {file: _outcome_of(item) for file, item in zip(by_name, items, strict=True)}
    return JudgedOrder(name, None, by_name, outcomes)


def _outcome_of(item: ManyResult[Evaluation]) -> Evaluation | SignrulesError:
    return item.result or item.error or NotEvaluated(f"{item.origin} was not evaluated")
