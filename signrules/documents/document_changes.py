"""Changes to a document, written as paths into the job and the values that are to stand there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from signrules.documents.json_patch import apply_patch, parts_of
from signrules.documents.paths import pointer_of
from signrules.errors import PathError


def changed(document: Any, changes: Mapping[str, Any]) -> Any:
    """A new document: `{"passes.dots.layers": 40}` sets that number, None takes a key or an element
    of a list away.

    Raises PathError where a path leads nowhere; its last part may be a key that was left out so
    far, unless it is to be taken away.
    """
    for path, value in changes.items():
        pointer = pointer_of(document, path)
        *holders, last = parts_of(pointer)
        holder = document
        for part in holders:
            holder = holder[int(part)] if isinstance(holder, list) else holder[part]
        stands_there = isinstance(holder, list) or last in holder
        if value is not None:
            # `add` to a list would push what stands there on by one place.
            name = "replace" if stands_there else "add"
            operation = {"op": name, "path": pointer, "value": value}
        elif stands_there:
            operation = {"op": "remove", "path": pointer}
        else:
            raise PathError(f"{path}: found nothing, expected a key of the document to take away")
        document = apply_patch(document, [operation])
    return document
