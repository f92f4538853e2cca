"""Jobs in a known order, each judged with what those before it leave. Of each a summary is kept.

Where a job finds its place is known from the plans before any of them is judged, so that workers
can judge them all at once. Should one of them leave something else than its plan does, such as
where a plugin fails on it, those behind it are judged once more.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from attrs import asdict, evolve, field, frozen

from signrules.documents.reading import job_from_dict
from signrules.evaluation import Evaluation, why_not_safe
from signrules.evaluation.order_verdict import failing_signs
from signrules.many_jobs.any_job import NamedJob, failure_result
from signrules.many_jobs.carrying import Carried, LeftBehind, judge_after
from signrules.many_jobs.evaluating import JobEvaluator
from signrules.many_jobs.job_plans import JobPlans
from signrules.many_jobs.row_setup import Setup
from signrules.many_jobs.workers import Executor, ManyResult, in_order
from signrules.model.job import Alignment, Job

KIND_OF_RESULT = ["placed job", 2]
"""Under what summaries are kept, and the version of their shape."""


@frozen
class JobAfter(NamedJob):
    """A job as the bytes of its document, and what those before it leave."""

    document: bytes = field(repr=False)
    left: LeftBehind = field(repr=False)


@frozen
class PlacedSummary:
    """What is kept of a job once it was judged in its place: some hundred bytes.

    `verdict` and `ok` are those of its evaluation; `why_not` says why it has no safe order, and is
    empty where it has one. `printing_minutes` are those of all its passes, None where they are not
    known. `carried` is what it found and the set-up that is left to it, `leaves` what the next one
    finds. `failing` are the ids of the signs on which it fails.
    """

    verdict: str
    ok: bool
    why_not: str
    printing_minutes: float | None
    carried: Carried
    leaves: LeftBehind
    failing: tuple[str, ...] = ()

    @classmethod
    def of(cls, result: Evaluation, carried: Carried, leaves: LeftBehind) -> PlacedSummary:
        """The summary of an evaluation."""
        why_not = "" if result.plan is not None else why_not_safe(result).message
        minutes = result.quantities.get("printing_minutes")
        failing = failing_signs(result)
        return cls(result.verdict, result.ok, why_not, minutes, carried, leaves, failing)

    def to_plain(self) -> dict[str, Any]:
        """As JSON keeps it; alignments are all of one day."""
        # Alignments are kept as plain numbers: their day is that of the run, which is known.
        carried = evolve(self.carried, alignments=())
        return {
            **asdict(self, recurse=False),
            "carried": asdict(carried) | {"alignments": _extras(self.carried.alignments)},
            "leaves": [_extras(self.leaves.alignments), self.leaves.head_above_bed],
        }

    @classmethod
    def from_plain(cls, table: dict[str, Any], today: datetime.date) -> PlacedSummary:
        """What `to_plain` gave."""
        carried = dict(table["carried"])
        setup = carried["setup"]
        carried["setup"] = None if setup is None else Setup(**setup)
        carried["alignments"] = _alignments(carried["alignments"], today)
        extras, height = table["leaves"]
        leaves = LeftBehind(_alignments(extras, today), height)
        failing = tuple(table["failing"])
        changed = {"carried": Carried(**carried), "leaves": leaves, "failing": failing}
        return cls(**{**table, **changed})


def _extras(alignments: Sequence[Alignment]) -> list[float]:
    return [one.extra for one in alignments]


def _alignments(extras: Sequence[float], today: datetime.date) -> tuple[Alignment, ...]:
    return tuple(Alignment(extra, today) for extra in extras)


@frozen(eq=False)
class _Judging:
    """The work of judging each job in its place."""

    evaluator: JobEvaluator

    def result_of(self, number: int, job: JobAfter) -> ManyResult[Any]:
        """The summary of a job as plain data, read where it is kept already."""
        try:
            document = json.loads(job.document)
            found = job_from_dict(
                document, plugins=self.evaluator.plugins, shop=self.evaluator.shop
            )
            kept = self.evaluator.kept
            if kept is None:
                return ManyResult(number, job.name, self._summary(found, job.left))
            path = kept.path_of(found, job.left)
            try:
                return ManyResult(number, job.name, kept.result_at(path), was_kept=True)
            except LookupError:
                made = kept.keep(path, self._summary(found, job.left))
                return ManyResult(number, job.name, made)
        except Exception as error:
            return ManyResult(number, job.name, error=failure_result(error, job.name))

    def _summary(self, job: Job, left: LeftBehind) -> dict[str, Any]:
        result, carried = judge_after(job, left, self.evaluator.evaluate)
        leaves = left.after(result, self.evaluator.today)
        return PlacedSummary.of(result, carried, leaves).to_plain()

    def received(self, item: ManyResult[Any]) -> ManyResult[Any]:
        """What came from a worker is all that is kept."""
        return item


@frozen(eq=False)
class JobsInPlace:
    """Jobs in their order: names, documents, and for each the number of its kind among `plans`.

    A job without a kind has no safe order, as far as is known, and leaves nothing.
    """

    names: Sequence[str]
    documents: Sequence[bytes]
    kinds: Sequence[int | None]
    plans: JobPlans | None

    def expected_from(self, at: int, left: LeftBehind) -> list[LeftBehind]:
        """What is expected to be left before each job from the number `at` on, and after the last.

        `left` is what is left before the first of them.
        """
        expected = [left]
        for kind in self.kinds[at:]:
            if kind is not None and self.plans is not None:
                left = self.plans.left_after(kind, left)
            expected.append(left)
        return expected


def summaries_in_place(
    jobs: JobsInPlace,
    evaluator: JobEvaluator,
    executor: Executor | None = None,
    kept_in: Path | None = None,
) -> Iterator[PlacedSummary]:
    """The summary of each job, in their order, each judged when it is asked for.

    Raises what keeps a job from being judged.
    """
    if kept_in is not None:
        evaluator = evaluator.keeping_as(kept_in, KIND_OF_RESULT)
    work = _Judging(evaluator)
    if executor is None:
        yield from _one_by_one(jobs, work)
        return
    at, left = 0, LeftBehind()
    while at < len(jobs.names):
        expected = jobs.expected_from(at, left)
        rest = zip(jobs.names[at:], jobs.documents[at:], expected, strict=False)
        with closing(in_order((JobAfter(*each) for each in rest), executor, work)) as items:
            for item, foreseen in zip(items, expected[1:], strict=True):
                summary = _summary_of(item, evaluator.today)
                yield summary
                at, left = at + 1, summary.leaves
                # All that follow were judged with something else than is left: they are judged
                # again, from here on.
                if left != foreseen:
                    break


def _one_by_one(jobs: JobsInPlace, work: _Judging) -> Iterator[PlacedSummary]:
    left = LeftBehind()
    for number, (name, document) in enumerate(zip(jobs.names, jobs.documents, strict=True)):
        item = work.result_of(number, JobAfter(name, document, left))
        summary = _summary_of(item, work.evaluator.today)
        yield summary
        left = summary.leaves


def _summary_of(item: ManyResult[Any], today: datetime.date) -> PlacedSummary:
    if item.error is not None:
        raise item.error
    assert item.result is not None
    return PlacedSummary.from_plain(item.result, today)
