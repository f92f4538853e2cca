"""Braille cells: Unicode patterns U+2800 to U+28FF and their dots, 1 to 8.

Dots 1, 2, 3 run down the left column, 4, 5, 6 down the right one, 7 and 8 lie below 3 and 6. In a
pattern, dot n is bit n - 1 (the Unicode Standard, block Braille Patterns).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import islice

BLANK = "\u2800"
"""The cell without dots: a space."""

CAPITAL = "\u2820"
"""Dot 6: the capital indicator of Unified English Braille; two make a word, three a passage."""

NUMERIC = "\u283c"
"""Dots 3456: the numeric indicator; the digits 1 to 9 and 0 after it are the letters a to j."""

GRADE_1 = "\u2830"
"""Dots 56: the grade 1 indicator; what follows is a letter, neither a contraction nor a digit."""

TERMINATOR = "\u2820\u2804"
"""Dots 6, 3: ends a passage in capitals."""

HYPHEN = "\u2824"
"""Dots 36."""

DIGITS = dict(zip("1234567890", "⠁⠃⠉⠙⠑⠋⠛⠓⠊⠚", strict=True))
"""The cell of each digit, as it stands after the numeric indicator."""

LETTERS = dict(zip("abcdefghijklmnopqrstuvwxyz", "⠁⠃⠉⠙⠑⠋⠛⠓⠊⠚⠅⠇⠍⠝⠕⠏⠟⠗⠎⠞⠥⠧⠺⠭⠽⠵", strict=True))
"""The cell of each letter of the English alphabet."""


def cell_of_dots(dots: Iterable[int]) -> str:
    """The cell with these dots.

    Raises ValueError for a dot that is not a whole number from 1 to 8.
    """
    bits = 0
    for dot in dots:
        if dot not in range(1, 9):
            raise ValueError(f"expected dots from 1 to 8, got {dot!r}")
        bits |= 1 << (int(dot) - 1)
    return chr(ord(BLANK) + bits)


def dots_of(pattern: str) -> tuple[int, ...]:
    """The dots of one cell, in order; a plain space has none.

    Raises ValueError for any other character.
    """
    # People type spaces between cells; translators write the blank cell.
    if pattern == " ":
        return ()
    if len(pattern) != 1 or not BLANK <= pattern <= "\u28ff":
        raise ValueError(f"expected one braille pattern from U+2800 to U+28FF, got {pattern!r}")
    bits = ord(pattern) - ord(BLANK)
    return tuple(dot for dot in range(1, 9) if bits >> (dot - 1) & 1)


def name_of(pattern: str) -> str:
    """A cell as a transcriber says it: `dots 135`, `dot 6`, `blank`.

    Raises ValueError as `dots_of` does.
    """
    dots = dots_of(pattern)
    if not dots:
        return "blank"
    noun = "dots" if len(dots) > 1 else "dot"
    return f"{noun} {''.join(map(str, dots))}"


def to_dots(cells: str) -> str:
    """A line of cells in numbers: `⠌⠕⠏` is "34-135-1234", a blank cell 0.

    Raises ValueError as `dots_of` does.
    """
    return "-".join("".join(map(str, dots_of(cell))) or "0" for cell in cells)


def from_dots(numbers: str) -> str:
    """The cells that `to_dots` wrote.

    Raises ValueError for anything but digits and hyphens between them.
    """
    if not numbers:
        return ""
    return "".join(_cell_of_numbers(cell_numbers) for cell_numbers in numbers.split("-"))


def _cell_of_numbers(text: str) -> str:
    """The cell with the dots that a text numbers; 0 is the blank one."""
    if text == "0":
        return BLANK
    if not (text.isascii() and text.isdigit()):
        raise ValueError(f"expected the numbers of dots, got {text!r}")
    return cell_of_dots(int(digit) for digit in text)


def joined_cells(cells: str) -> str:
    """Cells as one line with single blank cells between words."""
    return BLANK.join(cells.replace(BLANK, " ").split())


def wide_gaps(cells: str) -> list[int]:
    """After which words, counted from 1, several blank cells stand before the next of the line."""
    gaps, count = [], 0
    for line in cells.splitlines():
        for part in re.split("( +)", line.replace(BLANK, " ").strip()):
            if part.startswith("  "):
                gaps.append(count)
            count += bool(part.strip())
    return gaps


def in_lines(cells: str, *, like: str) -> str:
    """Cells with line ends after as many words as in others.

    One line where the others have another number of words.
    """
    words = joined_cells(cells).split(BLANK)
    lengths = [len(line.replace(BLANK, " ").split()) for line in like.splitlines()]
    # Where lines end is then anyone's guess.
    if sum(lengths) != len(words):
        return joined_cells(cells)
    words_left = iter(words)
    lines = [BLANK.join(islice(words_left, length)) for length in lengths]
    return "\n".join(lines)
