"""Numbers that no printer has, in every field that there is: each is a fault at its path, and never
another error.

The fields are taken from the tables of the readers, so that a new one is tried as soon as it is
there.
"""

from __future__ import annotations

import copy
import math
import sys
import typing
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import attrs
import pytest
from building import shop
from documents.samples import SMALL
from effort import FULL
from hypothesis import given
from hypothesis import strategies as st

import signrules
from signrules.documents import Refused, job_from_dict, measures
from signrules.documents.kinds import KINDS, Kind
from signrules.documents.lengths import LENGTH_UNITS, SPEED_UNITS
from signrules.documents.table_reader import document_fields, kind_of, read_field
from signrules.errors import DocumentFault, JobError, RatesError, ScheduleError, ShopError
from signrules.estimating.rates import Fixed, MinutePrices, Rates, Waste, rates_from_dict
from signrules.model.consistency import TABLES
from signrules.model.declared import classes_within, document_key
from signrules.model.job import Job
from signrules.model.limits import TINY
from signrules.model.passes import Gap
from signrules.model.printer import Dial, Printer, Spacers
from signrules.rules import settings
from signrules.rules.settings import setting, settings_from
from signrules.schedules.jobs import jobs_from_schedule
from signrules.shop_file import shop_from_dict
from signrules.standards import table_reading
from signrules.standards.dimension_tables import TableError, read_standard

UNITS = sorted(
    {
        *LENGTH_UNITS,
        *SPEED_UNITS,
        *(
            name
            for each in vars(measures).values()
            if isinstance(each, measures.Measure)
            for name, _ in each.units
        ),
        *("%", "C", "min", "K", ""),
    }
)
NUMBERS = [
    10**400,
    -(10**400),
    math.nan,
    math.inf,
    -math.inf,
    5e-324,
    -5e-324,
    sys.float_info.min,
    1e308,
    -1e308,
]
AMOUNTS = (
    "1e306",
    "-1e306",
    "1e999",
    "1e-320",
    "1e-999",
    "nan",
    "inf",
    "-inf",
    "9" * 40,
    "9" * 5000,
    "1/0",
    "1_000",
)
TEXTS = [f"{amount} {unit}".strip() for amount in AMOUNTS for unit in UNITS]
LIKE_NUMBERS = ["15", "1e3", "0x10", "١٥", "1,5"]
SPREADS = [
    f"{text} {unit}"
    for unit in UNITS
    for text in ("1 +- 1e306", "-1e306 .. 1e306", "0 .. 1e999", "1e-320 .. 1")
]


# --- the job document -----------------------------------------------------------------------------

Place = tuple[str | int, ...]
NEEDED: dict[type, dict[str, Any]] = {
    Gap: {"extra": 1},
    Dial: {"control": "dial", "max": 4, "step": 0.1},
    Spacers: {"control": "spacers", "spacers": [1]},
}
"""What a table must have besides the key that is tried."""


CLASSES = (Job, *classes_within(Job))


def places() -> dict[type, Place]:
    """Where in a document the table of each class stands."""
    found: dict[type, Place] = {
        Job: (),
        Printer: ("printer",),
        **{cls: (name, 0) for name, cls in TABLES.items()},
    }
    waiting = list(found)
    while waiting:
        cls = waiting.pop()
        for attribute, declared in document_fields(cls).items():
            rows = declared.element or declared
            first_row = (0,) if declared.kind == "list" else ()
            for inner in rows.tables.values():
                found[inner] = (*found[cls], document_key(cls, attribute), *first_row)
                waiting.append(inner)
    return found


PLACES = places()
FIELDS = [(cls, attribute) for cls in CLASSES for attribute in document_fields(cls)]


def test_every_table_has_its_place() -> None:
    assert PLACES.keys() == set(CLASSES)


def document_with(cls: type, attribute: str, value: object) -> tuple[dict[str, Any], str]:
    """The sample with a value in one field, and the path of the field."""
    document = copy.deepcopy(SMALL)
    row: Any = document
    path = ""
    for number, step in enumerate(PLACES[cls], start=1):
        if isinstance(step, int):
            path += f"[{step}]"
        else:
            path += f".{step}"
            if cls is not Printer and number == len(PLACES[cls]):
                row[step] = dict(NEEDED.get(cls, {}))
            holds_rows = PLACES[cls][number : number + 1] == (0,)
            row.setdefault(step, [{}] if holds_rows else {})
        row = row[step]
    key = document_key(cls, attribute)
    row[key] = value
    return document, f"{path}.{key}".removeprefix(".")


