"""The tables `[sign_types.ID]` and `[schedule]` of a shop file.

A sign type stays the plain table that it is until the words of a row fill it. What waits for no
word is read at once, so that a slip is told before any schedule comes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from signrules.documents.fields import fields_by_key
from signrules.documents.figures import split_figures
from signrules.documents.placeholders import (
    is_placeholder_name,
    misnamed_placeholders,
    placeholders_of,
    without_placeholders,
)
from signrules.documents.refusal import Refused, joined_path, nearest_known, path_label
from signrules.documents.table_reader import (
    keys_of,
    read_table,
    read_what_can_be,
    tables_by_id,
    unknown_key,
)
from signrules.errors import DocumentFault
from signrules.model.limits import is_id
from signrules.model.passes import FEATURES
from signrules.model.sign_types import (
    AXES,
    LETTERED,
    USUAL_COMPOSITION,
    USUAL_SCHEDULE,
    CompositionUse,
    ScheduleUse,
    SignType,
    TypePass,
)
from signrules.model.wording import NOTHING, listed_names, shown_value

TypeTables = Mapping[str, Mapping[str, Any]]
"""Sign types by id, as plain tables whose texts may hold placeholders."""


def read_sign_types(
    tables: object, sheets: Collection[str], inks: Collection[str], faults: list[DocumentFault]
) -> TypeTables:
    """The sign types of a shop that has some sheets and inks; adds every fault to `faults`."""
    types_read: dict[str, Mapping[str, Any]] = {}
    for type_id, path, table in tables_by_id(tables, "sign_types", faults):
        if not is_id(type_id):
            expected = "an id: text without any of . [ ] and control characters"
            faults.append(DocumentFault(path, shown_value(type_id), expected))
        faults += _faults_of_type(table, path, sheets, inks)
        types_read[str(type_id)] = table
    return types_read


def _faults_of_type(
    table: Mapping[str, Any], path: str, sheets: Collection[str], inks: Collection[str]
) -> Iterator[DocumentFault]:
    yield from misnamed_placeholders(table, path)
    yield from _unknown_waiting(table, SignType, path)
    stated = without_placeholders(table)
    figures = split_figures(stated, SignType, path)
    yield from figures.faults
    try:
        sign_type = read_table(figures.document, SignType)
    except Refused as refused:
        yield from (fault for fault in refused.under(path) if not _waits_at(fault, table, path))
        sign_type = read_what_can_be(figures.document, SignType)[0]
    yield from _unknown_names(stated, path, sheets, inks)
    if sign_type is not None:
        yield from faults_between(sign_type, path, waiting=table)


def _unknown_waiting(table: Mapping[str, Any], cls: type, path: str) -> Iterator[DocumentFault]:
    """Keys that no such table has and whose texts wait for words, so that nobody reads them yet."""
    fields = fields_by_key(cls)
    for key, value in table.items():
        inner_path = joined_path(path, path_label(key))
        if key not in fields:
            if any(True for _ in placeholders_of(value)):
                yield unknown_key(key, path, keys_of(cls))
            continue
        declared = fields[key][1]
        rows = declared.element or declared
        inner = next(iter(rows.tables.values()), None)
        if inner is None or rows.kind != "table":
            continue
        if isinstance(value, Mapping):
            yield from _unknown_waiting(value, inner, inner_path)
        for position, row in enumerate(value if isinstance(value, list | tuple) else ()):
            if isinstance(row, Mapping):
                yield from _unknown_waiting(row, inner, f"{inner_path}[{position}]")


def _waits_at(fault: DocumentFault, table: Mapping[str, Any], path: str) -> bool:
    """Whether what a fault misses is there and waits for words."""
    if fault.found != NOTHING:
        return False
    value: Any = table
    for part in fault.path.removeprefix(f"{path}.").replace("[", ".").split("."):
        try:
            value = value[int(part[:-1])] if part.endswith("]") else value[part]
        except (LookupError, TypeError, ValueError):
            return False
    return any(True for _ in placeholders_of(value))


def _unknown_names(
    table: Mapping[str, Any], path: str, sheets: Collection[str], inks: Collection[str]
) -> Iterator[DocumentFault]:
    """Sheets and inks that the shop does not have."""
    for sheet in _texts_of(table.get("sheet")):
        yield from _unknown_entry(f"{path}.sheet", sheet, "sheets", sheets)
    rows = table.get("passes")
    for position, row in enumerate(rows if isinstance(rows, list | tuple) else ()):
        if isinstance(row, Mapping) and isinstance(row.get("ink"), str):
            yield from _unknown_entry(f"{path}.passes[{position}].ink", row["ink"], "inks", inks)


def _texts_of(value: object) -> Iterator[str]:
    """A text, or those in a list."""
    for element in value if isinstance(value, list | tuple) else (value,):
        if isinstance(element, str):
            yield element


def _unknown_entry(
    path: str, id: str, table: str, known: Collection[str]
) -> Iterator[DocumentFault]:
    if id in known:
        return
    expected = f"one of the {table} of this file: {listed_names(list(known)) or 'it has none'}"
    near_name = nearest_known(id, known)
    if near_name:
        expected += f"; the nearest is {shown_value(near_name)}"
    yield DocumentFault(path, shown_value(id), expected)


NO_WORDS: Mapping[str, Any] = {}


def faults_between(
    sign_type: SignType, path: str, waiting: Mapping[str, Any] = NO_WORDS
) -> Iterator[DocumentFault]:
    """What does not fit together in a sign type; `waiting` is its table while words are awaited."""
    yield from _faults_of_artwork(sign_type, path, waiting)
    known_ids: list[str] = []
    for position, item in enumerate(sign_type.passes):
        pass_path = f"{path}.passes[{position}]"
        if item.id in known_ids:
            yield DocumentFault(
                f"{pass_path}.id", shown_value(item.id), "an id that no other pass has"
            )
        known_ids.append(item.id)
        yield from _unbuilt_features(sign_type, item, pass_path, waiting)
    for position, item in enumerate(sign_type.passes):
        for key in ("over", "after"):
            for pass_id in getattr(item, key):
                if pass_id not in known_ids or pass_id == item.id:
                    key_path = f"{path}.passes[{position}].{key}"
                    expected = f"the id of another pass of the type: {listed_names(known_ids)}"
                    yield DocumentFault(key_path, shown_value(pass_id), expected)
    braille = sign_type.braille
    if sign_type.dots is not None and braille is None and "braille" not in waiting:
        expected = f"the table {path}.braille beside it"
        yield DocumentFault(f"{path}.dots", "a place for dots of no braille", expected)
    if sign_type.dots is not None and braille is not None and braille.area is not None:
        expected = "one of dots and braille.area: where dots begin says what they take"
        yield DocumentFault(f"{path}.braille.area", "both", expected)
    for feature in LETTERED:
        yield from _faults_of_lettering(sign_type, feature, path, waiting)


def _faults_of_artwork(
    sign_type: SignType, path: str, waiting: Mapping[str, Any]
) -> Iterator[DocumentFault]:
    """What a file of artwork says in place of the type, and is stated nevertheless; or neither."""
    drawn = sign_type.artwork is not None or "artwork" in waiting
    if not drawn:
        if not sign_type.passes and "passes" not in waiting:
            expected = "the key passes, or artwork with the file that shows what is printed"
            yield DocumentFault(f"{path}.passes", NOTHING, expected)
        return
    stated = {key: getattr(sign_type, key) for key in ("passes", "dots", "lettering")}
    for feature in FEATURES:
        stated[f"{feature}.area"] = getattr(getattr(sign_type, feature), "area", None)
    for key, value in stated.items():
        if value:
            expected = f"one of artwork and {key}: the file says it"
            yield DocumentFault(f"{path}.{key}", "both", expected)


def _faults_of_lettering(
    sign_type: SignType, feature: str, path: str, waiting: Mapping[str, Any]
) -> Iterator[DocumentFault]:
    """What does not fit together where letters of a feature are set from a font."""
    place = sign_type.letters_of(feature)
    section = getattr(sign_type, feature)
    if place is None:
        return
    where = f"{path}.lettering.{feature}"
    if section is None:
        if feature not in waiting:
            expected = f"the table {path}.{feature} beside it"
            yield DocumentFault(where, "a place for letters that the sign does not have", expected)
        return
    if section.area is not None:
        expected = f"one of lettering.{feature} and {feature}.area: the font says what they take"
        yield DocumentFault(f"{path}.{feature}.area", "both", expected)
    if place.em is not None and section.height is not None:
        expected = f"one of em and {feature}.height: each of them says the other"
        yield DocumentFault(f"{where}.em", "both", expected)
    waits = _is_stated(waiting, "lettering", feature, "em") or _is_stated(
        waiting, feature, "height"
    )
    if place.em is None and section.height is None and not waits:
        expected = f"the size of the font, or {feature}.height, which says it"
        yield DocumentFault(f"{where}.em", NOTHING, expected)


def _unbuilt_features(
    sign_type: SignType, item: TypePass, path: str, waiting: Mapping[str, Any]
) -> Iterator[DocumentFault]:
    """Features that a pass builds and whose place nothing tells."""
    for feature in item.builds:
        section = getattr(sign_type, feature)
        lettered = sign_type.letters_of(feature) is not None
        if section is None:
            if feature not in waiting:
                expected = f"a table {feature} of the type, which says what it builds"
                yield DocumentFault(f"{path}.builds", shown_value(feature), expected)
            continue
        placed = section.area is not None or lettered
        placed = placed or _is_stated(waiting, feature, "area")
        placed = placed or _is_stated(waiting, "lettering", feature)
        if feature == "braille":
            placed = placed or sign_type.dots is not None
        if item.areas is None and not placed:
            place = f"{feature}.area, or lettering.{feature}"
            if feature == "braille":
                place = "dots, or braille.area"
            yield DocumentFault(f"{path}.areas", NOTHING, f"areas, or the place of it in {place}")


def _is_stated(table: Mapping[str, Any], *keys: str) -> bool:
    """Whether a table has a key within tables within it."""
    value: Any = table
    for key in keys:
        if not isinstance(value, Mapping) or key not in value:
            return False
        value = value[key]
    return True


def read_schedule_use(
    table: object, types: Collection[str], printers: Collection[str], faults: list[DocumentFault]
) -> ScheduleUse:
    """How a shop that has some sign types and printers reads schedules; adds every fault."""
    try:
        use: ScheduleUse = read_table(table, ScheduleUse)
    except Refused as refused:
        faults += refused.under("schedule")
        return USUAL_SCHEDULE
    for key in ("id", "type", "quantity"):
        faults += misnamed_placeholders(getattr(use, key), f"schedule.{key}")
    for name, _ in use.columns:
        faults += _no_name(name, "schedule.columns")
    for position, rule in enumerate(use.types):
        path = f"schedule.types[{position}]"
        faults += _unknown_entry(f"{path}.type", rule.type, "sign_types", types)
        for name, _ in rule.where:
            faults += _no_name(name, f"{path}.where")
    if use.types and isinstance(table, Mapping) and "type" in table:
        expected = "one of type and types"
        faults.append(DocumentFault("schedule.type", "both", expected))
    if use.printer is not None:
        faults += _unknown_entry("schedule.printer", use.printer, "printers", printers)
    return use


def read_composition_use(
    table: object, sheets: Collection[str], faults: list[DocumentFault]
) -> CompositionUse:
    """How a shop that has some stock sheets places signs on them; adds every fault."""
    try:
        use: CompositionUse = read_table(table, CompositionUse)
    except Refused as refused:
        faults += refused.under("composition")
        return USUAL_COMPOSITION
    for sheet, axis in use.grain:
        path = joined_path("composition.grain", path_label(sheet))
        faults += _unknown_entry(path, sheet, "sheets", sheets)
        if axis not in AXES:
            faults.append(DocumentFault(path, shown_value(axis), f"one of {', '.join(AXES)}"))
    return use


def _no_name(name: str, path: str) -> Iterator[DocumentFault]:
    if not is_placeholder_name(name):
        expected = "a name that placeholders may have: letters, digits, _ and -, a letter first"
        yield DocumentFault(joined_path(path, path_label(name)), shown_value(name), expected)
