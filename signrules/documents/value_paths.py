"""Numbers of a job by their path, read and changed on the model: every kind of number is known."""

from __future__ import annotations

from typing import Any

import attrs

from signrules.documents.fields import BY_NAME, fields_by_key
from signrules.documents.paths import path_parts
from signrules.errors import PathError
from signrules.model.declared import Declared
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.wording import listed_names, shown_value

Number = int | float | Interval


def number_at(job: Job, path: str) -> Number:
    """The number or toleranced length that a path of a job leads to.

    Raises PathError where it leads nowhere, to no number, or to a field that the job leaves open.
    """
    value: Any = job
    for part in path_parts(path):
        value = _value_inside(value, part, path)
    if isinstance(value, bool) or not isinstance(value, int | float | Interval):
        found = "nothing, for the job does not state it" if value is None else shown_value(value)
        raise PathError(f"{path}: found {found}, expected a number or a length")
    return value


def with_number(job: Job, path: str, value: Number) -> Job:
    """The job with another number at a path.

    Raises PathError, and JobError where the job cannot hold it.
    """
    changed: Job = _with_value_in(job, path_parts(path), value, path)
    return changed


def _with_value_in(holder: Any, parts: list[str | int], value: Any, path: str) -> Any:
    if not parts:
        return value
    inner = _with_value_in(_value_inside(holder, parts[0], path), parts[1:], value, path)
    key = _key_in_holder(holder, parts[0], path)
    if isinstance(holder, tuple):
        # A pair is a name and its number, such as a way of locating and its error.
        element = (parts[0], inner) if _is_pairs(holder) else inner
        return (*holder[:key], element, *holder[key + 1 :])
    return attrs.evolve(holder, **{key: inner})


def _value_inside(holder: Any, part: str | int, path: str) -> Any:
    key = _key_in_holder(holder, part, path)
    if isinstance(holder, tuple):
        return holder[key][1] if _is_pairs(holder) else holder[key]
    return getattr(holder, key)


def _key_in_holder(holder: Any, part: str | int, path: str) -> Any:
    """The index in a tuple or the name of an attribute that a part of a path stands for."""
    if isinstance(holder, tuple):
        names: list[Any] = [getattr(part, "id", None) for part in holder]
        if _is_pairs(holder):
            names = [name for name, _ in holder]
        if isinstance(part, str) and part in names:
            return names.index(part)
        if isinstance(part, int) and part < len(holder) and not _is_pairs(holder):
            return part
        known_keys = (
            listed_names([name for name in names if name is not None])
            or f"a number below {len(holder)} in brackets"
        )
        raise PathError(f"{path}: found {shown_value(part)}, expected {known_keys}")
    names = []
    if attrs.has(type(holder)) and not isinstance(holder, Interval):
        names = [part.name for part in attrs.fields(type(holder))]
    if part not in names:
        known_keys = listed_names(names, most=40) if names else "nothing further"
        raise PathError(f"{path}: found {shown_value(part)}, expected {known_keys}")
    return part


def _is_pairs(holder: tuple[Any, ...]) -> bool:
    return bool(holder) and all(
        isinstance(element, tuple) and len(element) == 2 for element in holder
    )


def declared_at(path: str) -> Declared | None:
    """The declaration of the field that a path leads to."""
    classes: tuple[type, ...] = (Job,)
    declared: Declared | None = None
    for part in path_parts(path):
        fields = [fields_by_key(cls).get(str(part)) for cls in classes]
        inner = next((entry[1] for entry in fields if entry is not None), None)
        if inner is not None:
            declared = inner
            classes = tuple(inner.tables.values())
        elif declared is not None and declared.kind == BY_NAME:
            return declared
        elif declared is None or declared.kind != "rows":
            return None
    return declared
