"""What each field of the model may hold, by itself: one table, used for objects and for documents alike."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Callable, Collection, Iterator
from functools import cache
from typing import Any

import attrs

from signrules.errors import DocumentFault
from signrules.model import passes, sheet, sign
from signrules.model.job import Alignment, Job, Waiver
from signrules.model.passes import Area, Gap, Handling, Pass
from signrules.model.printer import Dial, Minutes, MovingBed, Printer, Spacers
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sheet import Ink, Media
from signrules.model.sign import Braille, Measured, Mounting, Pictogram, Raised, Sign, Surface, Visual
from signrules.model.wording import shown

Check = Callable[[Any], Iterator[tuple[str, object, str]]]
"""Yields what is wrong with a value: where in it, what stands there, what is expected."""

MOST_LAYERS = 100_000
MOST_DIAL_STEPS = 10_000
LONGEST_ID = 200
LARGEST_MM = 1_000_000
SLOWEST, FASTEST = 1e-3, 1e8
SMALLEST = 1e-3
"""The least side of a sheet or an area in mm: what is as small as the guard would have no points of its own."""
THINNEST = 1e-4
"""The least layer of ink in mm: no film is thinner than the light that cures it is long, some 0.000 4 mm."""
TINY, HUGE = 1e-300, 1e300
"""Between these a float holds a number to all its digits, and so does what is reckoned with it."""
UNPRINTED = ("Cc", "Cs", "Zl", "Zp")
"""The Unicode categories of characters that are none: controls, lone surrogates, line and paragraph ends."""


def is_number(value: object) -> bool:
    """Whether a value is 0 or a number that a float holds in full (True and False are none)."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return value == 0 or TINY <= abs(value) < HUGE


def is_length(value: object) -> bool:
    """Whether a value is a number of mm that something at a printer may measure: at most a kilometre."""
    return isinstance(value, int | float) and is_number(value) and -LARGEST_MM <= value <= LARGEST_MM


def must(expected: str, test: Callable[[Any], bool]) -> Check:
    """A check of a value as a whole."""

    def check(value: Any) -> Iterator[tuple[str, object, str]]:
        if not test(value):
            yield "", value, expected

    return check


def number(expected: str, least: float, most: float) -> Check:
    """A check that a value is a number from the least to the most."""
    return must(expected, lambda value: is_number(value) and least <= value <= most)


def every(check: Check, expected: str = "a list", least: int = 0, count: int | None = None) -> Check:
    """A check of each element of a tuple, and of how many there are."""

    def run(value: Any) -> Iterator[tuple[str, object, str]]:
        if not isinstance(value, tuple) or len(value) < least or (count is not None and len(value) != count):
            yield "", value, expected
            return
        for index, element in enumerate(value):
            for where, culprit, wanted in check(element):
                yield f"[{index}]{where}", culprit, wanted

    return run


def one_of(choices: Collection[object]) -> Check:
    """A check that a value is one of a few."""
    names = ", ".join(str(choice) for choice in choices)
    return must(f"one of {names}", lambda value: type(value) in (str, int) and value in choices)


def _text(value: object) -> bool:
    return isinstance(value, str)


def _says_something(value: object) -> bool:
    return isinstance(value, str) and bool(value.strip())


def _plain_text(value: object) -> bool:
    return (
        isinstance(value, str)
        and 0 < len(value.strip()) <= len(value) <= LONGEST_ID
        and (value.isprintable() or not any(unicodedata.category(each) in UNPRINTED for each in value))
    )


def _good_id(value: object) -> bool:
    return _plain_text(value) and not any(character in ".[]" for character in str(value))


def _good_cells(value: object) -> bool:
    return isinstance(value, str) and all(c in " \n" or "\u2800" <= c <= "\u28ff" for c in value)


def _whole_layers(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_LAYERS


def _good_area(value: object) -> bool:
    if not isinstance(value, Area) or not (is_length(value.x) and is_length(value.y)):
        return False
    return is_length(value.width) and is_length(value.height) and min(value.width, value.height) >= SMALLEST


def _good_locating(value: object) -> bool:
    return isinstance(value, tuple) and len(value) == 2 and _plain_text(value[0])


def _locating(value: Any) -> Iterator[tuple[str, object, str]]:
    before = None
    for method in value if isinstance(value, tuple) else (value,):
        if not _good_locating(method):
            yield "", method, "a locating method by a short name, with its error"
            continue
        if method[0] == before:
            yield f".{method[0]}", method[1], "one error for each method"
        before = method[0]
        if not is_length(method[1]) or method[1] < 0:
            yield f".{method[0]}", method[1], "a length of at least 0 mm"


def _interval_from(least: float) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, Interval) and least <= value.low and _is_span(value)


def _is_span(value: Interval) -> bool:
    if value.low > GUARD_MM and value.high <= LARGEST_MM:
        return True  # As nearly all are, and jobs have very many.
    return is_length(value.low) and is_length(value.nominal) and is_length(value.high)


