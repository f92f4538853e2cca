"""From the TOML of a table to its classes; everything that is wrong is named with file and row."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from attrs import evolve

from signrules.documents.toml import from_toml
from signrules.model.wording import expected_name, shown_value
from signrules.standards.dimension_tables import (
    CONTRAST,
    FORMULAS,
    LENGTHS,
    LEVELS,
    PLAIN_UNITS,
    QUANTITIES,
    STANDINGS,
    UNITS,
    WORDS,
    Band,
    Row,
    Standard,
    TableError,
)
from signrules.standards.written_numbers import Written, read_number

_TEXTS = ("quantity", "clause", "source", "standing")
_OPTIONAL_TEXTS = ("of", "measured", "level", "note", "title", "formula", "exempt_if_raised")
_BOUNDS = ("least", "most", "least_printed", "most_printed", "per_foot")
_KINDS = ("only_for", "not_for")
_ROW_KEYS = (*_TEXTS, *_OPTIONAL_TEXTS, *_BOUNDS, *_KINDS, "words", "bands")
_HEAD = ("id", "title", "publisher", "unit")


def standard_from(text: str, file: str) -> Standard:
    """The standard in a TOML text. Raises TableError."""
    try:
        table = from_toml(text)
    except (ValueError, RecursionError) as error:
        # Nesting without end, or a number of thousands of digits, is no TOMLDecodeError.
        raise TableError(file, None, f"is not TOML: {str(error)[:200]}") from error
    try:
        # Before anything is read: a key with a slip in it would otherwise count as left out.
        _no_others(table, (*_HEAD, "notes", "amends", "rows"))
        table_id, title, publisher, unit = (_read_text(table, key) for key in _HEAD)
        _one_of("unit", unit, UNITS)
        notes = _read_texts(table, "notes")
        amends = _read_text(table, "amends") if "amends" in table else None
        rows = table.get("rows")
        if not isinstance(rows, list) or not rows:
            raise ValueError("found no rows, expected at least one [[rows]]")
    except ValueError as error:
        raise TableError(file, None, str(error)) from error
    rows_read = []
    for number, row in enumerate(rows, start=1):
        try:
            rows_read.append(_read_row(row, unit))
        except ValueError as error:
            raise TableError(file, number, str(error)) from error
    return Standard(table_id, title, publisher, unit, tuple(rows_read), notes, amends)


def _read_row(table: object, unit: str) -> Row:
    if not isinstance(table, dict):
        raise ValueError(f"found {shown_value(table)}, expected a table")
    _no_others(table, _ROW_KEYS)
    quantity, clause, source, standing = (_read_text(table, key) for key in _TEXTS)
    optional = {key: _read_text(table, key) for key in _OPTIONAL_TEXTS if key in table}
    _one_of("quantity", quantity, QUANTITIES)
    _one_of("standing", standing, STANDINGS)
    _one_of("level", optional.get("level", "STOP"), LEVELS)
    row = Row(
        quantity,
        clause,
        source,
        standing,
        _read_bound(table, "least"),
        _read_bound(table, "most"),
        words=_read_texts(table, "words"),
        only_for=_read_texts(table, "only_for"),
        not_for=_read_texts(table, "not_for"),
        bands=_read_bands(table, unit),
        per_foot=_read_plain_number(table, "per_foot") if "per_foot" in table else None,
        **optional,
    )
    _one_kind(row, unit)
    return row


def _one_kind(row: Row, unit: str) -> None:
    """Exactly one kind of limit, in units that go together."""
    bounds = [bound for bound in (row.least, row.most) if bound is not None]
    stated = {"least or most": bounds, "words": row.words, "bands": row.bands}
    kinds = [name for name, there in stated.items() if there]
    # With two kinds of limit nobody knows which of them a rule judges.
    if len(kinds) != 1:
        raise ValueError(
            f"found {' and '.join(kinds) or 'no limit'}, expected one of least/most, words, bands"
        )
    if bool(row.words) != (row.quantity in WORDS):
        expected = "words" if row.quantity in WORDS else "a limit in numbers"
        raise ValueError(f"{row.quantity}: expected {expected}")
    if bool(row.bands) != (row.per_foot is not None):
        raise ValueError("expected bands and per_foot together")
    if row.per_foot is not None:
        _read_length("per_foot", row.per_foot, unit)
        # Bands are looked up by viewing distance, which visual characters alone have.
        _one_of("quantity of a row with bands", row.quantity, ("visual.height",))
    _one_formula(row)
    if row.exempt_if_raised is not None and not row.quantity.startswith("visual."):
        raise ValueError(
            f"found exempt_if_raised for {row.quantity}, expected it for visual characters"
        )
    if row.of is not None:
        _one_of("of", row.of, LENGTHS)
        if not bounds or row.of == row.quantity:
            raise ValueError(
                "expected 'of' with least or most, and another quantity than the row's own"
            )
    if len({bound.unit for bound in bounds}) > 1:
        raise ValueError("expected least and most in the same unit")
    if len(bounds) == 2 and bounds[0].value > bounds[1].value:
        raise ValueError(f"found least {bounds[0].text!r} above most {bounds[1].text!r}")
    for bound in bounds:
        # A share or a multiple carries no length: it takes that of the other quantity.
        if row.of is not None:
            if bound.unit == "mm":
                raise ValueError(
                    f"found {bound.text!r}, expected a share or a multiple of {row.of}"
                )
        elif row.quantity in PLAIN_UNITS:
            _one_of(f"unit of a {row.quantity.split('.')[1]}", bound.unit, _units_of_row(row))
        else:
            _read_length("limit", bound, unit)


def _one_formula(row: Row) -> None:
    if row.formula is not None:
        _one_of("quantity of a row with a formula", row.quantity, (CONTRAST,))
        _one_of("formula", row.formula, FORMULAS)


def _units_of_row(row: Row) -> tuple[str, ...]:
    """The units of a plain number; a difference is in points and every other contrast in %."""
    if row.quantity == CONTRAST:
        return ("points",) if row.formula == "difference" else ("%",)
    return PLAIN_UNITS[row.quantity]


def _read_length(what: str, number: Written, unit: str) -> None:
    # One unit governs: a rounded length in the other would be a second limit beside the first.
    allowed = ("in", "ft") if unit == "in" else ("mm",)
    if number.written_unit not in allowed:
        raise ValueError(
            f"{what}: found {number.text!r}, expected a length in {' or '.join(allowed)}"
        )


def _read_bound(table: Mapping[str, Any], key: str) -> Written | None:
    printed = f"{key}_printed"
    if key not in table:
        if printed in table:
            raise ValueError(f"found {printed} without {key}")
        return None
    bound = _read_plain_number(table, key)
    if printed not in table:
        return bound
    rounded = _read_plain_number(table, printed)
    if rounded.written_unit != "mm" or bound.unit != "mm":
        raise ValueError(
            f"{printed}: found {rounded.text!r} beside {bound.text!r}, expected mm beside a length"
        )
    # Kept beside and never compared: the published unit governs, its rounding is for information.
    return evolve(bound, printed=rounded.value)


def _read_bands(table: Mapping[str, Any], unit: str) -> tuple[Band, ...]:
    bands = []
    entries = table.get("bands", [])
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise ValueError("bands: expected a list of tables")
    for entry in entries:
        _no_others(entry, ("up_to", "base", "distance"))
        up_to = _read_plain_number(entry, "up_to") if "up_to" in entry else None
        band = Band(up_to, _read_plain_number(entry, "base"), _read_plain_number(entry, "distance"))
        for number in (band.up_to, band.base, band.distance):
            if number is not None:
                _read_length("bands", number, unit)
        bands.append(band)
    if bands and not _rise_to_the_last(bands):
        raise ValueError("bands: expected rising up_to, and none in the last band")
    return tuple(bands)


def _rise_to_the_last(bands: Sequence[Band]) -> bool:
    """Whether each band but the last ends, and above the one before it."""
    ends = [band.up_to.value for band in bands if band.up_to is not None]
    return len(ends) == len(bands) - 1 and bands[-1].up_to is None and ends == sorted(set(ends))


def _read_texts(table: Mapping[str, Any], key: str) -> tuple[str, ...]:
    words = table.get(key, [])
    if not isinstance(words, list) or not all(isinstance(word, str) and word for word in words):
        raise ValueError(f"{key}: expected a list of words")
    return tuple(words)


def _read_plain_number(table: Mapping[str, Any], key: str) -> Written:
    try:
        return read_number(_read_text(table, key))
    except ValueError as error:
        raise ValueError(f"{key}: {error}") from error


def _read_text(table: Mapping[str, Any], key: str) -> str:
    value = table.get(key)
    if not isinstance(value, str) or not value.strip():
        found = shown_value(value) if key in table else "nothing"
        raise ValueError(f"{key}: found {found}, expected text")
    return value


def _one_of(what: str, found: str, known: Collection[str]) -> None:
    if found not in known:
        raise ValueError(
            f"{what}: found {shown_value(found)}, expected {_nearest_known(found, known)}"
        )


def _no_others(table: Mapping[str, Any], known: Collection[str]) -> None:
    for key in table:
        if key not in known:
            raise ValueError(
                f"unknown key {shown_value(key)}, expected {_nearest_known(key, known)}"
            )


def _nearest_known(found: str, known: Collection[str]) -> str:
    return expected_name(found, tuple(known), f"one of {', '.join(known)}")
