"""Paths into a job (`passes.dots.layers`) and JSON Pointers into its document
(`/passes/1/layers`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from signrules.documents.json_patch import parts_of, pointer_token
from signrules.errors import PathError
from signrules.model.wording import listed_names, shown_value

_PART = re.compile(r"([^.\[\]]+)|\[(0|[1-9][0-9]{0,8})\]")
_INDEX = re.compile(r"0|[1-9][0-9]{0,8}", re.ASCII)


def path_parts(path: str) -> list[str | int]:
    """A path in its parts: names, and the numbers that stood in square brackets.

    Raises PathError where it is none.
    """
    parts: list[str | int] = []
    position = 0
    while position < len(path):
        if (
            parts
            and path[position] == "."
            # A full stop must part two names.
            and path[position + 1 : position + 2] not in ("", ".", "[")
        ):
            position += 1
        elif parts and path[position] != "[":
            break
        match = _PART.match(path, position)
        if match is None:
            break
        name, index = match.groups()
        parts.append(int(index) if name is None else name)
        position = match.end()
    if not parts or position < len(path) or isinstance(parts[0], int):
        raise PathError(
            f"found {shown_value(path)}, expected a path into the job, such as 'passes.dots.layers'"
        )
    return parts


def pointer_of(document: Any, path: str) -> str:
    """The JSON Pointer of a path into a document.

    `passes.dots.layers` is `/passes/1/layers` where `dots` is the second pass. Elements of a list
    go by their `id` or by their number in square brackets, `alignments[0]`. The last part may name
    a key that the document leaves out. Raises PathError where the path leads nowhere.
    """
    value, pointer = document, ""
    parts = path_parts(path)
    for number, part in enumerate(parts):
        last = number == len(parts) - 1
        if isinstance(value, list):
            position = part if isinstance(part, int) else _named_row(value, part, path)
            if position >= len(value):
                raise PathError(
                    f"{path}: found {len(value)} in the list, expected more than {position}"
                )
            pointer, value = f"{pointer}/{position}", value[position]
        elif isinstance(value, Mapping) and isinstance(part, str) and (part in value or last):
            pointer, value = f"{pointer}/{pointer_token(part)}", value.get(part)
        else:
            raise PathError(f"{path}: found {shown_value(part)}, expected {_keys_in(value)}")
    return pointer


def _keys_in(value: Any) -> str:
    """What a path may go on with, in words."""
    if isinstance(value, Mapping):
        return listed_names([str(key) for key in value])
    return f"nothing inside {shown_value(value)}"


def path_of(document: Any, pointer: str) -> str:
    """The path of a JSON Pointer; elements of a list go by `id`. Raises PathError for none."""
    value, path = document, ""
    parts = parts_of(pointer)
    for number, part in enumerate(parts):
        if isinstance(value, list):
            if _INDEX.fullmatch(part) is None or int(part) >= len(value):
                raise PathError(
                    f"{pointer}: found {shown_value(part)}, expected a number below {len(value)}"
                )
            value = value[int(part)]
            name = value.get("id") if isinstance(value, Mapping) else None
            path += f".{name}" if isinstance(name, str) else f"[{part}]"
        elif isinstance(value, Mapping) and (part in value or number == len(parts) - 1):
            path = f"{path}.{part}" if path else part
            value = value.get(part)
        else:
            raise PathError(f"{pointer}: found {shown_value(part)}, expected a key of the document")
    return path


def _named_row(rows: list[Any], name: str, path: str) -> int:
    for position, row in enumerate(rows):
        if isinstance(row, Mapping) and row.get("id") == name:
            return position
    ids = [str(row["id"]) for row in rows if isinstance(row, Mapping) and "id" in row]
    expected = listed_names(ids) if ids else "a number in square brackets"
    raise PathError(f"{path}: found {shown_value(name)}, expected {expected}")
