"""Every way to alter one number, one name or one thing in attrs classes, tuples and mappings.

It walks the fields that the classes declare, so that one that is added later is altered too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Mapping
from functools import partial
from typing import Any

import attrs

Build = Callable[[], Any]
Altered = tuple[str, Build]
"""Where something is altered, and a call that gives the whole with it altered."""

STRANGE_NAME = "nobody"


class Altering:
    """How to alter: `names` are groups of names, each of which may stand in for its others.

    `left_alone` holds the fields that are not altered, as pairs of class and name of field.
    """

    def __init__(
        self,
        names: Collection[Collection[str]],
        left_alone: Collection[tuple[type, str]],
    ) -> None:
        self.names, self.left_alone = names, left_alone

    def of(self, thing: Any) -> Iterator[Altered]:
        """All alterations of a thing, one at a time."""
        if thing is not None:
            yield " gone", lambda: None
        yield from self.within(thing)

    def within(self, thing: Any) -> Iterator[Altered]:
        """The alterations that leave something of the same kind, and garbage in its place."""
        if attrs.has(type(thing)):
            yield from self.of_fields(thing)
        elif isinstance(thing, Mapping):
            yield from self.of_mapping(thing)
        elif isinstance(thing, tuple | list):
            yield from self.of_row(thing)
        else:
            for other in self.others(thing):
                yield f" = {other!r}", partial(_same, other)

    def of_fields(self, thing: Any) -> Iterator[Altered]:
        for field in attrs.fields(type(thing)):
            if (type(thing), field.name) not in self.left_alone:
                for where, build in self.of(getattr(thing, field.name)):
                    yield f".{field.name}{where}", partial(_with_field, thing, field.name, build)

    def of_mapping(self, thing: Mapping[Any, Any]) -> Iterator[Altered]:
        pairs = list(thing.items())
        for at, (key, value) in enumerate(pairs):
            before, after = pairs[:at], pairs[at + 1 :]
            yield f"[{key}] left out", partial(dict, [*before, *after])
            for where, build in self.of(value):
                yield f"[{key}]{where}", partial(_with_value, before, key, build, after)
            for where, build in self.within(key):
                yield f"[{key}] its key{where}", partial(_with_key, before, build, value, after)

    def of_row(self, thing: Any) -> Iterator[Altered]:
        row = list(thing)
        for at, one in enumerate(row):
            before, after = row[:at], row[at + 1 :]
            yield f"[{at}] left out", partial(tuple, [*before, *after])
            yield f"[{at}] doubled", partial(tuple, [*before, one, one, *after])
            if after and after[0] != one:
                yield f"[{at}] swapped", partial(tuple, [*before, after[0], one, *after[1:]])
            for where, build in self.of(one):
                yield f"[{at}]{where}", partial(_with_element, before, build, after)

    def others(self, value: Any) -> list[Any]:
        """What may stand in the place of a plain value."""
        if value is None:
            return [STRANGE_NAME, 0.5]
        if isinstance(value, bool):
            return [not value, math.nan]
        if isinstance(value, int):
            return [value + 1, value - 1, math.nan, STRANGE_NAME]
        if isinstance(value, float):
            return [value + 0.01, value - 0.01, math.nan, math.inf, 1e308, STRANGE_NAME]
        if isinstance(value, str):
            alike = {name for group in self.names if value in group for name in group}
            return [*sorted(alike - {value}), STRANGE_NAME, 0.5, ()]
        raise AssertionError(f"nobody has said how to alter {value!r}")


def _same(thing: Any) -> Any:
    return thing


def _with_field(thing: Any, name: str, build: Build) -> Any:
    """The same with one field altered, whatever its class would say to that."""
    other = build()
    try:
        return attrs.evolve(thing, **{name: other})
    except (TypeError, ValueError):
        copy = object.__new__(type(thing))
        for field in attrs.fields(type(thing)):
            value = other if field.name == name else getattr(thing, field.name)
            object.__setattr__(copy, field.name, value)
        return copy


def _with_value(before: list[Any], key: Any, build: Build, after: list[Any]) -> dict[Any, Any]:
    return dict([*before, (key, build()), *after])


def _with_key(before: list[Any], build: Build, value: Any, after: list[Any]) -> dict[Any, Any]:
    return dict([*before, (build(), value), *after])


def _with_element(before: list[Any], build: Build, after: list[Any]) -> tuple[Any, ...]:
    return (*before, build(), *after)
