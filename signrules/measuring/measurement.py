"""A measured figure: its value, what its tolerance means, whether the readings fit the model."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator
from typing import Any

from attrs import frozen

from signrules.errors import DocumentFault, ReadingsError
from signrules.measuring.doubts import doubts_of_readings, doubts_of_value
from signrules.measuring.figure_list import procedure_of
from signrules.measuring.procedure import Finding, Procedure, States
from signrules.measuring.readings import Readings, read_readings
from signrules.model.quantities import Interval
from signrules.model.wording import counted_things

VERSION = 1
"""The version of the shape that `to_dict` gives."""


@frozen
class Measurement:
    """A figure as readings give it, in `unit`.

    `meaning` says what `value` holds. `count` is the number of readings, `how` what was measured.
    `residuals` are what a fit leaves of each reading, in `residual_unit`. `holds` says whether the
    readings keep to the model; None where they cannot tell. `keys` are the table of a shop file
    and the keys inside a part of it; empty where no shop file holds the figure. `readings` are
    what it was computed from, as they were written. `doubts` say why it is not to be kept before
    somebody has looked again.
    """

    figure: str
    name: str
    value: Interval
    unit: str
    meaning: str
    count: int
    how: str
    date: datetime.date | None
    residuals: tuple[float, ...]
    residual_unit: str
    holds: bool | None
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    states: States
    keys: tuple[str, ...]
    source: str
    readings: Any
    doubts: tuple[str, ...] = ()

    @property
    def stated(self) -> str | float:
        """What a shop states of it: a text with its unit, or a number of minutes.

        Tolerances have two digits that count, as GUM 7.2.6 has it, and are rounded outwards.
        """
        return stated_value(self.value, self.unit, self.states)

    def text(self) -> str:
        """The measurement for people."""
        return "\n".join(_lines_of(self)) + "\n"

    def to_dict(self) -> dict[str, Any]:
        """The measurement as plain data, ready for JSON."""
        return {
            "signrules_measurement": VERSION,
            "figure": self.figure,
            "value": [self.value.low, self.value.nominal, self.value.high],
            "unit": self.unit,
            "meaning": self.meaning,
            "stated": self.stated,
            "states": self.states.value,
            "count": self.count,
            "how": self.how,
            "date": None if self.date is None else self.date.isoformat(),
            "residuals": list(self.residuals),
            "residual_unit": self.residual_unit,
            "holds": self.holds,
            "notes": list(self.notes),
            "warnings": list(self.warnings),
            "doubts": list(self.doubts),
            "source": self.source,
        }


def measure(
    figure: str,
    readings: object,
    *,
    date: datetime.date | None = None,
    as_range: bool = False,
) -> Measurement:
    """The figure that readings give, by the procedure of that name (`procedures` lists them).

    `readings` are plain data, or a TOML or CSV file by its name. `date` is when they were taken,
    where they do not say so themselves. With `as_range` the value is the range of the readings
    instead of an interval at 95 %. Raises ReadingsError where readings cannot be used, and
    SignrulesError where scipy is not installed.
    """
    procedure = procedure_of(figure)
    taken = read_readings(readings, procedure)
    if as_range and not procedure.has_range:
        # A drop speed, say, has no range of readings: each reading is a step or a distance.
        expected = "readings of the figure itself; this one is computed from several"
        taken.refuse("", "--range", expected)
    try:
        finding = procedure.compute(taken, as_range)
        # Inside the try: a finite figure in mm may be infinite in micrometres.
        value = finding.value.scaled(1 / procedure.factor)
    except (ValueError, ArithmeticError) as error:
        found = f"numbers from which no figure follows ({error})"
        fault = DocumentFault("readings", found, "readings of this procedure, in their units")
        raise ReadingsError([fault], taken.origin) from None
    return _measurement_of(procedure, taken, finding, value, taken.date or date)


def _measurement_of(
    procedure: Procedure,
    taken: Readings,
    finding: Finding,
    value: Interval,
    date: datetime.date | None,
) -> Measurement:
    warnings = finding.warnings
    # No figure that is measured here can be negative.
    if value.low < 0:
        warnings = (*warnings, "The tolerance reaches below 0: take more readings.")
    method = taken.setting("method", "")
    return Measurement(
        figure=procedure.figure,
        name=procedure.name,
        value=value,
        unit=procedure.unit,
        meaning=finding.meaning,
        count=len(taken.rows),
        how=procedure.how,
        date=date,
        residuals=finding.residuals,
        residual_unit=finding.residual_unit,
        holds=finding.holds,
        notes=finding.notes,
        warnings=warnings,
        states=procedure.states,
        keys=tuple(method if key == "METHOD" else key for key in procedure.goes_to),
        source=procedure.source,
        readings=taken.plain,
        doubts=(
            *doubts_of_readings(taken, procedure),
            *doubts_of_value(value, procedure),
        ),
    )


def stated_value(value: Interval, unit: str, states: States) -> str | float:
    """What a shop states of a figure, rounded so that no end is left out."""
    half_width = max(value.high - value.nominal, value.nominal - value.low)
    if states is States.UPPER:
        return _with_unit(_rounded_out(value.high, 3, up=True), unit)
    if states is States.LOWER:
        return _with_unit(_rounded_out(value.low, 3, up=False), unit)
    # Without a tolerance a hundredth stands for one: four digits, as many as people type.
    places = _places_of(half_width or abs(value.nominal) / 100, 2)
    if states is States.NOMINAL:
        # Minutes are a plain number in a shop file, and no text with a unit.
        if unit == "min":
            return round(value.nominal, max(places, 0))
        return _with_unit(_fixed(value.nominal, places), unit)
    return _interval_text(value, unit, places)


def value_text(value: Interval, unit: str, states: States) -> str:
    """The value with its tolerance; both ends alone where one of them is what counts."""
    if states in (States.UPPER, States.LOWER):
        places = _places_of(value.high, 3)
        low, high = _fixed(value.low, places), _fixed(value.high, places)
        return f"{low} .. {_with_unit(high, unit)}"
    return str(stated_value(value, unit, States.INTERVAL))


def _interval_text(value: Interval, unit: str, places: int) -> str:
    nominal = _fixed(value.nominal, places)
    above, below = value.high - value.nominal, value.nominal - value.low
    is_even = abs(above - below) <= 1e-9 * max(above, below)
    # Coefficients of expansion have no `+-` in documents.
    if is_even and unit != "ppm/K":
        # Rounding the middle moved it: the tolerance must reach as far as before.
        half_width = _fixed(_ceiling(above + abs(value.nominal - float(nominal)), places), places)
        return f"{_with_unit(nominal, unit)} +- {_with_unit(half_width, unit)}"
    low = _fixed(-_ceiling(-value.low, places), places)
    high = _fixed(_ceiling(value.high, places), places)
    return f"{low} .. {nominal} .. {_with_unit(high, unit)}"


def _places_of(size: float, digits: int) -> int:
    """The decimal place at which a number has so many digits that count; below 0 left of the
    point.
    """
    return digits - 1 - math.floor(math.log10(size)) if size > 0 else digits


def _ceiling(value: float, places: int) -> float:
    scale = 10.0**places
    # Without the guard 0.3 x 10 would be rounded up to 4 tenths.
    return math.ceil(value * scale - 1e-9) / scale


def _rounded_out(value: float, digits: int, *, up: bool) -> str:
    places = _places_of(abs(value), digits)
    return _fixed(_ceiling(value, places) if up else -_ceiling(-value, places), places)


def _fixed(value: float, places: int) -> str:
    text = f"{round(value, places):.{max(places, 0)}f}"
    # A hair below 0 would be written "-0".
    return "0" if float(text) == 0 else text


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}".strip()


def _lines_of(measurement: Measurement) -> Iterator[str]:
    value = value_text(measurement.value, measurement.unit, measurement.states)
    yield f"{measurement.name[:1].upper()}{measurement.name[1:]}: {value}"
    yield f"  {measurement.meaning}"
    date_words = "" if measurement.date is None else f", measured {measurement.date.isoformat()}"
    count = counted_things(measurement.count, "reading")
    yield f"  {measurement.how}, {count}{date_words} ({measurement.source})"
    yield f"  to state: {_shown_statement(measurement)} ({measurement.states.value})"
    if measurement.residuals:
        residuals = ", ".join(f"{residual:+.3g}" for residual in measurement.residuals)
        yield f"  residuals: {residuals} {measurement.residual_unit}"
    if measurement.holds is not None:
        yield f"  The model {'holds' if measurement.holds else 'does not hold'}."
    yield from (f"  {note}" for note in measurement.notes)
    remarks = (*measurement.warnings, *measurement.doubts)
    yield from (f"  Warning: {warning}" for warning in remarks)


def _shown_statement(measurement: Measurement) -> str:
    if isinstance(measurement.stated, str):
        return measurement.stated
    return f"{measurement.stated:g} {measurement.unit}"
