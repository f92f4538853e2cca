"""A job as it stands half printed: what is done is fixed, and comes first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from attrs import evolve

from signrules.continuing.progress import Progress
from signrules.model.job import Alignment, Job
from signrules.model.media import Ink
from signrules.model.passes import Handling, HeadSetting, Pass
from signrules.model.quantities import Interval
from signrules.planning.plan import Plan


def job_as_it_stands(
    job: Job,
    plan: Plan | None,
    progress: Progress,
    layers: Mapping[str, Interval],
    further: Sequence[Pass] = (),
) -> Job:
    """The job whose remaining passes are yet to be planned.

    What is done comes first, in its order, at the gaps of `plan`, by which it was printed; the
    alignments that the plan made are on record, unless the head has struck. `layers` are what
    measured passes have laid, in mm a layer, by their ids: they count in place of the stated
    layer. `further` are passes that are printed besides, each after what it names.
    """
    done = progress.done
    named_first = {later: (earlier,) for earlier, later in pairwise(done)}
    moves = tuple(_moves(job, progress))
    before_rest = (*done[-1:], *(move.id for move in moves))

    def after_of(item: Pass | Handling) -> tuple[str, ...]:
        first = named_first.get(item.id, () if item.id in done else before_rest)
        below = () if item.id in done else _further_below(item, further)
        return tuple(dict.fromkeys((*item.after, *first, *below)))

    inks = {f"{item.id} as measured": layers[item.id] for item in job.passes if item.id in layers}
    passes = []
    for item in job.passes:
        shown = evolve(item, after=after_of(item), gap=_gap_as_printed(item, plan, progress))
        if item.id in layers:
            shown = evolve(shown, ink=f"{item.id} as measured")
        passes.append(shown)
    passes += (evolve(extra, after=(*extra.after, *before_rest)) for extra in further)
    return evolve(
        job,
        inks=(*job.inks, *_measured_inks(job, inks)),
        passes=tuple(passes),
        handling=(*(evolve(item, after=after_of(item)) for item in job.handling), *moves),
        alignments=_alignments_on_record(job, plan, progress),
        sequence=_sequence_from_here(job, progress, moves, further),
    )


def _further_below(item: Pass | Handling, further: Sequence[Pass]) -> tuple[str, ...]:
    """The further passes on what an item is printed over: colour comes on top of them too."""
    over = set(item.over) if isinstance(item, Pass) else set()
    return tuple(extra.id for extra in further if over & set(extra.over) and extra.id != item.id)


def _gap_as_printed(item: Pass, plan: Plan | None, progress: Progress) -> HeadSetting | None:
    """The gap at which a pass was printed: that of the plan where the job left it open."""
    if item.gap is not None or item.id not in progress.done or plan is None:
        return item.gap
    printing = next(
        each
        for index, each in plan.timeline.printings.items()
        if plan.timeline.machine.items[index].id == item.id
    )
    return printing.plane.gap


def _measured_inks(job: Job, layers: Mapping[str, Interval]) -> Iterable[Ink]:
    for name, layer in layers.items():
        item = next(each for each in job.passes if f"{each.id} as measured" == name)
        yield evolve(job.ink_of(item), id=name, layer=layer)


def _alignments_on_record(job: Job, plan: Plan | None, progress: Progress) -> tuple[Alignment, ...]:
    """What is aligned already: alignments are made before anything is printed."""
    if progress.struck:
        return ()
    if plan is None or not progress.done:
        return job.alignments
    made = (Alignment(extra, job.printer.head_work) for extra in plan.timeline.new_alignments)
    return (*job.alignments, *made)


def _moves(job: Job, progress: Progress) -> Iterable[Handling]:
    """A sheet that has moved is one that was taken off and put back, by a method or by none."""
    taken = {item.id for item in job.items}
    for sheet, method in progress.moved:
        name = f"put back {sheet}"
        while name in taken:
            name += " again"
        yield Handling(name, "reload", sheet, method, progress.done[-1:])


def _sequence_from_here(
    job: Job, progress: Progress, moves: Sequence[Handling], further: Sequence[Pass]
) -> tuple[str, ...] | None:
    """The job's own sequence with what is done before all else; None where it has none."""
    if job.sequence is None:
        return None
    rest = [name for name in job.sequence if name not in progress.done]
    added = [item.id for item in further]
    return (*progress.done, *(move.id for move in moves), *added, *rest)
