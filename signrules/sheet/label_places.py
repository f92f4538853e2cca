"""Where words of a picture stand: how wide they are, how they break, how they keep apart.

Lengths in px. A browser may take another font than the one that was meant, so widths are rather
too large than too small.
"""

from __future__ import annotations

from collections.abc import Sequence

from signrules.sheet.sheet_words import ELLIPSIS, FIRST_ISOLATE, LAST_ISOLATE, closed_isolates

LETTER_SIZE = 11.0
"""The size of all words in pictures: 8.25 pt on paper."""

LINE = 13.0
"""From one line of words to the next."""

BASELINE = 10.0
"""From the top of a line of words to the line on which its letters stand."""

_WIDTHS = {
    0.0: f"{FIRST_ISOLATE}{LAST_ISOLATE}",
    0.28: "iIjl.,:;'|!/ \N{NO-BREAK SPACE}",
    0.39: 'ftr()[]-`"*\\{}',
    0.56: "abcdeghknopqsuvxyz0123456789_?$#",
    0.60: "+<>=~^\N{MINUS SIGN}\N{MULTIPLICATION SIGN}\N{DEGREE SIGN}",
    0.84: "ABCDEFGHJKLNOPQRSTUVXYZ&m",
    1.02: f"MWw@%{ELLIPSIS}",
}
"""Widths as shares of the size, of sans-serif letters in common fonts: measured, no source."""

_WIDTH_OF = {letter: width for width, letters in _WIDTHS.items() for letter in letters}
_OTHER_WIDTH = 1.1


def words_width(text: str, *, bold: bool = False) -> float:
    """How wide a line of words is at most."""
    width = LETTER_SIZE * sum(_WIDTH_OF.get(letter, _OTHER_WIDTH) for letter in text)
    return width * 1.1 if bold else width


def cut_words(text: str, room: float) -> str:
    """A text that is no wider than there is room; what is left out is marked."""
    if words_width(text) <= room:
        return text
    while text and words_width(text + ELLIPSIS) > room:
        text = text[:-1]
    return closed_isolates(text.rstrip() + ELLIPSIS)


def wrapped_lines(text: str, room: float) -> list[str]:
    """A text in lines that are no wider than there is room, broken between words."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".lstrip()
        if words_width(longer) <= room:
            lines[-1] = longer
        elif lines[-1]:
            lines.append(cut_words(word, room))
        else:
            lines[-1] = cut_words(word, room)
    return lines


def kept_apart(
    middles: Sequence[float], lengths: Sequence[float], low: float, high: float
) -> list[float]:
    """Where things in a row begin, each as near to its wanted middle as the others let it.

    They keep their order and lie between two ends as far as they fit; too many reach over the
    second.
    """
    starts: list[float] = []
    free_from = low
    for middle, length in zip(middles, lengths, strict=True):
        start = max(middle - length / 2, free_from)
        starts.append(start)
        free_from = start + length
    free_to = max(high, low + sum(lengths))
    for index in reversed(range(len(starts))):
        starts[index] = min(starts[index], free_to - lengths[index])
        free_to = starts[index]
    return starts
