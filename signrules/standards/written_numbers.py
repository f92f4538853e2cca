"""Numbers as a standard writes them, read exactly: "0.059 in", "5/8 in", "15 %", "4 strokes"."""

from __future__ import annotations

import re
from fractions import Fraction

from attrs import frozen

from signrules.model.wording import shown_value

# Exact since the international yard of 1959, from memory.
LENGTHS = {"mm": Fraction(1), "in": Fraction(254, 10), "ft": Fraction(12 * 254, 10)}
"""Units of length, in mm. One inch is 25.4 mm exactly."""

# So many digits and no more: a text of a million nines is no limit, and slow to compute with.
_NUMBER = re.compile(
    r"(?:(?P<whole>[0-9]{1,9}) )?(?P<top>[0-9]{1,9})/(?P<bottom>[0-9]{1,9})"
    r" (?P<fraction_unit>[a-zA-Z%]+)"
    r"|(?P<decimal>[0-9]{1,9}(?:\.[0-9]{1,12})?) (?P<unit>[a-zA-Z%]+)",
    re.ASCII,
)


@frozen
class Written:
    """A limit: its text, its exact value and unit, and the rounded millimetres printed beside it,
    if they differ.

    `value` is in mm where the text is a length (`unit` is then "mm"), else the plain number before
    the unit.
    `written_unit` is the unit of the text itself.
    """

    text: str
    value: Fraction
    unit: str
    written_unit: str
    printed: Fraction | None = None

    @property
    def number(self) -> float:
        """The value as the nearest float; the only rounding on the way from the text."""
        return float(self.value)


def exact_text(value: Fraction | float) -> str:
    """A number to the nanometre (in mm), without trailing zeros."""
    text = f"{float(value):.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def range_words(least: str | None, most: str | None) -> str:
    """At least, at most, or from one to the other; empty where there is neither."""
    if least is not None and most is not None:
        return least if least == most else f"{least} to {most}"
    if least is not None:
        return f"at least {least}"
    return "" if most is None else f"at most {most}"


def read_number(text: str) -> Written:
    """A number with its unit; lengths become exact mm. Raises ValueError for anything else."""
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise ValueError(
            f"found {shown_value(text)}, expected a number, a space and a unit, such as '0.059 in',"
            " '5/8 in' or '15 %'"
        )
    unit = match["unit"] or match["fraction_unit"]
    if match["decimal"] is not None:
        value = Fraction(match["decimal"])
    elif int(match["bottom"]) == 0:
        raise ValueError(f"found {shown_value(text)}, expected a fraction of more than zero parts")
    else:
        value = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    if unit in LENGTHS:
        return Written(text, value * LENGTHS[unit], "mm", unit)
    return Written(text, value, unit, unit)
