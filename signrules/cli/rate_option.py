"""The option `--rates`, which goes before the rate table of the shop file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from signrules.cli.standard_streams import document_input

if TYPE_CHECKING:
    from signrules.estimating import Rates
    from signrules.shop import Shop


def add_rate_option(command: argparse.ArgumentParser) -> None:
    """The option that names a rate table."""
    command.add_argument(
        "--rates",
        type=document_input,
        metavar="FILE",
        help="a rate table, .toml; left out, that of the shop file",
    )


def rates_of(options: argparse.Namespace, shop: Shop) -> Rates | None:
    """The rate table that the options name, else that of the shop; None without either.

    Raises RatesError.
    """
    from signrules.estimating import rates_from_dict, read_rates

    if options.rates is not None:
        return read_rates(options.rates)
    return None if shop.rates is None else rates_from_dict(shop.rates)
