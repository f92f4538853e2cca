"""JSON Patch (RFC 6902) on plain documents: applying one, and making one of two documents.

Pointers are those of RFC 6901. Documents are dicts, lists, text, numbers, booleans and None; what
is given is never changed.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from signrules.errors import PatchError
from signrules.model.wording import shown_value

Operation = Mapping[str, Any]
Patch = Sequence[Operation]

MOST_COPIED = 1_000_000
"""The most values that the `copy` operations of one patch may copy: each can double the document.
"""

_POINTER = re.compile(r"(?:/(?:[^/~]|~[01])*)*")
_NEEDS = {
    "add": ("path", "value"),
    "remove": ("path",),
    "replace": ("path", "value"),
    "move": ("from", "path"),
    "copy": ("from", "path"),
    "test": ("path", "value"),
}


def apply_patch(document: Any, patch: Patch) -> Any:
    """A new document: the given one after every operation of a JSON Patch, all of them or none.

    Raises PatchError, with the number and the path of the operation that does not fit, for anything
    that RFC 6902 calls an error: a place that is not there, a test that fails, an operation that is
    malformed. The same for what is nested too deeply to be copied, and for copies of more than
    `MOST_COPIED` values in all.
    """
    if not isinstance(patch, Sequence) or isinstance(patch, str | bytes):
        raise PatchError(
            f"a patch: found {shown_value(patch)}, expected a list of operations (RFC 6902)"
        )
    try:
        # In a list of one, so that an operation may replace the document itself.
        holder = [copy.deepcopy(document)]
    except RecursionError:
        raise PatchError(_TOO_DEEP) from None
    copied = 0
    for number, operation in enumerate(patch):
        try:
            copied += _apply_operation(holder, operation, MOST_COPIED - copied)
        except _Misfit as misfit:
            raise PatchError(f"operation {number} of the patch: {misfit}") from None
        except RecursionError:
            raise PatchError(f"operation {number} of the patch: {_TOO_DEEP}") from None
    return holder[0]


def patch_between(before: Any, after: Any) -> list[dict[str, Any]]:
    """The operations that make `after` of `before`: the fewest places in tables, lists compared
    from both ends.

    A key of a table is set with `add`, which fits whether the key is there or not. Lists that hold
    no tables are single values and are set as a whole. Where an element of a list that has an `id`
    is changed, a `test` of the id goes first, so that the patch refuses another document.
    """
    if same_json(before, after):
        return []
    return list(_difference_at(before, after, ""))


def same_json(one: Any, other: Any) -> bool:
    """Whether two documents are equal as JSON is: 1 is 1.0, true is no number (RFC 6902, 4.6)."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(
            same_json(value, other[key]) for key, value in one.items()
        )
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(same_json, one, other))
    # In Python True equals 1.
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def parts_of(pointer: Any) -> list[str]:
    """The tokens of a JSON Pointer, unescaped. Raises PatchError where it is none."""
    if not isinstance(pointer, str) or _POINTER.fullmatch(pointer) is None:
        raise PatchError(
            f"found {shown_value(pointer)}, expected a JSON Pointer, such as '/passes/0/layers'"
            " (RFC 6901)"
        )
    # In this order: the other way round ~01 would become a slash (RFC 6901, 4).
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]


def pointer_token(part: str) -> str:
    """A key as a token of a JSON Pointer."""
    return part.replace("~", "~0").replace("/", "~1")


class _Misfit(Exception):
    """Why an operation does not fit."""


_TOO_DEEP = "found tables or lists nested too deeply, expected a few levels"


def _apply_operation(holder: list[Any], operation: Any, copies: int) -> int:
    """Apply one operation, which may copy so many values; how many it has copied."""
    if not isinstance(operation, Mapping):
        raise _Misfit(f"found {shown_value(operation)}, expected a table with op and path")
    operation_name = operation.get("op")
    if not isinstance(operation_name, str) or operation_name not in _NEEDS:
        raise _Misfit(
            f"op: found {shown_value(operation_name)}, expected one of {', '.join(_NEEDS)}"
        )
    absent = [key for key in _NEEDS[operation_name] if key not in operation]
    if absent:
        raise _Misfit(f"found no {' and no '.join(absent)}, which {operation_name} needs")
    try:
        path = parts_of(operation["path"])
        source = parts_of(operation["from"]) if "from" in _NEEDS[operation_name] else []
    except PatchError as error:
        raise _Misfit(str(error)) from None
    if operation_name == "test":
        found_part = _get_at(holder, path)
        if not same_json(found_part, operation["value"]):
            raise _Misfit(
                f"{operation['path']}: found {shown_value(found_part)}, expected"
                f" {shown_value(operation['value'])}"
            )
    elif operation_name in ("add", "replace"):
        _put_at(holder, path, copy.deepcopy(operation["value"]), new=operation_name == "add")
    elif operation_name == "remove":
        _take_out(holder, path)
    elif operation_name == "copy":
        found_part = _get_at(holder, source)
        size = _size_up_to(found_part, copies)
        if size > copies:
            raise _Misfit(
                f"{operation['from']}: found more to copy, expected copies of {MOST_COPIED} values"
                " in all"
            )
        _put_at(holder, path, copy.deepcopy(found_part), new=True)
        return size
    else:
        # It would be taken out together with the place where it is to go.
        if path[: len(source)] == source and len(path) > len(source):
            raise _Misfit(f"{operation['from']} cannot move into itself")
        _put_at(holder, path, _take_out(holder, source), new=True)
    return 0


