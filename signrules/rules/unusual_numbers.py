"""Numbers that plugins bring in tables, printers and materials, and that look like those of another
unit: outside of what the model declares as usual.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import Any

import attrs

from signrules.catalogue.materials import Material, usual_numbers
from signrules.documents.refusal import Refused
from signrules.documents.table_reader import read_table
from signrules.model.declared import Declared, Usual, declared_fields
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.standards.dimension_tables import LENGTHS, SECTIONS, Row, Standard

SLIP = 100.0
"""A limit of a table may lie so many times beyond what is usual: it is a limit and no size."""


def unusual_numbers(
    standards: Iterable[Standard],
    printers: Mapping[str, Mapping[str, Any]],
    materials: Iterable[Material],
) -> Iterator[str]:
    """What looks like a slip of the unit, in a sentence each."""
    for standard in standards:
        for row in standard.rows:
            yield from _of_row(standard, row)
    for name, table in printers.items():
        yield from _of_part(f"printer {name}: ", read_table(table, Printer))
    for material in materials:
        for number, (usual, unit) in usual_numbers().items():
            value = getattr(material, number)
            yield from _unusual(f"material {material.id}: {number}", value, usual, unit)


def _of_row(standard: Standard, row: Row) -> Iterator[str]:
    if row.quantity not in LENGTHS or row.of is not None:
        return
    section, _, name = row.quantity.partition(".")
    usual = declared_fields(SECTIONS[section])[name].usual
    if usual is None:
        return
    widened = (usual[0] / SLIP, usual[1] * SLIP)
    for bound in (row.least, row.most):
        if bound is not None and bound.number and not _is_within(bound.number, widened):
            what = f"standard {standard.id}: {row.quantity}: {bound.text}"
            yield _sentence(what, usual, "mm")


def _of_part(path: str, part: object) -> Iterator[str]:
    """Of a table of the job and all those within it."""
    cls: type = type(part)
    for name, declared in declared_fields(cls).items():
        value = getattr(part, name)
        if attrs.has(type(value)) and declared.tables:
            yield from _of_part(f"{path}{name}.", value)
            continue
        usual, unit = _usual_of(declared)
        for bound in value if isinstance(value, tuple) else (value,):
            yield from _unusual(f"{path}{name}", bound, usual, unit)


def _usual_of(declared: Declared) -> tuple[Usual, str]:
    inner = declared if declared.element is None else declared.element
    return inner.usual, inner.unit or "mm"


def _unusual(what: str, value: object, usual: Usual, unit: str) -> Iterator[str]:
    ends = (value.low, value.high) if isinstance(value, Interval) else (value,)
    numbers = [end for end in ends if isinstance(end, int | float)]
    if usual is None or all(_is_within(end, usual) for end in numbers):
        return
    range_text = " to ".join(f"{end:g}" for end in dict.fromkeys(numbers))
    yield _sentence(f"{what}: {range_text} {unit}".rstrip(), usual, unit)


def _is_within(value: float, usual: tuple[float, float]) -> bool:
    return usual[0] <= value <= usual[1]


def _sentence(what: str, usual: tuple[float, float], unit: str) -> str:
    low, high = usual
    return f"{what} is unusual, {low:g} to {high:g} {unit}".rstrip() + " is usual: look at the unit"


def why_contradictory(standard: Standard) -> Iterator[str]:
    """Limits of a table that nothing can meet: a least above a most, in one row or in two that
    limit the same.
    """
    for quantity in dict.fromkeys(row.quantity for row in standard.rows):
        rows = [row for row in standard.rows_for(quantity) if row.kind == "range"]
        leasts = [row.least for row in rows if row.least is not None]
        mosts = [row.most for row in rows if row.most is not None]
        for least_bound, most_bound in product(leasts, mosts):
            if least_bound.unit == most_bound.unit and least_bound.value > most_bound.value:
                bounds = f"at least {least_bound.text} and at most {most_bound.text}"
                yield f"{quantity} must be {bounds}"


def why_unusable(table: Mapping[str, Any]) -> list[str]:
    """Why no job can use a printer that a plugin brings; nothing where one can."""
    try:
        printer = read_table(table, Printer)
    except Refused as refused:
        return [str(fault) for fault in refused.faults]
    room = printer.base_gap.high + max(printer.gap.extras())
    if room < printer.min_clearance:
        return [
            f"min_clearance is {printer.min_clearance:g} mm and the largest gap {room:g} mm, so"
            " nothing can be printed: expected a larger gap or a smaller clearance"
        ]
    return []
