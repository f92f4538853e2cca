"""Changes to a document, written as paths into the job and the values that are to stand there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from signrules.documents.patching import apply_patch, parts_of
from signrules.documents.paths import pointer_of


def changed(document: Any, changes: Mapping[str, Any]) -> Any:
    """A new document: `{"passes.dots.layers": 40}` sets that number, None takes a key or an element of a list away.

    Raises PathError where a path leads nowhere; its last part may be a key that was left out so far.
    """
    for path, value in changes.items():
        pointer = pointer_of(document, path)
        operation = (
            {"op": "remove", "path": pointer} if value is None else {"op": "add", "path": pointer, "value": value}
        )
        document = apply_patch(document, [_replacing(document, operation)])
    return document


def _replacing(document: Any, operation: Mapping[str, Any]) -> Mapping[str, Any]:
    """In a list `add` would put the value before the element that is meant."""
    holder = document
    for part in parts_of(operation["path"])[:-1]:
        holder = holder[int(part)] if isinstance(holder, list) else holder[part]
    return {**operation, "op": "replace"} if operation["op"] == "add" and isinstance(holder, list) else operation
