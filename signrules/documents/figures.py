"""Figures that say how they came about: `{ is = "5.8 m/s", measured = 2027-02-03 }`.

Such a table may stand in place of any value of a job document or shop file. It is taken apart
before the document is read: the value stays in its place, and the origin goes beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from attrs import field, frozen

from signrules.documents.fields import BY_NAME, OF_PLUGINS, fields_by_key
from signrules.documents.kinds import KINDS
from signrules.documents.refusal import Refused, joined_path, path_label
from signrules.documents.table_reader import unknown_key
from signrules.errors import DocumentFault
from signrules.model.declared import Declared, declared_fields
from signrules.model.job import Alignment
from signrules.model.limits import is_number
from signrules.model.origins import ASSUMED, DATA_SHEET, MEASURED, STATED, Origin
from signrules.model.wording import NOTHING, shown_value

VALUE = "is"
"""The key whose presence makes a table a figure."""

KEYS = (VALUE, "measured", "readings", "data_sheet", "assumed", "from", "stated_in")
_KIND_OF_KEY = {"measured": MEASURED, "data_sheet": DATA_SHEET, "assumed": ASSUMED}

_PLUS_MINUS = re.compile(r"\+-|\+/-|±")
_A_LENGTH = declared_fields(Alignment)["extra"]
"""A declaration of a plain length: what each of a printer's own ways of locating has."""

_NAMES = frozenset({"id", "id of", "name", OF_PLUGINS})
_UNITS = {"length": "mm", "speed": "mm/s"}
_TAKES_NO_TOLERANCE = frozenset({"length", "speed", "number", "share", "whole number"})


@frozen
class Figures:
    """A document without figure tables, and the origins of its figures by their paths."""

    document: Any
    origins: dict[str, Origin] = field(factory=dict)
    faults: list[DocumentFault] = field(factory=list)


def split_figures(value: object, cls: type, path: str = "") -> Figures:
    """The plain value in which figures are written as their values alone, and where they come from.

    `cls` is the class that the value becomes, `path` where it stands. Elements of lists of tables
    go by their id where they have one.
    """
    # Most documents have none, and are handed on as they are.
    if not _has_figures(value):
        return Figures(value)
    figures = Figures(None)
    plain = _plain_table(value, (cls,), path, figures)
    return Figures(plain, figures.origins, figures.faults)


def may_be_figure(declared: Declared) -> bool:
    """Whether a figure may stand in place of the values of a field: not of tables and names."""
    holds_tables = bool(declared.tables or _classes_of_rows(declared))
    return not holds_tables and declared.kind not in _NAMES


def _has_figures(value: object) -> bool:
    """Whether any table within is a figure; looked for without recursion, however deep it lies."""
    waiting = [value]
    while waiting:
        part = waiting.pop()
        if isinstance(part, Mapping):
            if any(key in part for key in KEYS):
                return True
            waiting += part.values()
        elif isinstance(part, list | tuple):
            waiting += part
    return False


def _plain_table(value: object, classes: tuple[type, ...], path: str, figures: Figures) -> object:
    if not isinstance(value, Mapping):
        return value
    declared_by_key: dict[str, Declared] = {}
    for cls in classes:
        declared_by_key |= {key: declared for key, (_, declared) in fields_by_key(cls).items()}
    return {
        key: _plain_value(
            part, declared_by_key.get(key), joined_path(path, path_label(key)), figures
        )
        for key, part in value.items()
    }


def _plain_value(value: object, declared: Declared | None, path: str, figures: Figures) -> object:
    if declared is None:
        return value  # An unknown key, which the reader names.
    if isinstance(value, Mapping) and may_be_figure(declared):
        if VALUE in value:
            return _plain_figure(value, declared, path, figures)
        if any(key in value for key in KEYS):
            expected = "the key is, which holds the value itself"
            figures.faults.append(DocumentFault(f"{path}.{VALUE}", NOTHING, expected))
    if isinstance(value, Mapping):
        if declared.kind == BY_NAME:
            return _plain_lengths(value, path, figures)
        classes = tuple(declared.tables.values()) or _classes_of_rows(declared)
        return _plain_table(value, classes, path, figures)
    classes = _classes_of_rows(declared)
    if isinstance(value, list | tuple) and classes:
        return [
            _plain_table(row, classes, _path_of_row(row, path, position), figures)
            for position, row in enumerate(value)
        ]
    return value


def _classes_of_rows(declared: Declared) -> tuple[type, ...]:
    """What the tables of a list become; none for a list of plain values."""
    rows = declared if declared.kind == "rows" else declared.element
    return tuple(rows.tables.values()) if rows is not None else ()


def _plain_lengths(table: Mapping[Any, Any], path: str, figures: Figures) -> dict[Any, Any]:
    """A table of lengths by the printer's own names, such as its ways of locating a sheet."""
    plain = dict(table)
    for key, element in table.items():
        if isinstance(element, Mapping) and VALUE in element:
            element_path = joined_path(path, path_label(key))
            plain[key] = _plain_figure(element, _A_LENGTH, element_path, figures)
    return plain


