"""The ways to declare a field: each makes the metadata of an attrs field, for one kind of value."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any

from attrs import frozen

from signrules.model.declared import DECLARATION, Declared, Metadata, Usual
from signrules.model.limits import (
    FASTEST_MM_S,
    LARGEST_MM,
    LONGEST_ID,
    SLOWEST_MM_S,
    Check,
    is_braille,
    is_id,
    is_length,
    is_number,
    is_said,
    is_short_name,
    is_span,
    is_text,
    is_whole,
    must_be,
    must_be_one_of,
    must_each,
)
from signrules.model.plugin_data import check_plugin_data
from signrules.model.quantities import Interval


def any_text(meaning: str, *, otherwise: str = "") -> Metadata:
    """A field that holds any text."""
    return _declared("text", meaning, must_be("text", is_text), otherwise=otherwise)


def id_text(meaning: str) -> Metadata:
    """An id: what other parts of the job name this one by."""
    characters = f"text of 1 to {LONGEST_ID} characters without control characters"
    return _declared("id", meaning, must_be(f"an id: {characters} and without any of . [ ]", is_id))


def id_of(table: str, meaning: str = "", *, otherwise: str = "") -> Metadata:
    """The id of a part in one of the job's lists."""
    return _declared(
        "id of", meaning, must_be("text", is_text), expected=table, otherwise=otherwise
    )


def short_name(meaning: str, *, otherwise: str = "") -> Metadata:
    """A short text on one line."""
    expected = f"text of 1 to {LONGEST_ID} characters without control characters"
    return _declared("name", meaning, must_be(expected, is_short_name), otherwise=otherwise)


def said_text(meaning: str) -> Metadata:
    """A text that is not blank."""
    return _declared("said text", meaning, must_be("a text that is not blank", is_said))


def braille_cells(meaning: str) -> Metadata:
    """Unicode braille patterns."""
    expected = "Unicode braille patterns (U+2800 to U+28FF), spaces and line ends only"
    return _declared("braille cells", meaning, must_be(expected, is_braille))


def one_word_of(
    choices: tuple[str, ...], meaning: str, *, otherwise: str = "", former_key: str = ""
) -> Metadata:
    """One of a few words."""
    check = must_be_one_of(choices)
    return _declared(
        "word", meaning, check, words=choices, otherwise=otherwise, former_key=former_key
    )


def open_word(choices: tuple[str, ...], meaning: str) -> Metadata:
    """One of a few words, or one that a plugin brings: the job knows which there are."""
    expected = f"one of {', '.join(choices)}, or a word that a plugin brings"
    return _declared("open word", meaning, must_be(expected, is_short_name), words=choices)


def one_number_of(choices: tuple[int, ...], meaning: str) -> Metadata:
    """One of a few whole numbers."""
    return _declared("whole number", meaning, must_be_one_of(choices), words=choices)


def plain_number(
    noun: str,
    least: float,
    most: float,
    meaning: str,
    *,
    usual: Usual = None,
    unit: str = "",
    otherwise: str = "",
) -> Metadata:
    """A plain number in the unit that `noun` names: "minutes", "degrees Celsius"."""
    check = must_be(
        f"{noun} from {grouped_digits(least)} to {grouped_digits(most)}",
        lambda value: _within_range(value, least, most),
    )
    return _declared(
        "number",
        meaning,
        check,
        least=least,
        most=most,
        usual=usual,
        unit=unit,
        otherwise=otherwise,
    )


def share_above_none(meaning: str, *, usual: Usual = None) -> Metadata:
    """A share above 0 and at most 1."""
    check = must_be(
        "a share above 0 and at most 1", lambda value: is_number(value) and 0 < value <= 1
    )
    return _declared("share", meaning, check, least=0.0, most=1.0, usual=usual)


def whole_number(
    noun: str, least: int, most: int, meaning: str, *, usual: Usual = None
) -> Metadata:
    """A whole number."""
    expected = f"{noun} from {least} to {most}"
    check = must_be(expected, lambda value: is_whole(value) and least <= value <= most)
    return _declared("whole number", meaning, check, least=least, most=most, usual=usual)


def plain_length(
    meaning: str,
    *,
    least: float = -LARGEST_MM,
    usual: Usual = None,
    otherwise: str = "",
) -> Metadata:
    """A length in mm without a tolerance."""
    expected = "a length"
    if least > -LARGEST_MM:
        expected = f"a length of at least {least_length(least)}"
    check = must_be(expected, lambda value: is_length(value) and value >= least)
    return _declared(
        "length",
        meaning,
        check,
        least=least,
        most=LARGEST_MM,
        usual=usual,
        unit="mm",
        otherwise=otherwise,
    )


