"""The order in which jobs take the least set-up when they are printed one after the other."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from functools import cached_property, partial
from typing import Any

from attrs import field, frozen

from signrules.cautions import CAUTIONS
from signrules.evaluation import Evaluation, Judge, Live
from signrules.given_values import day_or_today, demand_given
from signrules.many_jobs.any_job import AnyJob, demand_several
from signrules.many_jobs.carrying import Carried, JobRow
from signrules.many_jobs.evaluating import evaluate_many
from signrules.many_jobs.order_search import order_of_kinds
from signrules.many_jobs.row_setup import Setup, sum_of_costs, total_setup
from signrules.many_jobs.setup_kinds import setup_kind
from signrules.many_jobs.workers import Executor, ManyResult
from signrules.model.job import Job
from signrules.model.printer import Printer
from signrules.plain import rounded_number
from signrules.planning.pipeline import BUDGET
from signrules.planning.plan import Plan
from signrules.planning.setup_cost import Cost
from signrules.plugins import Plugins, load_plugins
from signrules.shop import Shop

TRIALS = 300
"""How many plans are made at the most to find an order and to prove it, unless asked otherwise."""

FORMAT = 1
"""The version of the shape that `JobSequence.to_dict` gives."""


@frozen(eq=False)
class PlacedJob:
    """A job in its place among others.

    `number` and `origin` are those of its ManyResult; `result` is its evaluation in its place, with
    what was `carried` to it, `alone` its set-up as if it stood alone.
    """

    number: int
    origin: str
    result: Evaluation
    carried: Carried
    alone: Setup

    @property
    def setup(self) -> Setup:
        """The set-up that is left to the job in its place.

        It is that of the job alone where nothing came of it in its place, such as where a plugin
        failed there.
        """
        return self.carried.setup or self.alone

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "number": self.number,
            "origin": self.origin,
            "job": self.result.job.name,
            "verdict": self.result.verdict,
            "ok": self.result.ok,
            "order": list(self.result.order),
            "carried": self.carried.to_dict(),
            "alone": self.alone.to_dict(),
        }


@frozen(eq=False)
class JobSequence:
    """Jobs in the order that takes the least set-up, those of one printer after each other.

    `left_out` has what came of the jobs that have no safe order, or of which an error says why
    there is no evaluation. `least` is what any order of the jobs costs at the least, as bed loads
    and weight of their set-up; `optimal` is True only where it is proven that no order of them
    costs less, each job planned as `evaluate_many` with `carry` plans it.
    """

    jobs: tuple[PlacedJob, ...]
    left_out: tuple[ManyResult[Evaluation], ...]
    least: Cost

    @property
    def order(self) -> tuple[int, ...]:
        """The numbers of the jobs, in order."""
        return tuple(each.number for each in self.jobs)

    @property
    def by_printer(self) -> tuple[tuple[PlacedJob, ...], ...]:
        """The jobs of each printer, in order."""
        found: dict[Printer, list[PlacedJob]] = {}
        for each in self.jobs:
            found.setdefault(each.result.job.printer, []).append(each)
        return tuple(map(tuple, found.values()))

    @cached_property
    def setup(self) -> Setup:
        """The set-up of all jobs in a row."""
        return total_setup(each.setup for each in self.jobs)

    @cached_property
    def alone(self) -> Setup:
        """The set-up of all jobs as if each stood alone."""
        return total_setup(each.alone for each in self.jobs)

    @property
    def optimal(self) -> bool:
        """Whether it is proven that no order of the jobs takes less."""
        # No order costs less than `least`, so this one costs no more than any.
        return self.setup.cost <= self.least

    @property
    def bound(self) -> tuple[int, float | None]:
        """Bed loads and set-up minutes that any order of the jobs takes at the least."""
        loads, weight = self.least
        return loads, weight if self.setup.in_minutes else None

    def to_dict(self) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON."""
        loads, minutes = self.bound
        return {
            "signrules": FORMAT,
            "jobs": [each.to_dict() for each in self.jobs],
            "left_out": [_left_out_to_dict(each) for each in self.left_out],
            "setup": self.setup.to_dict(),
            "alone": self.alone.to_dict(),
            "least": {
                "bed_loads": loads,
                "setup_minutes": None if minutes is None else rounded_number(minutes),
            },
            "optimal": self.optimal,
            "cautions": [str(caution) for caution in CAUTIONS],
        }


def _left_out_to_dict(item: ManyResult[Evaluation]) -> dict[str, Any]:
    return {"number": item.number, "origin": item.origin, "why": why_left_out(item)}


