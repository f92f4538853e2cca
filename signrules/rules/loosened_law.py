"""Signs that meet a table and would fail the law that the table loosens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Outcome
from signrules.rules.dimensions import in_words, judge_length
from signrules.rules.judged_relief import RELIEFS, judge_relief, measured_heights
from signrules.standards.dimension_tables import (
    SECTIONS,
    Standard,
    amended_tables,
    builtin_standards,
)

_BAD = (Outcome.BROKEN, Outcome.DOUBTFUL)


def failing_the_law(
    standard: Standard, signs: Mapping[str, Sign], heights: Heights
) -> Iterator[str]:
    """A sentence for each sign and quantity in which the sign fails a law that a table loosens.

    It is told of what signs state in one field, and of relief; not of kinds of sign.
    """
    # Most tables loosen nothing, and need no law to be filled up.
    laws = amended_tables(builtin_standards()) if standard.looser else {}
    for looser in standard.looser or ():
        law = laws.get(looser.law)
        section = looser.quantity.partition(".")[0]
        if law is None or section not in SECTIONS:
            continue
        for sign in signs.values():
            for draft in _judged_by_law(sign, law, looser.quantity, heights):
                measured_text = draft.found or quantity_text(draft.measured or 0.0, draft.unit)
                what = f"{draft.what} is {measured_text}"
                yield f"Under {law.id} the sign {sign.id} would fail: {what}."


def _judged_by_law(sign: Sign, law: Standard, quantity: str, heights: Heights) -> Iterator[Draft]:
    what = in_words(quantity)
    if quantity in RELIEFS.values():
        measured = measured_heights(sign, quantity)
        drafts = judge_relief(sign, (law,), heights, quantity, measured, what.removeprefix("the "))
    elif hasattr(SECTIONS[quantity.partition(".")[0]](), quantity.partition(".")[2]):
        drafts = judge_length(sign, (law,), quantity, what)
    else:
        return
    for draft in drafts:
        by_law = draft.source is not None and draft.source.kind == "standard"
        if by_law and draft.outcome in _BAD:
            yield draft
