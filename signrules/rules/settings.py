"""Settings of a rule: a frozen attrs class whose fields have a default, a unit and a line of
documentation.

A shop sets them in its file; the rule asks for them by the parameter name `settings`.
"""

from __future__ import annotations

import typing
from collections.abc import Mapping
from typing import Any

import attrs
from attrs import frozen

from signrules.documents.lengths import parse_length
from signrules.documents.refusal import Refused, path_label
from signrules.errors import DocumentFault, RuleError
from signrules.model.limits import is_number
from signrules.model.wording import expected_name, shown_value

_LONGEST_REASON = 500
_UNIT, _DOC = "signrules unit", "signrules documentation"
_KINDS: Mapping[Any, str] = {
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    str: "a text",
    tuple[str, ...]: "a list of texts",
}


def setting(default: Any, *, doc: str, unit: str = "") -> Any:
    """A field of a settings class: its default, what it means, and its unit.

    A `float` whose unit is "mm" may be written in a shop file as a length with a unit, such as "0.5
    in".
    """
    return attrs.field(default=default, metadata={_UNIT: unit, _DOC: doc})


@frozen
class Setting:
    """One setting of a rule."""

    name: str
    kind: str
    default: Any
    unit: str
    doc: str


def settings_of(settings: type[Any]) -> tuple[Setting, ...]:
    """The settings that a class declares.

    Raises RuleError where the class is not a frozen attrs class, or a field has no default, no
    documentation or a type that a shop file cannot hold.
    """
    name = getattr(settings, "__name__", repr(settings))
    if not (isinstance(settings, type) and attrs.has(settings)):
        raise RuleError(f"settings {name}: expected a class made with attrs.frozen")
    types = _setting_types(settings)
    described = tuple(
        _described(name, field, types[field.name]) for field in attrs.fields(settings)
    )
    try:
        frozen_class = _is_frozen(settings)
    except (ValueError, TypeError) as error:
        raise RuleError(f"settings {name}: its own defaults are refused: {error}") from None
    if not frozen_class:
        raise RuleError(
            f"settings {name}: expected attrs.frozen, so that no rule can change its settings"
        )
    return described


def settings_from(settings: type[Any], given: Mapping[str, Any]) -> Any:
    """The settings with those that are given in the place of the defaults.

    Raises Refused, with one fault for each, where a name is unknown or a value of the wrong kind; a
    ValueError of the class's own validators is a fault too.
    """
    # Annotations may be texts; these are looked up in the module of the class.
    types = _setting_types(settings)
    known_settings = {setting.name: setting for setting in settings_of(settings)}
    faults, values = [], {}
    for name, value in given.items():
        if name not in known_settings:
            one_of_them = f"one of {', '.join(known_settings)}"
            expected = expected_name(str(name), tuple(known_settings), one_of_them)
            faults.append(DocumentFault(path_label(name), "an unknown setting", expected))
            continue
        try:
            values[name] = _value(value, types[name], known_settings[name].unit)
        except Refused as refused:
            faults += refused.under(path_label(name))
    if faults:
        raise Refused(faults)
    try:
        return settings(**values)
    except (ValueError, TypeError) as error:
        raise Refused(
            [DocumentFault("", shown_value(dict(given)), str(error)[:_LONGEST_REASON])]
        ) from None


def _is_frozen(settings: type[Any]) -> bool:
    instance = settings()
    try:
        for field in attrs.fields(settings):
            setattr(instance, field.name, field.default)
    except attrs.exceptions.FrozenInstanceError:
        return True
    # A class without fields has nothing that could be set.
    return not attrs.fields(settings)


def _setting_types(settings: type[Any]) -> dict[str, Any]:
    try:
        return typing.get_type_hints(settings)
    except NameError as error:
        raise RuleError(f"settings {settings.__name__}: {error}") from None


def _described(owner: str, field: attrs.Attribute[Any], kind: Any) -> Setting:
    where = f"settings {owner}.{field.name}"
    if kind not in _KINDS:
        raise RuleError(
            f"{where}: expected a type of {', '.join(map(_name, _KINDS))}, got {_name(kind)}"
        )
    if not field.metadata.get(_DOC):
        raise RuleError(f"{where}: expected setting(default, doc=...), which says what it means")
    unit = field.metadata[_UNIT]
    try:
        default = _value(field.default, kind, unit)
    except Refused as refused:
        raise RuleError(
            f"{where}: its default is {refused.found}, expected {refused.expected}"
        ) from None
    return Setting(field.name, _KINDS[kind], default, unit, field.metadata[_DOC])


def _name(kind: Any) -> str:
    return str(kind) if typing.get_args(kind) else getattr(kind, "__name__", str(kind))


def _value(value: Any, kind: Any, unit: str) -> Any:
    if kind is float and unit == "mm":
        return parse_length(value)
    if kind is float and is_number(value):
        return float(value)
    if kind is int and isinstance(value, int) and is_number(value):
        return value
    if kind in (bool, str) and isinstance(value, kind):
        return value
    texts = isinstance(value, list | tuple) and all(isinstance(element, str) for element in value)
    if kind == tuple[str, ...] and texts:
        return tuple(value)
    raise Refused.value(value, _KINDS[kind] + (f" ({unit})" if unit else ""))
