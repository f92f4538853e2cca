"""A job of which some passes and handling are done: these come first, in the order they had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import evolve

from signrules.errors import DocumentFault, RecordError
from signrules.model.job import Alignment, Job
from signrules.model.passes import Gap, Handling, Pass
from signrules.model.wording import expected_name
from signrules.planning.plan import Plan


def demand_done(job: Job, done: Sequence[str]) -> None:
    """Raises RecordError where what is said to be done is unknown, is named twice, or cannot have
    been done before what it lies over or comes after.
    """
    faults = list(_faults_of_done(job, done))
    if faults:
        raise RecordError(faults)


def _faults_of_done(job: Job, done: Sequence[str]) -> Iterator[DocumentFault]:
    items = {item.id: item for item in job.items}
    earlier: set[str] = set()
    for number, name in enumerate(done):
        path = f"done[{number}]"
        if name not in items:
            known = expected_name(name, tuple(items), f"one of {', '.join(items)}")
            yield DocumentFault(path, repr(name), f"a pass or handling of the job: {known}")
            continue
        if name in earlier:
            yield DocumentFault(path, f"{name!r} once more", "each pass once, in the order done")
        for needed in dict.fromkeys(_needed_by(items[name])):
            if needed not in earlier:
                expected = f"{needed!r} done before it, as the job says"
                yield DocumentFault(path, f"{name!r} without {needed!r} before it", expected)
        earlier.add(name)


def _needed_by(item: Pass | Handling) -> tuple[str, ...]:
    over = item.over if isinstance(item, Pass) else ()
    return (*over, *item.after)


def with_needed_handling(job: Job, done: Sequence[str]) -> tuple[str, ...]:
    """What is done, with handling that nobody named and that something done comes after."""
    # What is named twice is a fault, which `demand_done` tells.
    if len(set(done)) < len(done):
        return tuple(done)
    handling = {item.id for item in job.handling}
    items = {item.id: item for item in job.items}
    order: list[str] = []

    def add(name: str) -> None:
        for needed in items[name].after if name in items else ():
            if needed in handling and needed not in (*order, *done):
                add(needed)
        order.append(name)

    for name in done:
        add(name)
    return tuple(order)


def done_first(job: Job, done: Sequence[str]) -> Job:
    """The job with what is done before everything else, in its order.

    The planner keeps `after` in every order, so that it plans only what remains.
    """
    if not done:
        return evolve(job, sequence=None)
    # What is done comes after what was done just before it, all else after what was done last.
    predecessor_of = dict(zip(done[1:], done, strict=False))
    for item in job.items:
        if item.id not in done:
            predecessor_of[item.id] = done[-1]
    passes = tuple(evolve(item, after=_after(item, predecessor_of)) for item in job.passes)
    handling = tuple(evolve(item, after=_after(item, predecessor_of)) for item in job.handling)
    return evolve(job, passes=passes, handling=handling, sequence=None)


def _after(item: Pass | Handling, predecessor_of: Mapping[str, str]) -> tuple[str, ...]:
    """What an item comes after, with the predecessor that it is given."""
    earlier = predecessor_of.get(item.id)
    if earlier is None or earlier in item.after:
        return item.after
    return (*item.after, earlier)


def as_planned(job: Job, plan: Plan | None, done: Sequence[str]) -> Job:
    """The job with what its plan has left on the printer.

    All alignments of a plan are made before its first load, so they are on record. A gap that the
    plan chose for a pass that is done is stated, so that nobody counts on another one; where the
    passes were done in another order than the plan's, nobody knows which gap they had.
    """
    if plan is None or not done:
        return job
    made = tuple(Alignment(extra) for extra in plan.timeline.new_alignments)
    job = evolve(job, alignments=(*job.alignments, *made))
    if plan.order[: len(done)] != tuple(done):
        return job
    chosen = dict(_chosen_gaps(job, plan, done))
    passes = (evolve(item, gap=chosen.get(item.id, item.gap)) for item in job.passes)
    return evolve(job, passes=tuple(passes))


def _chosen_gaps(job: Job, plan: Plan, done: Sequence[str]) -> Iterator[tuple[str, Gap]]:
    for pass_index, printing in plan.timeline.printings.items():
        item, plane = job.passes[pass_index], printing.plane
        is_own = plane.media == job.media_of(item).id and plane.gap.above == "media"
        # Of a plane that was kept from elsewhere the same words would make another plane.
        if item.id in done and item.gap is None and is_own and isinstance(plane.gap, Gap):
            yield item.id, plane.gap
