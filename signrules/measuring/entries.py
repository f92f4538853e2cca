"""What is written down at the machine: one declaration for forms, files and errors."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from attrs import frozen

from signrules.documents.lengths import parse_length, parse_speed, parse_toleranced
from signrules.documents.measures import DURATION, MASS, MEASURES
from signrules.documents.refusal import Refused
from signrules.model.limits import is_short_name
from signrules.model.quantities import Interval

LARGEST_NUMBER = 1_000_000
"""No step, temperature or other plain number of a reading is larger."""


@frozen
class Kind:
    """A kind of value: how it is read, and the unit that a form prints beside its blank."""

    read: Callable[[object], Any]
    unit: str


@frozen
class Entry:
    """One thing to write down: a column of the readings, or what is stated once for all of them.

    `kind` is a key of `KINDS`. `above` and `least` are bounds in the unit that the kind is read
    in: mm, mm/s, s, g, pL, kg/m3. What is not `required` may be left out.
    """

    name: str
    kind: str
    meaning: str
    required: bool = True
    above: float | None = None
    least: float | None = None

    @property
    def unit(self) -> str:
        """The unit that a form prints beside the blank."""
        return KINDS[self.kind].unit

    def read(self, value: object) -> Any:
        """The value in the units of the library. Raises Refused."""
        value_read = KINDS[self.kind].read(value)
        # A tolerance must keep to the bound with its low end: a step of 0 would divide by nothing.
        lowest = value_read.low if isinstance(value_read, Interval) else value_read
        if self.above is not None and not lowest > self.above:
            raise Refused.value(value, f"{self.meaning}: more than {self.above:g} {self.unit}")
        if self.least is not None and not lowest >= self.least:
            raise Refused.value(value, f"{self.meaning}: at least {self.least:g} {self.unit}")
        return value_read


def _read_number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Refused.value(value, "a number")
    if not -LARGEST_NUMBER <= value <= LARGEST_NUMBER:
        raise Refused.value(value, f"a number from -{LARGEST_NUMBER} to {LARGEST_NUMBER}")
    return float(value)


def _read_count(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= 1_000_000:
        raise Refused.value(value, "a whole number from 1 to 1 000 000")
    return value


def _read_name(value: object) -> str:
    # Sheets are counted 1, 2, 3, and few people put quotes around a number.
    text = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    if not is_short_name(text):
        raise Refused.value(value, "a short name")
    return str(text)


def _read_yes(value: object) -> bool:
    # TOML has true and false, forms on paper have yes and no.
    words = {"yes": True, "no": False, True: True, False: False}
    if not isinstance(value, str | bool) or value not in words:
        raise Refused.value(value, "yes or no")
    return words[value]


KINDS: Mapping[str, Kind] = {
    "length": Kind(parse_length, "mm"),
    "toleranced length": Kind(parse_toleranced, "mm"),
    "speed": Kind(parse_speed, "mm/s"),
    "duration": Kind(DURATION.parse, "s"),
    "mass": Kind(MASS.parse, "g"),
    "volume": Kind(MEASURES["volume"].parse, "pL"),
    "density": Kind(MEASURES["density"].parse, "kg/m3"),
    "temperature": Kind(_read_number, "degrees C"),
    "number": Kind(_read_number, ""),
    "count": Kind(_read_count, ""),
    "name": Kind(_read_name, ""),
    "yes or no": Kind(_read_yes, ""),
}
"""The kinds of value, by the name that an entry calls them by."""
