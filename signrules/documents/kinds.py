"""The kinds of value that stand in a job document: how each is read, without coercion, and written."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from typing import Any

from attrs import frozen

from signrules.documents import lengths, measures
from signrules.documents.refusal import Refused, label
from signrules.errors import DocumentFault
from signrules.model import limits
from signrules.model.limits import is_number
from signrules.model.passes import Area
from signrules.model.wording import shown


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
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    raise Refused.value(value, expected)


def list_of(kind: Kind, of: str, count: int | None = None) -> Kind:
    """A list of values of one kind, held as a tuple; `of` says in words what it is a list of."""

    def read(value: object) -> tuple[Any, ...]:
        if not isinstance(value, list | tuple) or (count is not None and len(value) != count):
            raise Refused.value(value, of)
        faults: list[DocumentFault] = []
        items = []
        for index, element in enumerate(value):
            try:
                items.append(kind.read(element))
            except Refused as refused:
                faults += refused.under(f"[{index}]")
        if faults:
            raise Refused(faults)
        return tuple(items)

    return Kind(read, lambda value: [kind.write(element) for element in value])


def checked(kind: Kind, check: limits.Check) -> Kind:
    """A kind whose values are held to a check as they are read, so that one wrong element of a list hides no other."""

    def read(value: object) -> Any:
        result = kind.read(value)
        if faults := [DocumentFault("", shown(value), expected) for _, _, expected in check(result)]:
            raise Refused(faults)
        return result

    return Kind(read, kind.write)


def _read_locating(value: object) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, Mapping):
        raise Refused.value(value, "a table of locating methods, each with a length: { pins = '0.1 mm' }")
    faults: list[DocumentFault] = []
    pairs = []
    for method, error in value.items():
        try:
            pairs.append((_read_text(method), lengths.parse_length(error)))
        except Refused as refused:
            faults += refused.under(label(method))
    if faults:
        raise Refused(faults)
    return tuple(pairs)


def _same(value: Any) -> Any:
    return value


TEXT = Kind(_read_text, _same)
NUMBER = Kind(_read_number, _same)
WHOLE = Kind(_read_whole, _same)
DATE = Kind(_read_date, datetime.date.isoformat)
LENGTH = Kind(lengths.parse_length, lengths.format_length)
TOLERANCED = Kind(lengths.parse_toleranced, lengths.format_toleranced)
SPEED = Kind(lengths.parse_speed, lengths.format_speed)
VOLUME, DENSITY, ACCELERATION, PRESSURE, DOSE, HEAT_CAPACITY, COOLING = (
    Kind(measure.parse, measure.format)
    for measure in (
        measures.VOLUME,
        measures.DENSITY,
        measures.ACCELERATION,
        measures.PRESSURE,
        measures.DOSE,
        measures.HEAT_CAPACITY,
        measures.COOLING,
    )
)
EXPANSION = Kind(measures.EXPANSION.parse_interval, measures.EXPANSION.format_interval)
TEXTS = list_of(TEXT, "a list of texts")
LENGTHS = list_of(LENGTH, "a list of lengths")
DISTANCES = list_of(checked(LENGTH, limits.DISTANCE), "a list of lengths")
PLACE = list_of(LENGTH, "two lengths [x, y]", count=2)
SIZES = list_of(checked(LENGTH, limits.SIDE), "two lengths [x, y]", count=2)
LOCATING = Kind(_read_locating, dict)

_FOUR = list_of(LENGTH, "four lengths [x, y, width, height]", count=4)
AREA = Kind(lambda value: Area(*_FOUR.read(value)), lambda area: [area.x, area.y, area.width, area.height])
AREAS = list_of(checked(AREA, limits.AREA), "a list of areas [x, y, width, height]")