def _size_up_to(value: Any, most: int) -> int:
    """How many values there are in a value, itself included; counting ends beyond `most`."""
    count, waiting = 0, [value]
    while waiting and count <= most:
        value = waiting.pop()
        count += 1
        if isinstance(value, Mapping):
            waiting += value.values()
        elif isinstance(value, list | tuple):
            waiting += value
    return count


def _get_at(holder: list[Any], path: list[str]) -> Any:
    value = holder[0]
    for depth, part in enumerate(path):
        value = value[_place_in(value, part, path[: depth + 1])]
    return value


def _take_out(holder: list[Any], path: list[str]) -> Any:
    if not path:
        value, holder[0] = holder[0], None
        return value
    parent = _get_at(holder, path[:-1])
    return parent.pop(_place_in(parent, path[-1], path))


def _put_at(holder: list[Any], path: list[str], value: Any, *, new: bool) -> None:
    if not path:
        holder[0] = value
        return
    parent = _get_at(holder, path[:-1])
    if new and isinstance(parent, list):
        position = len(parent) if path[-1] == "-" else _index_in(path[-1], len(parent) + 1, path)
        parent.insert(position, value)
    elif new and isinstance(parent, dict):
        parent[path[-1]] = value
    else:
        parent[_place_in(parent, path[-1], path)] = value


def _place_in(parent: Any, part: str, path: list[str]) -> Any:
    """The key or index of something that is there."""
    if isinstance(parent, list):
        return _index_in(part, len(parent), path)
    if isinstance(parent, dict) and part in parent:
        return part
    raise _Misfit(f"{_pointer_of(path)}: there is no such place in the document")


def _index_in(part: str, length: int, path: list[str]) -> int:
    """RFC 6901, 4: digits without leading zeros."""
    if (
        part.isascii()
        and part.isdigit()
        and (part == "0" or part[0] != "0")
        # Before `int`, which takes the square of the digits in time.
        and len(part) < 10
        and int(part) < length
    ):
        return int(part)
    raise _Misfit(
        f"{_pointer_of(path)}: found {length} places in the list, expected the number of one of"
        " them"
    )


def _pointer_of(path: list[str]) -> str:
    return "".join(f"/{pointer_token(part)}" for part in path)


def _difference_at(before: Any, after: Any, path: str) -> Iterator[dict[str, Any]]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        yield from _in_table(before, after, path)
    elif _holds_tables(before) and _holds_tables(after):
        yield from _in_list(before, after, path)
    else:
        operation = "add" if path else "replace"
        yield {"op": operation, "path": path, "value": copy.deepcopy(after)}


def _in_table(
    before: Mapping[str, Any], after: Mapping[str, Any], path: str
) -> Iterator[dict[str, Any]]:
    for key in before:
        if key not in after:
            yield {"op": "remove", "path": f"{path}/{pointer_token(key)}"}
    for key, value in after.items():
        inner_pointer = f"{path}/{pointer_token(key)}"
        if key not in before:
            yield {"op": "add", "path": inner_pointer, "value": copy.deepcopy(value)}
        elif not same_json(before[key], value):
            yield from _difference_at(before[key], value, inner_pointer)


def _in_list(before: Sequence[Any], after: Sequence[Any], path: str) -> Iterator[dict[str, Any]]:
    """What both have in common at their ends stays; of what lies between, the first elements are
    changed in place.
    """
    shorter = min(len(before), len(after))
    tail = 0
    # Of lists of one length each element is compared with the one in its place.
    if len(before) != len(after):
        head = next(
            (
                position
                for position in range(shorter)
                if not same_json(before[position], after[position])
            ),
            shorter,
        )
        while tail < shorter - head and same_json(before[-1 - tail], after[-1 - tail]):
            tail += 1
    compared = shorter - tail
    for position in range(compared):
        if not same_json(before[position], after[position]):
            yield from _named_element(before[position], path, position)
            yield from _difference_at(before[position], after[position], f"{path}/{position}")
    # From the end, so that the places of those that still go stay what they were.
    for position in reversed(range(compared, len(before) - tail)):
        yield from _named_element(before[position], path, position)
        yield {"op": "remove", "path": f"{path}/{position}"}
    for position in range(compared, len(after) - tail):
        yield {"op": "add", "path": f"{path}/{position}", "value": copy.deepcopy(after[position])}


def _named_element(element: Any, path: str, position: int) -> Iterator[dict[str, Any]]:
    if isinstance(element, Mapping) and "id" in element:
        yield {"op": "test", "path": f"{path}/{position}/id", "value": element["id"]}


def _holds_tables(value: Any) -> bool:
    return (
        isinstance(value, list | tuple)
        and bool(value)
        and all(isinstance(element, Mapping) for element in value)
    )
