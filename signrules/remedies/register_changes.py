"""Changes that keep passes in register: how sheets are held and put back, moved and cooled."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from attrs import evolve

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Handling, Pass
from signrules.model.quantities import GUARD_MM
from signrules.model.wording import number_text
from signrules.remedies.candidates import (
    Change,
    Edit,
    Judged,
    as_in,
    most_exact_method,
    of_item,
    of_job,
    pass_at,
    passes_named,
    reworded_change,
    worded_change,
)
from signrules.rules.checks import Check

SAFE_HOLDS = ("vacuum", "tape")
"""How a loose sheet may be held; both are common practice."""


def better_method(check: Check, judged: Judged) -> Iterator[Change]:
    """The best locating method that the printer states, for what moves the sheet in between."""
    best = most_exact_method(judged.job)
    if best is None:
        return
    method, error = best
    moves = [item for item in _moves_between(check, judged) if item.locates_by != method]
    if not moves:
        return
    edits = [of_item("handling", item.id, locates_by=method) for item in moves]
    named = ", ".join(item.id for item in moves)

    def words_for(job: Job) -> str:
        before = [as_in(job, "handling", item).locates_by or "nothing" for item in moves]
        methods_before = ", ".join(dict.fromkeys(before))
        better = f"{method} (good to {number_text(error)} mm)"
        return f"Put the sheet back by {better} in {named} instead of by {methods_before}."

    yield reworded_change(judged.job, words_for, *edits)


def held_sheets(check: Check, judged: Judged) -> Iterator[Change]:
    """A hold for sheets that nothing holds."""
    loose = [sheet for sheet in _sheets_named(check, judged) if sheet.hold == "none"]
    if not loose:
        return
    named = ", ".join(sheet.id for sheet in loose)
    for hold in SAFE_HOLDS:
        yield worded_change(
            f"Hold {named} by {hold} instead of not at all.",
            *(of_item("media", sheet.id, hold=hold) for sheet in loose),
        )


def one_load(check: Check, judged: Judged) -> Iterator[Change]:
    """Sheets of passes that register on one bed load, where they lie on several."""
    sheets = _sheets_named(check, judged)
    if len({sheet.load for sheet in sheets}) > 1:
        first = sheets[0].load
        others = [sheet for sheet in sheets if sheet.load != first]
        named = ", ".join(sheet.id for sheet in others)
        yield worded_change(
            f"Put {named} on the bed as part of load {first}.",
            *(of_item("media", sheet.id, load=first) for sheet in others),
        )


def all_at_once(check: Check, judged: Judged) -> Iterator[Change]:
    """A hold, one bed load and the best way of putting back, where more than one is missing."""
    changes: list[Change] = []
    edits: list[Edit] = []
    for maker in (held_sheets, one_load, better_method):
        change = next(maker(check, judged), None)
        if change is not None:
            changes.append(change)
            edits += change.edits
    if len(changes) > 1:
        yield reworded_change(
            judged.job, lambda job: " ".join(change.words(job) for change in changes), *edits
        )


def moved_aside(check: Check, judged: Judged) -> Iterator[Change]:
    """What moves the sheet is done after the last pass that registers, or before the first."""
    job = judged.job
    for item in _moves_between(check, judged):
        load = job.media_of(item).load
        names = [item.id for item in job.passes if job.media_of(item).load == load]
        if job.sequence is not None:
            other_names = [name for name in job.sequence if name != item.id]
            places = [other_names.index(name) for name in names]
            first, last = min(places), max(places)
            yield _done_at(other_names, item, last + 1, f"after {other_names[last]}")
            yield _done_at(other_names, item, first, f"before {other_names[first]}")
        elif not job.kind_of(item).turns:
            text = f"Do {item.id} after {', '.join(names)}."
            after = tuple(dict.fromkeys((*item.after, *names)))
            yield worded_change(text, of_item("handling", item.id, after=after))


def _done_at(other_names: list[str], item: Handling, place: int, where: str) -> Change:
    """Handling put into a place of the sequence of all other items; `where` says it in words."""
    sequence = (*other_names[:place], item.id, *other_names[place:])
    return worded_change(f"Do {item.id} {where}.", of_job(sequence=sequence))


def left_out(check: Check, judged: Judged) -> Iterator[Change]:
    """What moves the sheet in between left out, where its kind says that this may be."""
    for item in _moves_between(check, judged):
        if judged.job.kind_of(item).optional:
            text = (
                f"Leave {item.id} out: keep the sheet where it lies until all that registers is"
                " printed."
            )
            yield worded_change(text, of_job(**_without_handling(judged.job, item.id)))


def fewer_partners(check: Check, judged: Judged) -> Iterator[Change]:
    """A pass that need not register with the other, if the shop says so."""
    pass_index = pass_at(check, judged)
    if pass_index is None:
        return
    machine = judged.timeline.machine
    item = judged.job.passes[pass_index]
    others = [
        partner
        for partner in passes_named(check.subjects[1:], judged)
        if partner in machine.partners(pass_index)
    ]
    for other in others:
        name = judged.job.passes[other].id
        remaining_ids = tuple(
            judged.job.passes[partner].id
            for partner in machine.partners(pass_index)
            if partner != other
        )
        if name not in item.over and item.id not in judged.job.passes[other].over:
            yield worded_change(
                f"If {item.id} need not register with {name}, say so in registers_to.",
                of_item("passes", item.id, registers_to=remaining_ids),
            )


def cooler_pass(check: Check, judged: Judged) -> Iterator[Change]:
    """The warmer of two passes printed cooler, so that the growth in between is within tolerance.

    Growth goes with the difference of the two temperatures; a pass without one of its own has that
    of the job.
    """
    pass_index = pass_at(check, judged)
    partners = list(passes_named(check.subjects[1:], judged))
    job = judged.job
    if pass_index is None or not partners or check.measured is None or check.limit[1] is None:
        return
    other = partners[0]
    locating = sum(move.error or 0.0 for move in judged.timeline.moves_between(other, pass_index))
    room_left = check.limit[1] - locating
    growth = check.measured.high - locating
    compared = (job.passes[pass_index], job.passes[other])
    temperatures = [_temperature_of(item, job) for item in compared]
    high, low = max(temperatures), min(temperatures)
    warmer = compared[temperatures.index(high)]
    if room_left <= 0 or growth <= 0 or warmer.sheet_temperature is None or high <= low:
        return
    allowed = (high - low) * room_left / growth
    # Down to a tenth of a degree: any warmer would be too much. The addend keeps a tenth that a
    # float just misses from becoming the one below.
    aim = math.floor((low + allowed) * 10 + 1e-6) / 10
    yield _cooled_to(job, warmer, aim)
    if low < aim - GUARD_MM:
        yield _cooled_to(job, warmer, low)


def _temperature_of(item: Pass, job: Job) -> float:
    """The temperature of the sheet in a pass, in degrees Celsius."""
    if item.sheet_temperature is None:
        return job.temperature
    return item.sheet_temperature


def _cooled_to(job: Job, item: Pass, degrees: float) -> Change:
    def words_for(job: Job) -> str:
        old_text = number_text(_temperature_of(as_in(job, "passes", item), job))
        cooled = f"Let the sheet cool to {number_text(degrees)} C before {item.id}"
        return f"{cooled} instead of printing it at {old_text} C."

    return reworded_change(job, words_for, of_item("passes", item.id, sheet_temperature=degrees))


def slower_carriage(check: Check, judged: Judged) -> Iterator[Change]:
    """A slower carriage, as much as the landing error is too large."""
    if check.measured is None or check.limit[1] is None or check.measured.high <= 0:
        return
    speed = judged.job.printer.carriage_speed
    # The error goes with the speed. Down to 10 mm/s: any faster would be too much.
    aim = math.floor(speed * check.limit[1] / check.measured.high / 10) * 10.0
    for slow in (aim, aim / 2):
        if 0 < slow < speed:
            yield _at_speed(judged.job, slow)


def _at_speed(job: Job, speed: float) -> Change:
    def words_for(job: Job) -> str:
        old_text = number_text(job.printer.carriage_speed)
        return f"Run the carriage at {number_text(speed)} mm/s instead of {old_text} mm/s."

    def edit(job: Job) -> Job:
        return evolve(job, printer=evolve(job.printer, carriage_speed=speed))

    return reworded_change(job, words_for, edit)


def _passes_named(check: Check, judged: Judged) -> list[Pass]:
    """The passes that a check names."""
    return [judged.job.passes[pass_index] for pass_index in passes_named(check.subjects, judged)]


def _sheets_named(check: Check, judged: Judged) -> list[Media]:
    """The sheets of the passes that a check names, each once."""
    sheets = map(judged.job.media_of, _passes_named(check, judged))
    return list({sheet.id: sheet for sheet in sheets}.values())


def _moves_between(check: Check, judged: Judged) -> list[Handling]:
    """The handling that moves the sheet between the passes that a check compares."""
    pass_index = pass_at(check, judged)
    if pass_index is None:
        return []
    other = next(passes_named(check.subjects[1:], judged), None)
    if other is None:
        other = judged.timeline.earliest_partner(pass_index)
    if other is None:
        return []
    names = {move.what for move in judged.timeline.moves_between(other, pass_index)}
    return [item for item in judged.job.handling if item.id in names]


def _without_handling(job: Job, id: str) -> dict[str, Any]:
    """The fields of a job that change where one of its handlings goes."""

    def rest(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in names if name != id)

    kept = [item for item in job.handling if item.id != id]
    fields: dict[str, Any] = {
        "handling": tuple(evolve(item, after=rest(item.after)) for item in kept),
        "passes": tuple(evolve(item, after=rest(item.after)) for item in job.passes),
    }
    if job.sequence is not None:
        fields["sequence"] = rest(job.sequence)
    return fields
