"""Messages for the person at the machine: what, where, by how much, what to do."""

from __future__ import annotations

from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import DECIMALS, decimals_apart, number_text
from signrules.rules.checks import Draft, Outcome


def quantity_text(value: Interval | float, unit: str, decimals: int = DECIMALS) -> str:
    """A number or an interval with its unit."""
    if isinstance(value, float | int):
        number = number_text(value, decimals)
        return f"{number} {_single(unit) if number == '1' else unit}".strip()
    low, high = number_text(value.low, decimals), number_text(value.high, decimals)
    return (f"{low} {unit}" if low == high else f"{low} to {high} {unit}").strip()


def _single(unit: str) -> str:
    """One of what a unit counts, as layers; a symbol, such as s, is no word."""
    if len(unit) < _SHORTEST_WORD or not unit.isalpha() or not unit.endswith("s"):
        return unit
    if unit.endswith(("sses", "xes", "ches", "shes")):
        return unit.removesuffix("es")
    return unit if unit.endswith(("ss", "ies")) else unit.removesuffix("s")


_SHORTEST_WORD = 4


def check_message(subject: str, draft: Draft) -> str:
    """The sentence for a judged draft."""
    outcome = draft.outcome
    if outcome is Outcome.UNASSESSED:
        why = draft.told or draft.advice or f"the job does not state {draft.missing}"
        return f"{subject}: {draft.what} cannot be assessed: {why}."
    # A check that holds shows its numbers; words on what is wrong are for one that does not.
    if draft.told and outcome is Outcome.BROKEN:
        return f"{subject}: {draft.told}. {draft.advice}".rstrip()
    text = f"{subject}: {draft.what} {_comparison_text(draft, outcome)}."
    return f"{text} {draft.advice}" if draft.advice and outcome is not Outcome.MET else text


def _comparison_text(draft: Draft, outcome: Outcome) -> str:
    # Words are compared with words; the number of deviations is for the engine.
    if draft.found is not None:
        wanted = draft.limit_text or f"{' or '.join(draft.allowed)} is required"
        return f"is {draft.found}" if outcome is Outcome.MET else f"is {draft.found}, {wanted}"
    assert draft.measured is not None
    # Enough decimals that a value which misses its limit never reads like the limit itself.
    decimals = decimals_apart(draft.margin or 0.0, 0.0)
    measured = quantity_text(draft.measured, draft.unit, decimals)
    limit = draft.limit_text or _limit_text(draft, decimals)
    if not limit:
        return f"is {measured}"
    if outcome is Outcome.MET or draft.margin is None:
        return f"is {measured} ({limit})"
    # "At most 0, 2 too much" is true, and nobody would say it.
    if draft.most == 0 and draft.least is None and not draft.limit_text:
        return f"is {measured}, and must be 0"
    short = quantity_text(abs(draft.margin), draft.unit, decimals)
    if outcome is Outcome.DOUBTFUL:
        text = f"is {measured} ({limit}): it holds"
        if _misses_at_both_ends(draft.measured, draft.least, draft.most):
            return (
                f"{text} only between the ends of the tolerance and misses by {short} at the worse"
                " end"
            )
        return f"{text} at one end of the tolerance and misses by {short} at the other"
    # The margin is the lesser of two differences, so equality tells which of them it came from.
    below = draft.least is not None and draft.measured.low - draft.least == draft.margin
    return f"is {measured} ({limit}): {short} too {'little' if below else 'much'}"


def _misses_at_both_ends(measured: Interval, least: float | None, most: float | None) -> bool:
    if least is None or most is None:
        return False
    return measured.low < least - GUARD_MM and measured.high > most + GUARD_MM


def _limit_text(draft: Draft, decimals: int) -> str:
    least, most = draft.least, draft.most
    if draft.strictly:
        return f"must be more than {quantity_text(least or 0.0, draft.unit, decimals)}"
    if least is not None and most is not None:
        return f"must be {quantity_text(Interval.between(least, most), draft.unit, decimals)}"
    if least is not None:
        return f"must be at least {quantity_text(least, draft.unit, decimals)}"
    return "" if most is None else f"must be at most {quantity_text(most, draft.unit, decimals)}"
