"""Prices and shares: decimal numbers as they are written, their bounds, and what is refused."""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest

from signrules.documents import Refused
from signrules.documents.money import decimal_text, read_price, read_prices, read_share


@pytest.mark.parametrize(
    ("written", "price"),
    [
        ("0.85", "0.85"),
        (" -3 ", "-3"),
        (12, "12"),
        (Decimal("1.50"), "1.50"),
        (10**12, "1000000000000"),
        ("-1e12", "-1000000000000"),
        ("0e12", "0"),
        ("1e-40", f"0.{'0' * 39}1"),
        (f"0.{'1' * 38}", f"0.{'1' * 38}"),
    ],
)
def test_a_price_is_the_number_that_is_written(written: object, price: str) -> None:
    assert read_price(written) == Decimal(price)
    assert Decimal(decimal_text(read_price(written))) == Decimal(price)


@pytest.mark.parametrize(
    "written",
    [
        True,
        None,
        "",
        "a",
        "1_000",
        "٣",
        "nan",
        "-Infinity",
        10**12 + 1,
        -(10**12) - 1,
        "0e13",
        "1e-41",
        f"0.{'1' * 39}",
        Decimal("sNaN"),
    ],
)
def test_what_is_no_price_is_refused(written: object) -> None:
    with pytest.raises(Refused) as caught:
        read_price(written)
    assert caught.value.expected == "a price as a number in TOML or as text, such as '0.85'"


def test_a_binary_float_is_told_to_be_text() -> None:
    with pytest.raises(Refused) as caught:
        read_price(0.85)
    assert caught.value.expected.endswith(
        "(a binary float cannot hold most prices: write it as text)"
    )


@pytest.mark.parametrize(
    ("written", "share"),
    [("15 %", "0.15"), (" 12.345%", "0.12345"), ("0.15", "0.15"), (1, "1")],
)
def test_a_share_is_a_number_or_per_cent_whatever_precision_a_caller_set(
    written: object, share: str
) -> None:
    with localcontext() as context:
        context.prec = 2
        assert read_share(written) == Decimal(share)


@pytest.mark.parametrize("written", ["a %", "%", "15 % %", 0.15])
def test_what_is_no_share_is_shown_as_it_is_written(written: object) -> None:
    with pytest.raises(Refused) as caught:
        read_share(written)
    assert caught.value.found == repr(written)
    assert caught.value.expected.startswith("a share as text, such as '15 %', or a number")


def test_every_price_of_a_table_is_named_that_is_none() -> None:
    assert read_prices({"ink": "0.85", "film": 2}) == {"ink": Decimal("0.85"), "film": Decimal(2)}
    with pytest.raises(Refused) as caught:
        read_prices({"ink": "x", 3: "1", "film": "y"})
    assert [fault.path for fault in caught.value.faults] == ["ink", "", "film"]
    with pytest.raises(Refused):
        read_prices([])
