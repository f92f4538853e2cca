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
        language.say("Hands off the bed until it is."),
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
        language.say("tools off"),
    )


def gauge_fits(language: Language) -> Tick:
    """Asked once a gap is set and measured."""
    return Tick(
        language.say("Gauge within its limits"),
        language.say(
            "Set the gap again. If it stays outside, do not print: measure the sheet, change the"
            " job."
        ),
        language.say("fits"),
    )


def thickness_fits(language: Language) -> Tick:
    """Asked once the thickness of the sheets was measured."""
    return Tick(
        language.say("Thickness of each sheet within its limits"),
        language.say("Do not print. Enter it in the job and make a new run sheet."),
        language.say("thickness fits"),
    )


def scrap_alone(language: Language) -> Tick:
    """Asked before a test pattern is printed."""
    return Tick(
        language.say("Nothing on the bed but the scrap and what raises it"),
        language.say("Do not print: the head would hit it. Clear the bed."),
        language.say("scrap alone"),
    )


def directions_register(language: Language) -> Tick:
    """Asked of a test pattern."""
    return Tick(
        language.say("Both directions register at the step entered"),
        language.say(
            "Read it again, at more places. If no step serves all, level bed and head, or print"
            " one-way."
        ),
        language.say("registers"),
    )


def band_alone(language: Language, names: str, span: str) -> Tick:
    """Asked before a pass: what lies under the way of the head."""
    return Tick(
        language.say("Only {names} from y = {span}", names=names, span=span),
        language.say("take the rest away"),
    )


def lies_flat(language: Language) -> Tick:
    """Asked of the sheets of a load of which one has a bow."""
    return Tick(
        language.say("No sheet further off the bed than is told"),
        language.say("Hold it down flat, or do not print."),
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
