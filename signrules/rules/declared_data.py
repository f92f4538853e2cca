"""The data that a plugin declares in `signrules_data`, looked at when the plugin is loaded."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

import attrs

from signrules.documents.kinds import KINDS
from signrules.documents.plugin_tables import PLACES, OwnData
from signrules.errors import PluginError, RuleError
from signrules.model.declared import Declared, declared_fields
from signrules.model.limits import is_id
from signrules.model.plugin_data import short_name_of
from signrules.model.wording import expected_name, shown_value
from signrules.rules.declaration import Rule

_OF_OTHERS = ("id", "id of", "plugin tables", "price", "price share", "prices by name")
"""Kinds that mean something in a job or a rate table alone."""

_KINDS = (*(kind for kind in KINDS if kind not in _OF_OTHERS), "list", "one or more", "table")


def data_of_plugin(plugin: object, name: str) -> OwnData:
    """The data of a plugin: by which name documents hold them, and their classes by place.

    The name is that of the plugin, without `signrules-` before it, unless it states one. Raises
    RuleError for a name that no path can have, and for what `declared_data` refuses.
    """
    classes = declared_data(getattr(plugin, "signrules_data", {}))
    stated = getattr(plugin, "signrules_data_name", short_name_of(name))
    if classes and not is_id(stated):
        raise RuleError(
            f"documents cannot hold data of {shown_value(stated)}: state a name without any of"
            " . [ ] in signrules_data_name"
        )
    return OwnData(stated, classes)


def demand_declared_data(rule: Rule, data: OwnData) -> None:
    """Raises PluginError where a rule asks for data and its plugin declares none."""
    if "data" in rule.reads and not data.classes:
        raise PluginError(
            f"the rule {rule.name} asks for data, and the plugin declares none: name their classes"
            " in signrules_data"
        )


def declared_data(stated: Any) -> Mapping[str, type]:
    """The classes of a plugin's data by place, as the plugin states them.

    Raises RuleError for a place that there is not, a class that is not frozen or not of attrs, and
    a field without a declaration, with one that means something in a job alone, or with a default
    that it does not allow.
    """
    if not isinstance(stated, Mapping):
        raise RuleError(
            f"found {shown_value(stated)}, expected classes by place: {{'pass': CLASS}}"
        )
    for place, cls in stated.items():
        if place not in PLACES:
            expected = expected_name(str(place), tuple(PLACES), f"one of {', '.join(PLACES)}")
            raise RuleError(f"found the place {shown_value(place)}, expected {expected}")
        for slip in _slips_of_class(cls, place):
            raise RuleError(slip)
    return MappingProxyType({place: stated[place] for place in PLACES if place in stated})


def _slips_of_class(cls: Any, where: str) -> Iterator[str]:
    """What is wrong with a class, and with those of the tables within it."""
    if not (isinstance(cls, type) and attrs.has(cls) and _is_frozen(cls)):
        yield f"{where}: found {shown_value(cls)}, expected a class made with attrs.frozen"
        return
    declared = declared_fields(cls)
    for field in attrs.fields(cls):
        path = f"{where}.{field.name}"
        if field.name not in declared:
            expected = "field(metadata=plain_number(...)), or another declaration"
            yield f"{path}: found no declaration, expected {expected}"
            continue
        yield from _slips_of_field(declared[field.name], path)
        yield from _slips_of_default(declared[field.name], field.default, path)


def _slips_of_field(declared: Declared, where: str) -> Iterator[str]:
    if not declared.meaning.strip():
        yield f"{where}: found no word on what it means, expected a few"
    for kind in (declared, declared.element):
        if kind is None:
            continue
        if kind.kind not in _KINDS:
            yield f"{where}: found the kind {kind.kind}, expected one of {', '.join(_KINDS)}"
        for cls in kind.tables.values():
            yield from _slips_of_class(cls, where)


def _slips_of_default(declared: Declared, default: Any, where: str) -> Iterator[str]:
    if default is None or default is attrs.NOTHING:
        return
    for inside, found_value, expected in declared.check(default):
        yield f"{where}{inside}: found the default {shown_value(found_value)}, expected {expected}"


def _is_frozen(cls: type) -> bool:
    # Tried and not looked up: attrs keeps no public word on whether a class is frozen.
    instance: object = object.__new__(cls)
    try:
        for field in attrs.fields(cls):
            setattr(instance, field.name, None)
    except attrs.exceptions.FrozenInstanceError:
        return True
    return not attrs.fields(cls)