def why_left_out(item: ManyResult[Evaluation]) -> str:
    """Why a job has no place in a sequence: its error, or its verdict."""
    if item.result is None:
        return str(item.error)
    return item.result.verdict


def order_of_jobs(
    jobs: Iterable[AnyJob],
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
    trials: int = TRIALS,
    executor: Executor | None = None,
) -> JobSequence:
    """The order of jobs that takes the least set-up when they are printed one after the other.

    Each is evaluated with what those before it leave, as `evaluate_many` with `carry` does. Jobs of
    one printer share, those of several come printer by printer. Of orders that cost the same the
    given one stays. `trials` is how many plans are made at the most to look for an order, beside
    those of the jobs as given; the other options are those of `evaluate`. The `executor`, as that
    of `evaluate_many`, evaluates each job by itself; the search is made here.

    A job that cannot be evaluated, or has no safe order, is left out and does not stop the others.
    Raises TypeError for a single job instead of several, ValueError for `trials` below 1, ShopError
    where the shop does not fit the rules.
    """
    demand_given("order_of_jobs", (plugins, Plugins | None), (shop, Shop | None))
    demand_several(jobs)
    if trials < 1:
        raise ValueError(f"trials is {trials}, expected 1 or more")
    plugins, shop = plugins or load_plugins(), shop or Shop()
    today = day_or_today(today)
    judged = evaluate_many(
        jobs,
        executor=executor,
        plugins=plugins,
        shop=shop,
        budget=budget,
        today=today,
        audited=audited,
        seconds=seconds,
    )
    live_as = partial(Live, plugins=plugins, shop=shop, budget=budget, seconds=seconds)
    trial = partial(live_as(audited=False).evaluate, today=today)
    final = partial(live_as(audited=audited).evaluate, today=today)
    return _sequence_of(judged, trial, JobRow(final, today), today, trials)


def _sequence_of(
    judged: Iterable[ManyResult[Evaluation]],
    trial: Judge,
    row: JobRow,
    today: datetime.date,
    trials: int,
) -> JobSequence:
    """The jobs of each printer in their best order; `trial` tries orders, `row` prints the jobs."""
    queues, left_out = _queues_of(judged)
    found = [_ordered_queue(queue, trial, row, today, trials) for queue in queues]
    return JobSequence(
        tuple(placed for placed_jobs, _ in found for placed in placed_jobs),
        tuple(left_out),
        sum_of_costs(least for _, least in found),
    )


@frozen
class _Waiting:
    """A job of a queue: what is kept of it once it was evaluated by itself."""

    number: int
    origin: str
    job: Job
    setup: Setup
    kind: str


@frozen(eq=False)
class _Queue:
    """The jobs of one printer, and the evaluation by itself of the first of each kind."""

    waiting: list[_Waiting] = field(factory=list)
    of_kind: dict[str, Evaluation] = field(factory=dict)

    def add(self, number: int, origin: str, result: Evaluation, plan: Plan) -> None:
        """Put a job with a safe order into the queue."""
        kind = setup_kind(plan.timeline.machine)
        self.of_kind.setdefault(kind, result)
        self.waiting.append(_Waiting(number, origin, result.job, Setup.of_plan(plan), kind))


def _queues_of(
    judged: Iterable[ManyResult[Evaluation]],
) -> tuple[list[_Queue], list[ManyResult[Evaluation]]]:
    """A queue for each printer, and the jobs that go into none."""
    queues: dict[Printer, _Queue] = {}
    left_out = []
    for item in judged:
        result = item.result
        # What cannot be printed safely leaves nothing on the printer, and has no place.
        if result is None or result.plan is None or not result.order_is_safe:
            left_out.append(item)
            continue
        # By all that a printer states: two that differ in a figure are not the same machine.
        queue = queues.setdefault(result.job.printer, _Queue())
        queue.add(item.number, item.origin, result, result.plan)
    return list(queues.values()), left_out


def _ordered_queue(
    queue: _Queue, trial: Judge, row: JobRow, today: datetime.date, trials: int
) -> tuple[list[PlacedJob], Cost]:
    """The jobs of one printer in their order, and what any order of them costs at the least."""
    kinds = [each.kind for each in queue.waiting]
    ordered = order_of_kinds(queue.of_kind, kinds, trial, today, trials)
    placed = [_placed_job(queue.waiting[at], row) for at in ordered.order]
    cost = sum_of_costs(each.setup.cost for each in placed)
    return placed, ordered.least_beside(cost)


def _placed_job(waiting: _Waiting, row: JobRow) -> PlacedJob:
    result, carried = row.evaluate(waiting.job)
    return PlacedJob(waiting.number, waiting.origin, result, carried, waiting.setup)