def toleranced_length(
    meaning: str,
    *,
    least: float = 0.0,
    usual: Usual = None,
    otherwise: str = "",
    key: str = "",
    former_key: str = "",
) -> Metadata:
    """A length in mm that may carry a tolerance."""
    expected = f"a length of at least {least:g} mm, at its low end too"
    check = must_be(expected, lambda value: is_span(value, least))
    return _declared(
        "toleranced length",
        meaning,
        check,
        least=least,
        most=LARGEST_MM,
        usual=usual,
        unit="mm",
        otherwise=otherwise,
        key=key,
        former_key=former_key,
    )


def plain_speed(meaning: str, *, usual: Usual = None, otherwise: str = "") -> Metadata:
    """A speed in mm/s."""
    check = must_be(
        "a speed from 0.001 mm/s to 100 km/s",
        lambda value: _within_range(value, SLOWEST_MM_S, FASTEST_MM_S),
    )
    return _declared(
        "speed",
        meaning,
        check,
        least=SLOWEST_MM_S,
        most=FASTEST_MM_S,
        usual=usual,
        unit="mm/s",
        otherwise=otherwise,
    )


@frozen
class Measure:
    """A physical quantity other than length and speed: its unit in the model, and its range."""

    unit: str
    least: float
    most: float
    expected: str


MEASURES: Mapping[str, Measure] = {
    "volume": Measure("pL", 0.01, 1e4, "a volume from 0.01 pL to 10 nL"),
    "density": Measure("kg/m3", 1, 1e5, "a density from 1 to 100 000 kg/m3"),
    "acceleration": Measure("mm/s2", 1, 1e7, "an acceleration from 1 mm/s2 to 10 km/s2"),
    "pressure": Measure("Pa", 0, 1.1e5, "a pressure from 0 to 110 kPa"),
    "dose": Measure("J/m2", 0, 1e7, "a dose from 0 to 1000 J/cm2"),
    "heat capacity": Measure("J/(kg K)", 1, 1e5, "a heat capacity from 1 to 100 000 J/kgK"),
    "heat transfer": Measure("W/(m2 K)", 0.01, 1e5, "a heat transfer from 0.01 to 100 000 W/m2K"),
}


def quantity_of(name: str, meaning: str, *, usual: Usual = None, otherwise: str = "") -> Metadata:
    """A quantity of `MEASURES`."""
    found = MEASURES[name]
    check = must_be(found.expected, lambda value: _within_range(value, found.least, found.most))
    return _declared(
        name,
        meaning,
        check,
        least=found.least,
        most=found.most,
        usual=usual,
        unit=found.unit,
        otherwise=otherwise,
    )


MOST_EXPANSION = 1e4


def expansion_coefficient(meaning: str, *, usual: Usual = None, otherwise: str = "") -> Metadata:
    """A coefficient of linear expansion in millionths per kelvin, perhaps a range."""
    check = must_be("a coefficient of expansion from 0 to 10 000 ppm/K", _is_expansion)
    return _declared(
        "expansion",
        meaning,
        check,
        least=0.0,
        most=MOST_EXPANSION,
        usual=usual,
        unit="ppm/K",
        otherwise=otherwise,
    )


def calendar_day(meaning: str) -> Metadata:
    """A field that holds a day."""
    return _declared("date", meaning, must_be("a date", lambda value: type(value) is datetime.date))


def list_of(
    element: Metadata,
    expected: str,
    meaning: str,
    *,
    least: int = 0,
    count: int | None = None,
    otherwise: str = "",
) -> Metadata:
    """A list of values of one kind; `expected` says in words what it is a list of."""
    inner = element[DECLARATION]
    check = must_each(inner.check, expected, least, count)
    return _declared(
        "list", meaning, check, expected, element=inner, count=count, otherwise=otherwise
    )


def one_or_more(element: Metadata, expected: str, meaning: str, *, least: int = 0) -> Metadata:
    """A value of one kind or a list of at least so many of them; a tuple in the model."""
    inner = element[DECLARATION]
    check = must_each(inner.check, expected, least)
    return _declared("one or more", meaning, check, expected, element=inner)


