"""The dimension tables as text and as plain data: what there is, what is not, and several together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from signrules.standards.tables import Standard, not_available
from signrules.standards.together import Together

DISCLAIMER = (
    "The tables hold what could be read of the publications, and not all of it: the texts themselves govern.",
    "A dimension check is not a certification: local codes and the authority having jurisdiction decide.",
)


def tables_text(standards: Mapping[str, Standard]) -> str:
    """One line a table, by id: title, rows and how they are known; then what is known but has no table."""
    return "\n".join(_tables(standards)) + "\n"


def _tables(standards: Mapping[str, Standard]) -> Iterator[str]:
    lines = [(name, f"{one.title}: {_rows(one)}") for name, one in sorted(standards.items())]
    missing = [(one.id, f"{one.title}: {one.reason}") for one in not_available() if one.id not in standards]
    width = max(len(name) for name, _ in (*lines, *missing))
    yield from (f"{name:<{width}}  {text}" for name, text in lines)
    yield "\nNot available:"
    yield from (f"{name:<{width}}  {text}" for name, text in missing)
    yield ""
    yield from DISCLAIMER


def _rows(standard: Standard) -> str:
    second = _second_hand(standard)
    known = "all read" if not second else "all second hand" if second == len(standard.rows) else f"{second} second hand"
    amends = f", amends {standard.amends}" if standard.amends else ""
    return f"{len(standard.rows)} rows, {known}{amends}"


def _second_hand(standard: Standard) -> int:
    return sum(row.standing == "second hand" for row in standard.rows)


def tables_to_dict(standards: Mapping[str, Standard]) -> dict[str, Any]:
    """The same as plain data, with the notes of each table."""
    return {
        "standards": [
            {
                "id": one.id,
                "title": one.title,
                "publisher": one.publisher,
                "unit": one.unit,
                "rows": len(one.rows),
                "second_hand": _second_hand(one),
                "amends": one.amends,
                "notes": list(one.notes),
            }
            for _, one in sorted(standards.items())
        ],
        "not_available": [
            {"id": one.id, "title": one.title, "reason": one.reason}
            for one in not_available()
            if one.id not in standards
        ],
        "disclaimer": list(DISCLAIMER),
    }


def together_text(found: Together) -> str:
    """For each quantity the range that satisfies all, or who disagrees with whom."""
    lines = [f"{', '.join(one.id for one in found.standards)} together:", ""]
    names = [*(one.quantity for one in found.quantities), *found.by_distance]
    width = max(map(len, names), default=0)
    lines += [f"{one.quantity:<{width}}  {one}" for one in found.quantities]
    lines += [f"{name:<{width}}  by height above the floor and distance: see each table" for name in found.by_distance]
    verdict = "One sign can satisfy all of these." if found.possible else "No one sign satisfies all of these."
    return "\n".join([*lines, "", verdict, *DISCLAIMER]) + "\n"
