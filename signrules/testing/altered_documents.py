"""Job documents altered as a rule must bear it: other names, order and numbers, a field less."""

from __future__ import annotations

import copy
import datetime
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any

from signrules.documents.lengths import parse_toleranced
from signrules.documents.paths import path_parts
from signrules.documents.plugin_tables import NO_CLASSES, DataClasses, words_declared
from signrules.errors import PathError
from signrules.schemas.job_schema import job_schema

Document = dict[str, Any]
Where = tuple[str | int, ...]
"""Keys and positions that lead to a value in a document."""

_SPACES = {"media": "m", "inks": "i", "passes": "p", "handling": "p", "signs": "s"}
_REFERENCES = {"ink": "inks", "media": "media"}
_LISTED = ("over", "after", "registers_to")
_NUMBER = re.compile(r"(?<![A-Za-z])\d+(\.\d+)?([eE][+-]?\d+)?")
"""A number, and not the exponent of a unit such as m2."""


def renamed_document(document: Document) -> tuple[Document, Callable[[str], str]]:
    """The document with other ids, sorted the other way round, and the way back for a path.

    Waivers are left out.
    """
    new_ids: dict[str, dict[str, str]] = {}
    for letter in dict.fromkeys(_SPACES.values()):
        # Passes and handling share one space of ids, and so get new ones out of one list.
        ids = sorted(
            row["id"]
            for name, first_letter in _SPACES.items()
            if first_letter == letter
            for row in document.get(name, ())
        )
        # The other way round, so that a rule that goes by the order of ids shows.
        found = {id: _other_id(letter, len(ids) - position) for position, id in enumerate(ids)}
        new_ids |= {name: found for name, first_letter in _SPACES.items() if first_letter == letter}
    renamed = copy.deepcopy({key: value for key, value in document.items() if key != "waivers"})
    for name in _SPACES:
        for row in renamed.get(name, ()):
            row["id"] = new_ids[name][row["id"]]
            for key, target in _REFERENCES.items():
                if key in row:
                    row[key] = new_ids[target][row[key]]
            for key in _LISTED:
                if key in row:
                    row[key] = [new_ids["passes"][pass_id] for pass_id in row[key]]
            if "builds" in row:
                row["builds"] = with_other_signs(row["builds"], new_ids["signs"].__getitem__)
    if "sequence" in renamed:
        renamed["sequence"] = [new_ids["passes"][pass_id] for pass_id in renamed["sequence"]]
    old_ids = {
        name: {after: before for before, after in found.items()} for name, found in new_ids.items()
    }

    def back(path: str) -> str:
        table, _, row_path = path.partition(".")
        if table not in old_ids or not row_path:
            return path
        # Ids hold no full stop: the first one ends them.
        row_id, dot, tail = row_path.partition(".")
        return f"{table}.{old_ids[table].get(row_id, row_id)}{dot}{tail}"

    return renamed, back


def with_other_signs(builds: Any, other_id: Callable[[str], str]) -> Any:
    """What a pass builds, one feature or a list of them, of signs that go by other ids."""
    if not isinstance(builds, str):
        return [with_other_signs(feature, other_id) for feature in builds]
    sign, _, feature = builds.rpartition(".")
    return f"{other_id(sign)}.{feature}"


def _other_id(letter: str, number: int) -> str:
    """The id of a number; of few ids each is the beginning of the next, as room-2 is of room-21."""
    return letter + "1" * number if number <= _FEW_IDS else f"{letter}2{number:04d}"


_FEW_IDS = 12


def rearranged_document(document: Document) -> Document:
    """The document with its tables the other way round, the keys of each table, and the lists in
    them that mean the same in any order.

    Waivers are left out.
    """

    def turned(value: Any) -> Any:
        if isinstance(value, Mapping):
            return {key: turned(value[key]) for key in reversed(list(value))}
        if isinstance(value, list):
            return [turned(element) for element in value]
        return value

    rearranged: Document = turned(
        {key: value for key, value in document.items() if key != "waivers"}
    )
    for row in (*rearranged.get("passes", ()), *rearranged.get("handling", ())):
        for key in ("areas", *_LISTED):
            if key in row:
                row[key] = row[key][::-1]
    for name in (*_SPACES, "alignments"):
        if name in rearranged:
            rearranged[name] = rearranged[name][::-1]
    return rearranged


