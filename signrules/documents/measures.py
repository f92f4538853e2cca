"""Measures other than lengths and speeds, as documents write them: always text with a unit, read
exactly.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from attrs import frozen

from signrules.documents.refusal import Refused
from signrules.documents.typed_text import comma_hint, plain_unit
from signrules.model.quantities import Interval

_NUMBER = re.compile(
    r"(?P<number>[0-9]{1,40}(?:\.[0-9]{0,40})?(?:[eE][+-]?[0-9]{1,2})?) *(?P<unit>\S[^ ]*)?",
    re.ASCII,
)
_LONGEST_TEXT = 200


@frozen
class Measure:
    """A physical quantity: an example, and its units in order of preference, each in units of the
    first.
    """

    example: str
    units: tuple[tuple[str, Fraction], ...]

    def parse(self, value: object) -> float:
        """A plain number in the first unit from text with a unit.

        Raises Refused for anything else.
        """
        if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
            raise Refused.value(value, self._expected)
        return float(self._number(value, value, "")[0])

    def parse_interval(self, value: object) -> Interval:
        """A number or a range, 'low .. high unit' or 'low .. nominal .. high unit'. Raises Refused
        for anything else.

        A number without a unit takes that of the one after it.
        """
        if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
            raise Refused.value(value, self._expected)
        unit = ""
        numbers: list[Fraction] = []
        for part in reversed(value.split("..")):
            number, unit = self._number(part, value, unit)
            numbers.insert(0, number)
        if len(numbers) > 3 or numbers != sorted(numbers):
            raise Refused.value(value, f"{self._expected}; a range has its lower end first")
        # Of a single number the middle is that number.
        middle = (numbers[0] + numbers[-1]) / 2 if len(numbers) < 3 else numbers[1]
        return Interval(float(numbers[0]), float(middle), float(numbers[-1]))

    def format(self, value: float) -> str:
        """Text that reads back identically."""
        return f"{value!r} {self.units[0][0]}"

    def format_interval(self, value: Interval) -> str:
        """Text that reads back identically."""
        unit = self.units[0][0]
        if value.is_exact:
            return self.format(value.nominal)
        text = f"{value.low!r} .. {value.high!r} {unit}"
        return (
            text
            if self.parse_interval(text) == value
            else f"{value.low!r} .. {value.nominal!r} .. {value.high!r} {unit}"
        )

    @property
    def _expected(self) -> str:
        return (
            f"text with a number and one of the units {', '.join(name for name, _ in self.units)}:"
            f" '{self.example}'"
        )

    def _number(self, text: str, written: str, unit: str) -> tuple[Fraction, str]:
        match = _NUMBER.fullmatch(text.strip(" "))
        if match is None:
            raise Refused.value(written, self._expected + comma_hint(text))
        unit = plain_unit(match["unit"] or unit)
        factors = dict(self.units)
        if unit not in factors:
            raise Refused.value(written, self._expected)
        return Fraction(match["number"]) * factors[unit], unit


def _measure_of(example: str, **units: Fraction | int) -> Measure:
    return Measure(
        example,
        tuple((name.replace("_per_", "/"), Fraction(factor)) for name, factor in units.items()),
    )


MEASURES: Mapping[str, Measure] = {
    "volume": _measure_of("7 pL", pL=1, nL=1000),
    "density": _measure_of("1050 kg/m3", kg_per_m3=1, g_per_cm3=1000, g_per_mL=1000),
    "acceleration": _measure_of("2 m/s2", mm_per_s2=1, m_per_s2=1000),
    "pressure": _measure_of("5 kPa", Pa=1, kPa=1000, mbar=100, bar=100_000),
    "dose": _measure_of("0.2 J/cm2", J_per_m2=1, J_per_cm2=10_000, mJ_per_cm2=10),
    "heat capacity": _measure_of("1470 J/kgK", J_per_kgK=1, kJ_per_kgK=1000),
    "heat transfer": _measure_of("10 W/m2K", W_per_m2K=1),
}
"""By the names that declarations call them by; the first unit is that of the model."""

EXPANSION = _measure_of("68 .. 75 ppm/K", ppm_per_K=1, um_per_mK=1)
"""Coefficient of linear expansion in millionths per kelvin."""

DURATION = _measure_of("95 s", s=1, min=60, h=3600)
"""How long something takes, in seconds."""

MASS = _measure_of("1.84 g", g=1, mg=Fraction(1, 1000), kg=1000)
"""What a scale shows, in grams."""
