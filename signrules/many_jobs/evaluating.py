"""Many jobs, evaluated here or by the workers of any executor, and given back in their order."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Generator, Iterable, Sized
from contextlib import closing
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, overload

from attrs import evolve, frozen

from signrules import __version__, evaluation
from signrules.evaluation import Evaluation, Live
from signrules.given_values import day_or_today, demand_bounds, demand_given
from signrules.many_jobs.any_job import (
    AnyJob,
    demand_several,
    failure_result,
    origin_of_job,
    read_any_job,
)
from signrules.many_jobs.workers import Executor, ManyResult, Results, in_order
from signrules.model.job import Job
from signrules.planning.pipeline import BUDGET
from signrules.plugins import Plugins, load_plugins
from signrules.shop import Shop

if TYPE_CHECKING:
    from signrules.many_jobs.carrying import JobRow
    from signrules.many_jobs.kept_results import KeptResults

T = TypeVar("T")


@overload
def evaluate_many(
    jobs: Iterable[AnyJob],
    *,
    executor: Executor | None = None,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    reduce: None = None,
    progress: Callable[[int, int | None], object] | None = None,
    ahead: int | None = None,
    carry: bool = False,
    kept_in: str | os.PathLike[str] | None = None,
) -> Generator[ManyResult[Evaluation], None, None]: ...


@overload
def evaluate_many(
    jobs: Iterable[AnyJob],
    *,
    executor: Executor | None = None,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    reduce: Callable[[Evaluation], T],
    progress: Callable[[int, int | None], object] | None = None,
    ahead: int | None = None,
    carry: bool = False,
    kept_in: str | os.PathLike[str] | None = None,
) -> Generator[ManyResult[T], None, None]: ...


def evaluate_many(
    jobs: Iterable[AnyJob],
    *,
    executor: Executor | None = None,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    reduce: Callable[[Evaluation], Any] | None = None,
    progress: Callable[[int, int | None], object] | None = None,
    ahead: int | None = None,
    carry: bool = False,
    kept_in: str | os.PathLike[str] | None = None,
) -> Results:
    """Evaluate jobs lazily: one ManyResult for each, in their order, whatever comes of the others.

    `jobs` may be endless; no more than `ahead` of them are under way at a time, by default four for
    each worker.
    `executor` is any `concurrent.futures.Executor`; without one, jobs are evaluated here, each when
    it is asked for. Files are read by the workers. `plugins` to `seconds` are those of
    `evaluate`; `today` is the same day for all.
    `reduce` is called with each evaluation where it was made; what it gives back is the result, and
    nothing else is sent. `progress` is called here with the number of jobs done and that of all,
    None where it is not known.
    With `carry` the jobs are printed in their order: the alignments that their plans make, dated
    `today`, are on record for later jobs of the same printer, and the gap stands where the job
    before left it. Each result says what was carried. A job without a safe order leaves nothing.
    `kept_in` is a folder in which the worker keeps each result, to be read there another time: the
    report of `Evaluation.to_dict`, or what `reduce` makes, as JSON gives it back. Errors are not
    kept.

    A worker process loads the plugins again. Raises, before anything is evaluated, PluginError
    where they cannot be sent, SignrulesError where `reduce` cannot, ShopError where the shop does
    not fit the rules, TypeError for a single job instead of several, ValueError for an `ahead`
    below 1 and for `carry` beside an `executor` or `kept_in`, SignrulesError for a folder that
    cannot be made. What `jobs` itself raises comes out after the results of the jobs before.
    """
    demand_given("evaluate_many", (plugins, Plugins | None), (shop, Shop | None))
    demand_bounds(budget=budget, seconds=seconds)
    demand_several(jobs)
    _demand_together(executor, ahead, carry, kept_in)
    plugins = plugins or load_plugins()
    shop = (shop or Shop()).with_whole_names(plugins.names)
    # Only for what it raises: one error now, instead of the same one for each job.
    shop.placed(plugins.rules, plugins.names, plugins.settings)
    day = day_or_today(today)
    evaluator = JobEvaluator(plugins, shop, day, budget, audited, seconds, reduce)
    if kept_in is not None:
        evaluator = evaluator.keeping(Path(kept_in))
    results = _results_of(jobs, evaluator, executor, ahead, carry)
    if progress is None:
        return results
    total = len(jobs) if isinstance(jobs, Sized) else None
    return _with_progress(results, progress, total)


def _demand_together(
    executor: Executor | None,
    ahead: int | None,
    carry: bool,
    kept_in: str | os.PathLike[str] | None,
) -> None:
    """Raises ValueError for options that do not go together."""
    if ahead is not None and ahead < 1:
        raise ValueError(f"ahead is {ahead}, expected 1 or more")
    if carry and executor is not None:
        raise ValueError(
            "found carry and an executor, expected one of them: with carry each job waits for the"
            " one before it"
        )
    if carry and kept_in is not None:
        raise ValueError(
            "found carry and kept_in, expected one of them: with carry a result depends on the jobs"
            " before it"
        )


def _results_of(
    jobs: Iterable[AnyJob],
    evaluator: JobEvaluator,
    executor: Executor | None,
    ahead: int | None,
    carry: bool,
) -> Results:
    """What comes of each job, made here when it is asked for, or by the workers."""
    if executor is not None:
        return in_order(jobs, executor, evaluator, ahead)
    row = None
    if carry:
        from signrules.many_jobs.carrying import JobRow

        row = JobRow(evaluator.evaluate, evaluator.today)
    return (evaluator.result_of(number, job, row) for number, job in enumerate(jobs))


def _with_progress(
    results: Results, progress: Callable[[int, int | None], object], total: int | None
) -> Results:
    # Whoever leaves the loop closes this generator, and with it the one that holds the futures.
    with closing(results):
        for item in results:
            progress(item.number + 1, total)
            yield item


@frozen(eq=False)
class JobEvaluator:
    """Evaluates each job in one way, and makes of it what is asked for."""

    plugins: Plugins
    shop: Shop
    today: datetime.date
    budget: int = BUDGET
    audited: bool = True
    seconds: float | None = None
    reduce: Callable[[Evaluation], Any] | None = None
    kept: KeptResults | None = None

    def keeping(self, folder: Path) -> JobEvaluator:
        """The same with results kept in a folder, each as plain data."""
        from signrules.many_jobs.kept_results import name_of_function

        reduce = Evaluation.to_dict if self.reduce is None else self.reduce
        return evolve(self.keeping_as(folder, name_of_function(reduce)), reduce=reduce)

    def keeping_as(self, folder: Path, name: list[Any]) -> JobEvaluator:
        """The same with results kept in a folder, as results of a name."""
        from signrules.many_jobs.kept_results import kept_results, plugins_as_plain

        options = (self.budget, self.today, self.audited, self.seconds)
        plugins = plugins_as_plain(self.plugins)
        kept = kept_results(folder, __version__, plugins, self.shop, options, name)
        return evolve(self, kept=kept)

    def _kept_result(self, job: Job, kept: KeptResults) -> tuple[Any, bool]:
        """The result of a job, made and kept where it is not there, and whether it was there."""
        path = kept.path_of(job)
        try:
            return kept.result_at(path), True
        except LookupError:
            assert self.reduce is not None
            return kept.keep(path, self.reduce(self.evaluate(job))), False

    def result_of(self, number: int, job: AnyJob, row: JobRow | None = None) -> ManyResult[Any]:
        """What comes of a job; in its place in a row, where there is one."""
        origin = origin_of_job(number, job)
        carried = None
        try:
            found = read_any_job(job, plugins=self.plugins, shop=self.shop)
            if self.kept is not None:
                made, was_kept = self._kept_result(found, self.kept)
                return ManyResult(number, origin, made, was_kept=was_kept)
            if row is None:
                result = self.evaluate(found)
            else:
                result, carried = row.evaluate(found)
            if self.reduce is None:
                return ManyResult(number, origin, result, carried=carried)
            return ManyResult(number, origin, self.reduce(result), carried=carried)
        # Whatever comes of one job must not keep the others from being judged.
        except Exception as error:
            failure = failure_result(error, origin)
        return ManyResult(number, origin, error=failure, carried=carried)

    def evaluate(self, job: Job) -> Evaluation:
        """A job by itself."""
        return evaluation.evaluate(
            job,
            plugins=self.plugins,
            shop=self.shop,
            budget=self.budget,
            today=self.today,
            audited=self.audited,
            seconds=self.seconds,
        )

    def received(self, item: ManyResult[Any]) -> ManyResult[Any]:
        """What came from a worker; an evaluation can be changed again here."""
        if isinstance(item.result, Evaluation):
            # What it needs to be changed (plugins, caches) does not travel, and is put back here.
            return evolve(item, result=self._here.adopted(item.result, today=self.today))
        return item

    @cached_property
    def _here(self) -> Live:
        return Live(
            plugins=self.plugins,
            shop=self.shop,
            budget=self.budget,
            audited=self.audited,
            seconds=self.seconds,
        )
