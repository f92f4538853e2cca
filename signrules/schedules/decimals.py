"""Decimal marks: what a comma or a point in a number is, and what may be read either way."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping

from attrs import frozen

from signrules.errors import DocumentFault
from signrules.model.wording import shown_value

COMMA, POINT = ",", "."
MARKS = {"comma": COMMA, "point": POINT}
"""The decimal marks by the words with which a shop states them."""

_PLURALS = {COMMA: "commas", POINT: "points"}
_OTHER = {COMMA: "point", POINT: "comma"}

_NUMBER = re.compile(r"[0-9][0-9.,']*[0-9]|[0-9]", re.ASCII)
_ONE_MARK = re.compile(r"([0-9]+)([.,])([0-9]+)", re.ASCII)
_EITHER = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}", re.ASCII)
"""A number that one reader takes for thousands and another for decimals."""


@frozen
class DecimalMark:
    """The decimal mark of a column: whether it is stated, or recognised by what else stands there.

    It is None where nothing tells.
    """

    mark: str | None = None
    stated: bool = False


@frozen
class NumberColumn:
    """The cells of a column that holds numbers, by row, with decimal points.

    `commas` says whether any stood for a point, `spoiled` are the rows with a fault.
    """

    words: dict[int, str]
    faults: tuple[DocumentFault, ...] = ()
    commas: bool = False
    spoiled: frozenset[int] = frozenset()


def recognised_mark(cells: Iterable[str]) -> str | None:
    """The decimal mark that most numbers tell which can be read no other way; None without any."""
    marks = (_mark_told_by(number) for cell in cells for number in _NUMBER.findall(cell))
    told = Counter(mark for mark in marks if mark is not None)
    if not told:
        return None
    return COMMA if told[COMMA] > told[POINT] else POINT


def _mark_told_by(number: str) -> str | None:
    marks = [character for character in number if character in _PLURALS]
    # Whatever parts the thousands of 2.100,5, its last mark is decimal.
    if len(set(marks)) == 2 and marks.count(marks[-1]) == 1:
        return marks[-1]
    sure = _ONE_MARK.fullmatch(number) and not _EITHER.fullmatch(number)
    return marks[-1] if sure else None


def with_points(cells: Mapping[int, str], heading: str, decimal: DecimalMark) -> NumberColumn:
    """The cells of a column with points for decimal commas.

    A number with the other mark is a fault, and so is any with marks between thousands. Where
    nothing tells the mark, a number that may be read either way is one.
    """
    words: dict[int, str] = {}
    faults: list[DocumentFault] = []
    spoiled: set[int] = set()
    changed = False
    for row, cell in cells.items():
        words[row] = cell
        for number in _NUMBER.findall(cell):
            if number.isdigit():
                continue
            found = _ONE_MARK.fullmatch(number)
            if found is None or found[2] != decimal.mark:
                place = f"row {row}, column {heading}"
                faults.append(DocumentFault(place, shown_value(number), _expected(number, decimal)))
                spoiled.add(row)
            elif found[2] == COMMA:
                # Once, since the same digits may stand in the cell again and are looked at in their
                # turn.
                words[row] = words[row].replace(number, number.replace(COMMA, POINT), 1)
                changed = True
    return NumberColumn(words, tuple(faults), changed, frozenset(spoiled))


def _expected(number: str, decimal: DecimalMark) -> str:
    found = _ONE_MARK.fullmatch(number)
    if found is None:
        return "a number with one decimal mark and none between thousands"
    whole, _, decimals = found.groups()
    mark = decimal.mark or POINT
    reading = f"{whole}{mark}{decimals}"
    if _EITHER.fullmatch(number):
        reading = f"{whole}{decimals} or {reading.rstrip('0').rstrip(mark)}"
    if decimal.mark is None:
        return f'{reading}; or decimal = "comma" or "point" in [schedule], whichever it is'
    if decimal.stated:
        return f"{reading}: decimal in [schedule] says that {_PLURALS[mark]} are decimal"
    stated = f'decimal = "{_OTHER[mark]}" in [schedule]'
    return f"{reading}: elsewhere {_PLURALS[mark]} are decimal; if not, state {stated}"
