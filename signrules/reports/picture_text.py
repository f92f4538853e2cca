"""Text in pictures: how wide it is, what is left out of it, and where it is broken."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from textwrap import wrap

from signrules.reports.text_report import one_line

PLACE_WIDTH = 7.6
"""About how wide a character is in pixels at 13 px: an upper bound for usual fonts."""


def as_sentence(text: str) -> str:
    """The text with a full stop at its end."""
    return text if text.endswith(".") else f"{text}."


def _is_wide(char: str) -> bool:
    # UAX #11: wide and fullwidth characters take two places.
    return unicodedata.east_asian_width(char) in "WF"


def text_width(text: str) -> float:
    """About how wide a text is in pixels at 13 px: an upper bound for usual fonts."""
    return sum(map(_char_width, text))


def _char_width(char: str) -> float:
    return 2 * PLACE_WIDTH if _is_wide(char) else PLACE_WIDTH


def clipped_text(text: str, most: int = 26) -> str:
    """A harmless line of text of so many places at the most, the rest left out."""
    shown = one_line(text)
    places = 0
    for position, char in enumerate(shown):
        places += 1 + _is_wide(char)
        if places > most:
            # One character less, as the ellipsis takes a place itself.
            return shown[: max(1, position - 1)] + "\N{HORIZONTAL ELLIPSIS}"
    return shown


def wrapped_text(text: str, places: int, most: int) -> list[str]:
    """A text in lines of so many places; of what needs more than `most` lines the end
    is left out.
    """
    return list(_some_lines(wrap(one_line(text), places), most))


def _some_lines(lines: list[str], most: int) -> Iterator[str]:
    yield from lines[: most - 1]
    if len(lines) > most:
        yield clipped_text(lines[most - 1], 26) + "\N{HORIZONTAL ELLIPSIS}"
    else:
        yield from lines[most - 1 : most]
