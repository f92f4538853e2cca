"""The dimension tables as text and as plain data: what there is, and several together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from signrules.standards.common_ranges import Together
from signrules.standards.dimension_tables import STANDINGS, Looser, Standard, not_available
from signrules.standards.looser_tables import in_full

DISCLAIMER = (
    (
        "The tables hold what could be read of the publications, and not all of it: the texts"
        " themselves govern."
    ),
    (
        "A dimension check is not a certification: local codes and the authority having"
        " jurisdiction decide."
    ),
)


def tables_text(standards: Mapping[str, Standard]) -> str:
    """One line a table, by id: title, rows and how they are known; then what asks for less than a
    law, and what is known but has no table."""
    return "\n".join(_table_lines(standards)) + "\n"


def _table_lines(standards: Mapping[str, Standard]) -> Iterator[str]:
    lines = [
        (name, f"{table.title}: {_row_lines(table)}") for name, table in sorted(standards.items())
    ]
    missing = [
        (table.id, f"{table.title}: {table.reason}")
        for table in not_available()
        if table.id not in standards
    ]
    width = max(len(name) for name, _ in (*lines, *missing))
    yield from (f"{name:<{width}}  {text}" for name, text in lines)
    looser_tables = [
        (name, in_full(table.looser)) for name, table in sorted(standards.items()) if table.looser
    ]
    if looser_tables:
        yield "\nLooser than a law:"
        yield from (f"{name:<{width}}  {text}" for name, text in looser_tables)
    yield "\nNot available:"
    yield from (f"{name:<{width}}  {text}" for name, text in missing)
    yield ""
    yield from DISCLAIMER


def _row_lines(standard: Standard) -> str:
    amends = f", amends {standard.amends}" if standard.amends else ""
    return f"{len(standard.rows)} rows, {_how_known(standard)}{amends}"


def _how_known(standard: Standard) -> str:
    """How the rows are known: all in one way, or how many in each way but that they were read."""
    counts = {standing: _so_known(standard, standing) for standing in STANDINGS}
    alone = next(
        (standing for standing, count in counts.items() if count == len(standard.rows)), None
    )
    if alone is not None:
        return f"all {alone}"
    weaker = [
        f"{count} {standing}" for standing, count in counts.items() if count and standing != "read"
    ]
    return ", ".join(weaker)


def _so_known(standard: Standard, standing: str) -> int:
    return sum(row.standing == standing for row in standard.rows)


def tables_to_dict(standards: Mapping[str, Standard]) -> dict[str, Any]:
    """The dimension tables as plain data, with the notes of each."""
    return {
        "standards": [
            {
                "id": table.id,
                "title": table.title,
                "publisher": table.publisher,
                "unit": table.unit,
                "rows": len(table.rows),
                "second_hand": _so_known(table, "second hand"),
                "from_memory": _so_known(table, "from memory"),
                "amends": table.amends,
                "looser": [_looser_data(looser) for looser in table.looser or ()],
                "notes": list(table.notes),
            }
            for _, table in sorted(standards.items())
        ],
        "not_available": [
            {"id": table.id, "title": table.title, "reason": table.reason}
            for table in not_available()
            if table.id not in standards
        ],
        "disclaimer": list(DISCLAIMER),
    }


def _looser_data(looser: Looser) -> dict[str, str]:
    """One limit of a table that is looser than a law."""
    return {
        "than": looser.law,
        "quantity": looser.quantity,
        "asks": looser.own,
        "law": looser.asked,
    }


def together_text(found: Together) -> str:
    """For each quantity the range that satisfies all, or who disagrees with whom."""
    lines = [f"{', '.join(common.id for common in found.standards)} together:", ""]
    names = [*(common.quantity for common in found.quantities), *found.by_distance]
    width = max(map(len, names), default=0)
    lines += [f"{common.quantity:<{width}}  {common}" for common in found.quantities]
    lines += [
        f"{name:<{width}}  by height above the floor and distance: see each table"
        for name in found.by_distance
    ]
    verdict = "No one sign satisfies all of these."
    if found.possible:
        verdict = "One sign can satisfy all of these."
    return "\n".join([*lines, "", verdict, *DISCLAIMER]) + "\n"
