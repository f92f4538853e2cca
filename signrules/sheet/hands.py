"""What a step asks of whoever reaches to the bed: common practice, no published source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from signrules.model.printer import Dial, Spacers
from signrules.physics.timeline import Step

STOPPED = "Machine stopped so that it cannot start?"
CURED = "Every print that hands or tools touch fully cured?"


SCRAP_ALONE = "Gauge and spacers off the bed, nothing on it but the scrap and what raises it?"


def before_reaching(*, inked: bool) -> tuple[str, ...]:
    """What to ask before hands or tools go to the bed; `inked` where there is print on it."""
    return (STOPPED, CURED) if inked else (STOPPED,)


def bed_is_clear(gap: Spacers | Dial) -> str:
    """What to ask before the next print: what was laid to set the gap must be off the bed again."""
    if isinstance(gap, Dial):
        return "Gauge off the bed again? The dial sets this gap: no spacer is laid."
    return "Gauge and spacers off the bed again?"


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
