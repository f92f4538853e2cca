"""Measures with units: each unit against the SI, ranges, and what is refused."""

from __future__ import annotations

import pytest

from signrules.documents import Refused
from signrules.documents.measures import DURATION, EXPANSION, MASS, MEASURES
from signrules.model import Interval

NAMED = {**MEASURES, "expansion": EXPANSION, "duration": DURATION, "mass": MASS}

# What one of each unit is in the first of its kind: prefixes of the SI Brochure (9th edition, 2019,
# table 7), minute, hour and litre (table 8), and 1 bar = 100 kPa; from memory.
ONE_OF_EACH = {
    "volume": {"pL": 1, "nL": 1e3},
    "density": {"kg/m3": 1, "g/cm3": 1e-3 / 1e-6, "g/mL": 1e-3 / 1e-6},
    "acceleration": {"mm/s2": 1, "m/s2": 1e3},
    "pressure": {"Pa": 1, "kPa": 1e3, "mbar": 1e-3 * 1e5, "bar": 1e5},
    "dose": {"J/m2": 1, "J/cm2": 1e4, "mJ/cm2": 1e-3 * 1e4},
    "heat capacity": {"J/kgK": 1, "kJ/kgK": 1e3},
    "heat transfer": {"W/m2K": 1},
    "expansion": {"ppm/K": 1, "um/mK": 1},
    "duration": {"s": 1, "min": 60, "h": 3600},
    "mass": {"g": 1, "mg": 1e-3, "kg": 1e3},
}


def test_every_unit_is_what_the_si_says() -> None:
    assert {name: {unit for unit, _ in each.units} for name, each in NAMED.items()} == {
        name: set(units) for name, units in ONE_OF_EACH.items()
    }
    for name, units in ONE_OF_EACH.items():
        for unit, factor in units.items():
            assert NAMED[name].parse(f"1 {unit}") == pytest.approx(factor), (name, unit)


@pytest.mark.parametrize("name", NAMED)
def test_the_example_that_an_error_shows_is_read(name: str) -> None:
    measure = NAMED[name]
    with pytest.raises(Refused) as caught:
        measure.parse("1 furlong")
    assert measure.example in caught.value.expected
    assert measure.parse_interval(measure.example).low > 0


@pytest.mark.parametrize(
    ("written", "low", "nominal", "high"),
    [
        ("70 ppm/K", 70, 70, 70),
        ("68 .. 75 ppm/K", 68, 71.5, 75),
        ("68 .. 70 .. 75 ppm/K", 68, 70, 75),
        ("68 ppm/K .. 75 um/mK", 68, 71.5, 75),
    ],
)
def test_a_range_is_read_exactly(written: str, low: float, nominal: float, high: float) -> None:
    interval = Interval(low, nominal, high)
    assert EXPANSION.parse_interval(written) == interval
    assert EXPANSION.parse_interval(EXPANSION.format_interval(interval)) == interval


@pytest.mark.parametrize("written", ["75 .. 68 ppm/K", "1 .. 2 .. 3 .. 4 ppm/K", "1 ppm/K .. 2"])
def test_a_wrong_range_is_refused(written: str) -> None:
    with pytest.raises(Refused):
        EXPANSION.parse_interval(written)


def test_of_a_comma_is_spoken_where_there_is_one() -> None:
    for written, hint in (("x s", False), ("1,5 s", True), ("1, 5 s", False)):
        with pytest.raises(Refused) as caught:
            DURATION.parse(written)
        assert ("a comma stands for nothing here" in caught.value.expected) == hint


def test_a_text_of_two_hundred_characters_is_read_and_no_longer_one() -> None:
    longest = f"1{' ' * 198}s"
    assert len(longest) == 200
    assert DURATION.parse(longest) == 1
    assert DURATION.parse_interval(longest) == Interval.exact(1)
    for parse in (DURATION.parse, DURATION.parse_interval):
        with pytest.raises(Refused):
            parse(f" {longest}")
