"""How the run sheet writes numbers and names.

Numbers read the same to German and to English eyes: a decimal point, never a mark between
thousands, a true minus, and a no-break space before the unit. Dates are ISO 8601.
"""

from __future__ import annotations

import math
import re
import unicodedata

from signrules.model.quantities import GUARD_MM
from signrules.model.wording import number_text
from signrules.reports.text_report import plain_text

NBSP = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"

READ_MM = 0.01
"""What is read off a gauge or a calliper on paper is written to this."""

_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|mL|um|minutes?|%|dots? per inch|degrees)(?!\w))")
_MINUS = re.compile(r"(?:(?<=^)|(?<=[\s(]))-(?=\d)")
FIRST_ISOLATE, LAST_ISOLATE = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_RIGHT_TO_LEFT = ("R", "AL", "AN")


def figure_text(value: float) -> str:
    """A number to a tenth of a micrometre (in mm), a smaller one to the nanometre."""
    return number_text(value).replace("-", MINUS)


def inner_limits(low: float, high: float) -> tuple[float, float]:
    """Limits to a hundredth of a mm, as a gauge reads it: the least never less than it is, the most
    never more.
    """
    least = math.ceil((low - GUARD_MM) / READ_MM) * READ_MM
    most = math.floor((high + GUARD_MM) / READ_MM) * READ_MM
    return round(least, 2), round(most, 2)


def clean_text(text: str) -> str:
    """Text that can steer neither a terminal nor the direction of the line.

    Control characters are shown as replaced. Words that run from right to left are isolated, so
    that the words and numbers beside them stay in their places.
    """
    words = NBSP.join(map(plain_text, text.split(NBSP))).split(" ")
    return " ".join(map(_isolated_word, words))


def _isolated_word(word: str) -> str:
    if word.isascii():
        return word
    directions = map(unicodedata.bidirectional, word)
    if any(direction in _RIGHT_TO_LEFT for direction in directions):
        return f"{FIRST_ISOLATE}{word}{LAST_ISOLATE}"
    return word


def closed_isolates(text: str) -> str:
    """Clean text that was cut, its isolated words closed again."""
    return text + LAST_ISOLATE * (text.count(FIRST_ISOLATE) - text.count(LAST_ISOLATE))


def clipped_words(text: str, most: int) -> str:
    """Text of at most so many characters, cleaned; what is left out is marked."""
    if len(text) > most:
        text = text[: most - 1].rstrip() + ELLIPSIS
    return clean_text(text)


def sentence_text(text: str, most: int = 2000) -> str:
    """A message of the library as the sheet writes it."""
    return _MINUS.sub(MINUS, _BEFORE_UNIT.sub(NBSP, clipped_words(text, most)))


def first_sentence(text: str) -> str:
    """What a message says first; what would help stands behind the sheet."""
    head, mark, _ = text.partition(". ")
    return f"{head}." if mark else head
