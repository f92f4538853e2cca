"""Changes that keep passes in register: how sheets are held and put back, what moves them, how warm
they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from attrs import evolve

from signrules.model.job import Job
from signrules.model.passes import Handling, Pass
from signrules.model.quantities import GUARD_MM
from signrules.model.wording import number_text
from signrules.remedies.candidates import (
    Change,
    Judged,
    as_in,
    change_from,
    change_of,
    of_item,
    of_job,
    pass_at,
    passes_named,
)
from signrules.rules.checks import Check

SAFE_HOLDS = ("vacuum", "tape")
"""How a loose sheet may be held; both are common practice."""


def better_method(check: Check, judged: Judged) -> Iterator[Change]:
    """The best of the locating methods that the printer states, for what moves the sheet in
    between.
    """
    methods = sorted(judged.job.printer.locating, key=lambda pair: (pair[1], pair[0]))
    moves = [
        item
        for item in _moves_between(check, judged)
        if methods and item.locates_by != methods[0][0]
    ]
    if not moves:
        return
    method, error = methods[0]
    edits = [of_item("handling", item.id, locates_by=method) for item in moves]
    named = ", ".join(item.id for item in moves)

    def said(job: Job) -> str:
        before = [as_in(job, "handling", item).locates_by or "nothing" for item in moves]
        was = ", ".join(dict.fromkeys(before))
        better = f"{method} (good to {number_text(error)} mm)"
        return f"Put the sheet back by {better} in {named} instead of by {was}."

    yield change_from(judged.job, said, *edits)


def held_sheets(check: Check, judged: Judged) -> Iterator[Change]:
    """A hold for sheets that nothing holds."""
    job = judged.job
    loose = [
        s
        for s in {
            job.media_of(p).id: job.media_of(p) for p in _passes_named(check, judged)
        }.values()
        if s.hold == "none"
    ]
    for hold in SAFE_HOLDS if loose else ():
        named = ", ".join(sheet.id for sheet in loose)
        yield change_of(
            f"Hold {named} by {hold} instead of not at all.",
            *(of_item("media", sheet.id, hold=hold) for sheet in loose),
        )


def one_load(check: Check, judged: Judged) -> Iterator[Change]:
    """Sheets of passes that register on one bed load, where they lie on several."""
    job = judged.job
    sheets = {job.media_of(p).id: job.media_of(p) for p in _passes_named(check, judged)}
    loads = {sheet.load for sheet in sheets.values()}
    if len(loads) > 1:
        first = next(iter(sheets.values())).load
        others = [sheet for sheet in sheets.values() if sheet.load != first]
        named = ", ".join(sheet.id for sheet in others)
        yield change_of(
            f"Put {named} on the bed as part of load {first}.",
            *(of_item("media", sheet.id, load=first) for sheet in others),
        )


def all_at_once(check: Check, judged: Judged) -> Iterator[Change]:
    """A hold, one bed load and the best way of putting back together, where a pass lacks more than
    one of them.
    """
    first = [
        next(iter(maker(check, judged)), None) for maker in (held_sheets, one_load, better_method)
    ]
    found = [one for one in first if one is not None]
    if len(found) > 1:
        edits = (edit for one in found for edit in one.edits)
        yield change_from(judged.job, lambda job: " ".join(one.words(job) for one in found), *edits)


def moved_aside(check: Check, judged: Judged) -> Iterator[Change]:
    """What moves the sheet is done after the last pass that registers, or before the first."""
    job = judged.job
    for item in _moves_between(check, judged):
        names = [p.id for p in job.passes if job.media_of(p).load == job.media_of(item).load]
        if job.sequence is not None:
            rest = [name for name in job.sequence if name != item.id]
            places = [rest.index(name) for name in names]
            for where, at in (("after", max(places) + 1), ("before", min(places))):
                text = (
                    f"Do {item.id} {where}"
                    f" {rest[max(places)] if where == 'after' else rest[min(places)]}."
                )
                yield change_of(text, of_job(sequence=(*rest[:at], item.id, *rest[at:])))
        elif item.does != "flip":
            text = f"Do {item.id} after {', '.join(names)}."
            yield change_of(
                text,
                of_item("handling", item.id, after=tuple(dict.fromkeys((*item.after, *names)))),
            )


def left_out(check: Check, judged: Judged) -> Iterator[Change]:
    """A reload or release in between left out; a flip is needed for what prints on the back."""
    for item in _moves_between(check, judged):
        if item.does != "flip":
            text = (
                f"Leave {item.id} out: keep the sheet where it lies until all that registers is"
                " printed."
            )
            yield change_of(text, of_job(**_without_handling(judged.job, item.id)))


def fewer_partners(check: Check, judged: Judged) -> Iterator[Change]:
    """A pass that need not register with the other, if the shop says so."""
    at = pass_at(check, judged)
    if at is None:
        return
    machine = judged.timeline.machine
    item = judged.job.passes[at]
    others = [i for i in passes_named(check.subjects[1:], judged) if i in machine.partners(at)]
    for other in others:
        name = judged.job.passes[other].id
        rest = tuple(judged.job.passes[i].id for i in machine.partners(at) if i != other)
        if name not in item.over and item.id not in judged.job.passes[other].over:
            yield change_of(
                f"If {item.id} need not register with {name}, say so in registers_to.",
                of_item("passes", item.id, registers_to=rest),
            )


def cooler_pass(check: Check, judged: Judged) -> Iterator[Change]:
    """The warmer of two passes printed at a temperature that leaves the growth within tolerance, as
    far as stated.
    """
    at = pass_at(check, judged)
    partners = list(passes_named(check.subjects[1:], judged))
    job = judged.job
    if at is None or not partners or check.measured is None or check.limit[1] is None:
        return
    other = partners[0]
    locating = sum(move.error or 0.0 for move in judged.timeline.moves_between(other, at))
    room = check.limit[1] - locating
    growth = check.measured.high - locating
    warm = [
        (job.temperature if p.sheet_temperature is None else p.sheet_temperature, p)
        for p in (job.passes[at], job.passes[other])
    ]
    (hot, warmer), (cold, _) = sorted(warm, key=lambda pair: -pair[0])
    if room <= 0 or growth <= 0 or warmer.sheet_temperature is None or hot <= cold:
        return
    allowed = (hot - cold) * room / growth
    aim = math.floor((cold + allowed) * 10 + 1e-6) / 10
    for degrees in (aim, cold) if cold < aim - GUARD_MM else (aim,):
        yield _cooled_to(job, warmer, degrees)


def _cooled_to(job: Job, item: Pass, degrees: float) -> Change:
    def said(job: Job) -> str:
        hot = as_in(job, "passes", item).sheet_temperature
        was = number_text(job.temperature if hot is None else hot)
        cooled = f"Let the sheet cool to {number_text(degrees)} C before {item.id}"
        return f"{cooled} instead of printing it at {was} C."

    return change_from(job, said, of_item("passes", item.id, sheet_temperature=degrees))


def slower_carriage(check: Check, judged: Judged) -> Iterator[Change]:
    """A slower carriage, as much as the landing error is too large."""
    if check.measured is None or check.limit[1] is None or check.measured.high <= 0:
        return
    speed = judged.job.printer.carriage_speed
    aim = math.floor(speed * check.limit[1] / check.measured.high / 10) * 10.0
    for slow in (aim, aim / 2):
        if 0 < slow < speed:
            yield _at_speed(judged.job, slow)


def _at_speed(job: Job, speed: float) -> Change:
    def said(job: Job) -> str:
        was = number_text(job.printer.carriage_speed)
        return f"Run the carriage at {number_text(speed)} mm/s instead of {was} mm/s."

    def edit(job: Job) -> Job:
        return evolve(job, printer=evolve(job.printer, carriage_speed=speed))

    return change_from(job, said, edit)


def _passes_named(check: Check, judged: Judged) -> list[Pass]:
    """The passes that a check names."""
    return [judged.job.passes[at] for at in passes_named(check.subjects, judged)]


def _moves_between(check: Check, judged: Judged) -> list[Handling]:
    """The handling that moves the sheet between the passes that a check compares."""
    at = pass_at(check, judged)
    if at is None:
        return []
    other = next(passes_named(check.subjects[1:], judged), None)
    if other is None:
        other = judged.timeline.earliest_partner(at)
    if other is None:
        return []
    names = {move.what for move in judged.timeline.moves_between(other, at)}
    return [item for item in judged.job.handling if item.id in names]


def _without_handling(job: Job, id: str) -> dict[str, Any]:
    """The fields of a job that change where one of its handlings goes."""

    def rest(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in names if name != id)

    return {
        "handling": tuple(evolve(h, after=rest(h.after)) for h in job.handling if h.id != id),
        "passes": tuple(evolve(p, after=rest(p.after)) for p in job.passes),
        "sequence": None if job.sequence is None else rest(job.sequence),
    }
