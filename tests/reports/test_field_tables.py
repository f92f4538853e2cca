"""What the tables of fields say of each kind of value, and of what is possible."""

from __future__ import annotations

import pytest

from signrules.model import Job
from signrules.model.declared import DECLARATION, classes_within, declared_fields
from signrules.model.declaring import (
    grouped_digits,
    list_of,
    one_number_of,
    plain_length,
    plain_number,
    plain_speed,
    quantity_of,
    share_above_none,
    toleranced_length,
    two_lengths,
    whole_number,
)
from signrules.reports.field_tables import type_in_words

FIELDS = [
    (f"{cls.__name__}.{name}", declared)
    for cls in (Job, *classes_within(Job))
    for name, declared in declared_fields(cls).items()
]


# Worked by hand from the docstrings of `declaring`.
@pytest.mark.parametrize(
    ("metadata", "words"),
    [
        (plain_number("a share", 0.1, 1, ""), "number from 0.1 to 1"),
        (plain_number("a share", 0, 1, ""), "number from 0 to 1"),
        (plain_number("degrees", -50, 300, "", unit="degrees"), "number from -50 to 300"),
        (share_above_none(""), "number above 0, at most 1"),
        (whole_number("layers", 1, 100_000, ""), "whole number from 1 to 100 000"),
        (one_number_of((1, 2), ""), "`1`, `2`"),
        (plain_length(""), "length"),
        (plain_length("", least=0), "length, at least 0 mm"),
        (plain_length("", least=1e-6), "length, at least a nanometre"),
        (toleranced_length(""), "toleranced length"),
        (toleranced_length("", least=0.001), "toleranced length, at least 0.001 mm"),
        (two_lengths(plain_length("", least=0.001), ""), "two lengths, at least 0.001 mm"),
        (list_of(plain_length("", least=0), "", ""), "list of lengths, at least 0 mm"),
        (plain_speed(""), "speed from 0.001 to 100 000 000 mm/s"),
        (quantity_of("pressure", ""), "pressure from 0 to 110 000 Pa"),
    ],
)
def test_a_range_stands_beside_the_kind(metadata, words):
    assert type_in_words(metadata[DECLARATION]) == words


@pytest.mark.parametrize(("name", "declared"), FIELDS, ids=[name for name, _ in FIELDS])
def test_every_range_of_a_number_is_shown(name, declared):
    ends = (declared.least, declared.most)
    if None in ends or declared.kind.endswith("length"):
        assert " to " not in type_in_words(declared)
        return
    for end in ends:
        assert grouped_digits(end) in type_in_words(declared), name
