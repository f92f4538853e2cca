"""The tables of a job document: the class of each, and the kind of value under each key."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

import attrs
from cattrs import ClassValidationError, Converter, ForbiddenExtraKeysError
from cattrs.errors import AttributeValidationNote
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from signrules.documents.kinds import KINDS, Kind, list_kind, one_or_more_kind
from signrules.documents.refusal import Refused, joined_path, nearest_known, path_label
from signrules.errors import DocumentFault
from signrules.model.declared import PARTS, Declared, declared_fields, document_key
from signrules.model.wording import NOTHING, shown_value

NO_FORMER_KEYS: Mapping[str, str] = MappingProxyType({})
AUTO = "auto"
"""The word in place of a table that leaves the choice to the planner."""


@cache
def kind_of(declared: Declared) -> Kind:
    """How the value of a declared field is read and written."""
    match declared.kind:
        case "list":
            assert declared.element is not None
            element = declared.element
            return list_kind(kind_of(element), element.check, declared.expected, declared.count)
        case "one or more":
            assert declared.element is not None
            element = declared.element
            return one_or_more_kind(list_kind(kind_of(element), element.check, declared.expected))
        case "table by control":
            return _control_kind(declared.tables)
        case "table by key":
            return _table_by_key(declared.tables)
        case "table" | "part":
            cls = declared.tables[""]
            return Kind(lambda value: read_table(value, cls), write_table)
        case _:
            return KINDS[declared.kind]


def _control_kind(classes: Mapping[str, type]) -> Kind:
    """A table that becomes an instance of the class that its key `control` names."""
    names = " or ".join(classes)

    def read_control(value: object) -> Any:
        if not isinstance(value, Mapping):
            raise Refused.value(value, f"a table with control = {names}")
        if "control" not in value:
            raise Refused([DocumentFault("control", NOTHING, f"the key control: {names}")])
        control = value["control"]
        if not isinstance(control, str) or control not in classes:
            raise Refused([DocumentFault("control", shown_value(control), names)])
        remaining = {key: element for key, element in value.items() if key != "control"}
        return read_table(remaining, classes[control])

    def write_control(value: Any) -> dict[str, Any]:
        control = next(name for name, cls in classes.items() if isinstance(value, cls))
        return {"control": control, **write_table(value)}

    return Kind(read_control, write_control)


def _table_by_key(classes: Mapping[str, type]) -> Kind:
    """A table that becomes an instance of the class whose key it has, or the word "auto"."""
    first = next(iter(classes.values()))
    keys = " or ".join(classes)

    def read_by_key(value: object) -> Any:
        if value == AUTO:
            return None
        if not isinstance(value, Mapping):
            raise Refused.value(value, f"'{AUTO}', or a table with {keys}")
        named = [key for key in classes if key in value]
        if len(named) > 1:
            raise Refused([DocumentFault(named[-1], "both", f"one of {keys}")])
        # Without a key of either, the first says what is lacking.
        cls = classes[named[0]] if named else first
        return read_table(value, cls)

    return Kind(read_by_key, write_table)


def document_fields(cls: type) -> Mapping[str, Declared]:
    """The declared fields of a class that stand in its own table, not beside it in the job."""
    return {
        name: declared
        for name, declared in declared_fields(cls).items()
        if declared.kind not in PARTS
    }


def read_table(value: object, cls: type) -> Any:
    """The instance of a class that a table stands for.

    Raises Refused with every fault of the table: wrong values, unknown keys, missing ones.
    """
    if not isinstance(value, Mapping):
        raise Refused.value(value, f"a table with {_some_keys(cls)}")
    try:
        return _structure_hook(cls)(value, cls)
    except ClassValidationError as error:
        raise Refused(_faults_of(error, cls)) from None


def read_field(value: object, cls: type, attribute: str) -> Any:
    """The value of one attribute; raises Refused where it is of the wrong kind or out
    of its range.
    """
    declared = declared_fields(cls)[attribute]
    result = kind_of(declared).read(value)
    if result is None:
        return None
    faults = [
        DocumentFault(
            inner_path.lstrip("."), shown_value(_stated_at(value, inner_path, culprit)), expected
        )
        for inner_path, culprit, expected in declared.check(result)
    ]
    if faults:
        raise Refused(faults)
    return result


def _stated_at(value: Any, where: str, culprit: object) -> object:
    """What the document itself says at the place of a fault."""
    if not where:
        return value
    # The elements of a list are checked as they are read.
    if not isinstance(value, Mapping):
        return culprit
    # A default may have filled what the document does not say.
    return value.get(where[1:], culprit)


def read_what_can_be(value: Mapping[Any, Any], cls: type) -> tuple[Any, dict[str, object]]:
    """What a table with faults still says: an instance, where its unknown keys are all that is
    wrong, and its values.

    Values by attribute; those that cannot be read as they stand. The instance is None where there
    is none.
    """
    known_values = {key: value[key] for key in keys_of(cls) if key in value}
    try:
        return read_table(known_values, cls), {}
    except Refused:
        pass
    stated: dict[str, object] = {}
    for attribute in document_fields(cls):
        key = document_key(cls, attribute)
        if key in known_values:
            try:
                stated[attribute] = read_field(known_values[key], cls, attribute)
            except Refused:
                stated[attribute] = known_values[key]
                # Areas that cannot be read count as the whole sheet, which lies on itself: no check
                # between the parts finds fault with it.
                if attribute == "areas":
                    stated[attribute] = None
    return None, stated


def tables_by_id(
    tables: object, name: str, faults: list[DocumentFault], expected: str = "tables by id"
) -> Iterator[tuple[Any, str, Mapping[str, Any]]]:
    """The tables under a name, each with its id as it stands there and its path.

    Adds what is no table to `faults`; `expected` says what belongs under the name.
    """
    if not isinstance(tables, Mapping):
        faults.append(DocumentFault(name, shown_value(tables), f"{expected}: [{name}.ID]"))
        return
    for table_id, table in tables.items():
        path = f"{name}.{path_label(table_id)}"
        if isinstance(table, Mapping):
            yield table_id, path, table
        else:
            faults.append(DocumentFault(path, shown_value(table), "a table"))


def write_table(value: Any) -> dict[str, Any]:
    """The table, as plain data without defaults, that reads back as a given instance."""
    cls: type = type(value)
    return _unstructure_hook(cls)(value)


UNKNOWN_KEY = "an unknown key"
"""What was found where a table has a key that no table of its kind has."""


def unknown_key(
    key: object, path: str, known: tuple[str, ...], former: Mapping[str, str] = NO_FORMER_KEYS
) -> DocumentFault:
    """The fault of a key that no table of that kind has.

    `former` are keys of old, or words for the same, and those in their place.
    """
    near_key = nearest_known(key, known)
    if isinstance(key, str) and key in former:
        near_key = former[key]
    expected = f"the key {near_key}" if near_key else f"one of {', '.join(known)}"
    return DocumentFault(joined_path(path, path_label(key)), UNKNOWN_KEY, expected)


def keys_of(cls: type) -> tuple[str, ...]:
    """The keys that the table of a class may have."""
    return tuple(document_key(cls, attribute) for attribute in document_fields(cls))


def _former_keys(cls: type) -> dict[str, str]:
    return {
        declared.former_key: document_key(cls, name)
        for name, declared in document_fields(cls).items()
        if declared.former_key
    }


def _some_keys(cls: type) -> str:
    keys = keys_of(cls)
    if len(keys) <= 4:
        return ", ".join(keys)
    return f"{', '.join(keys[:4])}..."


@cache
def _table_converter() -> Converter:
    return Converter(detailed_validation=True, forbid_extra_keys=True)


def _attribute_hook(cls: type, attribute: str) -> Callable[[Any, Any], Any]:
    # Made here and not in the loop, where every hook would see the last attribute.
    return lambda value, _: read_field(value, cls, attribute)


def _attribute_overrides(cls: type) -> dict[str, Any]:
    return {
        attribute: override(
            rename=document_key(cls, attribute),
            struct_hook=_attribute_hook(cls, attribute),
            unstruct_hook=kind_of(declared).write,
        )
        for attribute, declared in document_fields(cls).items()
    }


@cache
def _structure_hook(cls: type) -> Callable[[Any, Any], Any]:
    return make_dict_structure_fn(cls, _table_converter(), **_attribute_overrides(cls))


@cache
def _unstructure_hook(cls: type) -> Callable[[Any], dict[str, Any]]:
    own_fields = document_fields(cls)
    options: dict[str, Any] = {
        field.name: override(omit=True)
        for field in attrs.fields(cls)
        if field.name not in own_fields
    }
    options |= _attribute_overrides(cls)
    return make_dict_unstructure_fn(
        cls, _table_converter(), _cattrs_omit_if_default=True, **options
    )


def _faults_of(error: ClassValidationError, cls: type) -> list[DocumentFault]:
    faults: list[DocumentFault] = []
    for problem in error.exceptions:
        if isinstance(problem, ForbiddenExtraKeysError):
            former = _former_keys(cls)
            # A set, whose keys need not all be text: sorted as they are shown.
            unknown = sorted(problem.extra_fields, key=shown_value)
            faults += [unknown_key(key, "", keys_of(cls), former) for key in unknown]
            continue
        attribute = next(
            (
                note.name
                for note in getattr(problem, "__notes__", ())
                if isinstance(note, AttributeValidationNote)
            ),
            "",
        )
        key = document_key(cls, attribute)
        if isinstance(problem, Refused):
            faults += problem.under(key)
        elif isinstance(problem, KeyError) and attribute:
            faults.append(DocumentFault(key, NOTHING, f"the key {key}, which is required"))
        else:
            # The document is not to blame for anything else.
            raise problem
    return faults
