"""The kinds of value that stand in a job document: how each is read and written, uncoerced."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from typing import Any

from attrs import evolve, frozen

from signrules.documents import lengths, measures
from signrules.documents.money import (
    decimal_text,
    read_price,
    read_prices,
    read_share,
    share_text,
    write_prices,
)
from signrules.documents.plain_tables import read_plugin_tables
from signrules.documents.refusal import Refused, path_label
from signrules.errors import DocumentFault
from signrules.model import limits
from signrules.model.limits import is_number
from signrules.model.passes import Area
from signrules.model.plugin_data import tables_in
from signrules.model.wording import shown_value


@frozen
class Kind:
    """A pair of functions: from plain data to a value of the model (raising Refused), and back."""

    read: Callable[[Any], Any]
    write: Callable[[Any], Any]


_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _read_text(value: object) -> str:
    if not isinstance(value, str):
        raise Refused.value(value, "text")
    try:
        # JSON can spell half of a surrogate pair, which no file and no terminal takes.
        value.encode()
    except UnicodeEncodeError:
        raise Refused.value(value, "text that is valid Unicode") from None
    return value


def _read_number(value: object) -> float:
    if isinstance(value, int | float) and is_number(value):
        return float(value)
    raise Refused.value(value, "a number")


def _read_whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise Refused.value(value, "a whole number")
    return value


def _read_date(value: object) -> datetime.date:
    expected = "a date such as 2027-03-31"
    if isinstance(value, str) and _ISO_DATE.fullmatch(value):
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise Refused.value(value, expected) from None
    # A datetime is a date to Python, and a time of day says something that no field means.
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    raise Refused.value(value, expected)


def list_kind(element: Kind, check: limits.Check, expected: str, count: int | None = None) -> Kind:
    """A list of values of one kind, held as a tuple, and each held to a check as it is read.

    So one wrong element hides no other. `expected` says in words what it is a list of.
    """

    def read_element(value: object) -> Any:
        result = element.read(value)
        faults = [DocumentFault("", shown_value(value), wanted) for _, _, wanted in check(result)]
        if faults:
            raise Refused(faults)
        return result

    def read_list(value: object) -> tuple[Any, ...]:
        wrong_count = isinstance(value, list | tuple) and count is not None and len(value) != count
        if not isinstance(value, list | tuple) or wrong_count:
            raise Refused.value(value, expected)
        faults: list[DocumentFault] = []
        items = []
        for index, entry in enumerate(value):
            try:
                items.append(read_element(entry))
            except Refused as refused:
                faults += refused.under(f"[{index}]")
        if faults:
            raise Refused(faults)
        return tuple(items)

    return Kind(read_list, lambda value: [element.write(entry) for entry in value])


def one_or_more_kind(several: Kind) -> Kind:
    """A list of texts or of tables, of which a single one may stand by itself."""

    def read(value: object) -> Any:
        if isinstance(value, Mapping):
            return _read_single(value)
        return several.read([value] if isinstance(value, str) else value)

    def _read_single(value: Mapping[Any, Any]) -> Any:
        try:
            return several.read([value])
        except Refused as refused:
            # The document has no list there, so no place in one is named.
            raise Refused(
                evolve(fault, path=fault.path.removeprefix("[0]").lstrip("."))
                for fault in refused.faults
            ) from None

    def write(value: tuple[Any, ...]) -> Any:
        written = several.write(value)
        return written[0] if len(written) == 1 else written

    return Kind(read, write)


def _by_name(read: Callable[[Any], Any], expected: str) -> Callable[[Any], Any]:
    """The reader of a table of one kind of value, each under a name; pairs in the model."""

    def read_by_name(value: object) -> tuple[tuple[str, Any], ...]:
        if not isinstance(value, Mapping):
            raise Refused.value(value, expected)
        faults: list[DocumentFault] = []
        pairs = []
        for name, number in value.items():
            try:
                pairs.append((_read_text(name), read(number)))
            except Refused as refused:
                faults += refused.under(path_label(name))
        if faults:
            raise Refused(faults)
        return tuple(pairs)

    return read_by_name


_LOCATING = "a table of locating methods, each with a length: { pins = '0.1 mm' }"
_TEXTS = "a table of texts, each under a name: { room = 'Room No.' }"


def _same_value(value: Any) -> Any:
    return value


def _read_area(value: object) -> Area:
    expected = "four lengths [x, y, width, height]"
    if not isinstance(value, list | tuple) or len(value) != 4:
        raise Refused.value(value, expected)
    sides = []
    faults: list[DocumentFault] = []
    for index, side in enumerate(value):
        try:
            sides.append(lengths.parse_length(side))
        except Refused as refused:
            faults += refused.under(f"[{index}]")
    if faults:
        raise Refused(faults)
    return Area(*sides)


def _write_area(area: Area) -> list[float]:
    return [area.x, area.y, area.width, area.height]


_TEXT = Kind(_read_text, _same_value)
_NUMBER = Kind(_read_number, _same_value)

KINDS: Mapping[str, Kind] = {
    "text": _TEXT,
    "id": _TEXT,
    "id of": _TEXT,
    "name": _TEXT,
    "said text": _TEXT,
    "braille cells": _TEXT,
    "word": _TEXT,
    "open word": _TEXT,
    "number": _NUMBER,
    "share": _NUMBER,
    "whole number": Kind(_read_whole, _same_value),
    "date": Kind(_read_date, datetime.date.isoformat),
    "length": Kind(lengths.parse_length, lengths.format_length),
    "toleranced length": Kind(lengths.parse_toleranced, lengths.format_toleranced),
    "speed": Kind(lengths.parse_speed, lengths.format_speed),
    "expansion": Kind(measures.EXPANSION.parse_interval, measures.EXPANSION.format_interval),
    "lengths by name": Kind(_by_name(lengths.parse_length, _LOCATING), dict),
    "texts by name": Kind(_by_name(_read_text, _TEXTS), dict),
    "area": Kind(_read_area, _write_area),
    "price": Kind(read_price, decimal_text),
    "price share": Kind(read_share, share_text),
    "prices by name": Kind(read_prices, write_prices),
    "plugin tables": Kind(read_plugin_tables, tables_in),
    **{name: Kind(measure.parse, measure.format) for name, measure in measures.MEASURES.items()},
}
"""The kinds of value that are neither lists nor tables, by the names that declarations call them
by.
"""
