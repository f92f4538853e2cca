"""The JSON Schema of a job document, made of the tables by which documents are read.

Keys, which of them are required and the kind of each value come from the reader. The schema refuses what has a wrong
shape. It accepts some documents that the reader refuses: whether names are there and areas lie on their sheets is more
than a schema can say. What the reader accepts the schema accepts.
"""

from __future__ import annotations

import inspect
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import attrs

from signrules.documents import kinds, lengths, measures
from signrules.documents.measures import Measure
from signrules.documents.reading import VERSION
from signrules.documents.tables import KINDS
from signrules.model import passes, sheet, sign
from signrules.model.consistency import NEEDED_TABLES, TABLES
from signrules.model.job import Job, Waiver
from signrules.model.limits import LARGEST_MM, LONGEST_ID, MOST_LAYERS, document_key
from signrules.model.passes import Gap, Handling, Pass
from signrules.model.printer import Dial, Printer, Spacers
from signrules.model.sheet import Ink, Media
from signrules.model.sign import Braille, Raised, Surface, Visual

DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]

_DECIMAL = r"([0-9]{1,40}(\.[0-9]{0,40})?|\.[0-9]{1,40})([eE][+-]?[0-9]{1,3})?"
_NUMBER = rf"[+-]?(([0-9]+ +)?[0-9]+ */ *[0-9]+|{_DECIMAL}) *"
_MEASURED = r"[0-9]{1,40}(\.[0-9]{0,40})?([eE][+-]?[0-9]{1,2})? *"


def job_schema() -> Schema:
    """The schema of a job document."""
    classes = [cls for cls in KINDS if cls is not Job]
    return {
        "$schema": DIALECT,
        "title": "signrules job document",
        "description": "A job as docs/job-document.md describes it; a TOML document has the same shape.",
        **_object(
            {"signrules": {"type": "integer", "const": VERSION}}
            | {document_key(Job, name): _field(Job, name) for name in KINDS[Job]}
            | {"printer": _ref(Printer)}
            | {name: {"type": "array", "items": _ref(cls)} for name, cls in TABLES.items()},
            ["signrules", "printer", *NEEDED_TABLES],
        ),
        "$defs": _values() | {_name(cls): _table(cls) for cls in classes},
    }


def _table(cls: type) -> Schema:
    keys = {document_key(cls, name): _field(cls, name) for name in KINDS[cls]}
    fields = attrs.fields_dict(cls)
    needed = [document_key(cls, name) for name in KINDS[cls] if fields[name].default is attrs.NOTHING]
    summary = (inspect.getdoc(cls) or "").partition("\n\n")[0].replace("\n", " ")
    if cls is Printer:
        use = {"type": "string", "description": "a printer of the catalogue, whose keys those beside it replace"}
        return {"description": summary, **_object({"use": use, **keys}, []), "anyOf": [_needs(["use"]), _needs(needed)]}
    for name, control in (("spacers", Spacers), ("dial", Dial)):
        if cls is control:
            keys, needed = {"control": {"const": name}, **keys}, ["control", *needed]
    return {"description": summary, **_object(keys, needed)}


def _object(properties: Schema, required: list[str]) -> Schema:
    return {"type": "object", "properties": properties, **_needs(required), "additionalProperties": False}


def _needs(keys: list[str]) -> Schema:
    return {"required": keys} if keys else {}


def _field(cls: type, attribute: str) -> Schema:
    """The schema of one value: by its kind, or the table that its type names; with its choices and its default."""
    kind = KINDS[cls][attribute]
    if (cls, attribute) == (Printer, "gap"):
        return {"oneOf": [_ref(Spacers), _ref(Dial)]}
    if (cls, attribute) == (Pass, "gap"):
        return {"anyOf": [{"const": "auto"}, _ref(Gap)], "default": "auto"}
    found = next((dict(shape) for known, shape in _SHAPES if known is kind), None)
    if found is None:
        inner = next(each for each in _types(get_type_hints(cls)[attribute]) if each in KINDS)
        return _ref(inner)
    choices = CHOICES.get((cls, attribute))
    if choices is not None:
        found = {"enum": list(choices)}
    found |= LIMITS.get((cls, attribute), {})
    default = attrs.fields_dict(cls)[attribute].default
    return found | ({"default": default} if isinstance(default, str | int | float) else {})


def _types(hint: Any) -> tuple[Any, ...]:
    return get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)


def _ref(cls: type) -> Schema:
    return {"$ref": f"#/$defs/{_name(cls)}"}


def _name(cls: type) -> str:
    return cls.__name__.lower()


def _listed(items: Schema, count: int | None = None) -> Schema:
    return {"type": "array", "items": items} | ({} if count is None else {"minItems": count, "maxItems": count})


