"""Quantities: exact reading, units, tolerances, and what is refused."""

from __future__ import annotations

import math
from fractions import Fraction

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
from signrules.model import Interval
from signrules.model.limits import TINY


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
]


@pytest.mark.parametrize("junk", JUNK, ids=lambda junk: repr(junk)[:20])
def test_junk_is_refused_with_words(junk: object) -> None:
    for parse in (parse_length, parse_toleranced):
        with pytest.raises(Refused) as caught:
            parse(junk)
        assert "length" in caught.value.expected
        assert 0 < len(caught.value.found) <= 60


@pytest.mark.parametrize(
    "written",
    [
        *(
            "2 .. 1 mm",
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
    assert "write one of mm, cm, um, in" in caught.value.expected


@pytest.mark.parametrize(
    ("written", "speed"),
    [("800 mm/s", 800.0), ("6 m/s", 6000.0), ("48 m/min", 800.0), ("30 in/s", 762.0)],
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


@given(st.text(max_size=30) | st.text(alphabet="0123456789.+-/ minu±e", max_size=20))
def test_no_text_gives_another_error(text: str) -> None:
    for parse in (parse_length, parse_toleranced, parse_speed):
        try:
            outcome: object = parse(text)
        except Refused as refused:
            outcome = refused.expected
        assert outcome is not None
        assert outcome != ""
