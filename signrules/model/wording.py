"""How messages speak: numbers, the room under a head, a short picture of any value, the nearest
known name, one thing or several.
"""

from __future__ import annotations

import difflib
import reprlib
from collections.abc import Sequence
from functools import lru_cache

from signrules.model.quantities import GUARD_MM

NOTHING = "nothing"
DECIMALS = 3
FINE_DECIMALS = 6
"""Decimals of the figures in messages: lengths in mm to the micrometre; to the nanometre where that
would hide the figure or what it differs from.
"""
# A value and what is expected fit one line of a terminal; what is longer is seldom typed by hand.
_LONGEST = 60
_LONGEST_NAME = 200
# The search compares each known name letter by letter.
_MOST_NAMES = 1000


class _Short(reprlib.Repr):
    def __init__(self) -> None:
        super().__init__()
        # Whatever a document holds may be shown here: a list that nests a thousand deep as well.
        self.maxlevel = 2
        self.maxdict = self.maxlist = self.maxtuple = 4
        self.maxstring = self.maxother = self.maxlong = 44

    def repr_int(self, x: int, level: int) -> str:
        # Python refuses to write out integers of thousands of digits.
        if x.bit_length() > 120:
            return f"a whole number of {x.bit_length()} bits"
        return repr(x)


_SHORT = _Short()


def shown_value(value: object) -> str:
    """A picture of a value in at most 60 characters, safe for values of any size and depth."""
    text = _SHORT.repr(value)
    if len(text) <= _LONGEST:
        return text
    return text[: _LONGEST - 3] + "..."


def number_text(value: float, decimals: int = DECIMALS) -> str:
    """A number with at most so many decimals and no trailing zeros.

    One that is too small to show in three decimals gets six.
    """
    shown = decimals if abs(value) >= 10.0**-DECIMALS else FINE_DECIMALS
    text = f"{value:.{shown}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def pair_text(lengths: tuple[float, float]) -> str:
    """Two lengths along x and y, in the unit that they have."""
    return " x ".join(number_text(length) for length in lengths)


def decimals_apart(one: float, other: float) -> int:
    """The decimals that two numbers need so that they do not read alike unless they are alike."""
    apart = abs(one - other)
    if GUARD_MM < apart < 10.0**-DECIMALS:
        return FINE_DECIMALS
    return DECIMALS


def clearance_words(left: float, least: float, obstacle: str = "") -> str:
    """What a clearance in mm that is too small means for the head, and what it needs.

    `obstacle` names what is hit or hardly cleared; left out, it is whatever stands highest.
    """
    over = f" {obstacle}" if obstacle else ""
    # What just touches hits: ink and sheet stand higher somewhere than anybody has measured.
    if left <= GUARD_MM:
        return f"the head would hit{over} by {number_text(abs(left))} mm"
    decimals = decimals_apart(left, least)
    shown, needed = number_text(left, decimals), number_text(least, decimals)
    return f"the head would clear{over} by only {shown} mm ({needed} mm needed)"


def counted_things(count: int | str, thing: str) -> str:
    """So many things: a number, or one that has been written, and the noun that goes with it."""
    if str(count) == "1":
        return f"1 {thing}"
    return f"{count} {thing}s"


@lru_cache(maxsize=1024)
def nearest_name(name: str, known: tuple[str, ...]) -> str | None:
    """The known name most like `name`, or None; of more than a thousand none is looked for."""
    if len(known) > _MOST_NAMES or len(name) > _LONGEST_NAME:
        return None
    found = difflib.get_close_matches(name, known, n=1)
    if found:
        return found[0]
    # In capitals nothing is like a name in lower case.
    small_names = {each.lower(): each for each in reversed(known)}
    found = difflib.get_close_matches(name.lower(), small_names, n=1)
    return small_names[found[0]] if found else None


def nearest_ending(name: str, known: tuple[str, ...]) -> str | None:
    """The known names whose last part after a dot a name is, else the one nearest to it."""
    ending = sorted(each for each in known if each.endswith(f".{name}"))
    return " or ".join(ending) or nearest_name(name, known)


def expected_name(name: str, known: tuple[str, ...], otherwise: str) -> str:
    """What is expected in place of an unknown name: the one most like it, else `otherwise`."""
    near_name = nearest_name(name, known)
    return f"{near_name!r} perhaps" if near_name else otherwise


def listed_names(names: list[str], most: int = 6) -> str:
    """Names as one short text, the first few of them where there are many."""
    text = ", ".join(shown_value(name) for name in names[:most])
    if len(names) <= most:
        return text
    return f"{text} and {len(names) - most} more"


def joined_names(names: Sequence[str]) -> str:
    """All of one or more names in a row: a, b and c."""
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} and {names[-1]}"