def _path_of_row(row: object, path: str, position: int) -> str:
    row_id = row.get("id") if isinstance(row, Mapping) else None
    return f"{path}.{path_label(row_id)}" if isinstance(row_id, str) else f"{path}[{position}]"


def _plain_figure(
    figure: Mapping[Any, Any], declared: Declared | None, path: str, figures: Figures
) -> object:
    figures.faults.extend(_faults_of_figure(figure, path))
    value = figure[VALUE]
    # A field without tolerance takes the number alone; what was written beside it is kept as doubt.
    nominal, low, high = _nominal_and_ends(value, declared)
    kind = next((kind for key, kind in _KIND_OF_KEY.items() if key in figure), STATED)
    texts = [figure.get(key) for key in ("from", "data_sheet", "assumed")]
    how = ", ".join(text for text in texts if isinstance(text, str))
    unit = ""
    if declared is not None:
        unit = _UNITS.get(declared.kind, "")
    figures.origins[path] = Origin(
        kind=kind,
        stated_in=str(figure.get("stated_in", "")),
        date=_date_of(figure.get("measured")),
        readings=figure.get("readings"),
        how=how,
        low=low,
        high=high,
        unit=unit,
    )
    return nominal


def _faults_of_figure(figure: Mapping[Any, Any], path: str) -> Iterator[DocumentFault]:
    for key in figure:
        if key not in KEYS:
            yield unknown_key(key, path, KEYS)
    kinds = [key for key in _KIND_OF_KEY if key in figure]
    if len(kinds) > 1:
        yield DocumentFault(
            f"{path}.{kinds[1]}", f"both {kinds[0]} and {kinds[1]}", f"one of {', '.join(kinds)}"
        )
    if "measured" in figure and _date_of(figure["measured"]) is None:
        expected = "the day of the measurement, a date such as 2027-03-31"
        yield DocumentFault(f"{path}.measured", shown_value(figure["measured"]), expected)
    readings = figure.get("readings", 1)
    if isinstance(readings, bool) or not isinstance(readings, int) or readings < 1:
        expected = "how many readings there were, a whole number from 1 on"
        yield DocumentFault(f"{path}.readings", shown_value(readings), expected)
    for key, meaning in (
        ("from", "how it was found, as a text"),
        ("data_sheet", "which data sheet, as a text"),
        ("assumed", "why it is assumed, as a text"),
        ("stated_in", "what states it, as a text"),
    ):
        text = figure.get(key, NOTHING)
        if key in figure and not (isinstance(text, str) and text.strip()):
            yield DocumentFault(f"{path}.{key}", shown_value(text), meaning)


def _date_of(value: object) -> Any:
    if value is None:
        return None
    try:
        return KINDS["date"].read(value)
    except Refused:
        return None


def _nominal_and_ends(
    value: object, declared: Declared | None
) -> tuple[object, float | None, float | None]:
    """The value that a field without tolerance holds, and the ends of what it was stated with."""
    if declared is None or declared.kind not in _TAKES_NO_TOLERANCE or not isinstance(value, str):
        return value, None, None
    parts = _PLUS_MINUS.split(value)
    if len(parts) != 2:
        return value, None, None
    has_unit = declared.kind in ("length", "speed")
    read_number = KINDS[declared.kind].read if has_unit else _plain_number
    try:
        nominal, deviation = (read_number(part.strip()) for part in parts)
    except Refused:
        return value, None, None
    # A figure with a unit is read once more with its field, and stays as it is written.
    plain = parts[0].strip() if has_unit else nominal
    return plain, nominal - deviation, nominal + deviation


def _plain_number(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        raise Refused.value(text, "a number") from None
    if not is_number(number):
        raise Refused.value(text, "a number")
    return number


def figure_table(value: object, origin: Origin) -> dict[str, Any]:
    """The table that reads back as a value, as a document writes it, with its origin."""
    table: dict[str, Any] = {VALUE: value}
    if origin.low is not None and origin.high is not None:
        table[VALUE] = _with_ends(value, (origin.high - origin.low) / 2, origin.unit)
    if origin.kind == MEASURED and origin.date is not None:
        table["measured"] = origin.date.isoformat()
    if origin.readings is not None:
        table["readings"] = origin.readings
    key = {DATA_SHEET: "data_sheet", ASSUMED: "assumed"}.get(origin.kind, "from")
    if origin.how:
        table[key] = origin.how
    if origin.stated_in:
        table["stated_in"] = origin.stated_in
    return table


def _with_ends(value: object, off: float, unit: str) -> str:
    if not unit:
        return f"{value!r} +- {off!r}"
    number = value if isinstance(value, str) else f"{value!r} {unit}"
    return f"{number} +- {off!r} {unit}"
