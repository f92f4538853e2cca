"""The JSON Schemas of a job document and of a work order, made of the tables by which documents
are read.

Keys, which of them are required and the kind of each value come from the reader. The schema refuses
what has a wrong shape. It accepts some documents that the reader refuses: whether names are there
and areas lie on their sheets is more than a schema can say. What the reader accepts the schema
accepts.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator, Sequence

import attrs

from signrules.documents.figures import VALUE, may_be_figure
from signrules.documents.plugin_tables import NO_CLASSES, PLACE_OF, DataClasses
from signrules.documents.reading import VERSION
from signrules.documents.table_reader import AUTO
from signrules.documents.work_orders import VERSION as WORK_ORDER_VERSION
from signrules.documents.work_orders import VERSION_KEY as WORK_ORDER_KEY
from signrules.model.declared import (
    Declared,
    classes_within,
    control_words,
    declared_fields,
    document_key,
)
from signrules.model.handling_kinds import BUILTIN_KINDS
from signrules.model.job import Job
from signrules.model.media import Ink, Media
from signrules.model.printer import Printer
from signrules.model.work_order import WorkOrder
from signrules.schemas.value_shapes import (
    NOT_BLANK,
    SHAPES,
    STRING,
    Schema,
    list_schema,
    value_reference,
    value_schemas,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"


_KIND = "handling kind"
"""Under what name the kinds of handling stand: which there are the plugins say."""


def job_schema(
    own: DataClasses = NO_CLASSES, kinds: Sequence[str] = tuple(BUILTIN_KINDS)
) -> Schema:
    """The schema of a job document; `own` are the classes of the data of plugins, `kinds` the kinds
    of handling that there are.
    """
    version = {"type": "integer", "const": VERSION, "description": "the version of the document"}
    tables = {_class_name(cls): table_schema(cls, own) for cls in _classes_of_document(own)}
    known = {"enum": list(kinds)}
    return {
        "$schema": DIALECT,
        "title": "signrules job document",
        "description": (
            "A job as docs/job-document.md describes it; a TOML document has the same shape."
        ),
        **object_schema(
            {"signrules": version, **key_schemas(Job, own)}, ["signrules", *_required_keys(Job)]
        ),
        "$defs": {"figure": figure_schema(), _KIND: known} | value_schemas() | tables,
    }


def work_order_schema() -> Schema:
    """The schema of the document of a work order."""
    version = {
        "type": "integer",
        "const": WORK_ORDER_VERSION,
        "description": "the version of the document",
    }
    keys = {WORK_ORDER_KEY: version, **key_schemas(WorkOrder, NO_CLASSES)}
    return {
        "$schema": DIALECT,
        "title": "signrules work order",
        "description": (
            "A work order as docs/work-orders.md describes it; its TOML has the same shape."
        ),
        **object_schema(keys, [WORK_ORDER_KEY, *_required_keys(WorkOrder)]),
        "$defs": {"length": value_schemas()["length"]}
        | {_class_name(cls): table_schema(cls, NO_CLASSES) for cls in classes_within(WorkOrder)},
    }


def _classes_of_document(own: DataClasses) -> Iterator[type]:
    """The classes that the tables of a document become, those of plugins after those of the job."""
    yield from classes_within(Job)
    for classes in own.values():
        for cls in classes.values():
            yield from (cls, *classes_within(cls))


def key_schemas(cls: type, own: DataClasses) -> Schema:
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
        plugin: class_reference(classes[place])
        for plugin, classes in own.items()
        if place in classes
    }


def _or_name(shape: Schema, meaning: str) -> Schema:
    """A table, or the name of one."""
    name = {"type": "string", "description": meaning}
    return {"description": f"a table, or {meaning} by its id"} | _if_table(shape, name)


_USED = {
    Printer: "a printer of the shop or the catalogue, whose keys those beside it replace",
    Ink: "an ink of the shop, whose keys those beside it replace",
    Media: "a stock sheet of the shop, whose keys those beside it replace",
}
"""The classes whose tables may name one by `use`, and what they name."""


def figure_schema() -> Schema:
    """A table in place of a value, which says how that came about."""
    texts = {
        "from": "how it was found",
        "data_sheet": "the data sheet that it stands in",
        "assumed": "why it is assumed",
        "stated_in": "what states it in place of the job",
    }
    keys: Schema = {
        "is": {"description": "the value, as it would stand there alone"},
        "measured": value_reference("date") | {"description": "the day of the measurement"},
        "readings": {"type": "integer", "minimum": 1, "description": "how many there were"},
    }
    keys |= {key: STRING | NOT_BLANK | {"description": text} for key, text in texts.items()}
    return {
        "description": "a value that says how it came about",
        **object_schema(keys, ["is"]),
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


def table_schema(cls: type, own: DataClasses) -> Schema:
    """The schema of the table that a class of the model is read from."""
    keys = key_schemas(cls, own)
    needed = _required_keys(cls)
    summary = (inspect.getdoc(cls) or "").partition("\n\n")[0].replace("\n", " ")
    if cls in _USED:
        use = {"type": "string", "description": _USED[cls]}
        named = [key for key in needed if key == "id"]
        return {
            "description": summary,
            **object_schema({"use": use, **keys}, named),
            "if": _needs_keys(["use"]),
            "else": _needs_keys(needed),
        }
    control = control_words(Job).get(cls)
    if control is not None:
        keys = {"control": {"const": control, "description": CONTROL}, **keys}
        needed = ["control", *needed]
    return {"description": summary, **object_schema(keys, needed)}


def object_schema(properties: Schema, required: Sequence[str] = ()) -> Schema:
    """A table that has no other keys than these."""
    return {
        "type": "object",
        "properties": properties,
        **_needs_keys(list(required)),
        "additionalProperties": NO_SUCH_KEY,
    }


NO_SUCH_KEY: Schema = {"not": {"description": "any value: there is no key of this name"}}
"""What refuses each value of an unknown key. Of `false` checkers say that the table is wrong, of
this that the key is, at its own line.
"""


def _if_table(table: Schema, otherwise: Schema) -> Schema:
    """A table, or something else. Of `anyOf` checkers say no more than that nothing fits."""
    return {"if": {"type": "object"}, "then": table, "else": otherwise}


def _needs_keys(keys: list[str]) -> Schema:
    return {"required": keys} if keys else {}


def _field_schema(declared: Declared, *, figures: bool) -> Schema:
    """The schema of one value: its shape and range, and what it means; with `figures` it may be one
    that says how it came about.
    """
    meaning = {"description": declared.meaning} if declared.meaning else {}
    shape = _value_shape(declared)
    if figures and may_be_figure(declared):
        shape = {
            "if": {"type": "object", "required": [VALUE]},
            "then": {"$ref": "#/$defs/figure"},
            "else": shape,
        }
    return shape | meaning


def _value_shape(declared: Declared) -> Schema:
    if declared.kind == "open word":
        return {"$ref": f"#/$defs/{_KIND}"}
    if declared.words:
        return {"enum": list(declared.words)}
    tables = [class_reference(cls) for cls in declared.tables.values()]
    match declared.kind:
        case "table by control":
            return _table_by_control(declared)
        case "table by key":
            return _if_table(_table_by_key(declared), {"const": AUTO}) | {"default": AUTO}
        case "table" | "part":
            return dict(tables[0])
        case "rows":
            return list_schema(tables[0])
        case "one or more":
            assert declared.element is not None
            one = _value_shape(declared.element)
            return {"if": {"type": "array"}, "then": list_schema(one), "else": one}
        case "list":
            assert declared.element is not None
            return list_schema(_value_shape(declared.element), declared.count) | _at_least_one(
                declared
            )
        case _:
            return dict(SHAPES[declared.kind]) | _number_range(declared)


def _table_by_control(declared: Declared) -> Schema:
    """One of several tables, told apart by the word that each has at `control`."""
    cases = [
        {
            "if": {"properties": {"control": {"const": word}}, "required": ["control"]},
            "then": class_reference(cls),
        }
        for word, cls in declared.tables.items()
    ]
    control = {"enum": list(declared.tables), "description": CONTROL}
    return {
        "type": "object",
        "properties": {"control": control},
        "required": ["control"],
        "allOf": cases,
    }


def _table_by_key(declared: Declared) -> Schema:
    """One of several tables, told apart by the key that each has of its own; else the first."""
    (first, *others) = declared.tables.items()
    found = class_reference(first[1])
    for key, cls in others:
        found = {"if": {"required": [key]}, "then": class_reference(cls), "else": found}
    return found


CONTROL = "how the gap is set"


def _at_least_one(declared: Declared) -> Schema:
    return {"minItems": declared.least} if declared.least else {}


def _number_range(declared: Declared) -> Schema:
    """What is possible of a plain number; texts with a unit are checked as they are read."""
    if declared.kind == "share":
        return {"exclusiveMinimum": 0, "maximum": 1}
    if declared.kind in ("number", "whole number"):
        return {"minimum": declared.least, "maximum": declared.most}
    return {}


def class_reference(cls: type) -> Schema:
    """A reference to the schema of the table of a class."""
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