def two_lengths(element: Metadata, meaning: str, *, otherwise: str = "") -> Metadata:
    """Two lengths in mm along x and y."""
    return list_of(element, "two lengths [x, y]", meaning, count=2, otherwise=otherwise)


def ids_of(table: str, meaning: str, *, otherwise: str = "") -> Metadata:
    """A list of ids of parts of the job."""
    return list_of(id_of(table), "a list of ids", meaning, otherwise=otherwise)


def lengths_by_name(meaning: str, *, usual: Usual = None) -> Metadata:
    """A table of lengths in mm, each under a short name of the shop's own."""
    return _declared("lengths by name", meaning, _check_lengths_by_name, unit="mm", usual=usual)


def texts_by_name(meaning: str) -> Metadata:
    """A table of texts, each under a short name of the shop's own."""
    return _declared("texts by name", meaning, _check_texts_by_name)


def table_of(cls: type, noun: str, meaning: str = "", *, otherwise: str = "") -> Metadata:
    """A table that becomes an instance of a class."""
    check = must_be(noun, lambda value: isinstance(value, cls))
    return _declared("table", meaning, check, noun, tables={"": cls}, otherwise=otherwise)


def table_by_key(classes: Mapping[str, type], noun: str, meaning: str) -> Metadata:
    """A table that becomes the class whose key it has; the word "auto" stands for None."""
    check = must_be(noun, lambda value: isinstance(value, tuple(classes.values())))
    return _declared("table by key", meaning, check, noun, tables=classes)


def table_by_control(classes: Mapping[str, type], noun: str, meaning: str) -> Metadata:
    """A table that becomes an instance of the class that its key `control` names."""
    check = must_be(noun, lambda value: isinstance(value, tuple(classes.values())))
    return _declared("table by control", meaning, check, noun, tables=classes)


def part_of(cls: type, meaning: str) -> Metadata:
    """A table that is a part of the job of its own."""
    return _declared(
        "part",
        meaning,
        must_be(f"a {cls.__name__}", lambda value: isinstance(value, cls)),
        tables={"": cls},
    )


def rows_of(cls: type, meaning: str) -> Metadata:
    """A list of tables, each of which becomes an instance of a class."""
    return _declared(
        "rows",
        meaning,
        must_be("a tuple", lambda value: isinstance(value, tuple)),
        tables={"": cls},
    )


def plugin_tables(meaning: str) -> Metadata:
    """Tables of plugins by their names, each of which the plugin itself declares."""
    return _declared("plugin tables", meaning, check_plugin_data)


def own_kind(kind: str, expected: str, check: Check, meaning: str = "") -> Metadata:
    """A value that a document writes in a way of its own."""
    return _declared(kind, meaning, check, expected)


def grouped_digits(value: float) -> str:
    """A number in words of a message: thousands stand apart."""
    if value != int(value):
        return f"{value:g}"
    return f"{int(value):,}".replace(",", " ")


def _declared(kind: str, meaning: str, check: Check, expected: str = "", **rest: Any) -> Metadata:
    # One key for all: attrs hands metadata through, and others may put theirs beside it.
    return {DECLARATION: Declared(kind, meaning, check, expected, **rest)}


def _within_range(value: object, least: float, most: float) -> bool:
    return isinstance(value, int | float) and is_number(value) and least <= value <= most


def least_length(least: float) -> str:
    """The least value of a length in mm, in words."""
    return "a nanometre" if 0 < least <= 1e-6 else f"{least:g} mm"


def _is_expansion(value: object) -> bool:
    return isinstance(value, Interval) and value.low >= 0 and value.high <= MOST_EXPANSION


def _check_texts_by_name(value: Any) -> Iterator[tuple[str, object, str]]:
    for name, text in value:
        if not is_short_name(name) or not is_said(text):
            yield f".{name}", text, "a text that is not blank, under a short name"


def _check_lengths_by_name(value: Any) -> Iterator[tuple[str, object, str]]:
    # What is no tuple is told as one pair that is wrong.
    pairs = value if isinstance(value, tuple) else (value,)
    before = None
    for pair in pairs:
        if not (isinstance(pair, tuple) and len(pair) == 2 and is_short_name(pair[0])):
            yield "", pair, "a locating method by a short name, with its error"
            continue
        name, error = pair
        # The pairs stand in the order of their names, so the same name stands twice in a row.
        if name == before:
            yield f".{name}", error, "one error for each method"
        before = name
        if not is_length(error) or error < 0:
            yield f".{name}", error, "a length of at least 0 mm"
