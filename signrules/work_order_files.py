"""Work orders as they lie in a folder: `work-order.toml` and the jobs of its loads beside it."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress

from attrs import evolve, field, frozen

from signrules.artwork.fingerprints import ChangedArtwork
from signrules.artwork_files import changed_files
from signrules.documents.reading import read_job, sheets_used
from signrules.documents.stock import NO_STOCK, Stock
from signrules.documents.work_orders import FILE_NAME, read_work_order
from signrules.errors import (
    DocumentFault,
    JobError,
    NotEvaluated,
    SignrulesError,
    WorkOrderError,
)
from signrules.estimating import Rates, WorkOrderEstimate, estimate_jobs, estimate_work_order
from signrules.evaluation import Evaluation
from signrules.evaluation.order_verdict import order_verdict
from signrules.evaluation.verdict import DO_NOT_PRINT
from signrules.given_values import demand_given
from signrules.many_jobs.carrying import Carried
from signrules.many_jobs.evaluating import evaluate_many
from signrules.many_jobs.workers import ManyResult
from signrules.model.job import Job
from signrules.model.work_order import WorkOrder
from signrules.order_faults import faults_of_load, faults_of_types
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
    since nobody knows in which order its jobs are printed. `changed` is artwork that is not as it
    was when the job of a load was read from it.
    """

    name: str
    order: WorkOrder | None
    files: Mapping[str, str]
    outcomes: Mapping[str, Evaluation | SignrulesError]
    carried: Mapping[str, Carried] = field(factory=dict)
    changed: Mapping[str, tuple[ChangedArtwork, ...]] = field(factory=dict)

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
        """Whether every job was judged and is `ok`, and no artwork has changed."""
        judged = self.evaluations
        every = len(judged) == len(self.outcomes) and all(each.ok for each in judged.values())
        return every and not self.outdated

    @property
    def outdated(self) -> dict[str, tuple[str, ...]]:
        """The loads whose artwork has changed since their jobs were read from it, and what of it,
        in words. Files that are not there may be as they were.
        """
        told = {
            load: tuple(str(each) for each in changed if not each.lost)
            for load, changed in self.changed.items()
        }
        return {load: words for load, words in told.items() if words}

    @property
    def unread(self) -> tuple[str, ...]:
        """The loads whose artwork cannot be read, and has not changed as far as it can."""
        return tuple(load for load in self.changed if load not in self.outdated)

    @property
    def verdict(self) -> str:
        """The verdict on all loads in words."""
        return order_verdict(self.outcomes, self.outdated, self.unread)

    def estimate(
        self,
        rates: Rates | None = None,
        *,
        plugins: Plugins | None = None,
        seconds: float | None = None,
    ) -> WorkOrderEstimate:
        """What all of it takes and, with a rate table, what it costs."""
        if self.order is None:
            found = estimate_jobs(self.name, self.outcomes, rates, plugins=plugins, seconds=seconds)
        else:
            found = estimate_work_order(
                self.order,
                self.outcomes,
                rates,
                kept_gaps=[load for load, left in self.carried.items() if left.gap_is_kept],
                plugins=plugins,
                seconds=seconds,
            )
        return self._with_changes(found) if self.changed else found

    def _with_changes(self, found: WorkOrderEstimate) -> WorkOrderEstimate:
        """An estimate whose verdicts say that artwork has changed, or cannot be read."""
        loads = tuple(
            evolve(load, ok=False, verdict=OUTDATED) if load.id in self.outdated else load
            for load in found.loads
        )
        ok = found.ok and not self.outdated
        return evolve(found, ok=ok, verdict=self.verdict, loads=loads)


OUTDATED = f"{DO_NOT_PRINT}: artwork has changed since the job was read from it"