def refused(cls: type, attribute: str, value: object) -> None:
    """A document with that value has a fault at the path of the field, or within."""
    document, path = document_with(cls, attribute, value)
    with pytest.raises(JobError) as caught:
        job_from_dict(document)
    assert any(fault.path.startswith(path) for fault in caught.value.faults)
    assert len(str(caught.value)) < 5000


def wrapped(value: object) -> list[object]:
    """A value as it is, and in each of the shapes in which some field holds numbers."""
    return [
        value,
        [value],
        [value, 1],
        [1, value],
        [value] * 4,
        [[1, 1, value, 1]],
        {"pins": value},
    ]


@pytest.mark.more
@pytest.mark.parametrize(
    ("cls", "attribute"), FIELDS, ids=lambda each: getattr(each, "__name__", each)
)
def test_no_field_of_a_job_takes_a_number_out_of_range(cls: type, attribute: str) -> None:
    for number in NUMBERS if FULL else NUMBERS[:3]:
        for value in wrapped(number):
            refused(cls, attribute, value)


@pytest.mark.more
@pytest.mark.parametrize(
    ("cls", "attribute"), FIELDS, ids=lambda each: getattr(each, "__name__", each)
)
def test_no_field_of_a_job_takes_a_text_out_of_range(cls: type, attribute: str) -> None:
    declared = document_fields(cls)[attribute]
    kind, text = kind_of(declared), KINDS["text"]
    if kind is text:
        assert kind.read(TEXTS[0])  # There it is no number.
        return
    if declared.element is not None and kind_of(declared.element) is text:
        assert kind.read(TEXTS[:1])
        return
    every = [*TEXTS, *LIKE_NUMBERS, *SPREADS]
    for text in every if FULL else every[::7]:
        for value in wrapped(text):
            with pytest.raises(Refused):
                read_field(value, cls, attribute)
    for text in ("1e306 m/s", "1e308 in", "1e-320 um", "1e306 %", "15"):
        refused(cls, attribute, text)


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@given(
    st.from_regex(r"[-+]?[0-9]{1,42}(\.[0-9]{0,42})?(e[-+]?[0-9]{1,4})?", fullmatch=True),
    st.sampled_from(UNITS),
    st.sampled_from(["{}", "{} +- {}", "{} .. {}", "0 .. {}", "{} +- 0"]),
)
def test_no_number_with_a_unit_gives_another_error(
    kind: Kind, number: str, unit: str, form: str
) -> None:
    text = f"{form.format(number, number)} {unit}"
    for value in wrapped(text):
        try:
            found: object = kind.read(value)
        except Refused as refused:
            found = refused.expected
        assert found is not None


@pytest.mark.parametrize(
    "number", [TINY / 10, -TINY / 10, "1e-301 mm", "1e-298 um", "1e-302 in", "0 .. 1e-310 mm"]
)
def test_a_length_is_nothing_or_a_number_that_a_float_holds_in_full(number: object) -> None:
    for kind in (KINDS["length"], KINDS["toleranced length"]):
        with pytest.raises(Refused):
            kind.read(number)
    assert KINDS["length"].read("0 um") == KINDS["length"].read(0) == 0
    assert KINDS["length"].read("1e-300 mm") == TINY


# --- rate tables ----------------------------------------------------------------------------------

RATES: dict[str, Any] = {"signrules_rates": 1, "currency": "XTS"}
DECIMALS = [
    Decimal(text)
    for text in ("NaN", "sNaN", "Infinity", "1e999999", "1e-999999", "1e-41", "1e13", "0e99999")
]
PRICES = [
    "1e-999999999",
    "1e999999999",
    "0e-999999999",
    "1e99999999999999999999",
    "0." + "0" * 50 + "1",
    "１",
]


def rates_with(field: str, value: object) -> tuple[dict[str, Any], str] | None:
    """A rate table with a value in one field, and its path; None for a field that holds
    no number.
    """
    kind = typing.get_type_hints(Rates)[field]
    if typing.get_origin(kind) is Mapping or kind in (MinutePrices, Waste):
        key = {"minute": "all", "waste": "ink"}.get(field, "x")
        return RATES | {field: {key: value}}, f"{field}.{key}"
    if kind == tuple[Fixed, ...]:
        return RATES | {field: [{"name": "x", "price": value}]}, f"{field}[0].price"
    return None if kind is str else (RATES | {field: value}, field)


@pytest.mark.parametrize("field", [field.name for field in attrs.fields(Rates)])
def test_no_rate_is_out_of_range(field: str) -> None:
    for value in [*NUMBERS, *DECIMALS, *TEXTS, *PRICES, *(f"{price} %" for price in PRICES)]:
        made = rates_with(field, value)
        if made is None:
            assert field == "currency"
            continue
        document, path = made
        with pytest.raises(RatesError) as caught:
            rates_from_dict(document)
        assert {fault.path for fault in caught.value.faults} == {path}, value
        assert len(str(caught.value)) < 500