def twinned_document(document: Document) -> Document:
    """The document with each pass twice, the second of one layer more, and with an area more in
    each that has any.

    Waivers and a sequence are left out.
    """
    left_out = ("waivers", "sequence")
    twinned = copy.deepcopy({key: value for key, value in document.items() if key not in left_out})
    rows = []
    for row in twinned["passes"]:
        if "areas" in row:
            # The areas of a pass may overlap: its ink is there once.
            x, y, width, height = row["areas"][0]
            row["areas"].append([x, y, larger_value(width, 0.5), height])
        twin = {**row, "id": f"{row['id']}-twin", "layers": row.get("layers", 1) + 1}
        rows += [row, twin]
    twinned["passes"] = rows
    return twinned


def larger_table(document: Document, name: str) -> Document:
    """The document with each number of one of its tables larger by a tenth, but for places and
    sizes: all lies where it did.
    """
    larger_document = copy.deepcopy(document)
    for place in leaves_of(document[name], (name,)):
        value = value_at(document, place)
        larger = None if isinstance(value, list) else larger_value(value, 1.1)
        if larger is not None:
            value_at(larger_document, place[:-1])[place[-1]] = larger
    return larger_document


def leaves_of(document: Any, where: Where = ()) -> Iterator[Where]:
    """Where the values of a document stand that are no tables; a list of plain values is one."""
    if isinstance(document, Mapping):
        for key, value in document.items():
            yield from leaves_of(value, (*where, key))
    elif isinstance(document, list) and any(isinstance(element, Mapping) for element in document):
        for position, value in enumerate(document):
            yield from leaves_of(value, (*where, position))
    else:
        yield where


def value_at(document: Any, where: Where) -> Any:
    """The value that stands there."""
    for part in where:
        document = document[part]
    return document


def without_value(document: Document, where: Where) -> Document:
    """The document without what stands there."""
    shortened = copy.deepcopy(document)
    del value_at(shortened, where[:-1])[where[-1]]
    return shortened


def with_value(document: Document, where: Where, value: Any) -> Document:
    """The document with another value there."""
    changed = copy.deepcopy(document)
    value_at(changed, where[:-1])[where[-1]] = value
    return changed


def larger_value(value: Any, factor: float = 1.25) -> Any:
    """A number, or each number in a text, times a factor; a date a year later, or earlier.

    A whole number changes by one at least. None where there is nothing to make larger.
    """
    # To Python True is the number 1, and `true` must not become 1.25.
    if isinstance(value, bool):
        return None
    direction = 1 if factor > 1 else -1
    if isinstance(value, int):
        # One layer times 1.25 is one layer again: it must come to another number.
        return value + direction * max(1, direction * (round(value * factor) - value))
    if isinstance(value, float):
        # No factor moves 0.
        return value * factor if value else factor - 1
    if isinstance(value, datetime.date):
        return value + datetime.timedelta(days=direction * 365)
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        return larger_value(datetime.date.fromisoformat(value), factor).isoformat()
    if isinstance(value, str) and _NUMBER.match(value):
        return _NUMBER.sub(
            lambda match: f"{float(match[0]) * factor:.9f}".rstrip("0").rstrip("."), value
        )
    if isinstance(value, list) and value:
        larger_values = [larger_value(element, factor) for element in value]
        # A list of which one element cannot change would say something else altogether.
        if None not in larger_values:
            return larger_values
    return None


def wider_length(value: Any) -> str | None:
    """A length in mm with a wider tolerance; None for what is no length above 0."""
    try:
        toleranced = parse_toleranced(value)
    except ValueError:
        return None
    spread = 0.1 * toleranced.nominal
    if spread <= 0:
        return None
    low, high = max(0.0, toleranced.low - spread), toleranced.high + spread
    return f"{low:.6f} .. {toleranced.nominal:.6f} .. {high:.6f} mm"


def path_at(document: Document, where: Where) -> str:
    """The path of a value, as checks and shops write it; elements with an id go by it."""
    path = ""
    value: Any = document
    for part in where:
        value = value[part]
        if isinstance(part, int):
            name = value.get("id") if isinstance(value, Mapping) else None
            path += f".{name}" if isinstance(name, str) else f"[{part}]"
        else:
            path += f".{part}" if path else part
    return path


def matches_pattern(path: str, pattern: str) -> bool:
    """Whether a path fits a pattern: `*` stands for one part, `**` at the end for all the rest."""
    try:
        parts = [str(part) for part in path_parts(path)]
    except PathError:
        return path == pattern
    wanted = pattern.split(".")
    if wanted[-1] == "**":
        wanted = wanted[:-1]
        parts = parts[: len(wanted)]
    return len(parts) == len(wanted) and all(
        wanted_part in ("*", part) for part, wanted_part in zip(parts, wanted, strict=True)
    )


