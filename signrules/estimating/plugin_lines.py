"""The lines that plugins add to an estimate."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, DefaultContext, localcontext
from functools import partial
from typing import Any, Protocol

from attrs import frozen

from signrules.errors import PluginError
from signrules.estimating.pricing import AddedLine, money_amount
from signrules.estimating.rates import Rates
from signrules.hook_answers import price_lines_from
from signrules.model.price_line import PriceLine
from signrules.plugins import Plugins, hook_fault
from signrules.rules.containment import Contained, call_contained
from signrules.rules.engine import Fault
from signrules.shop import Shop

_HOOK = "signrules_price_lines"


class Priced(Protocol):
    """An estimate of which every line has a price."""

    @property
    def so_far(self) -> Decimal | None:
        """The sum of its lines."""

    @property
    def markup(self) -> Decimal | None:
        """What is added to the sum."""

    def to_dict(self) -> dict[str, Any]:
        """The estimate as plain data."""


@frozen
class PluginLines:
    """The lines of plugins; the faults of those that failed, and those that the shop accepts."""

    added: tuple[AddedLine, ...]
    faults: tuple[Fault, ...]
    accepted: tuple[tuple[Fault, str], ...]


NO_LINES = PluginLines((), (), ())


def lines_of_plugins(
    estimate: Priced, rates: Rates, plugins: Plugins, shop: Shop, seconds: float | None
) -> PluginLines:
    """What plugins add to an estimate, by their names; `seconds` is the most time for each."""
    shop = shop.with_whole_names(plugins.names)
    assert estimate.so_far is not None
    assert estimate.markup is not None
    # A share is one of this sum for every plugin: none is a share of what another has added.
    before = estimate.so_far + estimate.markup
    added: list[AddedLine] = []
    faults: list[Fault] = []
    for plugin, found in _answers(estimate, plugins.configured(shop), seconds):
        if isinstance(found, Fault):
            faults.append(found)
        else:
            added += (_added_line(plugin, line, before, rates) for line in found)
    accepted = [(fault, shop.accepts(fault)) for fault in faults if shop.accepts(fault)]
    held = [fault for fault in faults if not shop.accepts(fault)]
    return PluginLines(tuple(added), tuple(held), tuple(accepted))


def _answers(
    estimate: Priced, plugins: Plugins, seconds: float | None
) -> Iterator[tuple[str, list[PriceLine] | Fault]]:
    """What each plugin answers, by its name. Each gets plain data of its own to look at."""
    for one, hook in plugins.implementing(_HOOK):
        asked = partial(hook, estimate=estimate.to_dict())
        try:
            # Plugins calculate as they would by themselves, not with our many digits.
            with localcontext(DefaultContext):
                found = call_contained(partial(price_lines_from, asked), seconds)
            yield one.name, found
        except (Contained, PluginError) as error:
            yield one.name, hook_fault(_HOOK, one, "estimate", error)


def _added_line(plugin: str, line: PriceLine, before: Decimal, rates: Rates) -> AddedLine:
    price = line.price
    if line.share is not None:
        price = before * line.share
    assert price is not None
    return AddedLine(plugin, line.name, line.share, money_amount(price, rates))
