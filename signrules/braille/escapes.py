"""Answers of a translator that are no translation: characters that its table does not have.

A translator may write such a character as an escape, a backslash and its number, or with dots 7 and
8. Signs have cells of six dots (The Rules of Unified English Braille, second edition 2013, section
2.1, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from signrules.braille.cells import DIGITS, GRADE_1, LETTERS, NUMERIC

_IN_HEX = LETTERS | DIGITS
_INDICATORS = str.maketrans("", "", NUMERIC + GRADE_1)
_MORE_DOTS = "\u2840"
"""From this pattern on each cell of the block has dot 7 or dot 8."""


def is_translation(cells: str, line: str) -> bool:
    """Whether cells are of six dots, and none of them the number of a character of the line."""
    if any(cell >= _MORE_DOTS for cell in cells):
        return False
    plain = cells.translate(_INDICATORS)
    # ASCII characters are in every table; the number of one might stand in the line as it is.
    return not any(_number_in_cells(char) in plain for char in line if not char.isascii())


def unknown_characters(text: str, translate: Callable[[str], str | None]) -> tuple[str, ...]:
    """The characters of a text for which a translator has no translation by themselves."""
    unknown = []
    for char in dict.fromkeys(text.replace(" ", "")):
        # One by one: beside others a character may be part of a contraction.
        cells = translate(char)
        if cells is not None and not is_translation(cells, char):
            unknown.append(char)
    return tuple(unknown)


def named_characters(chars: Iterable[str]) -> str:
    """Characters with their numbers in the Unicode Standard, for a message."""
    return ", ".join(f"{char!r} (U+{ord(char):04X})" for char in chars)


def _number_in_cells(char: str) -> str:
    """The letter x and the number of a character in hexadecimal, as cells without indicators."""
    return "".join(_IN_HEX[digit] for digit in f"x{ord(char):04x}")
