"""The tables of a job document: which class each becomes, and the kind of value under each of its keys."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import attrs
from cattrs import ClassValidationError, Converter, ForbiddenExtraKeysError
from cattrs.errors import AttributeValidationNote
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from signrules.documents.kinds import (
    ACCELERATION,
    AREAS,
    COOLING,
    DATE,
    DENSITY,
    DISTANCES,
    DOSE,
    EXPANSION,
    HEAT_CAPACITY,
    LENGTH,
    LENGTHS,
    LOCATING,
    NUMBER,
    PLACE,
    PRESSURE,
    SIZES,
    SPEED,
    TEXT,
    TEXTS,
    TOLERANCED,
    VOLUME,
    WHOLE,
    Kind,
)
from signrules.documents.refusal import Refused, joined, label
from signrules.errors import DocumentFault
from signrules.model.job import Alignment, Job, Waiver
from signrules.model.limits import CHECKS, document_key
from signrules.model.passes import Gap, Handling, Pass
from signrules.model.printer import Dial, Minutes, MovingBed, Printer, Spacers
from signrules.model.sheet import Ink, Media
from signrules.model.sign import Braille, Measured, Mounting, Pictogram, Raised, Sign, Surface, Visual
from signrules.model.wording import NOTHING, nearest, shown


def table(cls: type) -> Kind:
    """The kind of value that is a table and becomes an instance of a class."""
    return Kind(lambda value: read_table(value, cls), lambda value: write_table(value))


_CONTROLS: dict[str, type] = {"spacers": Spacers, "dial": Dial}


def _read_control(value: object) -> Any:
    names = " or ".join(_CONTROLS)
    if not isinstance(value, Mapping):
        raise Refused.value(value, f"a table with control = {names}")
    if "control" not in value:
        raise Refused([DocumentFault("control", NOTHING, f"the key control: {names}")])
    control = value["control"]
    if not isinstance(control, str) or control not in _CONTROLS:
        raise Refused([DocumentFault("control", shown(control), names)])
    return read_table({key: each for key, each in value.items() if key != "control"}, _CONTROLS[control])


def _write_control(value: Any) -> dict[str, Any]:
    control = next(name for name, cls in _CONTROLS.items() if isinstance(value, cls))
    return {"control": control, **write_table(value)}


def _read_gap(value: object) -> Any:
    if value == "auto":
        return None
    if not isinstance(value, Mapping):
        raise Refused.value(value, "'auto', or a table with offset and from")
    return read_table(value, Gap)


KINDS: dict[type, dict[str, Kind]] = {
    Printer: {
        "name": TEXT,
        "bed": SIZES,
        "base_gap": TOLERANCED,
        "min_clearance": LENGTH,
        "max_throw": LENGTH,
        "gap": Kind(_read_control, _write_control),
        "head_length": LENGTH,
        "carriage_speed": SPEED,
        "drop_speed": SPEED,
        "resolution": NUMBER,
        "landing_tolerance": LENGTH,
        "locating": LOCATING,
        "minutes": table(Minutes),
        "drop_volume": VOLUME,
        "drop_density": DENSITY,
        "satellite_volume": VOLUME,
        "satellite_speed": SPEED,
        "head_work": DATE,
        "moving_bed": table(MovingBed),
        "swath": LENGTH,
        "swath_passes": WHOLE,
        "carriage_acceleration": ACCELERATION,
        "overrun": LENGTH,
        "return_speed": SPEED,
        "absorbed_dose": DOSE,
        "cooling": COOLING,
    },
    MovingBed: {"acceleration": ACCELERATION},
    Spacers: {"spacers": DISTANCES},
    Dial: {"max": LENGTH, "step": LENGTH},
    Minutes: {"load": NUMBER, "gap": NUMBER, "alignment": NUMBER},
    Media: {
        "id": TEXT,
        "material": TEXT,
        "thickness": TOLERANCED,
        "size": SIZES,
        "at": PLACE,
        "bow": TOLERANCED,
        "hold": TEXT,
        "load": TEXT,
        "up": TEXT,
        "sheet_type": TEXT,
        "located_at": PLACE,
        "expansion": EXPANSION,
        "density": DENSITY,
        "heat_capacity": HEAT_CAPACITY,
        "vacuum_pressure": PRESSURE,
        "vacuum_share": NUMBER,
        "friction": NUMBER,
    },
    Ink: {"id": TEXT, "role": TEXT, "layer": TOLERANCED},
    Pass: {
        "id": TEXT,
        "ink": TEXT,
        "media": TEXT,
        "areas": AREAS,
        "layers": WHOLE,
        "coverage": NUMBER,
        "gap": Kind(_read_gap, lambda gap: write_table(gap)),
        "side": TEXT,
        "directions": WHOLE,
        "crisp_on": TEXT,
        "sheet_temperature": NUMBER,
        "over": TEXTS,
        "after": TEXTS,
        "registers_to": TEXTS,
        "builds": TEXT,
    },
    Gap: {"offset": TOLERANCED, "reference": TEXT},
    Handling: {"id": TEXT, "does": TEXT, "media": TEXT, "locates_by": TEXT, "after": TEXTS},
    Sign: {
        "id": TEXT,
        "media": TEXT,
        "kind": TEXT,
        "text": TEXTS,
        "braille": table(Braille),
        "raised": table(Raised),
        "visual": table(Visual),
        "pictogram": table(Pictogram),
        "surface": table(Surface),
        "mounting": table(Mounting),
        "measured": table(Measured),
    },
    Braille: {
        "cells": TEXT,
        "dot_diameter": TOLERANCED,
        "dot_spacing": TOLERANCED,
        "cell_spacing": TOLERANCED,
        "line_spacing": TOLERANCED,
        "dot_height": TOLERANCED,
        "clear_space": TOLERANCED,
        "dome_radius": TOLERANCED,
        "below_text": TOLERANCED,
        "shape": TEXT,
        "grade": TEXT,
        "language": TEXT,
        "proper": TEXTS,
        "acronyms": TEXTS,
    },
    Raised: {
        "height": TOLERANCED,
        "stroke": TOLERANCED,
        "depth": TOLERANCED,
        "spacing": TOLERANCED,
        "line_spacing": TOLERANCED,
        "case": TEXT,
        "style": TEXT,
        "width": TOLERANCED,
        "word_spacing": TOLERANCED,
    },
    Visual: {
        "height": TOLERANCED,
        "stroke": TOLERANCED,
        "spacing": TOLERANCED,
        "line_spacing": TOLERANCED,
        "style": TEXT,
        "viewing_distance": TOLERANCED,
        "above_floor": TOLERANCED,
        "width": TOLERANCED,
    },
    Pictogram: {"field_height": TOLERANCED, "field_width": TOLERANCED},
    Surface: {"finish": TEXT, "character_lrv": NUMBER, "background_lrv": NUMBER, "gloss": NUMBER},
    Mounting: {"lowest_tactile": TOLERANCED, "highest_tactile": TOLERANCED, "centre": TOLERANCED},
    Measured: {"dot_height": LENGTHS, "depth": LENGTHS},
    Alignment: {"offset": LENGTH, "date": DATE},
    Waiver: {"rule": TEXT, "subject": TEXT, "reason": TEXT, "by": TEXT, "until": DATE},
    Job: {
        "name": TEXT,
        "sequence": TEXTS,
        "standards": TEXTS,
        "registration_tolerance": LENGTH,
        "temperature": NUMBER,
    },
}
"""The kind of value of each attribute, by class; of a Job, those that are no tables."""


def read_table(value: object, cls: type) -> Any:
    """The instance of a class that a table stands for.

    Raises Refused with every fault of the table: wrong values, unknown keys, missing ones.
    """
    if not isinstance(value, Mapping):
        raise Refused.value(value, f"a table with {_some_keys(cls)}")
    try:
        return _structurer(cls)(value, cls)
    except ClassValidationError as error:
        raise Refused(_faults_of(error, cls)) from None


def read_field(value: object, cls: type, attribute: str) -> Any:
    """The value of one attribute; raises Refused where it is of the wrong kind or out of its range."""
    result = KINDS[cls][attribute].read(value)
    check = CHECKS[cls].get(attribute)
    if check is not None and result is not None:
        faults = [
            DocumentFault(where.lstrip("."), shown(_stated(value, where, culprit)), expected)
            for where, culprit, expected in check(result)
        ]
        if faults:
            raise Refused(faults)
    return result


def _stated(value: Any, where: str, culprit: object) -> object:
    """What the document itself says at the place of a fault."""
    if not where:
        return value
    if where.startswith("[") and where[1:-1].isdigit():
        return value[int(where[1:-1])]
    return value.get(where[1:], culprit) if isinstance(value, Mapping) else culprit


def read_what_can_be(value: Mapping[Any, Any], cls: type) -> tuple[Any, dict[str, object]]:
    """What a table with faults still says: an instance, where its unknown keys are all that is wrong, and its values.

    Values by attribute; those that cannot be read as they stand. The instance is None where there is none.
    """
    known = {key: value[key] for key in keys_of(cls) if key in value}
    try:
        return read_table(known, cls), {}
    except Refused:
        pass
    stated: dict[str, object] = {}
    for attribute in KINDS[cls]:
        key = document_key(cls, attribute)
        if key in known:
            try:
                stated[attribute] = read_field(known[key], cls, attribute)
            except Refused:
                stated[attribute] = known[key] if attribute != "areas" else None
    return None, stated


def write_table(value: Any) -> dict[str, Any]:
    """The table, as plain data without defaults, that reads back as a given instance."""
    cls: type = type(value)
    return _unstructurer(cls)(value)


def unknown_key(key: object, path: str, known: tuple[str, ...]) -> DocumentFault:
    """The fault of a key that no table of that kind has."""
    near = nearest(key, known) if isinstance(key, str) else None
    expected = f"the key {near}" if near else f"one of {', '.join(known)}"
    return DocumentFault(joined(path, label(key)), "an unknown key", expected)


def keys_of(cls: type) -> tuple[str, ...]:
    """The keys that the table of a class may have."""
    return tuple(document_key(cls, attribute) for attribute in KINDS[cls])


def _some_keys(cls: type) -> str:
    keys = keys_of(cls)
    return ", ".join(keys[:4]) + ("..." if len(keys) > 4 else "")


@cache
def _converter() -> Converter:
    return Converter(detailed_validation=True, forbid_extra_keys=True)


def _hook(cls: type, attribute: str) -> Callable[[Any, Any], Any]:
    return lambda value, _: read_field(value, cls, attribute)


def _overrides(cls: type) -> dict[str, Any]:
    return {
        attribute: override(
            rename=document_key(cls, attribute), struct_hook=_hook(cls, attribute), unstruct_hook=kind.write
        )
        for attribute, kind in KINDS[cls].items()
    }


@cache
def _structurer(cls: type) -> Callable[[Any, Any], Any]:
    return make_dict_structure_fn(cls, _converter(), **_overrides(cls))


@cache
def _unstructurer(cls: type) -> Callable[[Any], dict[str, Any]]:
    options: dict[str, Any] = {
        field.name: override(omit=True) for field in attrs.fields(cls) if field.name not in KINDS[cls]
    }
    options |= _overrides(cls)
    return make_dict_unstructure_fn(cls, _converter(), _cattrs_omit_if_default=True, **options)


def _faults_of(error: ClassValidationError, cls: type) -> list[DocumentFault]:
    faults: list[DocumentFault] = []
    for problem in error.exceptions:
        if isinstance(problem, ForbiddenExtraKeysError):
            faults += [unknown_key(key, "", keys_of(cls)) for key in sorted(problem.extra_fields, key=shown)]
            continue
        attribute = next(
            (note.name for note in getattr(problem, "__notes__", ()) if isinstance(note, AttributeValidationNote)), ""
        )
        key = document_key(cls, attribute)
        if isinstance(problem, Refused):
            faults += problem.under(key)
        elif isinstance(problem, KeyError) and attribute:
            faults.append(DocumentFault(key, NOTHING, f"the key {key}, which is required"))
        else:
            raise problem
    return faults