def _changes_of(
    files: Mapping[str, str], outcomes: Mapping[str, Evaluation | SignrulesError]
) -> dict[str, tuple[ChangedArtwork, ...]]:
    """Artwork that is not as it was, by the loads whose jobs were read from it."""
    found = {}
    for load, outcome in outcomes.items():
        if isinstance(outcome, Evaluation):
            changed = changed_files(outcome.job.passes, os.path.dirname(files[load]) or ".")
            if changed:
                found[load] = changed
    return found


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
    demand_given("judge_work_order", (plugins, Plugins | None), (shop, Shop | None))
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
    stock = NO_STOCK if shop is None else shop.stock
    for load, outcome in outcomes.items():
        if isinstance(outcome, Evaluation):
            # A load that says otherwise than its work order has no verdict that anybody could rely
            # on.
            error = _unfit_load(order, load, outcome.job, stock, folder, typed=True)
            outcomes[load] = error or outcome
    carried = {load: item.carried for load, item in by_load.items() if item.carried is not None}
    changed = _changes_of(files, outcomes)
    return JudgedOrder(order.name, order, files, outcomes, carried, changed)


def unfit_loads(
    folder: str | os.PathLike[str], *, plugins: Plugins | None = None, shop: Shop | None = None
) -> Iterator[tuple[str, WorkOrderError]]:
    """What the work order in a folder says otherwise than the jobs of its loads and the shop: the
    path of each job with its error. Loads whose job cannot be read are left out, and so is a work
    order that cannot.
    """
    # A work order that cannot be read is told by whoever reads it for its own sake.
    with suppress(WorkOrderError):
        yield from _unfit_loads(read_work_order(folder), folder, plugins, shop, typed=True)


def fitting_work_order(
    path: str | os.PathLike[str], *, plugins: Plugins | None = None, shop: Shop | None = None
) -> WorkOrder:
    """The work order in a folder or file, held against those jobs beside it that can be read.

    Types of signs that the shop file now has otherwise are left to whoever asked for the order.
    Raises WorkOrderError where it cannot be read, and with the faults of all loads together.
    """
    file = os.path.join(path, FILE_NAME) if os.path.isdir(path) else os.fspath(path)
    order = read_work_order(file)
    faults: list[DocumentFault] = []
    for _, error in _unfit_loads(order, os.path.dirname(file), plugins, shop, typed=False):
        faults += error.faults
    if faults:
        raise WorkOrderError(faults, file)
    return order


def _unfit_loads(
    order: WorkOrder,
    folder: str | os.PathLike[str],
    plugins: Plugins | None,
    shop: Shop | None,
    *,
    typed: bool,
) -> Iterator[tuple[str, WorkOrderError]]:
    stock = NO_STOCK if shop is None else shop.stock
    for load in order.loads:
        with suppress(JobError):
            path = os.path.join(folder, load.file)
            job = read_job(path, plugins=plugins, shop=shop)
            error = _unfit_load(order, load.id, job, stock, folder, typed=typed)
            if error is not None:
                yield path, error


def _unfit_load(
    order: WorkOrder,
    load: str,
    job: Job,
    stock: Stock,
    folder: str | os.PathLike[str],
    *,
    typed: bool,
) -> WorkOrderError | None:
    """What a work order says otherwise than the job of a load and the shop; None if they agree.

    With `typed` the types of its signs count as well.
    """
    files = {each.id: each.file for each in order.loads}
    used = sheets_used(os.path.join(folder, files[load]))
    faults = list(faults_of_load(order, load, job, stock, used))
    if typed:
        faults += faults_of_types(order, load, job, stock)
    return WorkOrderError(faults, os.path.join(folder, FILE_NAME)) if faults else None


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
    demand_given("judge_jobs", (plugins, Plugins | None), (shop, Shop | None))
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
    changed = _changes_of(by_name, outcomes)
    return JudgedOrder(name, None, by_name, outcomes, changed=changed)


def _outcome_of(item: ManyResult[Evaluation]) -> Evaluation | SignrulesError:
    # Always one of the first two; the third keeps a lost result from passing for a sound one.
    return item.result or item.error or NotEvaluated(f"{item.origin} was not evaluated")
