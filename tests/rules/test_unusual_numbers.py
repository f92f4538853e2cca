"""Numbers that plugins bring, at the ends of what is usual and just beyond."""

from __future__ import annotations

import math

import pytest

from signrules import Material
from signrules.catalogue.materials import usual_numbers
from signrules.rules.unusual_numbers import unusual_numbers


def said_of(name, value):
    material = Material("own", **{name: value}, sources={name: "invented"})
    return list(unusual_numbers([], {}, [material]))


@pytest.mark.parametrize("name", ["density", "heat_capacity", "modulus"])
def test_what_lies_on_an_end_of_what_is_usual_is_usual_and_the_next_number_is_not(name):
    (low, high), unit = usual_numbers()[name]
    assert said_of(name, low) == said_of(name, high) == []
    for beyond in (math.nextafter(low, 0), math.nextafter(high, math.inf)):
        (sentence,) = said_of(name, beyond)
        assert f"{low:g} to {high:g} {unit} is usual" in sentence