ID = must(f"an id: text of 1 to {LONGEST_ID} characters without control characters and without any of . [ ]", _good_id)
TEXT = must("text", _text)
WORDS = must("a text that is not blank", _says_something)
NAME = must(f"text of 1 to {LONGEST_ID} characters without control characters", _plain_text)
ANY_LENGTH = must("a length", is_length)
SIZE = must("a length of at least a nanometre", lambda value: is_length(value) and value >= GUARD_MM)
DISTANCE = must("a length of at least 0 mm", lambda value: is_length(value) and value >= 0)
THICKNESS = must(f"a length of at least {SMALLEST:g} mm, at its low end too", _interval_from(SMALLEST))
LAYER = must(f"a length of at least {THINNEST:g} mm, at its low end too", _interval_from(THINNEST))
RANGE = must("a length of at least 0 mm, at its low end too", _interval_from(0.0))
SPEED = number("a speed from 0.001 mm/s to 100 km/s", SLOWEST, FASTEST)
DOTS = number("dots per inch from 0.001 to 1 000 000", 1e-3, 1e6)
MINUTES = number("minutes from 0 to 1 000 000", 0, 1e6)
TEMPERATURE = number("degrees Celsius from -50 to 300", -50, 300)
REFLECTANCE = number("a light reflectance value from 0 to 100", 0, 100)
AREA = must("[x, y, width, height], width and height of at least 0.001 mm", _good_area)
TEXTS = every(TEXT, "a list of texts")
IDS = every(TEXT, "a list of ids")
SIDE = must("a length of at least 0.001 mm", lambda value: is_length(value) and value >= SMALLEST)
PAIR_OF_SIZES = every(SIDE, "two lengths [x, y]", count=2)
VOLUME = number("a volume from 0.01 pL to 10 nL", 0.01, 1e4)
DENSITY = number("a density from 1 to 100 000 kg/m3", 1, 1e5)
ACCELERATION = number("an acceleration from 1 mm/s2 to 10 km/s2", 1, 1e7)
PRESSURE = number("a pressure from 0 to 110 kPa", 0, 1.1e5)
DOSE = number("a dose from 0 to 1000 J/cm2", 0, 1e7)
HEAT_CAPACITY = number("a heat capacity from 1 to 100 000 J/kgK", 1, 1e5)
COOLING = number("a heat transfer from 0.01 to 100 000 W/m2K", 0.01, 1e5)
EXPANSION = must(
    "a coefficient of expansion from 0 to 10 000 ppm/K",
    lambda value: isinstance(value, Interval) and value.low >= 0 and value.high <= 1e4,
)
PLACE = every(ANY_LENGTH, "two lengths [x, y]", count=2)
DATE = must("a date", lambda value: type(value) is datetime.date)

