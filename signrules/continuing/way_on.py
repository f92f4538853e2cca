"""The way on from a sheet that is printed in part."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.continuing.half_printed import job_as_it_stands
from signrules.continuing.measured_signs import dots_answers, further_passes
from signrules.continuing.more_layers import MORE, SCRAP, DotsAnswer
from signrules.continuing.progress import Progress
from signrules.evaluation import Evaluation, evaluate
from signrules.model.job import Job
from signrules.physics.timeline import Step
from signrules.plain import step_to_dict
from signrules.plugins import Plugins, load_plugins
from signrules.shop import Shop

Moves = tuple[tuple[str, str | None], ...]
"""Sheets that have moved, each with the method that puts it back, or None."""

HELD_FIRMLY = ("vacuum", "adhesive", "pins")
"""What is taken to hold a sheet when the head touches it; a strike may shift any other."""


@frozen
class NextSteps:
    """What is left to do, and what has become of the job.

    `evaluation` judges the job as it stands, with passes that are printed besides. `steps` are what
    the operator does from here on, `minutes` their set-up (None where the printer does not state
    all of its minutes). `answers` say what measured dots mean, `notes` what else to heed, `lost`
    why there is no safe way on; both are in words.
    """

    progress: Progress
    evaluation: Evaluation
    steps: tuple[Step, ...]
    minutes: float | None
    answers: tuple[DotsAnswer, ...]
    notes: tuple[str, ...]
    lost: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether the rest can be printed and comes out right."""
        is_scrap = any(answer.verdict == SCRAP for answer in self.answers)
        return self.evaluation.ok and not is_scrap

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "job": self.evaluation.job.name,
            "ok": self.ok,
            "verdict": self.evaluation.verdict,
            "done": list(self.progress.done),
            "steps": [step_to_dict(step) for step in self.steps],
            "setup_minutes": self.minutes,
            "answers": [answer.to_dict() | {"text": str(answer)} for answer in self.answers],
            "notes": list(self.notes),
            "lost": list(self.lost),
        }


def next_steps(
    job: Job,
    progress: Progress,
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    today: datetime.date | None = None,
) -> NextSteps:
    """What to do from here on, on a job that has come so far.

    The job is judged as it stands: what is done comes first and is not judged anew, what was
    measured counts in place of what was stated, and the alignments that its plan made are on
    record. Raises RecordError where `progress` does not fit the job, and what `evaluate` raises.
    """
    progress.demand_fit(job)
    if plugins is None:
        plugins = load_plugins()

    def judged(some_job: Job) -> Evaluation:
        return evaluate(some_job, plugins=plugins, shop=shop, today=today)

    whole = judged(job)
    plan = whole.plan if whole.order_is_safe else None
    answers = tuple(dots_answers(whole, progress))
    layers = {answer.built_by: answer.layer for answer in answers if answer.layer is not None}
    shifted = progress
    if progress.struck:
        shifted = evolve(progress, moved=tuple(_moved_by_strike(job, progress)))
    further = further_passes(job, answers, progress)
    standing = judged(job_as_it_stands(job, plan, shifted, layers, further))
    steps = _steps_from_here(standing, progress)

    def with_moves(moved: Moves) -> Evaluation:
        moved_back = evolve(progress, moved=moved)
        return judged(job_as_it_stands(job, plan, moved_back, layers, further))

    ways_back = () if standing.order_is_safe else _ways_back(job, shifted.moved, with_moves)
    return NextSteps(
        progress,
        standing,
        steps,
        _minutes_of(steps, standing),
        answers,
        (*_notes(job, progress, answers, steps), *ways_back),
        tuple(_lost(standing)),
    )


def _ways_back(
    job: Job, moved: Moves, with_moves: Callable[[Moves], Evaluation]
) -> tuple[str, ...]:
    """The methods by which sheets that lie loose could be put back so that the rest registers."""
    loose = [sheet for sheet, method in moved if method is None]
    if not loose:
        return ()
    names = ", ".join(loose)
    ways = [
        f"Put back by {method}, {names} would still register: --moved {loose[0]}={method}."
        for method, _ in job.printer.locating
        if with_moves(tuple((sheet, known or method) for sheet, known in moved)).ok
    ]
    return tuple(ways) or (f"Nothing that this printer has puts {names} back well enough: scrap.",)


def _moved_by_strike(job: Job, progress: Progress) -> Iterator[tuple[str, str | None]]:
    """Sheets that a strike may have shifted, besides those of which it is known."""
    yield from progress.moved
    known = {sheet for sheet, _ in progress.moved}
    printed = {job.media_of(item).id for item in job.passes if item.id in progress.done}
    for sheet in job.media:
        if sheet.id in printed - known and sheet.hold not in HELD_FIRMLY:
            yield sheet.id, None


def _steps_from_here(result: Evaluation, progress: Progress) -> tuple[Step, ...]:
    """New alignments, and what comes after the last thing that is done."""
    plan = result.plan
    if plan is None or not (result.order_is_safe or plan.judged):
        return ()
    last = -1
    for place, step in enumerate(plan.steps):
        if step.kind in ("print", "handle") and step.subject in progress.done:
            last = place
    wanted = _alignments_wanted(result, progress)
    aligns = [
        step for step in plan.steps[: last + 1] if step.kind == "align" and step.extra in wanted
    ]
    return (*aligns, *plan.steps[last + 1 :])


def _alignments_wanted(result: Evaluation, progress: Progress) -> set[float | None]:
    """The extras of the alignments by which what is left prints both ways."""
    timeline, job = result.timeline, result.job
    return {
        timeline.serving_alignment(printing)
        for pass_index, printing in timeline.printings.items()
        if job.passes[pass_index].directions == 2 and job.passes[pass_index].id not in progress.done
    }


def _minutes_of(steps: Sequence[Step], result: Evaluation) -> float | None:
    """The set-up of the steps that are left."""
    minutes = result.job.printer.minutes
    by_kind = {"align": minutes.alignment, "load": minutes.load}
    total = 0.0
    for step in steps:
        each = by_kind.get(step.kind, 0.0)
        if step.kind == "gap" and step.printing is not None and step.printing.paid:
            each = minutes.gap
        if step.kind == "handle" and _counts_as_load(step, result):
            each = minutes.load
        if each is None:
            return None
        total += each
    return total


def _counts_as_load(step: Step, result: Evaluation) -> bool:
    handled: Mapping[str, str] = {item.id: item.does for item in result.job.handling}
    return handled.get(step.subject or "") in ("reload", "flip")


def _lost(result: Evaluation) -> Iterator[str]:
    """Why there is no safe way on."""
    if result.conflict is not None:
        yield result.conflict.message.split("\n", 1)[0]
        yield from result.conflict.reasons
    elif not result.ok:
        yield from (check.message for check in result.violations if check.level.value == "STOP")
    yield from map(str, result.faults)


def _notes(
    job: Job, progress: Progress, answers: Sequence[DotsAnswer], steps: Sequence[Step]
) -> Iterator[str]:
    if progress.struck:
        yield (
            "After a strike nothing that was aligned holds: look at the head before anything is"
            " printed, and align anew."
        )
        shaken = [name for name, _ in _moved_by_strike(job, progress)]
        if shaken:
            yield f"Taken for moved, since nothing firm holds it: {', '.join(shaken)}."
    if progress.done and any(step.kind == "align" for step in steps):
        yield (
            "An alignment is printed on flat scrap beside the sheets. Leave them where they lie; if"
            " there is no room for scrap, the sheet is lost."
        )
    if any(answer.verdict == MORE for answer in answers):
        yield "Further layers register only as long as the sheet has not moved since its last pass."
