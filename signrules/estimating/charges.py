"""Lines with those who bear them, and what each bears."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from attrs import evolve, frozen

from signrules.estimating.amounts import DOTS, INK, KINDS, MINUTES
from signrules.estimating.order_estimate import Takes, Unpriced
from signrules.estimating.pricing import EstimateLine
from signrules.estimating.shares import Weight, split_exactly

AMOUNT_STEP = Decimal("0.0001")
MINUTES_OF = {
    "alignments": "setup_minutes",
    "loads": "setup_minutes",
    "gaps": "setup_minutes",
    "handling": "handling_minutes",
    "waiting": "pause_minutes",
    "printing": "printing_minutes",
}
"""What the minutes of a line are told as."""

AMOUNTS = ("setup_minutes", "handling_minutes", "pause_minutes", "printing_minutes", "ink_ml")
"""What is told of each sign, beside its price."""


@frozen
class Charge:
    """A line, the load whose job it is of, and weights of those who bear it, by their numbers."""

    line: EstimateLine
    load: str
    weights: Mapping[int, Weight]

    def shares(self, whole: Decimal | None, step: Decimal) -> Iterator[tuple[int, Decimal]]:
        """What each bears of a whole; nothing where that is not known."""
        if whole is not None and self.weights:
            yield from zip(
                self.weights, split_exactly(whole, list(self.weights.values()), step), strict=True
            )


Borne = dict[int, Decimal | None]
"""What each bears of something, by number; None where that is not known."""


def amounts_borne(charges: Iterable[Charge], numbers: Iterable[int]) -> dict[str, Borne]:
    """Minutes and mL of ink, by what they are and by who bears them."""
    who = tuple(numbers)
    found: dict[str, Borne] = {kind: dict.fromkeys(who, Decimal(0)) for kind in AMOUNTS}
    for charge in charges:
        kind = _kind_of_amount(charge.line)
        if not kind:
            continue
        borne = found[kind]
        if charge.line.amount is None:
            # Whoever bears a part of what is not known does not know its own sum either.
            borne.update(dict.fromkeys(charge.weights))
        for number, share in charge.shares(charge.line.amount, AMOUNT_STEP):
            known = borne[number]
            borne[number] = None if known is None else known + share
    return found


def _kind_of_amount(line: EstimateLine) -> str:
    if line.kind == INK:
        return "ink_ml"
    if line.kind == MINUTES:
        return MINUTES_OF[line.item]
    return ""


def prices_borne(charges: Iterable[Charge], step: Decimal) -> dict[int, Decimal]:
    """What each bears of the prices of lines."""
    found: dict[int, Decimal] = {}
    for charge in charges:
        for number, share in charge.shares(charge.line.price, step):
            found[number] = found.get(number, Decimal(0)) + share
    return found


def sum_of_takes(parts: Iterable[Takes]) -> Takes:
    """What several take together; what one of them does not know, the sum does not."""
    every = tuple(parts)
    return Takes(
        sum_if_known([each.setup_minutes for each in every]),
        sum_if_known([each.handling_minutes for each in every]),
        sum_if_known([each.pause_minutes for each in every]),
        sum_if_known([each.printing_minutes for each in every]),
        sum_if_known([each.ink_ml for each in every]),
        sum_if_known([each.so_far for each in every]),
        sum_if_known([each.price for each in every]),
    )


def sum_if_known(values: Sequence[Decimal | None]) -> Decimal | None:
    """The sum of some numbers; None where one is not known, and where there are none."""
    known = [value for value in values if value is not None]
    if len(known) < len(values) or not values:
        return None
    return sum(known, Decimal(0))


def merged_lines(lines: Iterable[EstimateLine]) -> tuple[EstimateLine, ...]:
    """Lines of the same thing at the same unit price as one; dots are counted together.

    An amount that one of them does not know, the merged line does not. Nothing of a
    thing is told only where there is no other line of it.
    """
    groups: dict[tuple[object, ...], list[EstimateLine]] = {}
    for line in lines:
        item = "of all signs" if line.kind == DOTS else line.item
        # A line without a price stays a line of its own, so that it is seen that a price is
        # missing.
        key = (line.kind, item, line.unit, line.waste, line.unit_price, line.price is None)
        groups.setdefault(key, []).append(evolve(line, item=item))
    merged = [_merged_line(group) for group in groups.values()]
    # "None" of a thing on one load says nothing where another load takes some.
    some = {_what_of(line) for line in merged if line.amount != 0}
    told = [line for line in merged if line.amount != 0 or _what_of(line) not in some]
    return tuple(sorted(told, key=lambda line: KINDS.index(line.kind)))


def _what_of(line: EstimateLine) -> tuple[str, str, str]:
    return line.kind, line.item, line.unit


def _merged_line(group: Sequence[EstimateLine]) -> EstimateLine:
    if len(group) == 1:
        return group[0]
    notes = {line.note for line in group}
    reasons = dict.fromkeys(line.unpriced for line in group if line.unpriced)
    return evolve(
        group[0],
        amount=sum_if_known([line.amount for line in group]),
        price=sum_if_known([line.price for line in group]),
        unpriced="; ".join(map(general_cause, reasons)) or None,
        note=notes.pop() if len(notes) == 1 and group[0].kind != MINUTES else "",
    )


_OF_ONE_SIGN = re.compile(r"\bsigns\.[^.,]+\.")


def general_cause(reason: str) -> str:
    """A reason that would be another for each sign, for all of them."""
    return _OF_ONE_SIGN.sub("signs.*.", reason)


def unpriced_causes(charges: Iterable[Charge]) -> Iterator[tuple[str, str]]:
    """Why lines have no price, and the sign or the load."""
    for charge in charges:
        if charge.line.price is None and charge.line.unpriced:
            on = charge.line.item if charge.line.kind == DOTS else charge.load
            yield general_cause(charge.line.unpriced), on


def grouped_causes(causes: Iterable[tuple[str, str]]) -> tuple[Unpriced, ...]:
    """Each cause once, with all that it concerns."""
    found: dict[str, dict[str, None]] = {}
    for cause, on in causes:
        concerns = found.setdefault(cause, {})
        if on:
            concerns[on] = None
    return tuple(Unpriced(cause, tuple(on)) for cause, on in found.items())
