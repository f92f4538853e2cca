"""Quantities: exact reading, units, tolerances, and what is refused."""

from __future__ import annotations

import math
from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules.documents import (
    Refused,
    format_speed,
    format_toleranced,
    parse_length,
    parse_speed,
    parse_toleranced,
)
from signrules.documents.measures import MEASURES
from signrules.model import Interval
from signrules.model.limits import TINY
from signrules.schemas.job_schema import job_schema


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (3, 3.0),
        (7.62, 7.62),
        ("7.62 mm", 7.62),
        ("0.300 in", 7.62),
        ("3/8 in", 9.525),
        ("1 3/8 in", 34.925),
        ("-1 3/8 in", -34.925),
        ("30 um", 0.03),
        ("30 \u00b5m", 0.03),
        ("30 \u03bcm", 0.03),
        ("30um", 0.03),
        ("2.5 cm", 25.0),
        (" .5 mm ", 0.5),
        ("1e-3 mm", 0.001),
        ("+4 mm", 4.0),
        # By hand: an inch is 25.4 mm, a foot 304.8 mm, a mil a thousandth of an inch.
        ('5/8"', 15.875),
        ("5/8”", 15.875),
        ("5/8 ″", 15.875),
        ("1½ in", 38.1),
        ("1 ½″", 38.1),
        ("⅝ in", 15.875),
        ("-½ in", -12.7),
        ("4 ft", 1219.2),
        ("4'", 1219.2),
        ("4’ 6”", 1371.6),
        ("4'6\"", 1371.6),
        ("4′ 6 1/2″", 1384.3),
        ("4 ft 6½ in", 1384.3),
        ("-4 ft 6 in", -1371.6),
        ("0.5 mil", 0.0127),
        ("1.5 m", 1500.0),
    ],
)
def test_a_length_is_read_exactly(written: object, mm: float) -> None:
    assert parse_length(written) == mm
    assert parse_toleranced(written) == Interval.exact(mm)


@pytest.mark.parametrize(
    ("written", "low", "nominal", "high"),
    [
        ("3 mm +- 0.3 mm", 2.7, 3.0, 3.3),
        ("3 mm ± 0.3 mm", 2.7, 3.0, 3.3),
        ("3 +- 0.3 mm", 2.7, 3.0, 3.3),
        ("1 in +- 1 mm", 24.4, 25.4, 26.4),
        ("30 um +- 3 um", 0.027, 0.03, 0.033),
        ("0.6 .. 0.9 mm", 0.6, 0.75, 0.9),
        ("0.6 mm .. 0.9 mm", 0.6, 0.75, 0.9),
        ("0.6..0.9mm", 0.6, 0.75, 0.9),
        ("0.6 .. 0.7 .. 0.9 mm", 0.6, 0.7, 0.9),
        ("1/16 .. 1/8 in", 1.5875, 2.38125, 3.175),
        ("3 mm +/- 0.3 mm", 2.7, 3.0, 3.3),
        ('1/2" ± 1/16"', 11.1125, 12.7, 14.2875),
        ("½ +/- 1/16 in", 11.1125, 12.7, 14.2875),
        ("4' 6\" .. 5'", 1371.6, 1447.8, 1524.0),
        ("4 .. 5 ft", 1219.2, 1371.6, 1524.0),
    ],
)
def test_a_tolerance_is_read_exactly(written: str, low: float, nominal: float, high: float) -> None:
    assert parse_toleranced(written) == Interval(low, nominal, high)


JUNK = [
    True,
    None,
    [],
    {},
    "",
    " ",
    "mm",
    "3",
    "3 furlongs",
    "3 MM",
    "3,5 mm",
    "three mm",
    "1/0 in",
    "3 mm mm",
    "nan mm",
    "inf mm",
    "9" * 60 + " mm",
    "1e999 mm",
    "1" * 100_000,
    math.nan,
    math.inf,
    -math.inf,
    1e7,
    10**400,
    "2000000 mm",
    "٣ mm",
    "½2 in",
    "½½ in",
    "1.5½ in",
    "3² mm",
    "4' 12\"",
    "4' 6",
    "4\" 6'",
    "4' -6\"",
    "4' 1/0\"",
]


@pytest.mark.parametrize("junk", JUNK, ids=lambda junk: repr(junk)[:20])
def test_junk_is_refused_with_words(junk: object) -> None:
    for parse in (parse_length, parse_toleranced):
        with pytest.raises(Refused) as caught:
            parse(junk)
        assert "length" in caught.value.expected
        assert 0 < len(caught.value.found) <= 60


