"""Prices and shares of a rate table: decimal, never a binary float."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Context, Decimal, InvalidOperation
from types import MappingProxyType

from signrules.documents.refusal import Refused, path_label
from signrules.errors import DocumentFault
from signrules.model.wording import shown_value

MOST = Decimal("1e12")
"""The largest number that a rate table holds."""

FINEST, COARSEST = -40, 12
"""The powers of ten in which its last digit may stand: written out, each number then has some fifty
digits at most.
"""

PRICE = "a price as a number in TOML or as text, such as '0.85'"
SHARE = "a share as text, such as '15 %', or a number such as '0.15'"

_LONGEST = 40
WIDE = Context(prec=400, rounding=ROUND_HALF_EVEN)
"""Room for every finite float, so that no number that a plugin counts is too large to be written
down.
"""


def read_price(value: object) -> Decimal:
    """A price: text, a whole number or a Decimal; a binary float is refused."""
    return _read_decimal(value, PRICE)


def read_share(value: object) -> Decimal:
    """A share in per cent, or as a number of at most 1.

    A number above that is refused: 5 is mostly meant as 5 %.
    """
    if isinstance(value, str) and value.strip().endswith("%"):
        per_cent = _read_decimal(value.strip()[:-1].strip(), SHARE, value)
        # In a context of our own: a caller may have set another precision.
        return WIDE.divide(per_cent, Decimal(100))
    number = _read_decimal(value, SHARE)
    if abs(number) > 1:
        raise Refused.value(
            value, f"{SHARE}: '{number:f} %' perhaps; more than 100 % only as text, such as '150 %'"
        )
    return number


def read_prices(value: object) -> Mapping[str, Decimal]:
    """Prices by name."""
    if not isinstance(value, Mapping):
        raise Refused.value(value, "a table of prices by name")
    faults: list[DocumentFault] = []
    prices: dict[str, Decimal] = {}
    for key, price in value.items():
        if not isinstance(key, str):
            faults.append(DocumentFault("", f"the key {shown_value(key)}", "keys that are text"))
            continue
        try:
            prices[key] = read_price(price)
        except Refused as refused:
            faults += refused.under(path_label(key))
    if faults:
        raise Refused(faults)
    return MappingProxyType(prices)


def decimal_text(number: Decimal) -> str:
    """A number as a rate table writes it."""
    return f"{number:f}"


def share_text(number: Decimal) -> str:
    """A share as a rate table writes it: in per cent where it is more than all."""
    if abs(number) <= 1:
        return decimal_text(number)
    return f"{decimal_text(WIDE.multiply(number, Decimal(100)))} %"


def write_prices(prices: Mapping[str, Decimal]) -> dict[str, str]:
    """Prices by name as a rate table writes them."""
    return {name: decimal_text(price) for name, price in prices.items()}


def _read_decimal(value: object, expected: str, stated: object = None) -> Decimal:
    """A number that can be written out; `stated` is what the document has in its place."""
    number: Decimal | None = None
    # Decimal also takes underscores and digits of other scripts, which few mean to write.
    if isinstance(value, str) and len(value) <= _LONGEST and value.isascii() and "_" not in value:
        try:
            number = Decimal(value.strip())
        except InvalidOperation:
            number = None
    elif isinstance(value, int | Decimal) and not isinstance(value, bool):
        number = Decimal(value)
    if number is None or not _can_be_written_out(number):
        if isinstance(value, float):
            expected += " (a binary float cannot hold most prices: write it as text)"
        raise Refused.value(value if stated is None else stated, expected)
    return number


def _can_be_written_out(number: Decimal) -> bool:
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int) or not FINEST <= exponent <= COARSEST:
        return False  # A text stands there for what is no finite number.
    return -MOST <= number <= MOST
