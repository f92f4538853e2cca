"""The rate table: what the caller asks for a minute, a millilitre, a sheet.

Money is decimal, never a binary float. The table is read as its classes are declared.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

from attrs import field, frozen

from signrules.documents.money import PRICE, SHARE
from signrules.documents.reading import text_of
from signrules.documents.refusal import Refused, path_label
from signrules.documents.table_reader import keys_of, read_table
from signrules.documents.toml import from_toml
from signrules.errors import DocumentFault, JobError, RatesError
from signrules.model.declared import Metadata
from signrules.model.declaring import list_of, own_kind, table_of, whole_number
from signrules.model.limits import must_be
from signrules.model.wording import NOTHING, shown_value

VERSION = 1
_VERSION_KEY = "signrules_rates"
_LARGEST_SHARE = 10
_LONGEST_CURRENCY, _LONGEST_NAME = 20, 200

_NONE: Mapping[str, Decimal] = MappingProxyType({})


def _price(meaning: str) -> Metadata:
    """A price of at least 0."""
    expected = f"{PRICE}, of at least 0"
    return own_kind("price", expected, must_be(expected, lambda value: value >= 0), meaning)


def _share(meaning: str) -> Metadata:
    """A share of at least 0."""
    expected = f"{SHARE}, from 0 to 1000 %"
    check = must_be(expected, lambda value: 0 <= value <= _LARGEST_SHARE)
    return own_kind("price share", expected, check, meaning)


def _prices(meaning: str) -> Metadata:
    """Prices by name, each of at least 0."""
    return own_kind("prices by name", "a table of prices by name", _check_prices, meaning)


def _check_prices(prices: Mapping[str, Decimal]) -> Iterator[tuple[str, object, str]]:
    for name, price in prices.items():
        if price < 0:
            yield f".{path_label(name)}", price, f"{PRICE}, of at least 0"


def _check_quantities(prices: Mapping[str, Decimal]) -> Iterator[tuple[str, object, str]]:
    yield from _check_prices(prices)
    for name, price in prices.items():
        if name.partition(".")[0] in _PRICED_ELSEWHERE:
            expected = "a price under minute or ink: this quantity is priced there"
            yield f".{path_label(name)}", price, expected


# Priced as a quantity as well, they would be charged twice.
_PRICED_ELSEWHERE = ("setup_minutes", "printing_minutes", "ink_ml")


def _is_currency(value: object) -> bool:
    if not isinstance(value, str):
        return False
    return 0 < len(value) <= _LONGEST_CURRENCY and value.isprintable()


def _is_name(value: object) -> bool:
    return isinstance(value, str) and bool(value.strip()) and len(value) <= _LONGEST_NAME


def _is_decimal(value: object) -> bool:
    return isinstance(value, Decimal)


_CURRENCY = "a word for the money, such as 'EUR'"
_NAME = f"a name of 1 to {_LONGEST_NAME} characters"


@frozen
class Fixed:
    """A line that every job is charged; a negative price is a discount."""

    name: str = field(
        metadata=own_kind("text", _NAME, must_be(_NAME, _is_name), "what the line is called")
    )
    price: Decimal = field(
        metadata=own_kind("price", PRICE, must_be(PRICE, _is_decimal), "what it costs")
    )


@frozen
class MinutePrices:
    """What a minute costs by kind; `all` stands for every kind that has no price of its own."""

    all: Decimal | None = field(default=None, metadata=_price("of a minute of any kind"))
    alignments: Decimal | None = field(default=None, metadata=_price("of alignments"))
    loads: Decimal | None = field(default=None, metadata=_price("of bed loads"))
    gaps: Decimal | None = field(default=None, metadata=_price("of setting gaps"))
    printing: Decimal | None = field(default=None, metadata=_price("of printing"))
    waiting: Decimal | None = field(default=None, metadata=_price("of pauses"))
    handling: Decimal | None = field(
        default=None, metadata=_price("of handling of plugins' kinds that take minutes")
    )

    def of_kind(self, kind: str) -> Decimal | None:
        """The price of a minute of one of these kinds; None where there is none."""
        own: Decimal | None = getattr(self, kind)
        return self.all if own is None else own


@frozen
class Waste:
    """Shares of ink and of sheets that are used up besides."""

    ink: Decimal = field(default=Decimal(0), metadata=_share("of the ink"))
    sheets: Decimal = field(default=Decimal(0), metadata=_share("of the sheets"))


@frozen
class Rates:
    """What a caller asks; what is not in here leaves its line unpriced.

    Prices are in `currency`, which is any word, and rounded to `decimals`.
    """

    currency: str = field(
        metadata=own_kind(
            "text", _CURRENCY, must_be(_CURRENCY, _is_currency), "the word for the money"
        )
    )
    decimals: int = field(
        default=2,
        metadata=whole_number("a whole number", 0, 6, "to so many decimals prices are rounded"),
    )
    markup: Decimal = field(default=Decimal(0), metadata=_share("of the sum, on top of it"))
    minimum: Decimal = field(default=Decimal(0), metadata=_price("the least that a job costs"))
    dot: Decimal | None = field(default=None, metadata=_price("of one raised dot"))
    pause_minutes: Decimal | None = field(
        default=None, metadata=_price("how long each pause of a job lasts")
    )
    minute: MinutePrices = field(
        default=MinutePrices(), metadata=table_of(MinutePrices, "a table", "of a minute by kind")
    )
    ink: Mapping[str, Decimal] = field(default=_NONE, metadata=_prices("of a mL by the ink's id"))
    ink_role: Mapping[str, Decimal] = field(
        default=_NONE, metadata=_prices("of a mL by the ink's role")
    )
    sheet: Mapping[str, Decimal] = field(default=_NONE, metadata=_prices("of a sheet by its id"))
    sheet_m2: Mapping[str, Decimal] = field(
        default=_NONE, metadata=_prices("of a square metre by material")
    )
    quantity: Mapping[str, Decimal] = field(
        default=_NONE,
        metadata=own_kind(
            "prices by name",
            "a table of prices by name",
            _check_quantities,
            "of one unit of any quantity, by its name",
        ),
    )
    waste: Waste = field(
        default=Waste(), metadata=table_of(Waste, "a table", "what is used up besides")
    )
    fixed: tuple[Fixed, ...] = field(
        default=(),
        metadata=list_of(
            table_of(Fixed, "a table with name and price"),
            "a list of tables: [[fixed]] in TOML",
            "lines that every job is charged",
        ),
    )


KEYS = (_VERSION_KEY, *keys_of(Rates))
"""The keys of a rate table."""


def read_rates(path: str | os.PathLike[str]) -> Rates:
    """The rate table in a TOML file.

    Raises RatesError, with the file's name as its origin, for every fault of it.
    """
    origin = os.fspath(path)
    try:
        text = text_of(Path(path))
    except JobError as error:
        raise RatesError(error.faults, origin) from None
    try:
        # The numbers of the file become decimals as they are written.
        return rates_from_dict(from_toml(text, parse_float=Decimal))
    except RatesError as error:
        raise RatesError(error.faults, origin) from None
    except (ValueError, RecursionError, ArithmeticError) as error:
        reason = str(error)[:200] or type(error).__name__
        raise RatesError(
            [DocumentFault("", f"text that is no TOML: {reason}", "TOML")], origin
        ) from None


def rates_from_dict(mapping: object) -> Rates:
    """The rate table that plain data describes: prices as text, whole numbers or Decimal; a binary
    float is refused.

    Raises RatesError with every fault.
    """
    if not isinstance(mapping, Mapping):
        raise RatesError(
            [DocumentFault("", shown_value(mapping), "a table: the keys of a rate table")]
        )
    faults = list(_faults_of_version(mapping))
    # The version is no field of `Rates`: it says how the others are to be read.
    stated = {key: value for key, value in mapping.items() if key != _VERSION_KEY}
    try:
        rates: Rates = read_table(stated, Rates)
    except Refused as refused:
        raise RatesError([*faults, *refused.faults]) from None
    if faults:
        raise RatesError(faults)
    return rates


def _faults_of_version(mapping: Mapping[Any, Any]) -> Iterator[DocumentFault]:
    version = mapping.get(_VERSION_KEY)
    # True equals 1 in Python and is no version.
    if type(version) is not int or version != VERSION:
        found = shown_value(version) if _VERSION_KEY in mapping else NOTHING
        expected = f"{_VERSION_KEY} = {VERSION}, the version of the rate table"
        yield DocumentFault(_VERSION_KEY, found, expected)
