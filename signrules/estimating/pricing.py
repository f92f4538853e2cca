"""What a rate table makes of amounts: a price for each line, and why a line has none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from attrs import frozen

from signrules.estimating.amounts import (
    DOTS,
    FIXED,
    INK,
    MINUTES,
    QUANTITIES,
    SHEETS,
    Amount,
    rounded_amount,
)
from signrules.estimating.rates import Rates
from signrules.evaluation import Evaluation
from signrules.model.job import Job
from signrules.model.media import Media


@frozen
class EstimateLine:
    """One amount with its price: amount x (1 + waste) x unit price, rounded half to even.

    `price` is None where the amount or its unit price is not known; `unpriced` then says why.
    """

    kind: str
    item: str
    unit: str
    amount: Decimal | None
    waste: Decimal
    unit_price: Decimal | None
    price: Decimal | None
    unpriced: str | None
    note: str

    def to_dict(self) -> dict[str, Any]:
        """Plain data; money and amounts are text."""
        return {
            "kind": self.kind,
            "item": self.item,
            "unit": self.unit,
            "amount": amount_text(self.amount),
            "waste": amount_text(self.waste),
            "unit_price": amount_text(self.unit_price),
            "price": amount_text(self.price),
            "unpriced": self.unpriced,
            "note": self.note,
        }


@frozen
class AddedLine:
    """A line that a plugin adds: `share` is that of the sum with its markup, None of a price."""

    plugin: str
    name: str
    share: Decimal | None
    price: Decimal

    def to_dict(self) -> dict[str, Any]:
        """Plain data; money and shares are text."""
        return {
            "plugin": self.plugin,
            "name": self.name,
            "share": amount_text(self.share),
            "price": amount_text(self.price),
        }


@frozen
class Totals:
    """The sum of the priced lines, the markup, what the minimum adds, the total.

    The last two are None where something has no price; all are without a rate table.
    """

    so_far: Decimal | None = None
    markup: Decimal | None = None
    raised: Decimal | None = None
    total: Decimal | None = None


def totals_of(
    lines: Iterable[EstimateLine],
    rates: Rates | None,
    added: Iterable[AddedLine] = (),
    *,
    lacking: bool = False,
) -> Totals:
    """What lines come to; `lacking` says that something else has no price."""
    if rates is None:
        return Totals()
    prices = [line.price for line in lines]
    so_far = sum((price for price in prices if price is not None), money_amount(Decimal(0), rates))
    markup = money_amount(so_far * rates.markup, rates)
    # A total that leaves something out would be taken for a price.
    if lacking or None in prices:
        return Totals(so_far, markup)
    before = so_far + markup + sum(line.price for line in added)
    # The minimum is for all of it: discounts of plugins are taken off before.
    raised = max(Decimal(0), money_amount(rates.minimum, rates) - before)
    return Totals(so_far, markup, money_amount(raised, rates), before + raised)


def fixed_lines(rates: Rates) -> Iterator[EstimateLine]:
    """The lines of the rate table that every job has once."""
    for one in rates.fixed:
        price = money_amount(one.price, rates)
        yield EstimateLine(FIXED, one.name, "", Decimal(1), Decimal(0), one.price, price, None, "")


def priced_line(amount: Amount, job: Job, rates: Rates | None) -> EstimateLine:
    """An amount of a job with its price."""
    if rates is None:
        unpriced = _not_stated(amount) if amount.missing else None
        return _line_of(amount, Decimal(0), None, None, unpriced)
    return line_at(amount, *_unit_price(amount, job, rates), rates)


def line_at(amount: Amount, unit_price: Decimal | None, wanted: str, rates: Rates) -> EstimateLine:
    """An amount with its price; `wanted` is the key of the rate table that has none for it."""
    waste = {INK: rates.waste.ink, SHEETS: rates.waste.sheets}.get(amount.kind, Decimal(0))
    price, unpriced = None, None
    if amount.amount == 0 or unit_price == 0:
        # Nothing of a thing costs nothing, whatever it would cost; nor does what is free, however
        # much it takes.
        price = money_amount(Decimal(0), rates)
    elif amount.amount is None:
        unpriced = _not_stated(amount)
    elif unit_price is None:
        unpriced = f"the rate table has no {wanted}"
    else:
        price = money_amount(amount.amount * (1 + waste) * unit_price, rates)
    return _line_of(amount, waste, unit_price, price, unpriced)


def _line_of(
    amount: Amount,
    waste: Decimal,
    unit_price: Decimal | None,
    price: Decimal | None,
    unpriced: str | None,
) -> EstimateLine:
    return EstimateLine(
        amount.kind,
        amount.item,
        amount.unit,
        amount.amount,
        waste,
        unit_price,
        price,
        unpriced,
        amount.note,
    )


def _not_stated(amount: Amount) -> str:
    return f"not stated: {', '.join(amount.missing)}"


def _unit_price(amount: Amount, job: Job, rates: Rates) -> tuple[Decimal | None, str]:
    """The price of one unit, and which key of the rate table would say it."""
    item = amount.item
    if amount.kind == MINUTES:
        return rates.minute.of_kind(item), f"minute.{item} or minute.all"
    if amount.kind == INK:
        return _ink_price(item, job, rates)
    if amount.kind == SHEETS:
        return _sheet_price(item, job, rates)
    if amount.kind == DOTS:
        return rates.dot, "dot"
    return rates.quantity.get(item), f"quantity.{item}"


def _ink_price(ink: str, job: Job, rates: Rates) -> tuple[Decimal | None, str]:
    role = job.ink_named(ink).role
    if not role:
        return rates.ink.get(ink), f"ink.{ink}"
    # An ink that is priced by its id goes before all inks of its role.
    price = rates.ink.get(ink, rates.ink_role.get(role))
    return price, f"ink.{ink} or ink_role.{role}"


def _sheet_price(media: str, job: Job, rates: Rates) -> tuple[Decimal | None, str]:
    sheet = job.media_named(media)
    return sheet_price(media, sheet, sheet.size, rates)


def sheet_price(
    id: str, sheet: Media, size: tuple[float, float], rates: Rates
) -> tuple[Decimal | None, str]:
    """The price of a sheet by an id, or by the material of a sheet and a size; and which key of the
    rate table would say it.
    """
    if id in rates.sheet:
        return rates.sheet[id], ""
    wanted = f"sheet.{id}"
    if sheet.material:
        wanted += f" or sheet_m2.{sheet.material}"
    per_m2 = rates.sheet_m2.get(sheet.material or "")
    if per_m2 is None:
        return None, wanted
    return (per_m2 * area_in_m2(size)).normalize(), wanted


def asked_for(
    result: Evaluation, rates: Rates, *, gap_is_kept: bool = False
) -> Iterator[EstimateLine]:
    """Lines for what the rate table prices by name and is no line yet: own counts, and what the job
    does not have.
    """
    quantities = result.quantities
    for name, price in rates.quantity.items():
        if name not in quantities:
            reason = f"the job has no quantity {name}"
            yield EstimateLine(QUANTITIES, name, "", None, Decimal(0), price, None, reason, "")
        elif name in ("bed_loads", "gap_settings", "new_alignments"):
            # A setting that was kept was not made, and is not charged.
            kept = gap_is_kept and name == "gap_settings"
            count = rounded_amount(quantities[name] - kept)
            yield EstimateLine(
                QUANTITIES,
                name,
                "",
                count,
                Decimal(0),
                price,
                money_amount(count * price, rates),
                None,
                "",
            )


def area_in_m2(size: tuple[float, float]) -> Decimal:
    """Width x height in m2, to the square millimetre."""
    width, height = (Decimal(repr(side)) for side in size)
    return (width * height / 1_000_000).quantize(Decimal("0.000001"), ROUND_HALF_EVEN)


def money_amount(value: Decimal, rates: Rates) -> Decimal:
    """An amount of money to the decimals of its currency, half to even, never a negative zero."""
    # Half to even: rounded up each time, thousands of lines would come to too much.
    return value.quantize(Decimal(1).scaleb(-rates.decimals), ROUND_HALF_EVEN) + 0


def amount_text(value: Decimal | None) -> str | None:
    """A number as text, for plain data."""
    return None if value is None else f"{value:f}"
