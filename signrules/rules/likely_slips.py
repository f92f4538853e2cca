"""What an unlikely figure may have been meant to be: ten times more or less, or in another unit.

How many times one unit is another comes from the readers of documents, so a slip is one that a
document can make.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache
from itertools import permutations
from math import inf, log10

from attrs import frozen

from signrules.documents.lengths import LENGTH_UNITS, SPEED_UNITS
from signrules.documents.measures import MEASURES
from signrules.model.declared import Declared
from signrules.model.limits import CELSIUS
from signrules.model.quantities import Interval
from signrules.model.wording import number_text
from signrules.rules.stated_figures import Figure

TYPED_DIGITS = 4
"""As many digits has a number that somebody typed; one with more was reckoned from another unit."""

OTHER_LENGTHS = (
    ("mm", "um"),
    ("mm", "in"),
    ("mm", "m"),
    ("mm", "ft"),
    ("um", "mm"),
    ("in", "mm"),
    ("m", "mm"),
    ("mm", "mil"),
    ("um", "mil"),
    ("mil", "um"),
)
OTHER_SPEEDS = (
    ("mm/s", "m/s"),
    ("mm/s", "in/s"),
    ("m/min", "m/s"),
    ("m/s", "m/min"),
    ("m/s", "mm/s"),
    ("in/s", "mm/s"),
)
"""Units that are taken one for the other: the one that was written, and the one that was meant."""

WRONG_DIGITS = (10.0, 0.1)
PER_CENT = 100.0
"""A share of one and a number per cent are a hundredfold of each other."""

OF_A_HUNDRED = ("LRV", "")
"""Units of plain numbers that may be taken for a share of one, or a share for them."""


@frozen
class Guess:
    """What may have been meant: a number in some unit, and the figure in that of the model."""

    number: float
    unit: str
    value: Interval

    @property
    def text(self) -> str:
        """The number with its unit."""
        return f"{number_text(self.number)} {self.unit}".strip()

    @property
    def digits(self) -> int:
        """How many digits the number has, without the noughts at its ends."""
        return len(number_text(self.number).replace(".", "").strip("0"))

    @property
    def oddity(self) -> float:
        """How unwieldy the number is: of 0.01 mm and 10 um people say the second, and of 3 mm and
        3000 um the first.
        """
        if self.number <= 0:
            return inf
        return log10(self.number) if self.number >= 1 else -2 * log10(self.number)


@frozen
class Slip:
    """A way to write a figure wrong.

    A number was written in one unit, `written`, and meant in another, `meant`, both in units of the
    model; `unit` is the name of what was meant. Or `digits` times the number was meant. Degrees
    Fahrenheit start at another zero, `zero`.
    """

    unit: str
    written: float = 1.0
    meant: float = 1.0
    digits: float = 1.0
    zero: float = 0.0

    def guess(self, figure: Figure) -> Guess | None:
        """What a figure would be without the slip; None where that is not usual either, or where
        nobody would have typed the number.
        """
        typed = _in_short(figure.value.nominal / self.written)
        # Converted back to the unit that was written: an odd number there was not typed but
        # computed.
        if self.digits == 1.0 and typed != float(f"{typed:.{TYPED_DIGITS}g}"):
            return None
        number = typed * self.digits
        nominal = _in_short((number - self.zero) * self.meant)
        # Half a layer is nothing that anybody meant.
        if figure.declared.kind == "whole number" and nominal != round(nominal):
            return None
        # The wider tolerance first: nobody knows whether the slip is in it too.
        for times in sorted((1.0, self.meant * self.digits / self.written), reverse=True):
            value = _with_tolerance(figure.value, times, nominal)
            if figure.least <= value.low and value.high <= figure.most:
                return Guess(_in_short(number), self.unit, value)
        return None


def slips_of(declared: Declared) -> tuple[Slip, ...]:
    """The slips that the figures of a field are looked at for, the likely ones first."""
    inner = declared if declared.element is None else declared.element
    return _slips_of(inner.kind, inner.unit)


@cache
def _slips_of(kind: str, unit: str) -> tuple[Slip, ...]:
    digits = tuple(Slip(unit, digits=times) for times in WRONG_DIGITS)
    if unit == "mm":
        return digits + _other_units(OTHER_LENGTHS, LENGTH_UNITS)
    if unit == "mm/s":
        return digits + _other_units(OTHER_SPEEDS, SPEED_UNITS)
    if kind in MEASURES:
        units = dict(MEASURES[kind].units)
        return digits + _other_units(permutations(units, 2), units)
    return digits if kind == "whole number" else _slips_of_numbers(unit) + digits


def _slips_of_numbers(unit: str) -> tuple[Slip, ...]:
    if unit == "min":
        return (Slip("s", meant=1 / 60),)
    if unit == CELSIUS:
        return (Slip("degrees Fahrenheit", meant=5 / 9, zero=32.0),)
    if unit in OF_A_HUNDRED:
        return tuple(Slip(unit, digits=times) for times in (PER_CENT, 1 / PER_CENT))
    return ()


def _other_units(
    pairs: Iterable[tuple[str, str]], units: Mapping[str, Fraction]
) -> tuple[Slip, ...]:
    return tuple(
        Slip(meant, written=float(units[written]), meant=float(units[meant]))
        for written, meant in pairs
    )


def _with_tolerance(value: Interval, times: float, nominal: float) -> Interval:
    """A tolerance so many times as wide, about another number."""
    below, above = (value.nominal - value.low) * times, (value.high - value.nominal) * times
    return Interval(_in_short(nominal - below), nominal, _in_short(nominal + above))


def _in_short(number: float) -> float:
    """A number without what binary floats add to it in the last digits."""
    return float(f"{number:.9g}")
