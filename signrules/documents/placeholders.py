"""Placeholders in texts: `{room}` stands for a word that must be there, `{line_2?}` for one that
may be empty.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any

from attrs import frozen

from signrules.errors import DocumentFault
from signrules.model.wording import shown_value

OPTIONAL = "?"
_BRACED = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile(r"[^\W\d][\w-]*")
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?", re.ASCII)


@frozen
class Placeholder:
    """The name of a column, and whether its cell may be empty."""

    name: str
    optional: bool = False


WordOf = Callable[[Placeholder], str]
"""What stands in the place of a placeholder; empty where there is nothing."""


def is_placeholder_name(name: str) -> bool:
    """Whether a placeholder may have that name: letters, digits, `_` and `-`, a letter first."""
    return _NAME.fullmatch(name) is not None


def placeholders_of(value: object, skipped: Collection[str] = ()) -> Iterator[Placeholder]:
    """The placeholders of a text, and of all texts in lists and tables; what stands under a key of
    `skipped` is left out.
    """
    if isinstance(value, str):
        for inside in _BRACED.findall(value):
            yield Placeholder(inside.removesuffix(OPTIONAL), inside.endswith(OPTIONAL))
        return
    for inner_value in _inner_values(value, skipped):
        yield from placeholders_of(inner_value, skipped)


def misnamed_placeholders(value: object, path: str) -> Iterator[DocumentFault]:
    """A fault for each placeholder of a value whose name is none."""
    for placeholder in dict.fromkeys(placeholders_of(value)):
        if not is_placeholder_name(placeholder.name):
            expected = "the name of a column in braces, such as {room}, or {room?} if it may lack"
            yield DocumentFault(path, shown_value(f"{{{placeholder.name}}}"), expected)


def without_placeholders(value: Any) -> Any:
    """A table without those keys whose texts, or lists of them, wait for words."""
    if isinstance(value, Mapping):
        kept = {key: without_placeholders(inner_value) for key, inner_value in value.items()}
        return {key: inner_value for key, inner_value in kept.items() if not _waits(value[key])}
    if isinstance(value, list | tuple):
        return [without_placeholders(inner_value) for inner_value in value]
    return value


def _waits(value: object) -> bool:
    """Whether a value cannot be read before it is filled: a text, or a list that holds no table."""
    if isinstance(value, Mapping):
        return False
    if isinstance(value, list | tuple) and any(isinstance(element, Mapping) for element in value):
        return False
    return any(True for _ in placeholders_of(value))


def filled_value(
    value: Any, word_of: WordOf, *, worded: Collection[str] = (), numbers: bool = True
) -> Any:
    """A value with words in place of its placeholders; None where only empty words were to stand.

    Keys and elements that come to nothing fall away. A text that comes to a plain number is one,
    but under keys of `worded`, and where `numbers` says that there are none.
    """
    if isinstance(value, str):
        text = filled_text(value, word_of)
        changed = text is not None and text != value
        # A text that nobody filled stays text, though it may look like a number.
        return _plain_number(str(text)) if numbers and changed else text
    if isinstance(value, Mapping):
        filled = {
            key: filled_value(
                element, word_of, worded=worded, numbers=numbers and key not in worded
            )
            for key, element in value.items()
        }
        return {key: element for key, element in filled.items() if element is not None}
    if isinstance(value, list | tuple):
        filled_elements = (
            filled_value(element, word_of, worded=worded, numbers=numbers) for element in value
        )
        return [element for element in filled_elements if element is not None]
    return value


def filled_text(text: str, word_of: WordOf) -> str | None:
    """A text with words in place of its placeholders; None where all of these may be empty and
    are.
    """
    placeholders = list(placeholders_of(text))
    words = {placeholder: word_of(placeholder) for placeholder in placeholders}
    if (
        placeholders
        and all(placeholder.optional for placeholder in placeholders)
        and not any(words.values())
    ):
        return None

    def word(match: re.Match[str]) -> str:
        inside = match[1]
        return words[Placeholder(inside.removesuffix(OPTIONAL), inside.endswith(OPTIONAL))]

    return _BRACED.sub(word, text).strip(" ")


def _plain_number(text: str) -> str | float:
    if not _NUMBER.fullmatch(text) or len(text) > _LONGEST_NUMBER:
        return text
    return float(text) if "." in text else int(text)


_LONGEST_NUMBER = 30


def _inner_values(value: object, skipped: Collection[str]) -> Iterator[object]:
    if isinstance(value, Mapping):
        yield from (inner_value for key, inner_value in value.items() if key not in skipped)
    elif isinstance(value, list | tuple):
        yield from value
