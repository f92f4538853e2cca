"""The figures that a job states, each with its declaration; those that are alike together.

A figure is a number with a meaning of its own: a thickness, a speed, a count. Where something lies
is none. What is left to its default is not stated.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from math import inf
from typing import Any

import attrs
from attrs import field, frozen

from signrules.model.declared import Declared, Usual, declared_fields, document_key
from signrules.model.job import Job
from signrules.model.quantities import Interval


@frozen
class Figure:
    """One figure, or several alike: the same number in the same field of several parts.

    `where` is the path with `*` for the part, such as `media.*.thickness`, `paths` are those of all
    that state it. `value` is in the unit of the model, `least` and `most` are what is usual.
    """

    where: str
    declared: Declared
    value: Interval
    least: float
    most: float
    paths: list[str] = field(factory=list)


Ends = tuple[Declared, float, float]
"""The declaration of a field, and the least and the most of its figures."""


@frozen
class StatedFigures:
    """The figures of a job: the ends of those of each field that are usual, and each unlikely one
    with all that are alike. `fields` are the fields of both in the order of the document.
    """

    fields: tuple[str, ...]
    usual: Mapping[str, Ends]
    unlikely: tuple[Figure, ...]


def stated_figures(job: Job) -> StatedFigures:
    """The figures of a job."""
    fields: dict[str, None] = {}
    usual: dict[str, Ends] = {}
    unlikely: dict[tuple[str, Interval], Figure] = {}
    for where, path, key, declared, value in _figures_within(job, "", ""):
        fields[where] = None
        usual_low, usual_high = usual_range(declared) or (-inf, inf)
        low, high = (value.low, value.high) if isinstance(value, Interval) else (value, value)
        if usual_low <= low and high <= usual_high:
            _, lowest, highest = usual.get(where, (declared, low, high))
            usual[where] = (declared, min(low, lowest), max(high, highest))
            continue
        stated = value if isinstance(value, Interval) else Interval.exact(value)
        figure = Figure(where, declared, stated, usual_low, usual_high)
        paths = unlikely.setdefault((where, stated), figure).paths
        # A list may hold the same number several times, in one field of one part.
        if paths[-1:] != [f"{path}{key}"]:
            paths.append(f"{path}{key}")
    return StatedFigures(tuple(fields), usual, tuple(unlikely.values()))


def usual_range(declared: Declared) -> Usual:
    """What is usual of a field, of a list what is usual of each of its elements."""
    return declared.usual if declared.element is None else declared.element.usual


def is_usual(value: Any, declared: Declared) -> bool:
    """Whether a value is stated and all of it lies in the range that is usual of its field."""
    lowest, highest = usual_range(declared) or (-inf, inf)
    if isinstance(value, Interval):
        return lowest <= value.low and value.high <= highest
    values = value if isinstance(value, tuple) else (value,)
    return all(number is not None and lowest <= number <= highest for number in values)


def unit_of(declared: Declared) -> str:
    """The unit of a field in the model, of a list that of its elements; nothing for a count."""
    return declared.unit if declared.element is None else declared.element.unit


_Found = tuple[str, str, str, Declared, Interval | float]
"""The field of a figure, the path of what holds it and its key there, its declaration and value."""


def _figures_within(part: object, where: str, path: str) -> Iterator[_Found]:
    """The figures of a part of the job and of the parts within it."""
    cls: type = type(part)
    for attribute, key, declared, default in _fields_with_figures(cls):
        value = getattr(part, attribute)
        # Identity first: most fields hold their default, and comparing intervals takes longer.
        if value is None or value is default or value == default:
            continue
        figure_path = f"{where}{key}"
        if declared.kind == "rows":
            yield from _figures_of_rows(value, figure_path, f"{path}{key}")
        elif declared.tables:
            yield from _figures_within(value, f"{figure_path}.", f"{path}{key}.")
        elif declared.kind == "lengths by name":
            for name, length in value:
                yield f"{figure_path}.*", f"{path}{key}.", name, declared, length
        elif isinstance(value, tuple):
            for element in value:
                yield figure_path, path, key, declared, element
        else:
            yield figure_path, path, key, declared, value


def _figures_of_rows(rows: tuple[Any, ...], where: str, path: str) -> Iterator[_Found]:
    for number, row in enumerate(rows):
        place = f"{path}.{row.id}" if hasattr(row, "id") else f"{path}[{number}]"
        yield from _figures_within(row, f"{where}.*.", f"{place}.")


@cache
def _fields_with_figures(cls: type) -> tuple[tuple[str, str, Declared, object], ...]:
    """Attribute, key, declaration and default of the fields that hold figures, or parts that do."""
    defaults = attrs.fields_dict(cls)
    return tuple(
        (name, document_key(cls, name), declared, defaults[name].default)
        for name, declared in declared_fields(cls).items()
        if declared.tables or usual_range(declared) is not None
    )
