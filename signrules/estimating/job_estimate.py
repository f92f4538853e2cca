"""The estimate: every amount with its price, and the sum, which says when something has none."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from itertools import chain
from typing import Any

from attrs import field, frozen

from signrules.documents.money import WIDE
from signrules.estimating.amounts import (
    DOTS,
    FIXED,
    INK,
    MINUTES,
    QUANTITIES,
    SHEETS,
    Amount,
    amounts_of_job,
    rounded_amount,
)
from signrules.estimating.rates import Rates
from signrules.evaluation import Evaluation, why_not_safe
from signrules.model.job import Job
from signrules.plain import fault_to_dict
from signrules.planning.plan import NoSafeOrder
from signrules.rules.engine import Fault
from signrules.shop import Shop

FORMAT = 1
"""The version of the shape that `Estimate.to_dict` gives."""


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


@frozen(eq=False)
class Estimate:
    """What a job takes and costs, in `currency`; all money is None without a rate table.

    `so_far` is the sum of the lines that have a price, `markup` the share of it that is added,
    `raised` what the minimum adds. `total` is None where a line is unpriced: a sum that leaves
    something out is no price. `ok`,
    `verdict`, `accepted` and `shop` are those of the evaluation: what was decided of the job, the
    failures that the shop accepts, each with its reason, and what it has set.
    """

    job: str
    ok: bool
    verdict: str
    lines: tuple[EstimateLine, ...]
    sheets: tuple[tuple[str, float, int, Decimal], ...]
    missing: tuple[str, ...]
    currency: str | None
    so_far: Decimal | None
    markup: Decimal | None
    raised: Decimal | None
    total: Decimal | None
    accepted: tuple[tuple[Fault, str], ...] = ()
    shop: Shop = field(factory=Shop)

    @property
    def complete(self) -> bool:
        """Whether there is a total: a rate table was given and every line has a price."""
        return self.total is not None

    @property
    def unpriced(self) -> tuple[EstimateLine, ...]:
        """The lines without a price."""
        return tuple(line for line in self.lines if line.price is None)

    def to_dict(self) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON. Money and amounts are text, so that no reader
        makes floats of them.
        """
        return {
            "signrules_estimate": FORMAT,
            "job": self.job,
            "ok": self.ok,
            "verdict": self.verdict,
            "complete": self.complete,
            "currency": self.currency,
            "lines": [
                {
                    "kind": line.kind,
                    "item": line.item,
                    "unit": line.unit,
                    "amount": _amount_text(line.amount),
                    "waste": _amount_text(line.waste),
                    "unit_price": _amount_text(line.unit_price),
                    "price": _amount_text(line.price),
                    "unpriced": line.unpriced,
                    "note": line.note,
                }
                for line in self.lines
            ],
            "sheets": [
                {
                    "material": material or None,
                    "thickness": thickness,
                    "sheets": count,
                    "area_m2": _amount_text(area),
                }
                for material, thickness, count, area in self.sheets
            ],
            "missing": list(self.missing),
            "so_far": _amount_text(self.so_far),
            "markup": _amount_text(self.markup),
            "raised_to_minimum": _amount_text(self.raised),
            "total": _amount_text(self.total),
            "accepted": [
                fault_to_dict(fault) | {"reason": reason} for fault, reason in self.accepted
            ],
            "shop": self.shop.to_dict(),
        }


def estimate(result: Evaluation, rates: Rates | None = None) -> Estimate:
    """What the plan of an evaluation takes and, with a rate table, what it costs.

    Raises NoSafeOrder where there is no plan to price.
    """
    if result.plan is None:
        raise NoSafeOrder(why_not_safe(result))
    with localcontext(WIDE):
        return _make_estimate(result, rates)


def _make_estimate(result: Evaluation, rates: Rates | None) -> Estimate:
    job = result.job
    pause_minutes, currency = None, None
    if rates is not None:
        pause_minutes, currency = rates.pause_minutes, rates.currency
    found = amounts_of_job(result, pause_minutes)
    lines = [_priced_line(amount, job, result, rates) for amount in found]
    if rates is not None:
        lines += _asked_for(result, rates)
        lines += _fixed_lines(rates)
    missing = chain.from_iterable(amount.missing for amount in found)
    return Estimate(
        job.name,
        result.ok,
        result.verdict,
        tuple(lines),
        _sheets_by_material(job),
        tuple(dict.fromkeys(missing)),
        currency,
        *_total_lines(lines, rates),
        accepted=result.accepted,
        shop=result.shop,
    )


