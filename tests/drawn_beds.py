"""Beds drawn at random: those of the benchmarks by their parameters, and copies of a drawn sheet on
one bed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from attrs import evolve
from benchmarks.beds import ganged_bed
from effort import FULL
from hypothesis import Phase, assume, note
from hypothesis import strategies as st

from signrules.model import Gap, Handling, Interval, Job, Pass, Printer
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.audit import audit
from signrules.planning.order.facing import front_up
from signrules.planning.order.next_items import NextItems, State
from signrules.planning.pipeline import BUDGET
from signrules.planning.plan import Plan
from signrules.planning.planner import Outcome, plan_job, replay_order
from signrules.planning.setup_cost import Cost, Costs

FAR_MM = 1_000.0
"""So far apart no band of one sheet meets another sheet."""

BESIDE_MM = 1_000.0
"""So far from each other copies lie along x."""

MOST_PASSES = 60 if FULL else 30
"""So many passes a drawn bed has at the most; those of the quick run are sooner planned."""

NOT_SHRUNK = (Phase.explicit, Phase.generate)
"""For laws of whole beds: to shrink one takes minutes, and its parameters, which are noted, say
all.
"""

STATED: Mapping[str, st.SearchStrategy[Any]] = {
    "thicknesses": st.sampled_from([(3.0,), (3.0, 4.0), (3.0, 3.5)]),
    "tolerance": st.sampled_from([0.0, 0.1, 0.2]),
    "control": st.sampled_from(["spacers", "dial"]),
    "dial_steps": st.sampled_from([6, 30, 300]),
    "flips": st.integers(0, 2),
    "columns": st.integers(1, 4),
    "apart": st.booleans(),
    "colour_over": st.sampled_from(["media", "build-up"]),
    "ordered": st.sampled_from([True, True, True, False]),
    "landing": st.sampled_from([None, 0.06, 0.5]),
    "records": st.sampled_from([(), (0.0,), (0.0, 1.0)]),
    "one_way": st.booleans(),
}
"""What a bed of stated gaps is made of, besides sheets and passes."""

OPEN: Mapping[str, st.SearchStrategy[Any]] = {
    **STATED,
    "throw": st.sampled_from([2.4, 2.6, 3.2, 4.0]),
    "control": st.sampled_from(["spacers", "spacers", "dial"]),
    "dial_steps": st.sampled_from([3, 10, 30]),
}
"""The same where the gaps are left open."""


@st.composite
def drawn_beds(
    draw: st.DrawFn, *, stated: bool = True, least: int = 4, most: int = MOST_PASSES, **fixed: Any
) -> Job:
    """Ganged beds of `least` to `most` passes; `fixed` are parameters of `ganged_bed` that are not
    drawn.
    """
    lengths = draw(st.lists(st.integers(2, 8), min_size=1, max_size=2, unique=True))
    sheets = draw(st.integers(1, most // max(lengths)))
    parameters = {
        name: draw(some) for name, some in (STATED if stated else OPEN).items() if name not in fixed
    }
    if "flips" in parameters:
        parameters["flips"] = min(parameters["flips"], sheets)
    parameters["columns"] = min(parameters.get("columns", sheets), sheets)
    parameters |= {"stated": stated, **fixed}
    note(f"ganged_bed({sheets}, {tuple(lengths)}, **{parameters})")
    try:
        job = ganged_bed(sheets, tuple(lengths), **parameters)
    except RuntimeError:  # No gap of the printer is high enough for one of the passes.
        assume(False)
    assume(least <= len(job.passes) <= most)
    return job


# --- copies of a sheet ----------------------------------------------------------------------------


def copies(job: Job, sheet: str, number: int, *, step: tuple[float, float]) -> Job:
    """The job with so many more sheets alike to one: its passes and its handling, each `step` in mm
    from the last.

    What the passes of the sheet name on other sheets their copies name as well; a pause waits for
    the copies too.
    """
    media, passes = list(job.media), list(job.passes)
    handling = [evolve(item, media=_on(job, item)) for item in job.handling]
    original = next(one for one in job.media if one.id == sheet)
    mine = {item.id for item in job.items if _on(job, item) == sheet}
    for turn in range(1, number + 1):
        at = (original.at[0] + turn * step[0], original.at[1] + turn * step[1])
        media.append(evolve(original, id=f"{sheet}~{turn}", at=at))
        named = {name: f"{name}~{turn}" for name in mine}
        passes += [_copy(item, named, f"{sheet}~{turn}") for item in job.passes if item.id in mine]
        handling += [
            _copy(item, named, f"{sheet}~{turn}") for item in job.handling if item.id in mine
        ]
        handling = [_waiting(item, named) if item.does == "pause" else item for item in handling]
    width, height = (max(one.at[axis] + one.size[axis] for one in media) for axis in (0, 1))
    printer = evolve(
        job.printer, bed=(max(width, job.printer.bed[0]), max(height, job.printer.bed[1]))
    )
    named_media = tuple(evolve(item, media=_on(job, item)) for item in passes[: len(job.passes)])
    return evolve(
        job,
        printer=printer,
        media=tuple(media),
        passes=(*named_media, *passes[len(job.passes) :]),
        handling=tuple(handling),
    )


def _on(job: Job, item: Pass | Handling) -> str | None:
    """The sheet of an item; None for a pause."""
    if isinstance(item, Handling) and item.does == "pause":
        return None
    return job.media_of(item).id


def _copy(item: Any, named: Mapping[str, str], sheet: str) -> Any:
    return renamed_item(evolve(item, media=sheet), named)


def _waiting(pause: Handling, named: Mapping[str, str]) -> Handling:
    return evolve(
        pause, after=(*pause.after, *(named[name] for name in pause.after if name in named))
    )


def renamed_item(item: Any, named: Mapping[str, str]) -> Any:
    """An item, and all that it names, under other names where there are any."""

    def others(some: Sequence[str] | None) -> tuple[str, ...] | None:
        return None if some is None else tuple(named.get(name, name) for name in some)

    item = evolve(item, id=named.get(item.id, item.id), after=others(item.after))
    if isinstance(item, Handling):
        return item
    return evolve(item, over=others(item.over), registers_to=others(item.registers_to))


def orders_of(machine: Machine, done: tuple[int, ...] = ()) -> Iterator[tuple[int, ...]]:
    """Every order of all items that keeps the precedence."""
    if len(done) == len(machine.items):
        yield done
    for at in range(len(machine.items)):
        if at not in done and machine.before[at] <= set(done):
            yield from orders_of(machine, (*done, at))


# --- plans ----------------------------------------------------------------------------------------


def machine_of(job: Job) -> Machine:
    """The job as the planner takes it."""
    return Machine(Heights(job))


def as_searched(job: Job) -> Machine:
    """The job as the stages of the planner see it: all sheets are loaded front up."""
    return front_up(machine_of(job))


def planned(job: Job, budget: int = BUDGET, known: Outcome | None = None) -> Outcome:
    """What comes of a job; of a plan the audit must have nothing to say."""
    outcome = plan_job(machine_of(job), budget, known)
    assert (outcome.plan is None) != (outcome.conflict is None)
    if outcome.plan is not None:
        assert audit(job, outcome.plan) == []
    return outcome


def cost_of_order(job: Job, order: Sequence[int]) -> Cost | None:
    """What an order costs with its cheapest gaps; None where the audit calls it unsafe."""
    timeline = replay_order(machine_of(job), tuple(order))
    costs = Costs.of(job.printer.minutes)
    cost = costs.of_timeline(timeline)
    plan = Plan(timeline, cost, (0, 0.0), False, costs.stated)
    return None if audit(job, plan) else cost


# --- the same job, listed and named another way ---------------------------------------------------


def relisted_at_random(draw: st.DrawFn, job: Job) -> Job:
    """The job with everything that it lists in another order, under other names."""
    first = job.media[0].id
    passes = [evolve(item, media=item.media or first) for item in job.passes]
    handling = [
        item if item.does == "pause" else evolve(item, media=item.media or first)
        for item in job.handling
    ]
    numbers = draw(st.permutations(range(len(job.items) + len(job.media) + len(job.inks))))
    names = (f"x{number:03}" for number in numbers)
    named = {thing.id: next(names) for thing in (*passes, *handling)}
    sheets = {sheet.id: next(names) for sheet in job.media}
    inks = {ink.id: next(names) for ink in job.inks}

    def mixed(some: Sequence[Any]) -> tuple[Any, ...]:
        return tuple(draw(st.permutations(list(some))))

    def item_mixed(item: Any) -> Any:
        item = renamed_item(
            evolve(item, media=sheets.get(item.media), after=mixed(item.after)), named
        )
        if isinstance(item, Handling):
            return item
        areas = item.areas and mixed(item.areas)
        return evolve(item, ink=inks[item.ink], areas=areas, over=mixed(item.over))

    return evolve(
        job,
        media=mixed([evolve(sheet, id=sheets[sheet.id]) for sheet in job.media]),
        inks=mixed([evolve(ink, id=inks[ink.id]) for ink in job.inks]),
        passes=mixed([item_mixed(item) for item in passes]),
        handling=mixed([item_mixed(item) for item in handling]),
        alignments=mixed(job.alignments),
    )


def redeclared(job: Job, order: Sequence[str]) -> Job:
    """The job with its passes and handling declared in an order."""
    place = {name: number for number, name in enumerate(order)}
    first = job.media[0].id
    return evolve(
        job,
        passes=tuple(
            sorted(
                (evolve(p, media=p.media or first) for p in job.passes), key=lambda p: place[p.id]
            )
        ),
        handling=tuple(sorted(job.handling, key=lambda item: place[item.id])),
    )


def with_open_gaps(job: Job) -> Job:
    """The job with every gap left to the planner."""
    return evolve(job, passes=tuple(evolve(item, gap=None) for item in job.passes))


def with_gap(job: Job, at: int, gap: Gap | None) -> Job:
    """The job with the gap of one pass stated, or left open."""
    changed = evolve(job.passes[at], gap=gap)
    return evolve(job, passes=(*job.passes[:at], changed, *job.passes[at + 1 :]))


def easier(job: Job) -> Job:
    """The job with no order among its passes and little clearance to keep: nearly all of its orders
    are safe.
    """
    printer = evolve(job.printer, min_clearance=0.1, base_gap=Interval.exact(2.5))
    passes = tuple(
        evolve(item, after=(), over=(), layers=min(item.layers, 20)) for item in job.passes
    )
    return evolve(job, printer=printer, passes=passes)


def every_open_gap(printer: Printer) -> tuple[Gap, ...]:
    """Every gap that an open one can be given: each extra over the media, then over the
    build-up.
    """
    extras = [Interval.exact(extra) for extra in printer.gap.extras()]
    return tuple(Gap(extra, reference) for reference in ("media", "build-up") for extra in extras)


def reached_states(next_items: NextItems) -> Iterator[State]:
    """Every state that safe moves lead to, each once."""
    seen, waiting = {State()}, [State()]
    while waiting:
        state = waiting.pop()
        yield state
        for move in next_items.following(state):
            if move.after not in seen:
                seen.add(move.after)
                waiting.append(move.after)


def is_worse(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether of two counts of the same things one is nowhere less and somewhere more."""
    return one != other and all(its <= mine for mine, its in zip(one, other, strict=True))
