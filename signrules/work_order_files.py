"""Work orders as they lie in a folder: `work-order.toml` and the jobs of its loads beside it."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress

from attrs import evolve, field, frozen

from signrules.artwork.fingerprints import ChangedArtwork
from signrules.artwork_files import changed_files
from signrules.documents.reading import read_job
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
from signrules.many_jobs import Carried, ManyResult, evaluate_many
from signrules.model.job import Job
from signrules.model.wording import NOTHING, listed_names, number_text, shown_value
from signrules.model.work_order import WorkOrder
from signrules.planning.pipeline import BUDGET
from signrules.plugins import Plugins
from signrules.shop import Shop

PLACE_MM = 0.001
"""Work orders state places to a micrometre."""

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
        if isinstance(outcome, Evaluation):
            outcomes[load] = _unfit_load(order, load, outcome.job, folder) or outcome
    carried = {load: item.carried for load, item in by_load.items() if item.carried is not None}
    changed = _changes_of(files, outcomes)
    return JudgedOrder(order.name, order, files, outcomes, carried, changed)


def unfit_loads(
    folder: str | os.PathLike[str], *, plugins: Plugins | None = None, shop: Shop | None = None
) -> Iterator[WorkOrderError]:
    """What the work order in a folder says otherwise than the jobs of its loads, an error for each
    load. Loads whose job cannot be read are left out, and so is a work order that cannot.
    """
    with suppress(WorkOrderError):
        order = read_work_order(folder)
        for load in order.loads:
            with suppress(JobError):
                job = read_job(os.path.join(folder, load.file), plugins=plugins, shop=shop)
                error = _unfit_load(order, load.id, job, folder)
                if error is not None:
                    yield error


def _unfit_load(
    order: WorkOrder, load: str, job: Job, folder: str | os.PathLike[str]
) -> WorkOrderError | None:
    """What a work order in a folder says otherwise than the job of a load; None if they agree."""
    faults = list(_faults_of_load(order, load, job))
    return WorkOrderError(faults, os.path.join(folder, FILE_NAME)) if faults else None


def _faults_of_load(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Signs and pieces that only one has of a work order and the job of a load: one is outdated."""
    pieces = [piece.id for piece in order.pieces if piece.load == load]
    signs = [sign.id for sign in order.signs if sign.piece in set(pieces)]
    for table, listed, there in (
        ("pieces", pieces, [sheet.id for sheet in job.media]),
        ("signs", signs, [sign.id for sign in job.signs]),
    ):
        expected = f"as in the job of {load}: {listed_names(sorted(there)) or NOTHING}"
        for id in sorted(set(listed) ^ set(there)):
            found = "that its job has not" if id in listed else "only in its job"
            yield DocumentFault(table, f"{shown_value(id)}, {found}", expected)
    yield from _moved_pieces(order, load, job)
    yield from _moved_signs(order, load, job)


def _moved_pieces(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Pieces that lie elsewhere, or are of another size, than in the job of their load."""
    sheets = {sheet.id: sheet for sheet in job.media}
    for number, piece in enumerate(order.pieces):
        sheet = sheets.get(piece.id)
        if piece.load != load or sheet is None:
            continue
        for key in ("at", "size"):
            stated, there = getattr(piece, key), getattr(sheet, key)
            if not _same_lengths(stated, there):
                expected = f"{_pair_text(there)} mm, as in the job of {load}"
                yield DocumentFault(f"pieces[{number}].{key}", f"{_pair_text(stated)} mm", expected)


def _moved_signs(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Signs that lie elsewhere than in the job of their load."""
    signs = {sign.id: sign for sign in job.signs}
    pieces = {piece.id for piece in order.pieces if piece.load == load}
    for number, row in enumerate(order.signs):
        sign = signs.get(row.id)
        if row.piece not in pieces or sign is None:
            continue
        where = f"signs[{number}]"
        expected = f"as in the job of {load}"
        piece = job.media_of(sign).id
        if piece != row.piece:
            found, wanted = shown_value(row.piece), f"{shown_value(piece)}, {expected}"
            yield DocumentFault(f"{where}.piece", found, wanted)
        if sign.area is None:
            continue
        corner, size = (sign.area.x, sign.area.y), (sign.area.width, sign.area.height)
        if not _same_lengths(row.at, corner):
            wanted = f"{_pair_text(corner)} mm, {expected}"
            yield DocumentFault(f"{where}.at", f"{_pair_text(row.at)} mm", wanted)
        if not _same_lengths(row.size_as_it_lies, size):
            found = f"{_pair_text(row.size)} mm, {row.lies}"
            wanted = f"what takes {_pair_text(size)} mm, {expected}"
            yield DocumentFault(f"{where}.size", found, wanted)


def _same_lengths(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return all(abs(a - b) <= PLACE_MM for a, b in zip(one, other, strict=True))


def _pair_text(lengths: tuple[float, float]) -> str:
    return " x ".join(number_text(length) for length in lengths)


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
    changed = _changes_of(by_name, outcomes)
    return JudgedOrder(name, None, by_name, outcomes, changed=changed)


def _outcome_of(item: ManyResult[Evaluation]) -> Evaluation | SignrulesError:
    return item.result or item.error or NotEvaluated(f"{item.origin} was not evaluated")
