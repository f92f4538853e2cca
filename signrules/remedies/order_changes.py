"""Changes of the order, and of what stands against every order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve

from signrules.model.job import Job, free_id
from signrules.model.media import Media
from signrules.model.passes import OTHER_SIDE, Handling, Pass
from signrules.physics.machine import Machine, Precedence
from signrules.remedies.alike_cases import in_short
from signrules.remedies.candidates import (
    Change,
    Edit,
    Judged,
    most_exact_method,
    of_item,
    of_job,
    pass_at,
    subject_id,
    worded_change,
)
from signrules.rules.checks import Check

MOST_NAMES = 12


def best_order(check: Check, judged: Judged) -> Iterator[Change]:
    """The order of the best plan, where the job states another."""
    plan = judged.found_plan
    if judged.job.sequence is not None and plan is not None and plan.best is not None:
        yield _in_order(judged, plan.best.order)


def kept_order(check: Check, judged: Judged) -> Iterator[Change]:
    """The job's own sequence, with as little moved as what must come before what asks for; then
    none at all.
    """
    if judged.job.sequence is None:
        return
    machine = judged.timeline.machine
    items_left = list(judged.timeline.order)
    # The earliest of the sequence that may come next, again and again: what is in order as it
    # stands keeps its place.
    order: list[int] = []
    while items_left:
        ready = next(
            (item_index for item_index in items_left if machine.before[item_index] <= set(order)),
            None,
        )
        if ready is None:
            return
        items_left.remove(ready)
        order.append(ready)
    if order != list(judged.timeline.order):
        yield _in_order(judged, [machine.items[item_index].id for item_index in order])


def planned_order(check: Check, judged: Judged) -> Iterator[Change]:
    """No sequence of the job's own: the planner chooses."""
    if judged.job.sequence is not None:
        yield worded_change("Let the planner choose the order.", of_job(sequence=None))


def loaded_other_way(check: Check, judged: Judged) -> Iterator[Change]:
    """The sheet of a pass on the wrong side, loaded the other way up where that may help."""
    pass_index = pass_at(check, judged)
    if pass_index is None:
        return
    machine = judged.timeline.machine
    sheet = machine.heights.media[pass_index]
    up = OTHER_SIDE[sheet.up]
    if _meets_its_sides(machine, sheet.id, up):
        yield worded_change(f"Load {sheet.id} {up} up.", of_item("media", sheet.id, up=up))


def _meets_its_sides(machine: Machine, media: str, up: str) -> bool:
    """Whether a sheet loaded with one side up may turn its right side to every pass.

    That is said as far as precedence goes, and of a sheet that is turned once at the most.
    """
    passes_on = machine.heights.layout.passes_on
    first, second = passes_on[media, up], passes_on[media, OTHER_SIDE[up]]
    handling = range(machine.pass_count, len(machine.items))
    flips = [item_index for item_index in handling if machine.flips(item_index) == media]
    # Of several flips precedence alone does not tell which side lies up when.
    if len(flips) != 1:
        return bool(flips) or not second
    before = [Precedence(item_index, flips[0], "side", "") for item_index in sorted(first)]
    after = [Precedence(flips[0], item_index, "side", "") for item_index in sorted(second)]
    return Machine(machine.heights, (*machine.precedence, *before, *after)).topological is not None


def turned_over(check: Check, judged: Judged) -> Iterator[Change]:
    """A flip before a pass whose side lies down as loaded, where nothing turns its sheet over.

    The same for every such sheet: there is no order while one of them wants it.
    """
    pass_index = pass_at(check, judged)
    if pass_index is None:
        return
    wanting = _sheets_to_turn(judged)
    if judged.job.media_of(judged.job.passes[pass_index]) in wanting:
        yield from _turned(judged.job, wanting)


def _sheets_to_turn(judged: Judged) -> list[Media]:
    """The sheets with a pass on the side that lies down as loaded, which nothing turns over."""
    job, turning = judged.job, judged.timeline.machine.turning
    lying_down = {job.media_of(item) for item in job.passes if item.side != job.media_of(item).up}
    return [sheet for sheet in job.media if sheet in lying_down and sheet.id not in turning]


