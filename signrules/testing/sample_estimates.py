"""Estimates that hooks are tried on: of one job and of many, cheap and dear. All are invented."""

from __future__ import annotations

from functools import cache

from signrules.catalogue.materials import sample_job
from signrules.documents.reading import job_from_dict
from signrules.estimating import (
    Estimate,
    Rates,
    WorkOrderEstimate,
    estimate,
    estimate_jobs,
    rates_from_dict,
)
from signrules.estimating.plugin_lines import PluginLines, lines_of_plugins
from signrules.evaluation import evaluate
from signrules.plugins import Plugins
from signrules.shop import Shop

CHEAP, DEAR = "0.07", "9999.99"
MANY_JOBS = 60


def _rates_at(price: str) -> Rates:
    """A rate table that prices all of the sample job; minutes are free, since it states none."""
    return rates_from_dict(
        {
            "signrules_rates": 1,
            "currency": "EUR",
            "minute": {"all": 0},
            "dot": price,
            "ink_role": {"colour": price, "clear": price, "white": price},
            "sheet": {sheet["id"]: price for sheet in sample_job()["media"]},
        }
    )


@cache
def sample_estimates() -> tuple[tuple[Estimate | WorkOrderEstimate, Rates], ...]:
    """Estimates of which every line has a price, each with its rate table."""
    result = evaluate(job_from_dict(sample_job()))
    many = {f"job-{number}": result for number in range(1, MANY_JOBS + 1)}
    found: list[tuple[Estimate | WorkOrderEstimate, Rates]] = []
    # A line that is a share of the sum, or a minimum, shows its edge at one end or the other.
    for price in (CHEAP, DEAR):
        rates = _rates_at(price)
        found.append((estimate(result, rates), rates))
        found.append((estimate_jobs("sixty doors", many, rates), rates))
    return tuple(found)


def lines_told(plugins: Plugins) -> list[PluginLines]:
    """What plugins add to each of the sample estimates."""
    return [
        lines_of_plugins(found, rates, plugins, Shop(), None) for found, rates in sample_estimates()
    ]
