"""Lengths and speeds as documents write them, read exactly and turned into floats at
the very end.
"""

from __future__ import annotations

import re
from fractions import Fraction

from signrules.documents.refusal import Refused
from signrules.documents.typed_text import FOOT_MARKS, INCH_MARKS, comma_hint, plain_text
from signrules.model.limits import FASTEST_MM_S, LARGEST_MM, SLOWEST_MM_S, TINY
from signrules.model.quantities import Interval

INCH, FOOT = Fraction(254, 10), Fraction(3048, 10)
INCHES_IN_A_FOOT = 12

LENGTH_UNITS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "um": Fraction(1, 1000),
    "\u00b5m": Fraction(1, 1000),
    "\u03bcm": Fraction(1, 1000),
    "in": INCH,
    INCH_MARKS[0]: INCH,
    "ft": FOOT,
    FOOT_MARKS[0]: FOOT,
    "mil": INCH / 1000,
}
SPEED_UNITS = {
    "mm/s": Fraction(1),
    "m/s": Fraction(1000),
    "m/min": Fraction(1000, 60),
    "in/s": INCH,
    "ft/min": FOOT / 60,
}
"""An inch is 25.4 mm and a foot 304.8 mm (international yard and pound agreement of 1959)."""

_LONGEST_TEXT = 200
_NUMBER = r"""
    (?: (?: (?P<whole>[0-9]{1,20}) [ ]+ )?
            (?P<top>[0-9]{1,20}) [ ]* / [ ]* (?P<bottom>[0-9]{1,20})
      | (?P<decimal> (?: [0-9]{1,40} (?: \. [0-9]{0,40} )? | \.[0-9]{1,40} )
                     (?: [eE][+-]?[0-9]{1,3} )? )
    )"""
_QUANTITY = re.compile(
    rf"(?P<sign>[+-]?) {_NUMBER} [ ]* (?P<unit> [^0-9 .+-]* )", re.VERBOSE | re.ASCII
)
_FEET_AND_INCHES = re.compile(
    rf"(?P<sign>[+-]?) (?P<feet>[0-9]{{1,20}}) [ ]* (?:ft|') [ ]* {_NUMBER} [ ]* (?:in|\")",
    re.VERBOSE | re.ASCII,
)
_TOLERANCE = re.compile(r"\+/?-|±")

_A_LENGTH = "a length in mm as a number, or text with its unit: '3 mm', '30 um', '3/8 in', 4' 6\""
_A_TOLERANCED_LENGTH = f"{_A_LENGTH}; with a tolerance '3 mm +- 0.3 mm' or '0.6 .. 0.9 mm'"
_A_SPEED = (
    "a speed as text with its unit: '800 mm/s', '6 m/s', '48 m/min', '30 in/s' or '150 ft/min'"
)


def parse_length(value: object) -> float:
    """A plain length in mm: a number (mm) or text with a unit.

    Raises Refused (a ValueError with `found` and `expected`) for anything else, a tolerance
    included.
    """
    if isinstance(value, str):
        if _TOLERANCE.search(value) or ".." in value:
            raise Refused.value(value, "one length without a tolerance, such as '3 mm'")
        return _length_in_mm(_quantity_in(value, value, LENGTH_UNITS, _A_LENGTH), value)
    return _length_in_mm(_plain_number(value, _A_LENGTH), value)


def parse_toleranced(value: object) -> Interval:
    """A length in mm with or without a tolerance: also '3 mm +- 0.3 mm', '0.6 .. 0.9 mm', '0.6 ..
    0.7 .. 0.9 mm'.

    A number without a unit takes that of the one after it; the nominal value of a range is its
    middle, or the one in the middle where three are written. Raises Refused for anything else.
    """
    if not isinstance(value, str):
        return Interval.exact(_length_in_mm(_plain_number(value, _A_TOLERANCED_LENGTH), value))
    if len(value) > _LONGEST_TEXT:
        raise Refused.value(value, _A_TOLERANCED_LENGTH)
    if _TOLERANCE.search(value):
        numbers = _quantities_in(_TOLERANCE.split(value), value)
        if len(numbers) != 2 or numbers[1] < 0:
            raise Refused.value(
                value, "a length and a tolerance of at least 0, such as '3 mm +- 0.3 mm'"
            )
        middle, deviation = numbers
        ends = (middle - deviation, middle, middle + deviation)
    elif "..." in value:
        # Read as `..` and a number that begins with a point, "0...5 mm" would end at half a
        # millimetre.
        raise Refused.value(value, "a length, or a range with two points: '0.6 .. 0.9 mm'")
    elif ".." in value:
        numbers = _quantities_in(value.split(".."), value)
        if len(numbers) > 3 or numbers != sorted(numbers):
            raise Refused.value(value, "a range with its lower end first, such as '0.6 .. 0.9 mm'")
        if len(numbers) == 2:
            low, high = (_length_in_mm(number, value) for number in numbers)
            return Interval(low, float((numbers[0] + numbers[1]) / 2), high)
        ends = (numbers[0], numbers[1], numbers[2])
    else:
        return Interval.exact(
            _length_in_mm(_quantity_in(value, value, LENGTH_UNITS, _A_TOLERANCED_LENGTH), value)
        )
    return Interval(*(_length_in_mm(end, value) for end in ends))


