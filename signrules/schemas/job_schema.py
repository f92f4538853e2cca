"""The JSON Schemas of a job document and of a work order, made of the tables by which documents
are read.

Keys, which of them are required and the kind of each value come from the reader. The schema refuses
what has a wrong shape. It accepts some documents that the reader refuses: whether names are there
and areas lie on their sheets is more than a schema can say. What the reader accepts the schema
accepts.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator, Mapping
from typing import Any

import attrs

from signrules.documents import lengths, measures
from signrules.documents.figures import may_be_figure
from signrules.documents.measures import Measure
from signrules.documents.plugin_tables import NO_CLASSES, PLACE_OF, DataClasses
from signrules.documents.reading import VERSION
from signrules.documents.table_reader import AUTO
from signrules.documents.typed_text import FOOT_MARKS, FRACTIONS, INCH_MARKS, SUPERSCRIPTS
from signrules.documents.work_orders import VERSION as WORK_ORDER_VERSION
from signrules.documents.work_orders import VERSION_KEY as WORK_ORDER_KEY
from signrules.model.declared import (
    Declared,
    classes_within,
    control_words,
    declared_fields,
    document_key,
)
from signrules.model.job import Job
from signrules.model.limits import LARGEST_MM, LONGEST_ID
from signrules.model.media import Ink, Media
from signrules.model.printer import Printer
from signrules.model.work_order import WorkOrder

DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]

_DECIMAL = r"([0-9]{1,40}(\.[0-9]{0,40})?|\.[0-9]{1,40})([eE][+-]?[0-9]{1,3})?"
_FRACTION = rf"([0-9]+ *)?[{FRACTIONS}]|([0-9]+ +)?[0-9]+ */ *[0-9]+"
_UNSIGNED = rf"({_FRACTION}|{_DECIMAL}) *"
_NUMBER = rf"[+-]?{_UNSIGNED}"
_FEET_AND_INCHES = rf"[+-]?[0-9]+ *(ft|[{FOOT_MARKS}]) *{_UNSIGNED}(in|[{INCH_MARKS}])"
_MEASURED = r"[0-9]{1,40}(\.[0-9]{0,40})?([eE][+-]?[0-9]{1,2})? *"


def job_schema(own: DataClasses = NO_CLASSES) -> Schema:
    """The schema of a job document; `own` are the classes of the data of plugins."""
    version = {"type": "integer", "const": VERSION, "description": "the version of the document"}
    return {
        "$schema": DIALECT,
        "title": "signrules job document",
        "description": (
            "A job as docs/job-document.md describes it; a TOML document has the same shape."
        ),
        **_object_schema(
            {"signrules": version, **_key_schemas(Job, own)}, ["signrules", *_required_keys(Job)]
        ),
        "$defs": {"figure": _figure_schema()}
        | _value_schemas()
        | {_class_name(cls): _table_schema(cls, own) for cls in _classes_of_document(own)},
    }


def work_order_schema() -> Schema:
    """The schema of the document of a work order."""
    version = {
        "type": "integer",
        "const": WORK_ORDER_VERSION,
        "description": "the version of the document",
    }
    keys = {WORK_ORDER_KEY: version, **_key_schemas(WorkOrder, NO_CLASSES)}
    return {
        "$schema": DIALECT,
        "title": "signrules work order",
        "description": (
            "A work order as docs/work-orders.md describes it; its TOML has the same shape."
        ),
        **_object_schema(keys, [WORK_ORDER_KEY, *_required_keys(WorkOrder)]),
        "$defs": {"length": _value_schemas()["length"]}
        | {_class_name(cls): _table_schema(cls, NO_CLASSES) for cls in classes_within(WorkOrder)},
    }


def _classes_of_document(own: DataClasses) -> Iterator[type]:
    """The classes that the tables of a document become, those of plugins after those of the job."""
    yield from classes_within(Job)
    for classes in own.values():
        for cls in classes.values():
            yield from (cls, *classes_within(cls))


def _key_schemas(cls: type, own: DataClasses) -> Schema:
    """The schema of each key of a table, with its default."""
    keys = {
        document_key(cls, name): _field_schema(declared, figures=_states_figures(cls))
        for name, declared in declared_fields(cls).items()
    }
    for key, value in _default_values(cls).items():
        keys[key] |= {"default": value}
    if cls in PLACE_OF:
        keys["data"] |= {"properties": _tables_of_plugins(PLACE_OF[cls], own)}
    if cls is Job:
        keys["printer"] = _or_name(keys["printer"], "a printer of the shop or the catalogue")
        ink = _or_name(keys["inks"]["items"], "an ink of the shop")
        keys["inks"] = keys["inks"] | {"items": ink}
    return keys


def _tables_of_plugins(place: str, own: DataClasses) -> Schema:
    """The data that plugins declare for a place."""
    return {
        plugin: _class_reference(classes[place])
        for plugin, classes in own.items()
        if place in classes
    }


def _or_name(shape: Schema, meaning: str) -> Schema:
    """A table, or the name of one."""
    either = [{"type": "string", "description": meaning}, shape]
    return {"description": f"a table, or {meaning} by its id", "anyOf": either}


_USED = {
    Printer: "a printer of the shop or the catalogue, whose keys those beside it replace",
    Ink: "an ink of the shop, whose keys those beside it replace",
    Media: "a stock sheet of the shop, whose keys those beside it replace",
}
"""The classes whose tables may name one by `use`, and what they name."""


def _figure_schema() -> Schema:
    """A table in place of a value, which says how that came about."""
    texts = {
        "from": "how it was found",
        "data_sheet": "the data sheet that it stands in",
        "assumed": "why it is assumed",
        "stated_in": "what states it in place of the job",
    }
    keys: Schema = {
        "is": {"description": "the value, as it would stand there alone"},
        "measured": _value_reference("date") | {"description": "the day of the measurement"},
        "readings": {"type": "integer", "minimum": 1, "description": "how many there were"},
    }
    keys |= {key: _STRING | _NOT_BLANK | {"description": text} for key, text in texts.items()}
    return {
        "description": "a value that says how it came about",
        **_object_schema(keys, ["is"]),
    }


def _required_keys(cls: type) -> list[str]:
    fields = attrs.fields_dict(cls)
    needed = [
        document_key(cls, name)
        for name in declared_fields(cls)
        if fields[name].default is attrs.NOTHING
    ]
    # A job may leave its inks to the shop, and its passes name them.
    return [key for key in needed if (cls, key) != (Job, "inks")]


def _default_values(cls: type) -> dict[str, object]:
    """The defaults that a document can write, by key."""
    fields = attrs.fields_dict(cls)
    plain = {document_key(cls, name): fields[name].default for name in declared_fields(cls)}
    return {key: value for key, value in plain.items() if isinstance(value, str | int | float)}


def _table_schema(cls: type, own: DataClasses) -> Schema:
    keys = _key_schemas(cls, own)
    needed = _required_keys(cls)
    summary = (inspect.getdoc(cls) or "").partition("\n\n")[0].replace("\n", " ")
    if cls in _USED:
        use = {"type": "string", "description": _USED[cls]}
        named = [key for key in needed if key == "id"]
        return {
            "description": summary,
            **_object_schema({"use": use, **keys}, named),
            "anyOf": [_needs_keys(["use"]), _needs_keys(needed)],
        }
    control = control_words(Job).get(cls)
    if control is not None:
        keys = {"control": {"const": control, "description": "how the gap is set"}, **keys}
        needed = ["control", *needed]
    return {"description": summary, **_object_schema(keys, needed)}


def _object_schema(properties: Schema, required: list[str]) -> Schema:
    return {
        "type": "object",
        "properties": properties,
        **_needs_keys(required),
        "additionalProperties": False,
    }


def _needs_keys(keys: list[str]) -> Schema:
    return {"required": keys} if keys else {}


def _field_schema(declared: Declared, *, figures: bool) -> Schema:
    """The schema of one value: its shape and range, and what it means; with `figures` it may be one
    that says how it came about.
    """
    meaning = {"description": declared.meaning} if declared.meaning else {}
    shape = _value_shape(declared)
    if figures and may_be_figure(declared):
        shape = {"anyOf": [shape, {"$ref": "#/$defs/figure"}]}
    return shape | meaning


def _value_shape(declared: Declared) -> Schema:
    if declared.words:
        return {"enum": list(declared.words)}
    tables = [_class_reference(cls) for cls in declared.tables.values()]
    match declared.kind:
        case "table by control":
            return {"oneOf": tables}
        case "table by key":
            return {"anyOf": [{"const": AUTO}, *tables], "default": AUTO}
        case "table" | "part":
            return dict(tables[0])
        case "rows":
            return _list_schema(tables[0])
        case "one or more":
            assert declared.element is not None
            one = _value_shape(declared.element)
            return {"anyOf": [one, _list_schema(one)]}
        case "list":
            assert declared.element is not None
            return _list_schema(_value_shape(declared.element), declared.count) | _at_least_one(
                declared
            )
        case _:
            return dict(_SHAPES[declared.kind]) | _number_range(declared)


def _at_least_one(declared: Declared) -> Schema:
    return {"minItems": declared.least} if declared.least else {}


def _number_range(declared: Declared) -> Schema:
    """What is possible of a plain number; texts with a unit are checked as they are read."""
    if declared.kind == "share":
        return {"exclusiveMinimum": 0, "maximum": 1}
    if declared.kind in ("number", "whole number"):
        return {"minimum": declared.least, "maximum": declared.most}
    return {}


def _class_reference(cls: type) -> Schema:
    return {"$ref": f"#/$defs/{_class_name(cls)}"}


def _is_of_the_model(cls: type) -> bool:
    """Whether a class is one of signrules itself, and not of the data of a plugin."""
    return cls.__module__.startswith("signrules.model.")


def _states_figures(cls: type) -> bool:
    """Whether values in the table of a class may say how they came about: in jobs alone."""
    return cls is Job or cls in classes_within(Job)


def _class_name(cls: type) -> str:
    if _is_of_the_model(cls):
        return cls.__name__.lower()
    return f"{cls.__module__}.{cls.__qualname__}"  # Of a plugin: two may have the same name.


def _list_schema(items: Schema, count: int | None = None) -> Schema:
    schema: Schema = {"type": "array", "items": items}
    if count is not None:
        schema |= {"minItems": count, "maxItems": count}
    return schema


def _value_schemas() -> dict[str, Schema]:
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


def _value_reference(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


_STRING: Schema = {"type": "string"}
_NUMBER_SHAPE: Schema = {"type": "number"}
_NOT_BLANK = {"pattern": r"\S"}

_SHAPES: Mapping[str, Schema] = {
    "text": _STRING,
    "id": _STRING | {"minLength": 1, "maxLength": LONGEST_ID, "pattern": r"^[^.\[\]]*$"},
    "id of": _STRING,
    "name": _STRING,
    "said text": _STRING | _NOT_BLANK,
    "braille cells": _STRING | {"pattern": "^[\\u2800-\\u28ff \\n]*$"},
    "number": _NUMBER_SHAPE,
    "share": _NUMBER_SHAPE,
    "whole number": {"type": "integer"},
    "date": _value_reference("date"),
    "length": _value_reference("length"),
    "toleranced length": _value_reference("toleranced"),
    "speed": _value_reference("speed"),
    "expansion": _value_reference("expansion"),
    "lengths by name": {
        "type": "object",
        "additionalProperties": {"anyOf": [_value_reference("length"), {"$ref": "#/$defs/figure"}]},
    },
    "area": _list_schema(_value_reference("length"), 4),
    "plugin tables": {"type": "object", "additionalProperties": {"type": "object"}},
    **{name: _value_reference(_value_name(name)) for name in measures.MEASURES},
}
"""The shape of each kind of value that is neither list nor table."""