@pytest.mark.parametrize("written", ["3,5 mm", "1,200 mm", "1 mm +- 0,1 mm", '2,5"'])
def test_a_comma_is_refused_with_what_to_write(written: str) -> None:
    with pytest.raises(Refused) as caught:
        parse_toleranced(written)
    assert "write the decimal point, 3.5 for 3,5, and 1200 for 1,200" in caught.value.expected


def test_a_comma_is_named_in_speeds_and_other_measures_too() -> None:
    for parse, written in ((parse_speed, "1,5 m/s"), (MEASURES["density"].parse, "1,05 g/cm3")):
        with pytest.raises(Refused) as caught:
            parse(written)
        assert "a comma stands for nothing here" in caught.value.expected


def test_inches_beside_feet_are_less_than_a_foot() -> None:
    with pytest.raises(Refused) as caught:
        parse_length("4 ft 12 in")
    assert "less than 12 inches beside the feet" in caught.value.expected


@pytest.mark.parametrize(
    ("kind", "written", "value"),
    [("density", "1.05 g/cm³", 1050.0), ("acceleration", "2 m/s²", 2000.0)],
)
def test_raised_digits_of_a_unit_are_read(kind: str, written: str, value: float) -> None:
    assert MEASURES[kind].parse(written) == value


@pytest.mark.parametrize(
    "written",
    [
        *(
            "2 .. 1 mm",
            "4 .. 4' 6\"",
            "3 mm +- -1 mm",
            "3 mm +- 0.1",
            "1 .. 2",
            "1 mm .. 2",
            "1 ..",
            "1 +- 2 +- 3 mm",
        ),
        *("0...5 mm", "0.1...5 mm", "0 ...5 mm", "0....5 mm", "0 ... 5 mm"),
    ],
)
def test_a_wrong_tolerance_is_refused(written: str) -> None:
    with pytest.raises(Refused):
        parse_toleranced(written)


@pytest.mark.parametrize("written", ["3 mm +- 0.1 mm", "3 mm ± 0.1 mm", "1 .. 2 mm"])
def test_a_plain_length_takes_no_tolerance(written: str) -> None:
    with pytest.raises(Refused) as caught:
        parse_length(written)
    assert "without a tolerance" in caught.value.expected


def test_a_length_without_a_unit_asks_for_one() -> None:
    with pytest.raises(Refused) as caught:
        parse_length("15")
    assert "write one of mm, cm, m, um, in, \", ft, ', mil" in caught.value.expected


@pytest.mark.parametrize(
    ("written", "speed"),
    [
        ("800 mm/s", 800.0),
        ("6 m/s", 6000.0),
        ("48 m/min", 800.0),
        ("30 in/s", 762.0),
        ("150 ft/min", 762.0),
    ],
)
def test_a_speed_is_read_exactly(written: str, speed: float) -> None:
    assert parse_speed(written) == speed


@pytest.mark.parametrize(
    "junk", [800, 8.5, True, None, "800", "800 mm", "0 mm/s", "-6 m/s", "1000000 m/s", "6 m / s"]
)
def test_a_wrong_speed_is_refused(junk: object) -> None:
    with pytest.raises(Refused) as caught:
        parse_speed(junk)
    assert "speed" in caught.value.expected


@given(
    st.lists(
        st.floats(-1e6, 1e6).filter(lambda mm: mm == 0 or abs(mm) >= TINY), min_size=3, max_size=3
    )
)
def test_any_interval_reads_back_as_it_was_written(ends: list[float]) -> None:
    interval = Interval(*sorted(ends))
    assert parse_toleranced(format_toleranced(interval)) == interval


@pytest.mark.parametrize(
    "ends", [(0, 1e-300, 1e-300), (-1e-300, 1e-300, 2e-300), (-1e6, 0, 1e6), (0, 0, TINY)]
)
def test_the_least_and_the_greatest_read_back(ends: tuple[float, float, float]) -> None:
    assert parse_toleranced(format_toleranced(Interval(*ends))) == Interval(*ends)


@given(st.floats(1e-3, 1e8))
def test_any_speed_reads_back_as_it_was_written(speed: float) -> None:
    assert parse_speed(format_speed(speed)) == speed


@given(st.integers(1, 10**6), st.integers(1, 64))
def test_inches_are_exact(top: int, bottom: int) -> None:
    exact = Fraction(top, bottom) * Fraction(254, 10)
    if exact <= 10**6:
        assert parse_length(f"{top}/{bottom} in") == float(exact)


