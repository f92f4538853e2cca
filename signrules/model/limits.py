"""What numbers and texts a model may hold at all, and the checks of single values made of them."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Collection, Iterator
from typing import Any

from signrules.model.quantities import Interval

Check = Callable[[Any], Iterator[tuple[str, object, str]]]
"""Yields what is wrong with a value: where in it, what stands there, what is expected."""

CELSIUS = "degrees Celsius"

MOST_LAYERS = 100_000
MOST_DIAL_STEPS = 10_000
LONGEST_ID = 200
LARGEST_MM = 1_000_000
SLOWEST_MM_S, FASTEST_MM_S = 1e-3, 1e8
SMALLEST_MM = 1e-3
"""The least side of a sheet or an area: what is as small as the guard would have no points of its
own.
"""

THINNEST_MM = 1e-4
"""The least layer of ink: no film is thinner than the light that cures it is long, some 0.000 4 mm.
"""

TINY, HUGE = 1e-300, 1e300
"""Between these a float holds a number to all its digits, and so does what is computed from it."""

UNPRINTED = ("Cc", "Cs", "Zl", "Zp")
"""Unicode categories that print nothing: controls, lone surrogates, line and paragraph ends."""


def is_number(value: object) -> bool:
    """Whether a value is 0 or a number that a float holds in full (True and False are none)."""
    # To Python True is the number 1: `layers = true` must not print one layer.
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return value == 0 or TINY <= abs(value) < HUGE


def is_length(value: object) -> bool:
    """Whether a value is a number of mm that something at a printer may measure: up to 1 km."""
    if not isinstance(value, int | float):
        return False
    return is_number(value) and -LARGEST_MM <= value <= LARGEST_MM


def is_whole(value: object) -> bool:
    """Whether a value is a whole number (True and False are none)."""
    return isinstance(value, int) and not isinstance(value, bool)


def is_text(value: object) -> bool:
    """Whether a value is text."""
    return isinstance(value, str)


def is_said(value: object) -> bool:
    """Whether a value is text that is not blank."""
    return isinstance(value, str) and bool(value.strip())


def is_short_name(value: object) -> bool:
    """Whether a value is a short text that prints on one line."""
    if not isinstance(value, str) or not 0 < len(value.strip()) <= len(value) <= LONGEST_ID:
        return False
    # Looking up the category of each character is slow, and hardly any name needs it.
    if value.isprintable():
        return True
    return not any(unicodedata.category(character) in UNPRINTED for character in value)


def is_id(value: object) -> bool:
    """Whether a value may be an id: a short name without the characters that paths are made of."""
    return is_short_name(value) and not any(character in ".[]" for character in str(value))


def is_braille(value: object) -> bool:
    """Whether a value is Unicode braille patterns, spaces and line ends."""
    if not isinstance(value, str):
        return False
    return all(character in " \n" or "\u2800" <= character <= "\u28ff" for character in value)


def is_span(value: object, least: float) -> bool:
    """Whether a value is a length in mm with its tolerance, its low end not below the least."""
    if not isinstance(value, Interval) or value.low < least:
        return False
    if value.low > 0 and value.high <= LARGEST_MM and value.low >= TINY:
        return True  # As nearly all are, and jobs have very many.
    return is_length(value.low) and is_length(value.nominal) and is_length(value.high)


def must_be(expected: str, test: Callable[[Any], bool]) -> Check:
    """A check of a value as a whole."""

    def whole_value(value: Any) -> Iterator[tuple[str, object, str]]:
        if not test(value):
            yield "", value, expected

    return whole_value


def must_be_one_of(choices: Collection[object]) -> Check:
    """A check that a value is one of a few words or whole numbers."""
    names = ", ".join(str(choice) for choice in choices)
    return must_be(f"one of {names}", lambda value: type(value) in (str, int) and value in choices)


def must_each(check: Check, expected: str, least: int = 0, count: int | None = None) -> Check:
    """A check of each element of a tuple, and of how many there are."""

    def each_element(value: Any) -> Iterator[tuple[str, object, str]]:
        wrong_count = isinstance(value, tuple) and count is not None and len(value) != count
        if not isinstance(value, tuple) or len(value) < least or wrong_count:
            yield "", value, expected
            return
        for index, element in enumerate(value):
            for where, culprit, wanted in check(element):
                yield f"[{index}]{where}", culprit, wanted

    return each_element