def _values() -> dict[str, Schema]:
    """The schemas of the values that stand in tables."""
    units = _units(lengths.LENGTH_UNITS)
    part = rf"{_NUMBER}({units})? *"
    number = {"type": "number", "minimum": -LARGEST_MM, "maximum": LARGEST_MM}
    tolerance = rf"(?!.*\.\.\.)({part}(\+-|±) *|({part}\.\. *){{0,2}}){_NUMBER}({units})"
    return {
        "length": {
            "description": "mm as a number, or text with a unit",
            "anyOf": [number, _text(_NUMBER + f"({units})")],
        },
        "toleranced": {"description": "a length, perhaps with a tolerance", "anyOf": [number, _text(tolerance)]},
        "speed": _text(rf"{_NUMBER}({_units(lengths.SPEED_UNITS)})") | {"description": "a speed with its unit"},
        "date": {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "description": "year-month-day"},
        "expansion": _text(
            rf"({_MEASURED}({_measured(measures.EXPANSION)})? *\.\. *){{0,2}}{_with_unit(measures.EXPANSION)}"
        ),
    } | {
        name: _text(_with_unit(measure)) | {"description": f"such as {measure.example}"} for name, measure in _MEASURES
    }


def _text(pattern: str) -> Schema:
    return {"type": "string", "maxLength": 200, "pattern": f"^ *{pattern} *$"}


def _units(names: Any) -> str:
    return "|".join(names)


def _measured(measure: Measure) -> str:
    return _units(name for name, _ in measure.units)


def _with_unit(measure: Measure) -> str:
    return f"{_MEASURED}({_measured(measure)})"


_MEASURES = (
    ("volume", measures.VOLUME),
    ("density", measures.DENSITY),
    ("acceleration", measures.ACCELERATION),
    ("pressure", measures.PRESSURE),
    ("dose", measures.DOSE),
    ("heat_capacity", measures.HEAT_CAPACITY),
    ("cooling", measures.COOLING),
)


def _value(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


_SHAPES: tuple[tuple[kinds.Kind, Schema], ...] = (
    (kinds.TEXT, {"type": "string"}),
    (kinds.NUMBER, {"type": "number"}),
    (kinds.WHOLE, {"type": "integer"}),
    (kinds.DATE, _value("date")),
    (kinds.LENGTH, _value("length")),
    (kinds.TOLERANCED, _value("toleranced")),
    (kinds.SPEED, _value("speed")),
    (kinds.VOLUME, _value("volume")),
    (kinds.DENSITY, _value("density")),
    (kinds.ACCELERATION, _value("acceleration")),
    (kinds.PRESSURE, _value("pressure")),
    (kinds.DOSE, _value("dose")),
    (kinds.HEAT_CAPACITY, _value("heat_capacity")),
    (kinds.COOLING, _value("cooling")),
    (kinds.EXPANSION, _value("expansion")),
    (kinds.TEXTS, _listed({"type": "string"})),
    (kinds.LENGTHS, _listed(_value("length"))),
    (kinds.DISTANCES, _listed(_value("length"))),
    (kinds.PLACE, _listed(_value("length"), 2)),
    (kinds.SIZES, _listed(_value("length"), 2)),
    (kinds.LOCATING, {"type": "object", "additionalProperties": _value("length")}),
    (kinds.AREAS, _listed(_listed(_value("length"), 4))),
)
"""The schema of each kind of value that is no table."""

CHOICES: dict[tuple[type, str], tuple[object, ...]] = {
    (Media, "hold"): sheet.HOLDS,
    (Media, "up"): passes.SIDES,
    (Media, "sheet_type"): sheet.SHEET_TYPES,
    (Ink, "role"): sheet.ROLES,
    (Pass, "side"): passes.SIDES,
    (Pass, "directions"): (1, 2),
    (Pass, "crisp_on"): passes.SURFACES,
    (Gap, "reference"): passes.REFERENCES,
    (Handling, "does"): passes.HANDLINGS,
    (Braille, "shape"): sign.SHAPES,
    (Braille, "grade"): sign.GRADES,
    (Raised, "case"): sign.CASES,
    (Raised, "style"): sign.STYLES,
    (Visual, "style"): sign.STYLES,
    (Surface, "finish"): sign.FINISHES,
}
"""The words that a value may be, where there are few."""

_ID: Schema = {"minLength": 1, "maxLength": LONGEST_ID, "pattern": r"^[^.\[\]]*$"}
_REFLECTANCE: Schema = {"minimum": 0, "maximum": 100}

LIMITS: dict[tuple[type, str], Schema] = {
    (Media, "id"): _ID,
    (Ink, "id"): _ID,
    (Pass, "id"): _ID,
    (Handling, "id"): _ID,
    (sign.Sign, "id"): _ID,
    (Pass, "areas"): {"minItems": 1},
    (Pass, "layers"): {"minimum": 1, "maximum": MOST_LAYERS},
    (Pass, "coverage"): {"exclusiveMinimum": 0, "maximum": 1},
    (Media, "vacuum_share"): {"minimum": 0, "maximum": 1},
    (Waiver, "reason"): {"pattern": r"\S"},
    (Waiver, "by"): {"pattern": r"\S"},
    (Braille, "cells"): {"pattern": "^[\\u2800-\\u28ff \\n]*$"},
    (Surface, "character_lrv"): _REFLECTANCE,
    (Surface, "background_lrv"): _REFLECTANCE,
}
"""What else a schema can say of a value."""