def parse_speed(value: object) -> float:
    """A speed in mm/s from text with its unit.

    Raises Refused for anything else, a bare number included.
    """
    if not isinstance(value, str):
        raise Refused.value(value, _A_SPEED)
    speed = _quantity_in(value, value, SPEED_UNITS, _A_SPEED)
    # As a fraction first, since no float holds 1e306 m/s in mm/s.
    if not (0 <= speed <= FASTEST_MM_S and float(speed) >= SLOWEST_MM_S):
        raise Refused.value(value, "a speed from 0.001 mm/s to 100 km/s")
    return float(speed)


def format_length(value: float) -> float:
    """A plain length as a document holds it: the number of mm."""
    return value


def format_toleranced(value: Interval) -> float | str:
    """A length with its tolerance so that it reads back identically: a number where it is exact,
    else text.
    """
    if value.is_exact:
        return value.nominal
    text = f"{value.low!r} .. {value.high!r} mm"
    # Two ends are enough where the middle is the nominal value, to the last bit.
    if parse_toleranced(text) == value:
        return text
    return f"{value.low!r} .. {value.nominal!r} .. {value.high!r} mm"


def format_speed(value: float) -> str:
    """A speed in mm/s as text that reads back identically."""
    return f"{int(value) if value == int(value) else value!r} mm/s"


def _plain_number(value: object, expected: str) -> int | float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Refused.value(value, expected)
    return value


def _length_in_mm(length: Fraction | int | float, written: object) -> float:
    if not -LARGEST_MM <= length <= LARGEST_MM:
        raise Refused.value(written, f"a length of at most {LARGEST_MM} mm")
    number = float(length)
    # Asked of the float: what rounds to nothing must not be read as 0.
    if length and abs(number) < TINY:
        raise Refused.value(written, f"a length of 0 mm or of at least {TINY:g} mm")
    return number


def _quantities_in(texts: list[str], written: str) -> list[Fraction]:
    """The parts of a toleranced length; one without a unit takes the unit of the next."""
    unit = ""
    numbers: list[Fraction] = []
    # From the end, where the unit stands: "0.6 .. 0.9 mm".
    for text in reversed(texts):
        number, unit = _number_and_unit(text, unit, written, LENGTH_UNITS, _A_TOLERANCED_LENGTH)
        numbers.append(number)
    return numbers[::-1]


def _quantity_in(text: str, written: str, units: dict[str, Fraction], expected: str) -> Fraction:
    return _number_and_unit(text, "", written, units, expected)[0]


def _number_and_unit(
    text: str, next_unit: str, written: str, units: dict[str, Fraction], expected: str
) -> tuple[Fraction, str]:
    """A number of the model's unit, and the unit in which it is written: that of the next number
    where it has none of its own, none where it has two.
    """
    # Not looked at when very long: patterns on it would take time, and no length is.
    plain = plain_text(text.strip(" ")) if len(text) <= _LONGEST_TEXT else ""
    if units is LENGTH_UNITS and (both := _FEET_AND_INCHES.fullmatch(plain)):
        return _length_of_both(both, written, expected), ""
    match = _QUANTITY.fullmatch(plain)
    if match is None:
        raise Refused.value(written, expected + comma_hint(text))
    unit = match["unit"] or next_unit
    if unit not in units:
        raise Refused.value(written, f"{expected} ({_what_of_the_unit(unit, units)})")
    number = _number_of_match(match, written, expected) * units[unit]
    return _signed(match, number), unit


def _what_of_the_unit(unit: str, units: dict[str, Fraction]) -> str:
    known_units = ", ".join(name for name in units if name.isascii())
    return (
        f"the unit is none of {known_units}"
        if unit
        else f"no unit is written; write one of {known_units}"
    )


def _length_of_both(both: re.Match[str], written: str, expected: str) -> Fraction:
    inches = _number_of_match(both, written, expected)
    if inches >= INCHES_IN_A_FOOT:
        raise Refused.value(written, f"{expected} (less than 12 inches beside the feet)")
    return _signed(both, int(both["feet"]) * FOOT + inches * INCH)


def _signed(match: re.Match[str], number: Fraction) -> Fraction:
    return -number if match["sign"] == "-" else number


def _number_of_match(match: re.Match[str], written: str, expected: str) -> Fraction:
    if match["decimal"] is not None:
        return Fraction(match["decimal"])
    if int(match["bottom"]) == 0:
        raise Refused.value(written, f"{expected} (a fraction of zero parts is no number)")
    return int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
