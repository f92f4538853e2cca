"""What a step asks of whoever stands at the machine, and what to do where the answer is no.

Common practice, no published source, but where another is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from signrules.model.printer import Dial, Spacers
from signrules.physics.timeline import Step
from signrules.sheet.blocks import Tick
from signrules.sheet.language import Language


def stopped(language: Language) -> Tick:
    """Asked before hands or tools go to the bed."""
    return Tick(
        language.say("Machine stopped so that it cannot start"),
        language.say("Keep your hands off the bed until it is."),
        language.say("stopped"),
    )


def cured(language: Language) -> Tick:
    """Asked before hands or tools touch print."""
    return Tick(
        language.say("Print fully cured where hands or tools touch it"),
        language.say("Touch nothing. Cure it fully first."),
        language.say("cured"),
    )


def bed_clear(language: Language, gap: Spacers | Dial) -> Tick:
    """Asked before the next print: what was laid to set the gap must be off the bed again."""
    label = language.say("Gauge and spacers off the bed")
    if isinstance(gap, Dial):
        label = language.say("Gauge off the bed")
    return Tick(
        label,
        language.say("Do not print: the head would hit them. Take them off."),
        language.say("tools off the bed"),
    )


def gauge_fits(language: Language) -> Tick:
    """Asked once a gap is set and measured."""
    return Tick(
        language.say("Gauge within its limits"),
        language.say(
            "Set the gap again. If it stays outside, do not print: have the sheet measured and the"
            " job changed."
        ),
        language.say("gauge fits"),
    )


def thickness_fits(language: Language) -> Tick:
    """Asked once the thickness of the sheets was measured."""
    return Tick(
        language.say("Thickness of each sheet within its limits"),
        language.say("Do not print. Enter what was measured in the job and make a new sheet."),
    )


def scrap_alone(language: Language) -> Tick:
    """Asked before a test pattern is printed."""
    return Tick(
        language.say("Nothing on the bed but the scrap and what raises it"),
        language.say("Do not print: the head would hit it. Clear the bed."),
    )


def directions_register(language: Language) -> Tick:
    """Asked of a test pattern."""
    return Tick(
        language.say("Both directions register at the step entered"),
        language.say(
            "Read the pattern again, at more places. If no step serves all of them, level bed and"
            " head, or print one-way."
        ),
    )


def band_alone(language: Language, names: str, span: str) -> Tick:
    """Asked before a pass: what lies under the way of the head."""
    return Tick(
        language.say("Only {names} from y = {span}", names=names, span=span),
        language.say("Take the rest away: the head passes over it."),
    )


def lies_flat(language: Language, name: str, bow: str) -> Tick:
    """Asked of a sheet with a bow, before a pass over it."""
    return Tick(
        language.say("{name} at most {bow} off the bed", name=name, bow=bow),
        language.say("Do not print. Hold it down flat, or leave it out."),
    )


def back_lies_up(language: Language, name: str) -> Tick:
    """Asked of a sheet that goes on with its back up."""
    return Tick(
        language.say("{name} lies with its back up", name=name),
        language.say("Turn it over before anything is printed."),
    )


def put_back(language: Language, method: str) -> Tick:
    """Asked of a sheet that was moved and put back by a method."""
    return Tick(
        language.say("It touches {method} everywhere", method=method),
        language.say("Take it off and put it back again, before anything is printed."),
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
