"""Values by name that say what there is where a name is unknown."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NoReturn, TypeVar

from signrules.model.wording import expected_name, listed_names

_Value = TypeVar("_Value")


class _KnownValues(dict[str, _Value]):
    """A dict whose KeyError names the nearest key, or those that there are."""

    def __missing__(self, name: object) -> NoReturn:
        known = tuple(self)
        there_are = f"one of {listed_names(list(known))}" if known else "none: there are none"
        raise KeyError(f"found {name}, expected {expected_name(str(name), known, there_are)}")


def known_values(values: Mapping[str, _Value]) -> Mapping[str, _Value]:
    """A read-only copy for the code of plugins, whose authors read the message of a slip."""
    return MappingProxyType(_KnownValues(values))