def test_a_rate_table_in_a_file(tmp_path: Path) -> None:
    file = tmp_path / "rates.toml"
    for number in (
        "1e-999999999",
        "1e999999999",
        "1e99999999999999999999",
        "0e-999999999",
        "nan",
        "0x" + "f" * 9000,
    ):
        file.write_text(
            f'signrules_rates = 1\ncurrency = "XTS"\ndot = {number}\n', encoding="utf-8"
        )
        with pytest.raises(RatesError) as caught:
            signrules.read_rates(file)
        assert len(str(caught.value)) < 1000


# --- shop files, settings, schedules, standards ---------------------------------------------------


def class_with(kind: Any, unit: str) -> type:
    """A class of settings with one setting of a kind."""
    default = {bool: True, int: 1, float: 1.0, str: "x", tuple[str, ...]: ()}[kind]
    made = attrs.make_class(
        "Some", {"some": setting(default, doc="a setting", unit=unit)}, frozen=True
    )
    made.__annotations__ = {"some": kind}
    return made


@pytest.mark.parametrize("unit", ["", "mm"])
@pytest.mark.parametrize("kind", settings._KINDS, ids=str)
def test_no_setting_is_out_of_range(kind: Any, unit: str) -> None:
    cls = class_with(kind, unit)
    for value in [*NUMBERS, *(TEXTS if kind in (int, float) else ())]:
        with pytest.raises(Refused) as caught:
            settings_from(cls, {"some": value})
        assert [fault.path for fault in caught.value.faults] == ["some"]


def test_no_setting_of_a_shop_file_is_out_of_range() -> None:
    for number in NUMBERS:
        for value in (number, [1, number]):
            with pytest.raises(ShopError) as caught:
                shop_from_dict(
                    {"signrules": 1, "rules": {"a": {"b": {"settings": {"some": value}}}}}
                )
            assert [fault.path for fault in caught.value.faults] == ["rules.a.b.settings.some"]


@pytest.mark.parametrize("field", ["x" * 200_000, "9" * 5000, "1e999\x00", "=1e306", "\ud800"])
@pytest.mark.parametrize("column", ["Room No.", "Room name", "Sign", "height", "quantity"])
def test_schedules(column: str, field: str) -> None:
    row = {"Room No.": "a", "Room name": "A", "Sign": "notice", "height": "1", "quantity": "1"}
    row[column] = field
    faults: tuple[DocumentFault, ...] = ()
    try:
        found = jobs_from_schedule(f"{','.join(row)}\n{','.join(row.values())}\n", shop())
    except ScheduleError as error:
        faults = error.faults
    else:
        assert len(field) <= 5000
        assert found.jobs
    assert all(fault.path.startswith("row 2") for fault in faults)
    assert all(len(str(fault)) < 1000 for fault in faults)


ROW: dict[str, Any] = {
    "quantity": "braille.dot_height",
    "clause": "1",
    "source": "invented",
    "standing": "read",
}
HEAD = 'id = "x"\ntitle = "x"\npublisher = "x"\nunit = "mm"\n'


def standard_with(key: str, number: str) -> str:
    if key in ("up_to", "base", "distance"):
        band = {"base": "'1 mm'", "distance": "'1 mm'", key: number}
        inside = ", ".join(f"{name} = {value}" for name, value in band.items())
        limits = f"per_foot = '1 mm'\nbands = [{{ {inside} }}]\n"
        return f"{HEAD}[[rows]]\n{in_lines(ROW | {'quantity': 'visual.height'})}{limits}"
    beside = {"least_printed": "least = '1 mm'\n", "most_printed": "most = '1 mm'\n"}.get(key, "")
    return f"{HEAD}[[rows]]\n{in_lines(ROW)}{beside}{key} = {number}\n"


def in_lines(row: Mapping[str, str]) -> str:
    return "".join(f"{key} = '{value}'\n" for key, value in row.items())


@pytest.mark.parametrize("key", [*table_reading._BOUNDS, "up_to", "base", "distance"])
def test_no_number_of_a_standard_is_out_of_range(key: str) -> None:
    plain = ["1e999", "nan", "9" * 400, "0x" + "f" * 9000, "5e-324", "true"]
    for number in [*plain, *(f"'{text}'" for text in TEXTS)]:
        with pytest.raises(TableError) as caught:
            read_standard(standard_with(key, number), "x.toml")
        assert len(str(caught.value)) < 500
