"""A line that a plugin adds to an estimate."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import field, frozen

from signrules.model.declaring import own_kind, said_text
from signrules.model.limits import must_be

LARGEST_SHARE = 10
_PRICE = "a price as text, a whole number or a Decimal; a discount is below 0"
_SHARE = "a share from -100 to 1000 %"


def _is_share(value: object) -> bool:
    return isinstance(value, Decimal) and -1 <= value <= LARGEST_SHARE


def _is_price(value: object) -> bool:
    return isinstance(value, Decimal)


@frozen
class PriceLine:
    """A name with either a price or a share; below 0 it is a discount.

    A share is one of the sum with its markup, before any line of a plugin.
    """

    name: str = field(metadata=said_text("what the line is called"))
    price: Decimal | None = field(
        default=None,
        metadata=own_kind("price", _PRICE, must_be(_PRICE, _is_price), "what it comes to"),
    )
    share: Decimal | None = field(
        default=None,
        metadata=own_kind(
            "price share", _SHARE, must_be(_SHARE, _is_share), "of the sum with its markup"
        ),
    )


def faults_of_line(line: PriceLine) -> Iterator[str]:
    """What is wrong with a line as a whole: it needs one of price and share."""
    if (line.price is None) == (line.share is None):
        yield "it needs either a price or a share"