CHECKS: dict[type, dict[str, Check]] = {
    Printer: {
        "bed": PAIR_OF_SIZES,
        "base_gap": RANGE,
        "min_clearance": DISTANCE,
        "gap": must("a gap control: spacers or a dial", lambda value: isinstance(value, Spacers | Dial)),
        "head_length": SIZE,
        "carriage_speed": SPEED,
        "drop_speed": SPEED,
        "max_throw": SIZE,
        "resolution": DOTS,
        "landing_tolerance": SIZE,
        "locating": _locating,
        "minutes": must("minutes of load, gap and alignment", lambda value: isinstance(value, Minutes)),
        "name": TEXT,
        "drop_volume": VOLUME,
        "drop_density": DENSITY,
        "satellite_volume": VOLUME,
        "satellite_speed": SPEED,
        "head_work": DATE,
        "moving_bed": must("a table with the acceleration", lambda value: isinstance(value, MovingBed)),
        "swath": SIDE,
        "swath_passes": must("a whole number from 1 to 1000", lambda value: type(value) is int and 1 <= value <= 1000),
        "carriage_acceleration": ACCELERATION,
        "overrun": DISTANCE,
        "return_speed": SPEED,
        "absorbed_dose": DOSE,
        "cooling": COOLING,
    },
    MovingBed: {"acceleration": ACCELERATION},
    Spacers: {"spacers": every(DISTANCE, "a list of lengths")},
    Dial: {
        "max": SIZE,
        "step": SIZE,
    },
    Minutes: {"load": MINUTES, "gap": MINUTES, "alignment": MINUTES},
    Media: {
        "id": ID,
        "thickness": THICKNESS,
        "size": PAIR_OF_SIZES,
        "at": PLACE,
        "material": TEXT,
        "bow": RANGE,
        "hold": one_of(sheet.HOLDS),
        "load": NAME,
        "up": one_of(passes.SIDES),
        "sheet_type": one_of(sheet.SHEET_TYPES),
        "located_at": PLACE,
        "expansion": EXPANSION,
        "density": DENSITY,
        "heat_capacity": HEAT_CAPACITY,
        "vacuum_pressure": PRESSURE,
        "vacuum_share": number("a share from 0 to 1", 0, 1),
        "friction": number("a coefficient of friction from 0 to 10", 0, 10),
    },
    Ink: {"id": ID, "layer": LAYER, "role": one_of(sheet.ROLES)},
    Pass: {
        "id": ID,
        "ink": TEXT,
        "media": TEXT,
        "areas": every(AREA, "at least one area", least=1),
        "layers": must(f"a whole number of layers from 1 to {MOST_LAYERS}", _whole_layers),
        "coverage": must("a share above 0 and at most 1", lambda value: is_number(value) and 0 < value <= 1),
        "gap": must("an offset over a reference", lambda value: isinstance(value, Gap)),
        "side": one_of(passes.SIDES),
        "directions": one_of((1, 2)),
        "crisp_on": one_of(passes.SURFACES),
        "sheet_temperature": TEMPERATURE,
        "over": IDS,
        "after": IDS,
        "registers_to": IDS,
        "builds": TEXT,
    },
    Gap: {"offset": RANGE, "reference": one_of(passes.REFERENCES)},
    Handling: {"id": ID, "does": one_of(passes.HANDLINGS), "media": TEXT, "locates_by": NAME, "after": IDS},
    Sign: {
        "id": ID,
        "media": TEXT,
        "kind": TEXT,
        "text": TEXTS,
        "braille": must("braille", lambda value: isinstance(value, Braille)),
        "raised": must("raised characters", lambda value: isinstance(value, Raised)),
        "visual": must("visual characters", lambda value: isinstance(value, Visual)),
        "pictogram": must("a pictogram", lambda value: isinstance(value, Pictogram)),
        "surface": must("a surface", lambda value: isinstance(value, Surface)),
        "mounting": must("mounting heights", lambda value: isinstance(value, Mounting)),
        "measured": must("measured values", lambda value: isinstance(value, Measured)),
    },
    Braille: {
        "cells": must("Unicode braille patterns (U+2800 to U+28FF), spaces and line ends only", _good_cells),
        "dot_diameter": RANGE,
        "dot_spacing": RANGE,
        "cell_spacing": RANGE,
        "line_spacing": RANGE,
        "dot_height": RANGE,
        "clear_space": RANGE,
        "dome_radius": RANGE,
        "below_text": RANGE,
        "shape": one_of(sign.SHAPES),
        "grade": one_of(sign.GRADES),
        "language": NAME,
        "proper": every(NAME, "a list of names"),
        "acronyms": every(NAME, "a list of acronyms"),
    },
    Raised: {
        "height": RANGE,
        "stroke": RANGE,
        "depth": RANGE,
        "spacing": RANGE,
        "line_spacing": RANGE,
        "case": one_of(sign.CASES),
        "style": one_of(sign.STYLES),
        "width": RANGE,
        "word_spacing": RANGE,
    },
    Visual: {
        "height": RANGE,
        "stroke": RANGE,
        "spacing": RANGE,
        "line_spacing": RANGE,
        "style": one_of(sign.STYLES),
        "viewing_distance": RANGE,
        "above_floor": RANGE,
        "width": RANGE,
    },
    Pictogram: {"field_height": RANGE, "field_width": RANGE},
    Surface: {
        "finish": one_of(sign.FINISHES),
        "character_lrv": REFLECTANCE,
        "background_lrv": REFLECTANCE,
        "gloss": number("gloss units from 0 to 2000", 0, 2000),
    },
    Mounting: {"lowest_tactile": RANGE, "highest_tactile": RANGE, "centre": RANGE},
    Measured: {"dot_height": every(ANY_LENGTH, "a list of lengths"), "depth": every(ANY_LENGTH, "a list of lengths")},
    Alignment: {"offset": ANY_LENGTH, "date": DATE},
    Waiver: {"rule": NAME, "subject": NAME, "reason": WORDS, "by": WORDS, "until": DATE},
    Job: {
        "standards": TEXTS,
        "sequence": IDS,
        "registration_tolerance": SIZE,
        "temperature": TEMPERATURE,
        "name": TEXT,
    },
}
"""The check of each field, by class and attribute; a field that holds its default needs none."""

_KEYS: dict[tuple[type, str], str] = {(Gap, "reference"): "from"}


def document_key(cls: type, attribute: str) -> str:
    """What a job document calls an attribute."""
    return _KEYS.get((cls, attribute), attribute)


@cache
def _plan(cls: type) -> tuple[tuple[str, str, Check, object], ...]:
    checks = CHECKS[cls]
    return tuple(
        (field.name, document_key(cls, field.name), checks[field.name], field.default)
        for field in attrs.fields(cls)
        if field.name in checks
    )


def field_faults(path: str, part: object) -> Iterator[DocumentFault]:
    """What is wrong with the fields of one part of a job, each by itself, down to its innermost parts."""
    cls: type = type(part)
    for attribute, key, check, default in _plan(cls):
        value = getattr(part, attribute)
        if value is default:
            continue
        where = f"{path}.{key}" if path else key
        wrong = False
        for inside, culprit, expected in check(value):
            wrong = True
            yield DocumentFault(where + inside, shown(culprit), expected)
        if not wrong and type(value) in CHECKS:
            yield from field_faults(where, value)
