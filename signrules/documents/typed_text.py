"""What people type where a number with a unit is asked for, in the characters that the readers
know: quotes, fractions and superscripts of a word processor become plain ones.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

INCH_MARKS, FOOT_MARKS = '"″”“', "'′’‘"
"""The marks of inches and feet; the first of each is the plain one."""

FRACTIONS = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
"""Fractions that are one character: a half, three quarters and so on."""

SUPERSCRIPTS: Mapping[str, str] = {"2": "²", "3": "³"}

_PLAIN_MARKS = str.maketrans(
    dict.fromkeys(INCH_MARKS, INCH_MARKS[0]) | dict.fromkeys(FOOT_MARKS, FOOT_MARKS[0])
)
_PLAIN_POWERS = str.maketrans({raised: plain for plain, raised in SUPERSCRIPTS.items()})
_FRACTION = re.compile(f"([0-9]?)([{FRACTIONS}])(?![0-9])", re.ASCII)
_COMMA = re.compile(r"[0-9],[0-9]", re.ASCII)

NO_COMMA = (
    "a comma stands for nothing here: write the decimal point, 3.5 for 3,5, and 1200 for 1,200"
)


def plain_text(text: str) -> str:
    """The text with plain quotes and fractions: `1½″` becomes `1 1/2"`."""
    return _FRACTION.sub(_as_two_numbers, text.translate(_PLAIN_MARKS))


def _as_two_numbers(match: re.Match[str]) -> str:
    whole_part, fraction = match.groups()
    top_and_bottom = unicodedata.normalize("NFKC", fraction).replace("\u2044", "/")
    # With a space, or 1½ would be read as 11/2.
    return f"{whole_part} {top_and_bottom}" if whole_part else top_and_bottom


def plain_unit(unit: str) -> str:
    """A unit with plain digits: `m/s²` becomes `m/s2`."""
    return unit.translate(_PLAIN_POWERS)


def comma_hint(text: str) -> str:
    """What to write instead of a comma between digits, in round brackets; nothing without one."""
    return f" ({NO_COMMA})" if _COMMA.search(text) else ""
