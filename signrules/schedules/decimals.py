"""Decimal commas: which comma in a number is one, and what may be read either way."""

from __future__ import annotations

import re
from collections.abc import Sequence

from attrs import frozen

from signrules.errors import DocumentFault
from signrules.model.wording import shown_value

_NUMBER = re.compile(r"[0-9][0-9.,']*[0-9]|[0-9]", re.ASCII)
_DECIMAL = re.compile(r"[0-9]+,[0-9]+", re.ASCII)
_EITHER = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}", re.ASCII)
"""A number that one reader takes for thousands and another for decimals."""


@frozen
class NumberColumn:
    """The cells of a column that holds numbers, by row, with decimal points.

    `commas` says whether any stood for a point, `spoiled` are the rows with a fault.
    """

    words: dict[int, str]
    faults: tuple[DocumentFault, ...] = ()
    commas: bool = False
    spoiled: frozenset[int] = frozenset()


def with_points(cells: dict[int, str], heading: str, decimal: str | None) -> NumberColumn:
    """The cells of a column with points for decimal commas.

    `decimal` is the mark that the shop states, "comma" or "point". Where it states none, commas
    are decimal where a number of the column can be read no other way. Marks between thousands are
    faults, and so is a comma that may be either.
    """
    numbers = [number for cell in cells.values() for number in _NUMBER.findall(cell)]
    commas = decimal == "comma" or (decimal is None and _tells_commas(numbers))
    words: dict[int, str] = {}
    faults: list[DocumentFault] = []
    spoiled: set[int] = set()
    changed = False
    for row, cell in cells.items():
        words[row] = cell
        for number in _NUMBER.findall(cell):
            if "," not in number and "'" not in number and number.count(".") < 2:
                continue
            if commas and _DECIMAL.fullmatch(number):
                # Once, since the same digits may stand in the cell again and are looked at in their
                # turn.
                words[row] = words[row].replace(number, number.replace(",", "."), 1)
                changed = True
                continue
            place = f"row {row}, column {heading}"
            faults.append(DocumentFault(place, shown_value(number), _expected(number, decimal)))
            spoiled.add(row)
    return NumberColumn(words, tuple(faults), changed, frozenset(spoiled))


def _tells_commas(numbers: Sequence[str]) -> bool:
    """Whether commas in some numbers are decimal: one can be nothing else, and no point is."""
    sure = [each for each in numbers if _DECIMAL.fullmatch(each) and not _EITHER.fullmatch(each)]
    # With points among them too, nothing says which of the two marks is decimal.
    return bool(sure) and not any("." in each for each in numbers)


def _expected(number: str, decimal: str | None) -> str:
    if decimal is None and _EITHER.fullmatch(number):
        plain, point = number.replace(",", ""), number.replace(",", ".")
        return f'{plain} or {point}; or decimal = "comma" in [schedule], if its commas are decimal'
    return "a number with one decimal mark and none between thousands"
