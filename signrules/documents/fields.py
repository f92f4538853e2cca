"""Which fields a job document states or could state, by the declarations of the model."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from functools import cache
from types import MappingProxyType

import attrs

from signrules.documents.paths import path_parts
from signrules.documents.plugin_tables import (
    NO_CLASSES,
    PLACE_OF,
    DataClasses,
    data_by_plugin,
)
from signrules.documents.refusal import nearest_known
from signrules.errors import PathError
from signrules.model.declared import Declared, declared_fields, document_key
from signrules.model.job import Job
from signrules.model.wording import listed_names

Part = str | int

BY_NAME = "lengths by name"
"""The kind of a table whose keys are the printer's own."""

OF_PLUGINS = "plugin tables"
"""The kind of a table whose keys are names of plugins."""


def why_no_field(job: Job, path: str, own: DataClasses = NO_CLASSES) -> str | None:
    """What to write in place of a path that leads to nothing which the job's document could state.

    None where the path leads to a field, stated or not, or to a table. `own` are the classes of the
    data of those plugins that may be spoken of.
    """
    try:
        parts = path_parts(path)
    except PathError:
        return "a path into the job, such as 'printer.max_throw'"
    return _why_no_key(job, (Job,), parts, own)


def _why_no_key(
    job: Job, classes: Sequence[type], parts: Sequence[Part], data_classes: DataClasses
) -> str | None:
    """Why a path leads to no key of a table, which is of one of some classes; of none for a plain
    value.
    """
    if not parts:
        return None
    part, *further_parts = parts
    fields: dict[str, tuple[str, Declared]] = {}
    for cls in classes:
        fields |= fields_by_key(cls)
    if part == "control" and len(classes) > 1:
        # It says which of the classes it is.
        return _why_no_key(job, (), further_parts, data_classes)
    if not isinstance(part, str) or part not in fields:
        return _what_instead(part, fields)
    attribute, declared = fields[part]
    inner = tuple(declared.tables.values())
    # Its keys are the printer's own names, so any of them leads to a field.
    if declared.kind == BY_NAME:
        return _why_no_key(job, (), further_parts[1:], data_classes)
    if declared.kind == OF_PLUGINS:
        return _why_no_data(job, PLACE_OF[classes[0]], further_parts, data_classes)
    if declared.kind == "rows" and further_parts:
        rows = getattr(job, attribute)
        ids = [row.id for row in rows if hasattr(row, "id")]
        row, *further_parts = further_parts
        known_keys: Container[Part] = range(len(rows)) if isinstance(row, int) else ids
        if row not in known_keys:
            return _what_instead(row, ids)
    return _why_no_key(job, inner, further_parts, data_classes)


def _why_no_data(
    job: Job, place: str, parts: Sequence[Part], data_classes: DataClasses
) -> str | None:
    """Why a path leads to no data that a plugin declares for a place."""
    if not parts:
        return None
    plugin, *further_parts = parts
    known_classes = {
        name: classes[place] for name, classes in data_classes.items() if place in classes
    }
    if plugin in known_classes:
        return _why_no_key(job, (known_classes[str(plugin)],), further_parts, data_classes)
    if known_classes:
        return _what_instead(plugin, known_classes)
    return f"a field of the job: no data of a {place} are declared in signrules_data"


def is_unknown(job: Job, where: Sequence[Part], own: DataClasses = NO_CLASSES) -> bool:
    """Whether nothing is known of a field: it is not stated, and nothing is declared instead.

    `where` are keys of the document and positions in its lists, `own` the classes of the data of
    plugins.
    """
    value: object = job
    for part in where:
        if value is None:
            return True
        if isinstance(part, int):
            value = value[part]  # type: ignore[index]
        elif isinstance(value, tuple | dict):
            # The printer's own ways of locating a sheet, or the data of plugins.
            value = dict(value).get(part)
        else:
            cls: type = type(value)
            attribute, declared = fields_by_key(cls)[part]
            value = _attribute_value(value, attribute, own)
            if value is None and declared.otherwise:
                return False
    return value is None


def states_field(job: Job, path: str, own: DataClasses = NO_CLASSES) -> bool:
    """Whether a job surely states the field, or the table, to which a path leads.

    What is as it would be if it were left out may not be stated, and a list may lack an element:
    of these nothing is sure.
    """
    value: object = job
    default: object = attrs.NOTHING
    try:
        for part in path_parts(path):
            value, default = _inner_value(value, part, own)
    except (PathError, LookupError):
        return False
    # A value that equals the default may have been written or left out: the model cannot tell.
    return value is not None and value != default and not isinstance(value, tuple | dict)


def _attribute_value(part: object, attribute: str, data_classes: DataClasses) -> object:
    """The value of an attribute; of the data of plugins that of each of them."""
    if PLACE_OF.get(type(part)) and attribute == "data":
        return data_by_plugin(part, data_classes)
    return getattr(part, attribute)


def _inner_value(value: object, part: Part, data_classes: DataClasses) -> tuple[object, object]:
    """What stands under one part of a path, and what would stand there if it were left out.

    Raises LookupError where nothing can.
    """
    if isinstance(value, tuple):
        if isinstance(part, int):
            return value[part], attrs.NOTHING
        by_id = {getattr(row, "id", None): row for row in value}
        return by_id[part], attrs.NOTHING
    if isinstance(value, dict):
        return value[part], attrs.NOTHING
    cls: type = type(value)
    if not attrs.has(cls):
        raise LookupError
    attribute, _ = fields_by_key(cls)[str(part)]
    default = attrs.fields_dict(cls)[attribute].default
    return _attribute_value(value, attribute, data_classes), default


@cache
def fields_by_key(cls: type) -> MappingProxyType[str, tuple[str, Declared]]:
    """The fields of a class by the keys of a document, each with its attribute and declaration."""
    fields = declared_fields(cls)
    return MappingProxyType(
        {document_key(cls, name): (name, declared) for name, declared in fields.items()}
    )


def _what_instead(found: Part, known: Iterable[str]) -> str:
    names = list(known)
    near_name = nearest_known(found, names)
    if near_name is not None:
        return f"{near_name!r} perhaps"
    if names:
        return f"one of {listed_names(names)}"
    return "nothing more: this is a plain value"
