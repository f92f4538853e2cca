"""Whether braille is mirrored or stands on its head, as far as its text tells.

Its dots alone do not: whatever way a cell is turned over, it is a cell again. So cells are held
against the text that they are to say. Where they do not say it, and would if they were turned
over, that is what happened.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from signrules.braille.cells import BLANK, cell_of_dots, dots_of
from signrules.braille.styles import Translates, says_the_text
from signrules.model.sign import Braille

_LEFT_TO_RIGHT = {1: 4, 2: 5, 3: 6, 4: 1, 5: 2, 6: 3}
_TOP_TO_BOTTOM = {1: 3, 2: 2, 3: 1, 4: 6, 5: 5, 6: 4}

Lines = tuple[str, ...]


def mirrored(lines: Sequence[str]) -> Lines:
    """Lines of cells as they read where left and right are changed."""
    return tuple(_in_places(line[::-1], _LEFT_TO_RIGHT) for line in lines)


def flipped(lines: Sequence[str]) -> Lines:
    """Lines of cells as they read where top and bottom are changed."""
    return tuple(_in_places(line, _TOP_TO_BOTTOM) for line in reversed(lines))


def upended(lines: Sequence[str]) -> Lines:
    """Lines of cells as they read on their head."""
    return mirrored(flipped(lines))


TURNS: dict[str, Callable[[Sequence[str]], Lines]] = {
    "mirrored from left to right": mirrored,
    "mirrored from top to bottom": flipped,
    "on its head": upended,
}
"""What may have happened to braille, in words, and what undoes it."""


def turned_over(lines: Sequence[str], text: Sequence[str], translate: Translates) -> str | None:
    """What befell braille if its cells say a text once that is undone, and do not as they lie: one
    of `TURNS`, of all of it or of one line.
    """
    if _says(lines, text, translate):
        return None
    for words, undone in TURNS.items():
        if _says_undone(undone(lines), text, translate):
            return f"that is {words}"
    for number, line in enumerate(lines if len(lines) > 1 else (), 1):
        for words, undone in TURNS.items():
            again = [*lines[: number - 1], *undone([line]), *lines[number:]]
            if _says_undone(again, text, translate):
                return f"whose line {number} is {words}"
    return None


def _says_undone(lines: Sequence[str], text: Sequence[str], translate: Translates) -> bool:
    # Undone, the dots may lie low or to the right in their cells, where reading took them for upper
    # left ones: so they are pushed there before they are compared.
    raised = [_pushed_up_left(line) for line in lines]
    return _says(lines, text, translate) or _says(raised, text, translate)


def _says(lines: Sequence[str], text: Sequence[str], translate: Translates) -> bool:
    return says_the_text(Braille(cells="\n".join(lines)), text, translate)


def _in_places(line: str, places: dict[int, int]) -> str:
    return "".join(cell_of_dots(places[dot] for dot in dots_of(cell)) for cell in line)


def _pushed_up_left(line: str) -> str:
    """A line whose dots lie in two rows or on one side alone, with them in the upper left."""
    dots = {dot for cell in line for dot in dots_of(cell)}
    # A row at a time, at most twice, until the upper row has a dot.
    while dots and not dots & {1, 4}:
        line = _in_places(line, {2: 1, 3: 2, 5: 4, 6: 5})
        dots = {dot for cell in line for dot in dots_of(cell)}
    if dots and not dots & {1, 2, 3}:
        line = _in_places(line, _LEFT_TO_RIGHT)
    return line.strip(BLANK)
