"""Names of elements, groups that stand for layers, and references within a file."""

from __future__ import annotations

import re
from typing import Any

SVG = "{http://www.w3.org/2000/svg}"
HREFS = ("href", "{http://www.w3.org/1999/xlink}href")

_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{2,4})_")
_URL = re.compile(r"url\(\s*['\"]?#([^'\")]+)['\"]?\s*\)")


def kind_of(element: Any) -> str:
    """The name of an element of SVG, "" for any other."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    if tag.startswith(SVG):
        return tag[len(SVG) :]
    return "" if tag.startswith("{") else tag


def group_name(element: Any) -> str:
    """What a group is called: by a label that an editor gave it, or by its id."""
    for key, value in element.attrib.items():
        if key.startswith("{") and key.endswith("}label") and value.strip():
            return str(value).strip()
    name = element.get("data-name") or element.get("id") or element.get("data-step") or ""
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), name).strip()


def group_step(element: Any) -> tuple[str | None, str | None]:
    """The processing step in the attribute `data-step` of a group, and its type: SVG has no such
    thing, and leaves attributes of this kind to whoever reads them.
    """
    words = (element.get("data-step") or "").split()
    return (words[0] if words else None), (words[1] if len(words) > 1 else None)


def is_marked_layer(element: Any) -> bool:
    """Whether an editor marks a group as a layer, in a namespace of its own."""
    return any(
        key.startswith("{") and key.endswith("}groupmode") and value == "layer"
        for key, value in element.attrib.items()
    )


def referred_id(value: str) -> str | None:
    """The id in "url(#id)"; None for anything else."""
    match = _URL.match(value or "")
    return match[1] if match else None


def link_of(element: Any) -> str:
    """Where an element points: "#id", or elsewhere."""
    for key in HREFS:
        if element.get(key):
            return str(element.get(key)).strip()
    return ""


def layer_groups(root: Any) -> dict[Any, str]:
    """Groups that stand for layers: those marked as one by an editor, or the named groups at the
    top. A single group without a name at the top is looked into.
    """
    marked = {
        element: group_name(element) or f"layer {at}"
        for at, element in enumerate(root.iter(SVG + "g", "g"), 1)
        if is_marked_layer(element)
    }
    if marked:
        return marked
    top, depth = root, 0
    while depth < 20:
        drawn = [child for child in top if kind_of(child) not in _UNDRAWN]
        groups = [child for child in drawn if kind_of(child) == "g"]
        if len(drawn) == 1 and groups and not group_name(groups[0]):
            top, depth = groups[0], depth + 1
            continue
        return {group: group_name(group) for group in groups if group_name(group)}
    return {}


_UNDRAWN = frozenset(
    {"", "defs", "style", "title", "desc", "metadata", "script", "symbol", "clipPath", "mask"}
)
