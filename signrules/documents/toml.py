"""TOML text to plain data and back: just what a document needs of the format."""

from __future__ import annotations

import datetime
import math
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from typing import Any

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}
_MOST_INLINE = 4

MOST_PARTS = 100
"""The most parts that a key may have: what `tomllib` does for one grows with the square of them."""

_NO_KEY = re.compile(
    r'''"""(?:[^"\\]|\\.|"(?!""))*+(?:""")?|"(?:[^"\\\n]|\\.)*+"?'''
    r"""|'''(?:[^']|'(?!''))*+(?:''')?|'[^'\n]*+'?|#[^\n]*+""",
    re.S,
)
"""Texts, closed or not, and comments; a text may also be a part of a key."""

_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:[A-Za-z0-9_-]++[ \t]*+\.[ \t]*+){{{MOST_PARTS}}}")


def from_toml(text: str, parse_float: Callable[[str], Any] = float) -> dict[str, Any]:
    """The tables of a TOML text. Raises ValueError for none, or a key of over `MOST_PARTS` parts.

    Nesting without end raises RecursionError, and `parse_float` what it likes.
    """
    if any(line.count(".") >= MOST_PARTS for line in text.split("\n")) and _LONG_KEY.search(
        _NO_KEY.sub("x", text)
    ):
        raise ValueError(f"a key of more than {MOST_PARTS} parts with dots between them")
    return tomllib.loads(text, parse_float=parse_float)


def to_toml(document: Mapping[str, Any]) -> str:
    """TOML text that parses to the given tables, lists, texts, finite numbers, booleans and dates.

    Raises ValueError for a number that is not finite, TypeError for a value of any other type.
    """
    return "\n".join(_table_lines(document, ())).lstrip("\n") + "\n"


def _table_lines(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    """The lines of a table without its header: first what stands on one line, then what needs a
    header of its own.
    """
    for key, value in table.items():
        # A plain key that followed a header would belong to that table.
        if not (_is_section(value) or _is_list_of_sections(value)):
            yield f"{_key_text(key)} = {inline_value(value)}"
    for key, value in table.items():
        inner_path = (*path, key)
        name = ".".join(_key_text(part) for part in inner_path)
        if _is_section(value):
            yield f"\n[{name}]"
            yield from _table_lines(value, inner_path)
        elif _is_list_of_sections(value):
            for element in value:
                yield f"\n[[{name}]]"
                yield from _table_lines(element, inner_path)


def _is_section(value: object) -> bool:
    if not isinstance(value, Mapping):
        return False
    return len(value) > _MOST_INLINE or any(
        isinstance(element, Mapping) for element in value.values()
    )


def _is_list_of_sections(value: object) -> bool:
    return (
        isinstance(value, list | tuple)
        and bool(value)
        and all(isinstance(element, Mapping) for element in value)
    )


def inline_value(value: object) -> str:
    """One value as TOML on one line. Raises as `to_toml` does."""
    # Before whole numbers, of which Python takes it for one.
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted_text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"expected a finite number, got {value!r}")
        return repr(value)
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return f"[{', '.join(inline_value(element) for element in value)}]"
    if isinstance(value, Mapping):
        inside = ", ".join(
            f"{_key_text(key)} = {inline_value(element)}" for key, element in value.items()
        )
        return f"{{ {inside} }}" if inside else "{}"
    raise TypeError(f"expected a value that TOML can hold, got {type(value).__name__}")


def _key_text(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else _quoted_text(key)


def _quoted_text(text: str) -> str:
    return f'"{"".join(_escaped_character(character) for character in text)}"'


def _escaped_character(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    # Control characters, which TOML allows in no text as they are.
    if character < " " or character == "\x7f":
        return f"\\u{ord(character):04x}"
    return character