OTHER_WAYS: Mapping[str, tuple[Any, ...]] = MappingProxyType(
    {
        "passes.gap": (
            "auto",
            {"extra": "0.3 mm", "above": "build-up"},
            {"head_above_bed": "6 mm"},
        ),
        "printer.gap": (
            {"control": "spacers", "spacers": []},
            {"control": "dial", "max": "10 mm", "step": "0.1 mm"},
        ),
    }
)
"""What may be stated in several ways, by the place of the table: each of these ways."""


def stated_otherwise(document: Document) -> Iterator[tuple[Where, Any]]:
    """Where a document may state something in another way, and that way."""
    for position in range(len(document["passes"])):
        yield from (
            (("passes", position, "gap"), other_way) for other_way in OTHER_WAYS["passes.gap"]
        )
    # Spacers without any: a printer that can set nothing but its base gap.
    yield from ((("printer", "gap"), other_way) for other_way in OTHER_WAYS["printer.gap"])


def other_words(document: Document, where: Where, own: DataClasses = NO_CLASSES) -> list[Any]:
    """What else could stand where a word, text, list of texts, or yes or no does; else nothing.

    `own` are the classes of the data of plugins.
    """
    value = value_at(document, where)
    if where[0] == "standards":
        return []  # Names of tables: another one is none that is loaded.
    if isinstance(value, bool):
        return [not value]
    if words := words_declared(where, own):
        return [word for word in words if word != value]
    if isinstance(value, str):
        schema = _resolved_schema(_schema_at(document, where) or {}, value)
        return [word for word in schema.get("enum", (f"{value} x",)) if word != value]
    if isinstance(value, list) and value and all(isinstance(element, str) for element in value):
        return [[*value[:-1], f"{value[-1]} x"]]
    return []


def _schema_at(document: Document, parts: Sequence[str | int]) -> Mapping[str, Any] | None:
    """The schema of what stands, or could stand, at a path; None where nothing can."""
    schema: Mapping[str, Any] = _whole_schema()
    value: Any = document
    for part in parts:
        schema = _resolved_schema(schema, value)
        if schema.get("type") == "array":
            rows: list[Any] = value if isinstance(value, list) else []
            if not isinstance(part, int):
                ids = list(map(_id_of_row, rows))
                # Paths name rows by id, documents number them.
                part = ids.index(part) if part in ids else len(rows)
            if part >= len(rows):
                return None
            schema, value = schema["items"], rows[part]
        elif isinstance(part, str) and (
            part in schema.get("properties", {}) or schema.get("additionalProperties")
        ):
            schema = schema.get("properties", {}).get(part) or schema["additionalProperties"]
            value = value.get(part) if isinstance(value, Mapping) else None
        else:
            return None
    return schema


def _id_of_row(row: Any) -> Any:
    return row.get("id") if isinstance(row, Mapping) else None


def _resolved_schema(schema: Mapping[str, Any], value: Any) -> Mapping[str, Any]:
    """What a reference stands for; of several shapes the table, or that of them which has the keys
    of the value.
    """
    if "$ref" in schema:
        resolved: Mapping[str, Any] = _whole_schema()["$defs"][schema["$ref"].rpartition("/")[2]]
        return _resolved_schema(resolved, value)
    if "properties" in schema and "allOf" not in schema:
        return schema
    # Neither a figure that says how it came about nor a name in place of a table is a word.
    choices = [
        option for option in _alternatives(schema) if option != _FIGURE and "required" not in option
    ]
    options = [_resolved_schema(option, value) for option in choices]
    if len(options) == 1:
        return options[0]
    # A gap, say, is a word or one of several tables, told apart by their keys.
    tables = [option for option in options if option.get("type") == "object"]
    if tables:
        keys = set(value) if isinstance(value, Mapping) else set()
        return next((option for option in tables if keys <= set(option["properties"])), tables[0])
    return schema


def _alternatives(schema: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The shapes that a value may have, the usual one first."""
    if "allOf" in schema:
        return [case["then"] for case in schema["allOf"]]
    if "if" in schema:
        return [schema["else"], schema["then"]]
    return list(schema.get("oneOf", schema.get("anyOf", ())))


_FIGURE = {"$ref": "#/$defs/figure"}


@cache
def _whole_schema() -> dict[str, Any]:
    return job_schema()
