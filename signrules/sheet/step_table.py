"""Which step to enter for the readings of a test pattern, as a table on paper."""

from __future__ import annotations

from signrules.physics.alignment_pattern import read_alignment
from signrules.sheet.language import Language

MOST_PLACES = 5
"""Places across the bed that the form has room for; any number may be read."""

FURTHEST_STEP = 4
FURTHEST_SUM_ON_SCREEN = 40

Entry = tuple[str, str]
"""Sums of the lowest and the highest reading, and the step that serves best."""


def steps_to_enter(language: Language) -> list[Entry]:
    """The step to enter by the sum of the lowest and the highest reading.

    The step that leaves the least error at the worst place lies halfway between these two, so the
    readings between them do not count, but where two whole steps are equally good: at the sums
    that end one range and begin the next.
    """
    entries = []
    for step in range(-FURTHEST_STEP, FURTHEST_STEP + 1):
        first, last = map(language.figure, (2 * step - 1, 2 * step + 1))
        entries.append(
            (language.say("{low} to {high}", low=first, high=last), language.figure(step))
        )
    return entries


def steps_by_sum(language: Language) -> dict[str, str]:
    """The same for a screen: by more sums, each half of a step, as a script writes them."""
    halves = range(-2 * FURTHEST_SUM_ON_SCREEN, 2 * FURTHEST_SUM_ON_SCREEN + 1)
    return {f"{half / 2:g}": _steps_of_sum(half / 2, language) for half in halves}


def _steps_of_sum(total: float, language: Language) -> str:
    """The best step where readings lie evenly on both sides; two where either serves as well."""
    serving = {_step_for(total, leaning) for leaning in (-1, 1)}
    low, high = (language.figure(step) for step in (min(serving), max(serving)))
    return low if low == high else language.say("{low} or {high}", low=low, high=high)


def _step_for(total: float, leaning: int) -> int:
    """The step that `read_alignment` gives for readings with this sum, most of them at one end."""
    low, high = total / 2 - 1, total / 2 + 1
    most = low if leaning < 0 else high
    readings = [(0.0, low), (1.0, high), (2.0, most)]
    return read_alignment(
        readings, step_mm=1.0, reading_uncertainty=0.0, carriage_speed=1.0, drop_speed=1.0
    ).step
