"""How the run sheet writes numbers and names.

Numbers read the same to German and to English eyes: a decimal point, never a mark between
thousands, a true minus, and a no-break space before the unit. Dates are ISO 8601.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from typing import TypeVar

from signrules.model.quantities import Interval
from signrules.model.wording import counted
from signrules.reports.text_report import plain
from signrules.rules.check_messages import number

Thing = TypeVar("Thing")

NBSP = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"

_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|mL|um|minutes?|%|dots? per inch|degrees)(?!\w))")
_MINUS = re.compile(r"(?:(?<=^)|(?<=[\s(]))-(?=\d)")
_FIRST, _LAST = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_RIGHT_TO_LEFT = ("R", "AL", "AN")


def figure(value: float) -> str:
    """A number to a tenth of a micrometre (in mm), a smaller one to the nanometre."""
    return number(value).replace("-", MINUS)


def mm(value: float) -> str:
    """A length in mm."""
    return f"{figure(value)}{NBSP}mm"


def span(low: float, high: float, unit: str = "mm") -> str:
    """A range, or one number where both ends are written alike."""
    ends = figure(low), figure(high)
    return f"{ends[0] if ends[0] == ends[1] else f'{ends[0]} to {ends[1]}'}{NBSP}{unit}"


def interval(value: Interval) -> str:
    """A length in mm with its tolerance."""
    return span(value.low, value.high)


def clean(text: str) -> str:
    """Text that can steer neither a terminal nor the direction of the line.

    Control characters are shown as replaced. Words that run from right to left are isolated, so
    that the words and numbers beside them stay in their places.
    """
    words = NBSP.join(map(plain, text.split(NBSP))).split(" ")
    return " ".join(f"{_FIRST}{word}{_LAST}" if _turns(word) else word for word in words)


def _turns(word: str) -> bool:
    return not word.isascii() and any(
        unicodedata.bidirectional(each) in _RIGHT_TO_LEFT for each in word
    )


def clip(text: str, most: int) -> str:
    """Text of at most so many characters, cleaned; what is left out is marked."""
    return clean(text if len(text) <= most else text[: most - 1].rstrip() + ELLIPSIS)


def sentence(text: str, most: int = 2000) -> str:
    """A message of the library as the sheet writes it."""
    return _MINUS.sub(MINUS, _BEFORE_UNIT.sub(NBSP, clip(text, most)))


def count(value: float, thing: str) -> str:
    """So many things."""
    return counted(figure(value), thing).replace(" ", NBSP, 1)


def listed(things: Sequence[Thing], name: Callable[[Thing], str] = str, most: int = 12) -> str:
    """The names of things in a row, cleaned; of very many the first ones."""
    shown = [clean(name(thing)) for thing in things[:most]]
    if len(things) > most:
        shown.append(f"{len(things) - most} more")
    return " and ".join((", ".join(shown[:-1]), shown[-1])) if len(shown) > 1 else "".join(shown)
