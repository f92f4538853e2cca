"""The estimate: every amount with its price, and the sum, which says when something has none."""

from __future__ import annotations

from decimal import Decimal, localcontext
from itertools import chain
from typing import Any

from attrs import evolve, field, frozen

from signrules.documents.money import WIDE
from signrules.estimating.amounts import amounts_of_job
from signrules.estimating.plugin_lines import lines_of_plugins
from signrules.estimating.pricing import (
    AddedLine,
    EstimateLine,
    amount_text,
    area_in_m2,
    asked_for,
    fixed_lines,
    priced_line,
    totals_of,
)
from signrules.estimating.rates import Rates
from signrules.evaluation import Evaluation, why_not_safe
from signrules.given_values import demand_bounds, demand_given
from signrules.model.job import Job
from signrules.plain import fault_to_dict
from signrules.planning.plan import NoSafeOrder
from signrules.plugins import Plugins
from signrules.rules.engine import Fault
from signrules.shop import Shop

FORMAT = 1
"""The version of the shape that `Estimate.to_dict` gives."""


@frozen(eq=False)
class Estimate:
    """What a job takes and costs, in `currency`; all money is None without a rate table.

    `so_far` is the sum of the lines that have a price, `markup` the share of it that is added,
    `raised` what the minimum adds. `total` is None where a line is unpriced: a sum that leaves
    something out is no price. `added` are the lines of plugins, `faults` the plugins whose lines
    could not be had; then there is no total either. `ok`,
    `verdict`, `accepted` and `shop` are those of the evaluation: what was decided of the job, the
    failures that the shop accepts, each with its reason, and what it has set. `sign_count` is how
    many signs the job has.
    """

    job: str
    ok: bool
    verdict: str
    sign_count: int
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
    added: tuple[AddedLine, ...] = ()
    faults: tuple[Fault, ...] = ()

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
            "sign_count": self.sign_count,
            "lines": [line.to_dict() for line in self.lines],
            "sheets": [
                {
                    "material": material or None,
                    "thickness": thickness,
                    "sheets": count,
                    "area_m2": amount_text(area),
                }
                for material, thickness, count, area in self.sheets
            ],
            "missing": list(self.missing),
            "so_far": amount_text(self.so_far),
            "markup": amount_text(self.markup),
            "raised_to_minimum": amount_text(self.raised),
            "price_lines": [line.to_dict() for line in self.added],
            "total": amount_text(self.total),
            "faults": [fault_to_dict(fault) for fault in self.faults],
            "accepted": [
                fault_to_dict(fault) | {"reason": reason} for fault, reason in self.accepted
            ],
            "shop": self.shop.to_dict(),
        }


def estimate(
    result: Evaluation,
    rates: Rates | None = None,
    *,
    plugins: Plugins | None = None,
    seconds: float | None = None,
) -> Estimate:
    """What the plan of an evaluation takes and, with a rate table, what it costs.

    `plugins` add their lines where all else has a price, `seconds` is the most time for each.
    Raises NoSafeOrder where there is no plan to price.
    """
    demand_given("estimate", (result, Evaluation), (rates, Rates | None), (plugins, Plugins | None))
    demand_bounds(seconds=seconds)
    if result.plan is None:
        raise NoSafeOrder(why_not_safe(result))
    # Money is exact whatever precision a caller has set for its own decimals.
    with localcontext(WIDE):
        made = _make_estimate(result, rates)
        if rates is None or plugins is None or made.total is None:
            return made
        # Asked last: a plugin may take a share of the sum, so all else must have a price.
        further = lines_of_plugins(made, rates, plugins, result.shop, seconds)
        totals = totals_of(made.lines, rates, further.added, lacking=bool(further.faults))
        return evolve(
            made,
            raised=totals.raised,
            total=totals.total,
            added=further.added,
            faults=further.faults,
            accepted=(*made.accepted, *further.accepted),
        )


def _make_estimate(result: Evaluation, rates: Rates | None) -> Estimate:
    job = result.job
    pause_minutes, currency = None, None
    if rates is not None:
        pause_minutes, currency = rates.pause_minutes, rates.currency
    found = amounts_of_job(result, pause_minutes)
    lines = [priced_line(amount, job, rates) for amount in found]
    if rates is not None:
        lines += asked_for(result, rates)
        lines += fixed_lines(rates)
    missing = chain.from_iterable(amount.missing for amount in found)
    totals = totals_of(lines, rates)
    return Estimate(
        job.name,
        result.ok,
        result.verdict,
        len(job.signs),
        tuple(lines),
        _sheets_by_material(job),
        tuple(dict.fromkeys(missing)),
        currency,
        totals.so_far,
        totals.markup,
        totals.raised,
        totals.total,
        accepted=result.accepted,
        shop=result.shop,
    )


def _sheets_by_material(job: Job) -> tuple[tuple[str, float, int, Decimal], ...]:
    """Count and area in m2 of the sheets of each material and nominal thickness in mm."""
    found: dict[tuple[str, float], tuple[int, Decimal]] = {}
    for sheet in job.media:
        key = sheet.material or "", sheet.thickness.nominal
        count, area = found.get(key, (0, Decimal(0)))
        found[key] = count + 1, area + area_in_m2(sheet.size)
    return tuple(
        (material, thickness, count, area) for (material, thickness), (count, area) in found.items()
    )