def _turned(job: Job, sheets: Sequence[Media]) -> Iterator[Change]:
    """A flip for each of some sheets: where the sequence of the job has room for it, then in the
    order that the planner chooses.
    """
    flips = [_flip_for(job, sheet) for sheet in sheets]
    advice = f"Turn {in_short([sheet.id for sheet in sheets])} over"
    how = "" if flips[0].locates_by is None else f", located by {flips[0].locates_by}"
    if job.sequence is not None:
        sequence = list(job.sequence)
        before = ", each before the first pass on its other side"
        for sheet, flip in zip(sheets, flips, strict=True):
            place = min(sequence.index(pass_id) for pass_id in _printed_down(job, sheet))
            if len(sheets) == 1:
                before = f" before {sequence[place]}"
            sequence.insert(place, flip.id)
        yield worded_change(f"{advice}{before}{how}.", _with_handling(flips, tuple(sequence)))
    after = f" after {_listed_ids(flips[0].after)}" if flips[0].after else ""
    if len(sheets) > 1:
        after = ", each once its upper side is printed"
    words = f"{advice}{after}{how}; let the planner choose the order."
    yield worded_change(words, _with_handling(flips, None))


def _with_handling(flips: Sequence[Handling], sequence: tuple[str, ...] | None) -> Edit:
    """Adds handling to whatever the job has by then."""

    def edit(job: Job) -> Job:
        return evolve(job, handling=(*job.handling, *flips), sequence=sequence)

    return edit


def _flip_for(job: Job, sheet: Media) -> Handling:
    """A flip after all that is printed on the upper side, located as exactly as the printer can."""
    printed = [item for item in job.passes if job.media_of(item) == sheet]
    first = tuple(item.id for item in printed if item.side == sheet.up)
    id = free_id(f"flip-{sheet.id}", (item.id for item in job.items))
    flip = Handling(id, "flip", after=first)
    if len(job.media) > 1:
        flip = evolve(flip, media=sheet.id)
    # The most exact method: a flip that loses the registration would be the next finding.
    best = most_exact_method(job)
    if best is not None:
        method, _ = best
        flip = evolve(flip, locates_by=method)
    return flip


def _printed_down(job: Job, sheet: Media) -> list[str]:
    """The passes on the side of a sheet that lies down as loaded."""
    return [item.id for item in job.passes if job.media_of(item) == sheet and item.side != sheet.up]


def same_side(check: Check, judged: Judged) -> Iterator[Change]:
    """All that builds the braille of a sign, and what lands on it, on the side of its text."""
    builds = f"{subject_id(check)}.braille"
    for side in check.allowed:
        wrong = [
            builder
            for builder in judged.job.passes
            if builds in builder.builds and builder.side != side
        ]
        ids = _with_what_lands(judged.job, [builder.id for builder in wrong])
        yield worded_change(
            f"Print {_listed_ids(ids)} on the {side} of the sheet.", _printed_on(ids, side)
        )


def side_of_its_text(check: Check, judged: Judged) -> Iterator[Change]:
    """Braille that would be turned away from its text printed on the side of the text instead."""
    for other in judged.checks:
        if other.rule == "drawing.side" and other.is_bad and check.subjects[0] in other.subjects:
            yield from same_side(other, judged)


def _with_what_lands(job: Job, ids: Sequence[str]) -> tuple[str, ...]:
    """Some passes and those that are printed over them, over these in turn, and so on."""
    pass_ids = list(ids)
    for below in pass_ids:
        pass_ids += [
            item.id for item in job.passes if below in item.over and item.id not in pass_ids
        ]
    return tuple(pass_ids)


def _printed_on(ids: Sequence[str], side: str) -> Edit:
    def edit(job: Job) -> Job:
        passes = list(job.passes)
        for pass_index, item in enumerate(passes):
            if item.id in ids:
                passes[pass_index] = evolve(item, side=side)
        return evolve(job, passes=tuple(passes))

    return edit


def less_precedence(judged: Judged, ids: Iterable[str]) -> Iterator[Change]:
    """One declared `after` less among some items: what a shop has declared it may take back, `over`
    it may not.
    """
    wanted = set(ids)
    tables: dict[str, Sequence[Pass | Handling]] = {
        "passes": judged.job.passes,
        "handling": judged.job.handling,
    }
    for table, rows in tables.items():
        for row in rows:
            if row.id not in wanted:
                continue
            for name in row.after:
                if name in wanted:
                    yield _let_come_before(table, row, name)


def _let_come_before(table: str, row: Pass | Handling, name: str) -> Change:
    text = f"Let {row.id} come before {name}: take {name} out of what it must come after."
    remaining = tuple(other for other in row.after if other != name)
    return worded_change(text, of_item(table, row.id, after=remaining))


def _in_order(judged: Judged, order: Sequence[str]) -> Change:
    return worded_change(f"Print in the order {_listed_ids(order)}.", of_job(sequence=tuple(order)))


def _listed_ids(names: Sequence[str]) -> str:
    if len(names) <= MOST_NAMES:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_NAMES])} and so on ({len(names)} in all)"
