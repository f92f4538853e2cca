"""What a step asks of whoever stands at the machine, and what to do where the answer is no.

Common practice, no published source, but where another is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve

from signrules.model.printer import Dial, Spacers
from signrules.physics.timeline import Step
from signrules.sheet.blocks import Tick
from signrules.sheet.language import Language


def stopped(language: Language) -> Tick:
    """Asked before hands or tools go to the bed."""
    return Tick(
        language.say("Machine cannot start"),
        language.say("hands off"),
        language.say("stopped"),
        reaching=True,
    )


def stopped_scrap_off(language: Language) -> Tick:
    """The same after an alignment: nothing of it may stay on the bed."""
    return evolve(
        stopped(language),
        short=language.say("stopped, scrap and shims off"),
        listed_as=language.say("stopped"),
    )


def cured(language: Language) -> Tick:
    """Asked before hands or tools touch print."""
    return Tick(
        language.say("Print fully cured"),
        language.say("do not touch"),
        language.say("cured"),
        reaching=True,
    )


def bed_clear(language: Language, gap: Spacers | Dial) -> Tick:
    """Asked before the next print: what was laid to set the gap must be off the bed again."""
    label = language.say("Gauge and spacers off the bed")
    if isinstance(gap, Dial):
        label = language.say("Gauge off the bed")
    return Tick(
        label,
        language.say("take them off"),
        language.say("tools off"),
    )


def nothing_left(language: Language) -> Tick:
    """Asked after handling with tools: the carriage would hit what stays on the bed."""
    return Tick(
        language.say("Nothing but the sheets left on the bed"),
        language.say("take it off"),
        language.say("bed clear"),
    )


def gauge_fits(language: Language) -> Tick:
    """Asked once a gap is set and measured."""
    return Tick(
        language.say("Gauge within its limits"),
        language.say("set it again; still outside: do not print, ask"),
        language.say("fits"),
    )


def thickness_fits(language: Language) -> Tick:
    """Asked once the thickness of the sheets was measured."""
    return Tick(
        language.say("Each sheet within its limits"),
        language.say("do not print, ask"),
        language.say("thickness fits"),
    )


def scrap_alone(language: Language) -> Tick:
    """Asked before a test pattern is printed."""
    return Tick(
        language.say("Nothing else on the bed but shims"),
        language.say("take it off"),
        language.say("scrap alone"),
    )


def directions_meet(language: Language, limit: str) -> Tick:
    """Asked of a test pattern, once the value is entered; `limit` is empty where none is known."""
    otherwise = language.say(
        "read more places; if none serves all, level bed and head or print one-way"
    )
    if not limit:
        label = language.say("Both directions meet at the value entered")
        return Tick(label, otherwise, language.say("meet"))
    label = language.say("Both directions so near at that value")
    return Tick(label, otherwise, language.say("meet within {limit}", limit=limit))


def band_alone(language: Language, names: str, span: str, highest: str) -> Tick:
    """Asked before a gap is set: what lies under the way of the head, and beside it."""
    return Tick(
        language.say(
            "Nothing else under the head, nothing higher on the bed (where the head parks is not"
            " known)"
        ),
        language.say("take it off"),
        language.say(
            "only {names} in y {span}, nothing over {highest} beside",
            names=names,
            span=span,
            highest=highest,
        ),
        listed_as=language.say("only, nothing over"),
    )


def taken_off(language: Language, name: str, later: str) -> Tick:
    """Asked before a gap is set: a sheet beside the band that the head could hit.

    `later` names the passes that the sheet is still to get, if there are any.
    """
    label = language.say(
        "{name} is off the bed: it stands too high, and where the head parks is not known",
        name=name,
    )
    otherwise = language.say("stop the machine and take it off")
    if later:
        otherwise = language.say(
            "stop the machine and take it off; it goes back on for {passes}", passes=later
        )
    return Tick(label, otherwise)


def head_keeps_off(language: Language, name: str) -> Tick:
    """The same of a sheet that must not move, since a later pass registers with one before."""
    return Tick(
        language.say(
            "{name} stays, and the head keeps off it, parking too: it stands too high", name=name
        ),
        language.say("do not print, ask whoever stated this job"),
    )


def put_on_again(language: Language, name: str, x: str, y: str) -> Tick:
    """Asked of a sheet that was taken off, before the head passes over its place again."""
    return Tick(
        language.say("{name} is on the bed again, corner at x {x}, y {y}", name=name, x=x, y=y),
        language.say("stop the machine and put it on"),
    )


def lies_flat(language: Language) -> Tick:
    """Asked of the sheets of a load of which one has a bow."""
    return Tick(
        language.say("No sheet further off the bed than told"),
        language.say("hold it flat or do not print"),
        language.say("lies flat"),
    )


def back_lies_up(language: Language, name: str) -> Tick:
    """Asked of a sheet that goes on with its back up."""
    return Tick(
        language.say("{name} lies with its back up", name=name),
        language.say("turn it over"),
    )


def put_back(language: Language, method: str) -> Tick:
    """Asked of a sheet that was moved and put back by a method."""
    return Tick(
        language.say("It touches {method} everywhere", method=method),
        language.say("put it back again before anything is printed"),
    )


def before_reaching(language: Language, *, inked: bool) -> tuple[Tick, ...]:
    """What to ask before hands or tools go to the bed; `inked` where there is print on it."""
    return (stopped(language), cured(language)) if inked else (stopped(language),)


def steps_on_ink(steps: Iterable[Step]) -> Iterator[int]:
    """The numbers of the steps at which there is print already on the bed load at hand."""
    load: str | None = None
    printed: set[str | None] = set()
    for number, step in enumerate(steps, start=1):
        if step.kind == "load":
            load = step.subject
        if load in printed:
            yield number
        if step.kind == "print":
            printed.add(load)
