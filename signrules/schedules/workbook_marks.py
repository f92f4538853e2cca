"""What a worksheet says of its cells beside their values: formulas, merged cells, hidden rows."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import IO

from attrs import frozen

MOST_MERGED = 2_000_000
"""A short line of a worksheet may merge more rows than any schedule has."""

EMPTY_TEXT = "str"
"""The type of a cell whose formula made a text, which may be empty."""


@frozen
class SheetMarks:
    """Marks of a worksheet, by rows and columns that count from 1.

    `unsaved` are formulas without a saved value by their cells. `merged` are by rows the merged
    ranges that began in a row above, each with its first and last column. `hidden` are rows.
    """

    unsaved: Mapping[tuple[int, int], str]
    merged: Mapping[int, tuple[tuple[int, int, str], ...]]
    hidden: frozenset[int]

    def range_from_above(self, row: int, column: int) -> str | None:
        """The merged range that a cell belongs to and that began above it."""
        for first, last, name in self.merged.get(row, ()):
            if first <= column <= last:
                return name
        return None


def marks_of(source: IO[bytes]) -> SheetMarks:
    """The marks of a worksheet, from its XML (ECMA-376, part 1, clause 18.3.1; from memory).

    Raises ValueError where merged ranges take more rows than a schedule has.
    """
    from openpyxl.utils.cell import coordinate_to_tuple, range_boundaries

    unsaved: dict[tuple[int, int], str] = {}
    merged: dict[int, list[tuple[int, int, str]]] = defaultdict(list)
    hidden: set[int] = set()
    row = taken = 0
    for _, element in ET.iterparse(source):
        kind = _plain_tag(element)
        if kind == "row":
            row = int(element.get("r", row + 1))
            if element.get("hidden") in ("1", "true"):
                hidden.add(row)
            for at, formula in _unsaved_formulas(element):
                place = (row, at) if isinstance(at, int) else coordinate_to_tuple(at)
                unsaved[place] = formula
            # A worksheet may have a million rows, of which nothing else is needed.
            element.clear()
        elif kind == "mergeCell":
            name = element.get("ref", "")
            left, top, right, bottom = range_boundaries(name)
            taken += bottom - top
            if taken > MOST_MERGED:
                raise ValueError("merged ranges of too many rows")
            for below in range(top + 1, bottom + 1):
                merged[below].append((left, right, name))
    return SheetMarks(unsaved, {at: tuple(each) for at, each in merged.items()}, frozenset(hidden))


def _unsaved_formulas(row: ET.Element) -> Iterator[tuple[int | str, str]]:
    """The formulas of a row without a saved value, by the name of the cell or else its number."""
    for number, cell in enumerate(row, 1):
        parts = {_plain_tag(part): part.text or "" for part in cell}
        made_empty = cell.get("t") == EMPTY_TEXT
        if "f" in parts and not parts.get("v") and not made_empty:
            yield cell.get("r", number), f"={parts['f']}"


def _plain_tag(element: ET.Element) -> str:
    """The name of an element without its namespace."""
    return element.tag.rpartition("}")[2]
