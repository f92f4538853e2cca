"""Bed loads put in order and judged; of each its document and a summary stay."""

from __future__ import annotations

import datetime
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from attrs import evolve, field, frozen

from signrules.documents.reading import job_from_dict
from signrules.evaluation import Evaluation, Live, evaluate
from signrules.many_jobs.carrying import Carried
from signrules.many_jobs.evaluating import JobEvaluator
from signrules.many_jobs.order_search import OrderedKinds, order_of_kinds
from signrules.many_jobs.placed_jobs import JobsInPlace, PlacedSummary, summaries_in_place
from signrules.many_jobs.row_setup import sum_of_costs
from signrules.many_jobs.setup_kinds import setup_kind
from signrules.many_jobs.workers import Executor
from signrules.model.job import Job
from signrules.planning.setup_cost import Cost
from signrules.plugins import Plugins
from signrules.shop import Shop

TRIALS = 100
"""So many plans are made at the most to find the order of the loads."""

MOST_TRIED = 3
"""Of a kind so many loads are tried for a safe order: a plugin may fail on one of them alone."""


@frozen(eq=False)
class ComposedLoad:
    """One bed load in its place, as far as it is kept: its id, the bytes of its job as JSON, and a
    `summary` with the verdict, the set-up that is left to it and what it leaves.

    That is some kilobytes for a load of a dozen signs, and the evaluation would be hundreds. So
    `document` and `job` are read, and `evaluate` judges once more, each time that they are asked.
    """

    id: str
    summary: PlacedSummary = field(repr=False)
    _document: bytes = field(repr=False)
    _judging: Judging = field(repr=False)

    @property
    def verdict(self) -> str:
        """That of its evaluation."""
        return self.summary.verdict

    @property
    def ok(self) -> bool:
        """That of its evaluation."""
        return self.summary.ok

    @property
    def carried(self) -> Carried:
        """What the loads before it leave, and the set-up that is left to it."""
        return self.summary.carried

    @property
    def document(self) -> dict[str, Any]:
        """Its job as plain data."""
        document: dict[str, Any] = json.loads(self._document)
        return document

    @property
    def job(self) -> Job:
        """Its job, as its document states it."""
        return self._judging.job(self.document)

    def evaluate(self) -> Evaluation:
        """The evaluation of the load in its place, made once more."""
        job = self.job
        known = (*job.alignments, *self.carried.alignments)
        return self._judging.evaluated(evolve(job, alignments=known))


def as_bytes(document: Mapping[str, Any]) -> bytes:
    """A job document as it is kept."""
    return json.dumps(document, separators=(",", ":")).encode()


@frozen(eq=False)
class LoadSequence:
    """Bed loads in the order found, by their numbers; those without a safe order are the last.

    `kinds` has for each in that order the number of its kind; None for the last ones.
    """

    order: tuple[int, ...]
    kinds: tuple[int | None, ...]
    ordered: OrderedKinds | None

    def least_beside(self, loads: Iterable[ComposedLoad]) -> Cost:
        """Bed loads and weight of set-up that any sequence of the loads takes at the least."""
        if self.ordered is None:
            return 0, 0.0
        setups = (load.carried.setup for load in loads)
        return self.ordered.least_beside(sum_of_costs(each.cost for each in setups if each))


@frozen(eq=False)
class Judging:
    """How bed loads are judged."""

    shop: Shop
    plugins: Plugins
    today: datetime.date

    def job(self, document: Mapping[str, Any]) -> Job:
        """The job of a document."""
        return job_from_dict(document, plugins=self.plugins, shop=self.shop)

    def evaluated(self, job: Job) -> Evaluation:
        """A job judged by itself."""
        return evaluate(job, plugins=self.plugins, shop=self.shop, today=self.today)

    def sequence(self, jobs: Iterable[Job]) -> LoadSequence:
        """The order of loads that takes the least set-up, as far as it was found.

        Loads that need the same set-up are of one kind, of which one is evaluated for all.
        """
        live = Live(plugins=self.plugins, shop=self.shop, audited=False)
        judge = partial(live.evaluate, today=self.today)
        safe: dict[str, Evaluation] = {}
        tried: Counter[str] = Counter()
        kinds = []
        for job in jobs:
            kind = setup_kind(live.machine(job))
            kinds.append(kind)
            if kind in safe or tried[kind] == MOST_TRIED:
                continue
            tried[kind] += 1
            result = judge(job)
            if result.order_is_safe:
                safe[kind] = result
        taking_part = [number for number, kind in enumerate(kinds) if kind in safe]
        left_out = [number for number, kind in enumerate(kinds) if kind not in safe]
        if not taking_part:
            return LoadSequence(tuple(left_out), (None,) * len(left_out), None)
        those = [kinds[number] for number in taking_part]
        ordered = order_of_kinds(safe, those, judge, self.today, TRIALS)
        in_order = [ordered.plans.kinds[at] for at in ordered.order]
        # Loads without a safe order come last: nothing can be carried on from what is not printed.
        return LoadSequence(
            (*(taking_part[at] for at in ordered.order), *left_out),
            (*in_order, *(None for _ in left_out)),
            ordered,
        )

    def composed(
        self,
        sequence: LoadSequence,
        names: Sequence[str],
        documents: Sequence[bytes],
        executor: Executor | None,
        kept_in: Path | None,
    ) -> Iterator[ComposedLoad]:
        """The loads in that order, each judged in its place when it is asked for."""
        plans = None if sequence.ordered is None else sequence.ordered.plans
        in_place = JobsInPlace(names, documents, sequence.kinds, plans)
        evaluator = JobEvaluator(self.plugins, self.shop, self.today)
        summaries = summaries_in_place(in_place, evaluator, executor, kept_in)
        for name, document, summary in zip(names, documents, summaries, strict=True):
            yield ComposedLoad(name, summary, document, self)
