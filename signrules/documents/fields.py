"""Which fields a job document states or could state, by the tables that read it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from types import MappingProxyType, UnionType
from typing import Union, get_args, get_origin, get_type_hints

from signrules.documents.kinds import LOCATING
from signrules.documents.paths import path_parts
from signrules.documents.tables import KINDS
from signrules.errors import PathError
from signrules.model.consistency import TABLES
from signrules.model.job import Job
from signrules.model.limits import document_key
from signrules.model.printer import Printer
from signrules.model.wording import listed, nearest

Part = str | int


def why_no_field(job: Job, path: str) -> str | None:
    """What to write in place of a path that leads to nothing which the job's document could state.

    None where the path leads to a field, stated or not, or to a table.
    """
    try:
        first, *rest = path_parts(path)
    except PathError:
        return "a path into the job, such as 'printer.max_throw'"
    if first == "printer":
        return _why_no_key((Printer,), rest)
    if first in TABLES:
        return _why_not_of_table(job, str(first), rest)
    top = tuple(document_key(Job, name) for name in KINDS[Job])
    return _why_no_key((), rest) if first in top else _instead(first, (*top, "printer", *TABLES))


def _why_not_of_table(job: Job, table: str, parts: Sequence[Part]) -> str | None:
    if not parts:
        return None
    rows = getattr(job, table)
    part, *rest = parts
    ids = [row.id for row in rows if hasattr(row, "id")]
    if part not in (range(len(rows)) if isinstance(part, int) else ids):
        return _instead(part, ids)
    return _why_no_key((TABLES[table],), rest)


def _why_no_key(classes: Sequence[type], parts: Sequence[Part]) -> str | None:
    """The same within one table, which is of one of some classes; of none for a plain value."""
    if not parts:
        return None
    part, *rest = parts
    fields: dict[str, tuple[type, str]] = {}
    for cls in classes:
        fields |= _fields_of(cls)
    if part == "control" and len(classes) > 1:
        return _why_no_key((), rest)  # It says which of the classes it is.
    if not isinstance(part, str) or part not in fields:
        return _instead(part, fields)
    cls, attribute = fields[part]
    if KINDS[cls][attribute] is LOCATING:
        return _why_no_key((), rest[1:])  # Its keys are the printer's own.
    return _why_no_key(_inner_classes(cls, attribute), rest)


@cache
def _fields_of(cls: type) -> MappingProxyType[str, tuple[type, str]]:
    """The fields of a table by the keys of the document: each with its class and attribute."""
    return MappingProxyType({document_key(cls, name): (cls, name) for name in KINDS[cls]})


@cache
def _inner_classes(cls: type, attribute: str) -> tuple[type, ...]:
    """The classes of the table that is the value of an attribute; none where it is no table."""
    hint = get_type_hints(cls)[attribute]
    types = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    return tuple(each for each in types if each in KINDS)


def _instead(found: Part, known: Iterable[str]) -> str:
    names = tuple(known)
    near = nearest(found, names) if isinstance(found, str) else None
    if near is not None:
        return f"{near!r} perhaps"
    return f"one of {listed(list(names))}" if names else "nothing more: this is a plain value"
