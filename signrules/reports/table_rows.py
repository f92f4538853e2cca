"""One dimension table as text and plain data: each row with limit, clause, level and notes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from signrules.errors import SignrulesError
from signrules.model.wording import nearest_name
from signrules.reports.standards_report import DISCLAIMER
from signrules.standards.dimension_tables import Row, Standard
from signrules.standards.written_numbers import Written

GOVERNS = {"in": "inches govern", "mm": "millimetres govern"}


def known_table(id: str, standards: dict[str, Standard]) -> Standard:
    """The table of an id. Raises SignrulesError where none has it."""
    if id not in standards:
        near_name = nearest_name(id, tuple(standards))
        hint = f"{near_name} perhaps" if near_name else f"one of {', '.join(sorted(standards))}"
        raise SignrulesError(f"no table has the id {id!r}, expected {hint}")
    return standards[id]


def table_text(standard: Standard) -> str:
    """The rows of a table, each on a line of its own with what goes with it below it."""
    return "\n".join(_lines_of_table(standard)) + "\n"


def _lines_of_table(standard: Standard) -> Iterator[str]:
    yield f"{standard.id}: {standard.title} ({standard.publisher}), {GOVERNS[standard.unit]}"
    width = max(len(row.quantity) for row in standard.rows)
    for row in standard.rows:
        yield ""
        yield f"{row.quantity:<{width}}  {_limit_of_row(row)}"
        place = row.clause if row.title is None else f"{row.title}, {row.clause}"
        yield f"  {place}; {row.level}; {row.standing}: {row.source}"
        yield from (f"  {text}" for text in _further_lines(row))
    if standard.notes:
        yield "\nNotes:"
        yield from (f"  {note}" for note in standard.notes)
    yield ""
    yield from DISCLAIMER


def _further_lines(row: Row) -> Iterator[str]:
    """What a row says beside its limit and its clause."""
    if row.measured:
        yield f"measured: {row.measured}"
    if row.only_for:
        yield f"only for: {', '.join(row.only_for)}"
    if row.not_for:
        yield f"not for: {', '.join(row.not_for)}"
    if row.exempt_if_raised:
        yield f"not for raised characters with braille: {row.exempt_if_raised}"
    if row.note:
        yield f"note: {row.note}"


def _limit_of_row(row: Row) -> str:
    if row.bands:
        return f"{'; '.join(_bands_in_words(row))}"
    # A multiple says itself of what it is one: "4 strokes".
    share_of = f" of {row.of}" if row.of is not None and row.unit == "%" else ""
    formula = f" by the formula {row.contrast}" if row.contrast else ""
    return f"{row.limit}{share_of}{formula}"


def _bands_in_words(row: Row) -> Iterator[str]:
    """The least heights of a row of bands, one band at a time."""
    assert row.per_foot is not None
    for band in row.bands:
        hung = "higher up" if band.up_to is None else f"hung up to {band.up_to.text}"
        yield (
            f"{hung}: at least {band.base.text}, and {row.per_foot.text} more for each foot beyond"
            f" {band.distance.text}"
        )


def table_to_dict(standard: Standard) -> dict[str, Any]:
    """A dimension table as plain data; lengths in mm beside the text of the table."""
    return {
        "id": standard.id,
        "title": standard.title,
        "publisher": standard.publisher,
        "unit": standard.unit,
        "amends": standard.amends,
        "notes": list(standard.notes),
        "rows": [_data_of_row(row) for row in standard.rows],
        "disclaimer": list(DISCLAIMER),
    }


def _data_of_row(row: Row) -> dict[str, Any]:
    return {
        "quantity": row.quantity,
        "limit": _limit_of_row(row),
        "least": _data_of_bound(row.least),
        "most": _data_of_bound(row.most),
        "of": row.of,
        "words": list(row.words),
        "formula": row.contrast,
        "measured": row.measured,
        "title": row.title,
        "clause": row.clause,
        "level": row.level,
        "standing": row.standing,
        "source": row.source,
        "only_for": list(row.only_for),
        "not_for": list(row.not_for),
        "exempt_if_raised": row.exempt_if_raised,
        "note": row.note,
    }


def _data_of_bound(bound: Written | None) -> dict[str, Any] | None:
    """A bound as the table writes it, and in the unit in which it is compared."""
    if bound is None:
        return None
    return {"text": bound.text, "value": bound.number, "unit": bound.unit}
