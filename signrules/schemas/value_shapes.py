"""The JSON Schemas of single values: numbers, and texts such as lengths with a unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from signrules.documents import lengths, measures
from signrules.documents.measures import Measure
from signrules.documents.typed_text import FOOT_MARKS, FRACTIONS, INCH_MARKS, SUPERSCRIPTS
from signrules.model.limits import LARGEST_MM, LONGEST_ID

Schema = dict[str, Any]

_DECIMAL = r"([0-9]{1,40}(\.[0-9]{0,40})?|\.[0-9]{1,40})([eE][+-]?[0-9]{1,3})?"
_FRACTION = rf"([0-9]+ *)?[{FRACTIONS}]|([0-9]+ +)?[0-9]+ */ *[0-9]+"
_UNSIGNED = rf"({_FRACTION}|{_DECIMAL}) *"
_NUMBER = rf"[+-]?{_UNSIGNED}"
_FEET_AND_INCHES = rf"[+-]?[0-9]+ *(ft|[{FOOT_MARKS}]) *{_UNSIGNED}(in|[{INCH_MARKS}])"
_MEASURED = r"[0-9]{1,40}(\.[0-9]{0,40})?([eE][+-]?[0-9]{1,2})? *"


def list_schema(items: Schema, count: int | None = None) -> Schema:
    """A list, perhaps of so many."""
    schema: Schema = {"type": "array", "items": items}
    if count is not None:
        schema |= {"minItems": count, "maxItems": count}
    return schema


def value_schemas() -> dict[str, Schema]:
    """The schemas of the values that stand in tables."""
    marks = f"[{FOOT_MARKS}{INCH_MARKS}]"
    units = f"{_unit_pattern(name for name in lengths.LENGTH_UNITS if name.isalpha())}|{marks}"
    length = rf"({_NUMBER}({units})|{_FEET_AND_INCHES})"
    part = rf"({_NUMBER}({units})?|{_FEET_AND_INCHES}) *"
    number = {"type": "number", "minimum": -LARGEST_MM, "maximum": LARGEST_MM}
    tolerance = rf"(?!.*\.\.\.)({part}(\+/?-|±) *|({part}\.\. *){{0,2}}){length}"
    return {
        "length": {
            "description": "mm as a number, or text with a unit",
            "anyOf": [number, _text_schema(length)],
        },
        "toleranced": {
            "description": "a length, perhaps with a tolerance",
            "anyOf": [number, _text_schema(tolerance)],
        },
        "speed": (
            _text_schema(rf"{_NUMBER}({_unit_pattern(lengths.SPEED_UNITS)})")
            | {"description": "a speed with its unit"}
        ),
        "date": {
            "type": "string",
            "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
            "description": "year-month-day",
        },
        "expansion": _text_schema(
            rf"({_MEASURED}({_measured_schema(measures.EXPANSION)})? *\.\."
            rf" *){{0,2}}{_with_unit(measures.EXPANSION)}"
        ),
    } | {
        _value_name(name): (
            _text_schema(_with_unit(measure)) | {"description": f"such as {measure.example}"}
        )
        for name, measure in measures.MEASURES.items()
    }


def _text_schema(pattern: str) -> Schema:
    return {"type": "string", "maxLength": 200, "pattern": f"^ *{pattern} *$"}


def _unit_pattern(names: Any) -> str:
    return "|".join(names)


def _measured_schema(measure: Measure) -> str:
    pattern = _unit_pattern(name for name, _ in measure.units)
    for plain, raised in SUPERSCRIPTS.items():
        pattern = pattern.replace(plain, f"[{plain}{raised}]")
    return pattern


def _with_unit(measure: Measure) -> str:
    return f"{_MEASURED}({_measured_schema(measure)})"


def _value_name(kind: str) -> str:
    return kind.replace(" ", "_")


def value_reference(name: str) -> Schema:
    """A reference to one of `value_schemas`."""
    return {"$ref": f"#/$defs/{name}"}


STRING: Schema = {"type": "string"}
_NUMBER_SHAPE: Schema = {"type": "number"}
NOT_BLANK = {"pattern": r"\S"}

SHAPES: Mapping[str, Schema] = {
    "text": STRING,
    "id": STRING | {"minLength": 1, "maxLength": LONGEST_ID, "pattern": r"^[^.\[\]]*$"},
    "id of": STRING,
    "name": STRING,
    "said text": STRING | NOT_BLANK,
    "braille cells": STRING | {"pattern": "^[\\u2800-\\u28ff \\n]*$"},
    "number": _NUMBER_SHAPE,
    "share": _NUMBER_SHAPE,
    "whole number": {"type": "integer"},
    "date": value_reference("date"),
    "length": value_reference("length"),
    "toleranced length": value_reference("toleranced"),
    "speed": value_reference("speed"),
    "expansion": value_reference("expansion"),
    "lengths by name": {
        "type": "object",
        "additionalProperties": {"anyOf": [value_reference("length"), {"$ref": "#/$defs/figure"}]},
    },
    "area": list_schema(value_reference("length"), 4),
    "plugin tables": {"type": "object", "additionalProperties": {"type": "object"}},
    **{name: value_reference(_value_name(name)) for name in measures.MEASURES},
}
"""The shape of each kind of value that is neither list nor table."""