def _fixed_lines(rates: Rates) -> Iterator[EstimateLine]:
    """The lines of the rate table that every job has once."""
    for one in rates.fixed:
        price = _money_amount(one.price, rates)
        yield EstimateLine(FIXED, one.name, "", Decimal(1), Decimal(0), one.price, price, None, "")


def _total_lines(
    lines: list[EstimateLine], rates: Rates | None
) -> tuple[Decimal | None, Decimal | None, Decimal | None, Decimal | None]:
    """The sum of the priced lines, the markup, what the minimum adds, the total."""
    if rates is None:
        return None, None, None, None
    so_far = sum(
        (line.price for line in lines if line.price is not None), _money_amount(Decimal(0), rates)
    )
    markup = _money_amount(so_far * rates.markup, rates)
    if any(line.price is None for line in lines):
        return so_far, markup, None, None
    raised = max(Decimal(0), _money_amount(rates.minimum, rates) - so_far - markup)
    return so_far, markup, _money_amount(raised, rates), so_far + markup + raised


def _priced_line(amount: Amount, job: Job, result: Evaluation, rates: Rates | None) -> EstimateLine:
    if rates is None:
        unpriced = _not_stated(amount) if amount.missing else None
        return EstimateLine(
            amount.kind,
            amount.item,
            amount.unit,
            amount.amount,
            Decimal(0),
            None,
            None,
            unpriced,
            amount.note,
        )
    unit_price, wanted = _unit_price(amount, job, rates)
    waste = {INK: rates.waste.ink, SHEETS: rates.waste.sheets}.get(amount.kind, Decimal(0))
    price, unpriced = None, None
    if amount.amount == 0 or unit_price == 0:
        # Nothing of a thing costs nothing, whatever it would cost; nor does what is free, however
        # much it takes.
        price = _money_amount(Decimal(0), rates)
    elif amount.amount is None:
        unpriced = _not_stated(amount)
    elif unit_price is None:
        unpriced = f"the rate table has no {wanted}"
    else:
        price = _money_amount(amount.amount * (1 + waste) * unit_price, rates)
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
    price = rates.ink.get(ink, rates.ink_role.get(role))
    return price, f"ink.{ink} or ink_role.{role}"


def _sheet_price(media: str, job: Job, rates: Rates) -> tuple[Decimal | None, str]:
    """The price of a sheet by its id, or by its material and its area."""
    if media in rates.sheet:
        return rates.sheet[media], ""
    sheet = job.media_named(media)
    wanted = f"sheet.{media}"
    if sheet.material:
        wanted += f" or sheet_m2.{sheet.material}"
    per_m2 = rates.sheet_m2.get(sheet.material or "")
    if per_m2 is None:
        return None, wanted
    return (per_m2 * _area_in_m2(sheet.size)).normalize(), wanted


def _asked_for(result: Evaluation, rates: Rates) -> Iterator[EstimateLine]:
    """Lines for what the rate table prices by name and is no line yet: own counts, and what the job
    does not have.
    """
    quantities = result.quantities
    for name, price in rates.quantity.items():
        if name not in quantities:
            reason = f"the job has no quantity {name}"
            yield EstimateLine(QUANTITIES, name, "", None, Decimal(0), price, None, reason, "")
        elif name in ("bed_loads", "gap_settings", "new_alignments"):
            count = rounded_amount(quantities[name])
            yield EstimateLine(
                QUANTITIES,
                name,
                "",
                count,
                Decimal(0),
                price,
                _money_amount(count * price, rates),
                None,
                "",
            )


def _sheets_by_material(job: Job) -> tuple[tuple[str, float, int, Decimal], ...]:
    """Count and area in m2 of the sheets of each material and nominal thickness in mm."""
    found: dict[tuple[str, float], tuple[int, Decimal]] = {}
    for sheet in job.media:
        key = sheet.material or "", sheet.thickness.nominal
        count, area = found.get(key, (0, Decimal(0)))
        found[key] = count + 1, area + _area_in_m2(sheet.size)
    return tuple(
        (material, thickness, count, area) for (material, thickness), (count, area) in found.items()
    )


def _area_in_m2(size: tuple[float, float]) -> Decimal:
    """Width x height in m2, to the square millimetre."""
    width, height = (Decimal(repr(side)) for side in size)
    return (width * height / 1_000_000).quantize(Decimal("0.000001"), ROUND_HALF_EVEN)


def _money_amount(value: Decimal, rates: Rates) -> Decimal:
    """An amount of money to the decimals of its currency, half to even, never a negative zero."""
    return value.quantize(Decimal(1).scaleb(-rates.decimals), ROUND_HALF_EVEN) + 0


def _amount_text(value: Decimal | None) -> str | None:
    return None if value is None else f"{value:f}"
