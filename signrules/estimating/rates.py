"""The rate table: what the caller asks for a minute, a millilitre, a sheet.

Money is decimal, never a binary float.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation, localcontext
from pathlib import Path
from types import MappingProxyType
from typing import Any

from attrs import field, frozen

from signrules.documents.reading import text_of
from signrules.documents.refusal import path_label
from signrules.documents.table_reader import unknown_key
from signrules.documents.toml import from_toml
from signrules.errors import DocumentFault, JobError, RatesError
from signrules.estimating.amounts import KINDS_OF_MINUTES, WIDE
from signrules.model.wording import NOTHING, shown_value

VERSION = 1
MOST = Decimal("1e12")
"""The largest number that a rate table holds."""

FINEST, COARSEST = -40, 12
"""The powers of ten in which its last digit may stand: written out, each number then has some fifty
digits at most.
"""

_NONE: Mapping[str, Decimal] = MappingProxyType({})


@frozen
class Fixed:
    """A line that every job is charged; a negative price is a discount."""

    name: str
    price: Decimal


@frozen
class Rates:
    """What a caller asks; what is not in here leaves its line unpriced.

    Prices are in `currency`, which is any word, and rounded to `decimals`. `minute` has prices of a
    minute by kind,
    `all` standing for every kind that has none of its own; `ink` of a mL by the ink's id,
    `ink_role` by its role;
    `sheet` of a sheet by its id, `sheet_m2` of a square metre by material; `dot` of one dot;
    `quantity` of one unit of any quantity, by its name. `waste_ink` and `waste_sheets` are shares
    that are used up besides. `markup` is a share of the sum, `minimum` the least that a job
    costs. `pause_minutes` is how long each pause of a job lasts.
    """

    currency: str
    decimals: int = 2
    minute: Mapping[str, Decimal] = field(default=_NONE)
    ink: Mapping[str, Decimal] = field(default=_NONE)
    ink_role: Mapping[str, Decimal] = field(default=_NONE)
    sheet: Mapping[str, Decimal] = field(default=_NONE)
    sheet_m2: Mapping[str, Decimal] = field(default=_NONE)
    dot: Decimal | None = None
    quantity: Mapping[str, Decimal] = field(default=_NONE)
    fixed: tuple[Fixed, ...] = ()
    waste_ink: Decimal = Decimal(0)
    waste_sheets: Decimal = Decimal(0)
    markup: Decimal = Decimal(0)
    minimum: Decimal = Decimal(0)
    pause_minutes: Decimal | None = None


_TABLES = ("minute", "ink", "ink_role", "sheet", "sheet_m2", "quantity")
KEYS = (
    "signrules_rates",
    "currency",
    "decimals",
    "markup",
    "minimum",
    "dot",
    "pause_minutes",
    *_TABLES,
    "waste",
    "fixed",
)
"""The keys of a rate table."""

_PRICE = "a price as a number in TOML or as text, such as '0.85'"
_SHARE = "a share as text, such as '15 %', or a number such as '0.15'"


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
    reader = _Reader(mapping)
    with localcontext(WIDE):
        values = reader.values()
    if reader.faults:
        raise RatesError(reader.faults)
    return Rates(**values)


class _Reader:
    """Reads one rate table, and collects its faults on the way."""

    def __init__(self, mapping: Mapping[Any, Any]) -> None:
        self.mapping = mapping
        self.faults: list[DocumentFault] = []

    def values(self) -> dict[str, Any]:
        self._unknown(self.mapping, KEYS, "")
        version = self.mapping.get("signrules_rates")
        if type(version) is not int or version != VERSION:
            found = shown_value(version) if "signrules_rates" in self.mapping else NOTHING
            self._fault(
                "signrules_rates",
                found,
                f"signrules_rates = {VERSION}, the version of the rate table",
            )
        values: dict[str, Any] = {"currency": self._currency(), "decimals": self._decimals()}
        values |= {name: self._table(name) for name in _TABLES}
        values["fixed"] = self._fixed()
        waste = self._mapping("waste")
        self._unknown(waste, ("ink", "sheets"), "waste")
        for key in ("ink", "sheets"):
            values[f"waste_{key}"] = self._share(waste.get(key, 0), f"waste.{key}")
        values["markup"] = self._share(self.mapping.get("markup", 0), "markup")
        values["minimum"] = self._price(self.mapping.get("minimum", 0), "minimum")
        for key in ("dot", "pause_minutes"):
            values[key] = self._price(self.mapping[key], key) if key in self.mapping else None
        return values

    def _fault(self, path: str, found: str, expected: str) -> None:
        self.faults.append(DocumentFault(path, found, expected))

    def _unknown(self, mapping: Mapping[Any, Any], known: tuple[str, ...], path: str) -> None:
        self.faults += [unknown_key(key, path, known) for key in mapping if key not in known]

    def _mapping(self, key: str) -> Mapping[Any, Any]:
        value = self.mapping.get(key, {})
        if isinstance(value, Mapping):
            return value
        self._fault(key, shown_value(value), "a table")
        return {}

    def _currency(self) -> str:
        value = self.mapping.get("currency", NOTHING)
        if (
            "currency" in self.mapping
            and isinstance(value, str)
            and 0 < len(value) <= 20
            and value.isprintable()
        ):
            return value
        found = shown_value(value) if "currency" in self.mapping else NOTHING
        self._fault("currency", found, "a word for the money, such as 'EUR'")
        return ""

    def _decimals(self) -> int:
        value = self.mapping.get("decimals", 2)
        if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= 6:
            return value
        self._fault("decimals", shown_value(value), "a whole number from 0 to 6")
        return 2

    def _table(self, name: str) -> Mapping[str, Decimal]:
        table = self._mapping(name)
        if name == "minute":
            self._unknown(table, ("all", *KINDS_OF_MINUTES), name)
        found = {}
        for key, value in table.items():
            if not isinstance(key, str):
                self._fault(name, f"the key {shown_value(key)}", "keys that are text")
                continue
            own = name == "quantity" and key.partition(".")[0] in (
                "setup_minutes",
                "printing_minutes",
                "ink_ml",
            )
            if own:
                self._fault(
                    f"{name}.{path_label(key)}",
                    "a quantity that has its own price",
                    "a price under minute or ink",
                )
            found[key] = self._price(value, f"{name}.{path_label(key)}")
        return MappingProxyType(found)

    def _fixed(self) -> tuple[Fixed, ...]:
        rows = self.mapping.get("fixed", [])
        if not isinstance(rows, list | tuple):
            self._fault("fixed", shown_value(rows), "a list of tables: [[fixed]] in TOML")
            return ()
        found = []
        for index, row in enumerate(rows):
            path = f"fixed[{index}]"
            if not isinstance(row, Mapping):
                self._fault(path, shown_value(row), "a table with name and price")
                continue
            self._unknown(row, ("name", "price"), path)
            name = row.get("name", NOTHING)
            if (
                "name" not in row
                or not isinstance(name, str)
                or not name.strip()
                or len(name) > 200
            ):
                found_name = shown_value(name) if "name" in row else NOTHING
                self._fault(f"{path}.name", found_name, "a name of 1 to 200 characters")
                name = ""
            if "price" not in row:
                self._fault(f"{path}.price", NOTHING, _PRICE)
            found.append(Fixed(name, self._number(row.get("price", 0), f"{path}.price", _PRICE)))
        return tuple(found)

    def _price(self, value: object, path: str) -> Decimal:
        number = self._number(value, path, _PRICE)
        if number < 0:
            self._fault(path, shown_value(value), f"{_PRICE}, of at least 0")
        return number

    def _share(self, value: object, path: str) -> Decimal:
        stated, parts = value, 1
        if isinstance(value, str) and value.strip().endswith("%"):
            stated, parts = value.strip()[:-1].strip(), 100
        number = self._number(stated, path, _SHARE) / parts
        if not 0 <= number <= 10:
            self._fault(path, shown_value(value), f"{_SHARE}, from 0 to 1000 %")
        return number

    def _number(self, value: object, path: str, expected: str) -> Decimal:
        number: Decimal | None = None
        if isinstance(value, str) and len(value) <= 40 and value.isascii() and "_" not in value:
            try:
                number = Decimal(value.strip())
            except InvalidOperation:
                number = None
        elif isinstance(value, int | Decimal) and not isinstance(value, bool):
            number = Decimal(value)
        if number is None or not _can_be_written_out(number):
            if isinstance(value, float):
                expected += " (a binary float cannot hold most prices: write it as text)"
            self._fault(path, shown_value(value), expected)
            return Decimal(0)
        return number


def _can_be_written_out(number: Decimal) -> bool:
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int) or not FINEST <= exponent <= COARSEST:
        return False  # A text stands there for what is no finite number.
    return -MOST <= number <= MOST
