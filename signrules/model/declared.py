"""How a field of the model is declared: once, where it stands.

A declaration is the metadata of an attrs field. It says what kind of value the field holds, what is
possible, what is usual, and in one line what the value means. Readers, writers, checks, the JSON
Schema and the tables of the documentation are made from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache

import attrs
from attrs import field, frozen

from signrules.errors import DocumentFault
from signrules.model.limits import Check
from signrules.model.wording import shown_value

DECLARATION = "signrules"
"""The key of a field's metadata under which its declaration stands."""

Metadata = Mapping[str, "Declared"]
Usual = tuple[float, float] | None


@frozen(eq=False)
class Declared:
    """What a field may hold.

    `kind` names how a document writes the value. `least` and `most` are what is possible, `usual`
    the range outside of which a value is worth a second look, all in the unit of the model.
    `words` are the choices, `element` and `count` belong to a list, `tables` are the classes that
    a table may become, by the word that chooses among them (the empty word where there is one).
    `otherwise` says what holds where the field is left out, `key` is its name in a document where
    that is another, `former_key` one that it had.
    """

    kind: str
    meaning: str
    check: Check
    expected: str = ""
    unit: str = ""
    least: float | None = None
    most: float | None = None
    usual: Usual = None
    words: tuple[object, ...] = ()
    element: Declared | None = None
    count: int | None = None
    tables: Mapping[str, type] = field(factory=dict)
    otherwise: str = ""
    key: str = ""
    former_key: str = ""


def declared_fields(cls: type) -> Mapping[str, Declared]:
    """The declarations of a class by attribute, in their order."""
    return _declared_fields(cls)


@cache
def _declared_fields(cls: type) -> Mapping[str, Declared]:
    metadata = {attribute.name: attribute.metadata for attribute in attrs.fields(cls)}
    return {name: each[DECLARATION] for name, each in metadata.items() if DECLARATION in each}


def declared_as(
    cls: type, attribute: str, meaning: str | None = None, otherwise: str | None = None
) -> Metadata:
    """The declaration of another class's field, for one that holds the same; perhaps with another
    meaning, or another default in words.
    """
    declared = declared_fields(cls)[attribute]
    if meaning is not None:
        declared = attrs.evolve(declared, meaning=meaning)
    if otherwise is not None:
        declared = attrs.evolve(declared, otherwise=otherwise)
    return {DECLARATION: declared}


def classes_within(cls: type) -> dict[type, None]:
    """The classes that the tables of a class become, and the tables of theirs, in their order."""
    found: dict[type, None] = {}
    for declared in declared_fields(cls).values():
        rows = declared.element or declared
        for inner in rows.tables.values():
            found |= {inner: None} | classes_within(inner)
    return found


def control_words(cls: type) -> dict[type, str]:
    """The word of the key `control` that chooses each class, of a class and those within it."""
    found: dict[type, str] = {}
    for holder in (cls, *classes_within(cls)):
        for declared in declared_fields(holder).values():
            if declared.kind == "table by control":
                found |= {chosen: word for word, chosen in declared.tables.items()}
    return found


def document_key(cls: type, attribute: str) -> str:
    """What a job document calls an attribute."""
    return declared_fields(cls)[attribute].key or attribute


def field_faults(path: str, part: object) -> Iterator[DocumentFault]:
    """What is wrong with the fields of one part of a job, down to its innermost tables."""
    cls: type = type(part)
    for attribute, key, check, default in _checked_fields(cls):
        value = getattr(part, attribute)
        # Most fields of most parts are left out, and jobs have very many parts.
        if value is default:
            continue
        where = f"{path}.{key}" if path else key
        wrong = False
        for inside, culprit, expected in check(value):
            wrong = True
            yield DocumentFault(where + inside, shown_value(culprit), expected)
        # What is inside a wrong value would be told as well, though its own fault says it all.
        inner: type = type(value)
        if not wrong and _is_declared(inner):
            yield from field_faults(where, value)


@cache
def _is_declared(cls: type) -> bool:
    return attrs.has(cls) and bool(declared_fields(cls))


@cache
def _checked_fields(cls: type) -> tuple[tuple[str, str, Check, object], ...]:
    """Attribute, key, check and default of each field that its own class checks."""
    defaults = {attribute.name: attribute.default for attribute in attrs.fields(cls)}
    found = []
    for name, declared in declared_fields(cls).items():
        if declared.kind not in PARTS:
            found.append((name, document_key(cls, name), declared.check, defaults[name]))
    return tuple(found)


PARTS = ("part", "rows")
"""Kinds that hold parts of a job, which are checked one by one."""