UNITS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "um": Fraction(1, 1000),
    "in": Fraction(254, 10),
    '"': Fraction(254, 10),
    "″": Fraction(254, 10),
    "”": Fraction(254, 10),
    "ft": 12 * Fraction(254, 10),
    "'": 12 * Fraction(254, 10),
    "′": 12 * Fraction(254, 10),
    "mil": Fraction(254, 10_000),
}
"""In mm, by hand: an inch is 25.4 mm, twelve of them a foot."""
SINGLE = {"½": (1, 2), "⅓": (1, 3), "¾": (3, 4), "⅝": (5, 8), "⅒": (1, 10)}


@st.composite
def typed_numbers(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A number as people type it, and what it is."""
    whole = draw(st.integers(0, 99))
    form = draw(st.sampled_from(["decimal", "fraction", "mixed", "single", "mixed single"]))
    if form == "decimal":
        hundredths = draw(st.integers(0, 99))
        return f"{whole}.{hundredths:02}", whole + Fraction(hundredths, 100)
    if "single" in form:
        sign = draw(st.sampled_from(sorted(SINGLE)))
        before = f"{whole}{draw(st.sampled_from(['', ' ']))}" if form != "single" else ""
        return before + sign, (whole if before else 0) + Fraction(*SINGLE[sign])
    top, bottom = draw(st.integers(0, 63)), draw(st.integers(1, 64))
    slash = draw(st.sampled_from(["/", " / "]))
    if form == "fraction":
        return f"{top}{slash}{bottom}", Fraction(top, bottom)
    return f"{whole} {top}{slash}{bottom}", whole + Fraction(top, bottom)


@st.composite
def typed_lengths(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A length as people type it, and how many mm it is."""
    sign = draw(st.sampled_from(["", "-", "+"]))
    space = draw(st.sampled_from(["", " "]))
    text, number = draw(typed_numbers())
    if number < 12 and draw(st.booleans()):
        feet = draw(st.integers(0, 99))
        foot, inch = draw(st.sampled_from(["ft", "'", "′"])), draw(st.sampled_from(["in", '"']))
        written = f"{sign}{feet}{space}{foot}{space}{text}{space}{inch}"
        mm = feet * UNITS["ft"] + number * UNITS["in"]
    else:
        unit = draw(st.sampled_from(sorted(UNITS)))
        written, mm = f"{sign}{text}{space}{unit}", number * UNITS[unit]
    return written, -mm if sign == "-" else mm


LENGTH_SCHEMA = jsonschema.Draft202012Validator(
    {"$ref": "#/$defs/length", "$defs": job_schema()["$defs"]}
)
TOLERANCED_SCHEMA = jsonschema.Draft202012Validator(
    {"$ref": "#/$defs/toleranced", "$defs": job_schema()["$defs"]}
)


@given(typed_lengths())
def test_a_length_in_any_form_is_the_same_number(typed: tuple[str, Fraction]) -> None:
    written, mm = typed
    assert parse_length(written) == float(mm)
    assert parse_toleranced(written) == Interval.exact(float(mm))
    assert LENGTH_SCHEMA.is_valid(written)


@given(typed_lengths(), typed_lengths(), st.sampled_from(["+-", "+/-", "±"]))
def test_a_tolerance_in_any_form_is_the_same_numbers(
    typed: tuple[str, Fraction], by: tuple[str, Fraction], sign: str
) -> None:
    middle, tolerance = typed[1], abs(by[1])
    written = f"{typed[0]} {sign} {by[0].lstrip('+-')}"
    ends = (float(middle - tolerance), float(middle), float(middle + tolerance))
    assert parse_toleranced(written) == Interval(*ends)
    assert TOLERANCED_SCHEMA.is_valid(written)


SPEEDS = {
    "mm/s": Fraction(1),
    "m/s": Fraction(1000),
    "m/min": Fraction(1000, 60),
    "in/s": Fraction(254, 10),
    "ft/min": Fraction(3048, 600),
}
"""In mm/s, by hand."""


@given(typed_numbers().filter(lambda typed: typed[1] > 0), st.sampled_from(sorted(SPEEDS)))
def test_a_speed_in_any_form_is_the_same_number(typed: tuple[str, Fraction], unit: str) -> None:
    text, number = typed
    assert parse_speed(f"{text} {unit}") == float(number * SPEEDS[unit])


@given(st.text(max_size=30) | st.text(alphabet="0123456789.+-/ minuft'\"½±e,", max_size=20))
def test_no_text_gives_another_error(text: str) -> None:
    for parse in (parse_length, parse_toleranced, parse_speed):
        try:
            outcome: object = parse(text)
        except Refused as refused:
            outcome = refused.expected
        assert outcome is not None
        assert outcome != ""
