"""What the row of a schedule says of its sign: its id, how many of it, and which type it is of."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from fnmatch import fnmatchcase
from typing import Any

from signrules.documents.placeholders import filled_text, placeholders_of
from signrules.documents.refusal import nearest_known
from signrules.model.limits import is_id
from signrules.model.sign_types import DATA, ScheduleUse
from signrules.model.wording import NOTHING, listed_names, shown_value
from signrules.schedules.columns import LINE_END, ScheduleRow
from signrules.schedules.filling import WORDED, RowFaults

MOST_OF_A_SIGN = 10_000

_WHOLE = re.compile(r"([0-9]{1,9})(?:\.0*)?", re.ASCII)
_UNFIT = str.maketrans(dict.fromkeys(".[]", "-"))


def names_asked_for(types: Mapping[str, Any], use: ScheduleUse) -> dict[str, None]:
    """The names of all columns that the types and the schedule ask for."""
    asked = dict.fromkeys(each.name for each in placeholders_of([use.id, use.quantity]))
    if use.types:
        asked |= dict.fromkeys(name for rule in use.types for name, _ in rule.where)
    else:
        asked |= dict.fromkeys(each.name for each in placeholders_of(use.type))
    return asked | dict.fromkeys(each.name for each in placeholders_of(types))


def names_of_numbers(types: Mapping[str, Any], use: ScheduleUse) -> frozenset[str]:
    """The names of columns that stand where a sign type has numbers, and that of the quantity."""
    asked = [each.name for each in placeholders_of(use.quantity)]
    for table in types.values():
        # A room number stands in a text and keeps its leading zeros; only what is measured is a
        # number.
        rest = {key: each for key, each in table.items() if key not in WORDED}
        asked += (each.name for each in placeholders_of(rest, skipped=(DATA,)))
    return frozenset(asked)


def id_of_row(use: ScheduleUse, row: ScheduleRow, faults: RowFaults) -> str:
    """The id of the sign of a row; characters that no id holds are hyphens in it.

    Empty where it has a fault, which is added.
    """
    before = len(faults.found)
    text = filled_text(use.id, faults.word_of(row.words, "schedule.id")) or ""
    id = text.replace(LINE_END, " ").translate(_UNFIT)
    if len(faults.found) > before or _is_spoiled(row, use.id):
        return ""
    if not is_id(id):
        expected = "an id of 1 to 200 characters: schedule.id says what it is made of"
        faults.add(_places(use.id, faults), shown_value(text), expected)
        return ""
    return id


def quantity_of_row(use: ScheduleUse, row: ScheduleRow, faults: RowFaults) -> int:
    """How many signs a row asks for; 0 with a fault that is added.

    It is 1 where the row says nothing, or has a fault there that is told already.
    """
    before = len(faults.found)
    text = filled_text(use.quantity, faults.word_of(row.numbers, "schedule.quantity"))
    if text is None or _is_spoiled(row, use.quantity):
        return 1
    if len(faults.found) > before:
        return 0
    match = _WHOLE.fullmatch(text)
    if match and int(match[1]) <= MOST_OF_A_SIGN:
        return int(match[1])
    expected = f"a whole number from 0 to {MOST_OF_A_SIGN}"
    stated = filled_text(use.quantity, lambda each: row.words.get(each.name, ""))
    faults.add(_places(use.quantity, faults), shown_value(stated), expected)
    return 0


def type_of_row(
    use: ScheduleUse, types: Collection[str], row: ScheduleRow, faults: RowFaults
) -> str | None:
    """The id of the sign type of a row; None where there is none, and a fault is added."""
    if use.types:
        return _type_by_rule(use, row, faults)
    before = len(faults.found)
    named = filled_text(use.type, faults.word_of(row.words, "schedule.type"))
    if len(faults.found) > before or _is_spoiled(row, use.type):
        return None
    if named in types:
        return named
    # A shop with one type need not say in each row which it is.
    if not named and len(types) == 1:
        return next(iter(types))
    expected = f"a sign type of the shop: {listed_names(list(types))}"
    near = nearest_known(named, types)
    if near:
        expected += f"; the nearest is {shown_value(near)}"
    found = shown_value(named) if named else NOTHING
    if not named:
        expected += "; schedule.type names the column, or rules in schedule.types choose"
    faults.add(_places(use.type, faults), found, expected)
    return None


def _is_spoiled(row: ScheduleRow, template: str) -> bool:
    """Whether a cell that a template is filled from has a fault of its own."""
    return any(each.name in row.spoiled for each in placeholders_of(template))


def _type_by_rule(use: ScheduleUse, row: ScheduleRow, faults: RowFaults) -> str | None:
    for rule in use.types:
        if all(_is_like(row.words.get(name, ""), pattern) for name, pattern in rule.where):
            return rule.type
    names = dict.fromkeys(name for rule in use.types for name, _ in rule.where)
    if not row.spoiled.isdisjoint(names):
        return None
    found = ", ".join(f"{name} {shown_value(row.words.get(name, ''))}" for name in names)
    expected = "words that a rule of schedule.types fits"
    faults.add(" and ".join(faults.column(name) for name in names), found, expected)
    return None


def _is_like(word: str, pattern: str) -> bool:
    return fnmatchcase(word.casefold(), pattern.casefold())


def _places(template: str, faults: RowFaults) -> str:
    """The columns that a template is filled from."""
    names = dict.fromkeys(each.name for each in placeholders_of(template))
    return " and ".join(faults.column(name) for name in names)


def missing_columns(use: ScheduleUse, headings: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Names that the rules of a schedule ask for and that no column has, each with its path."""
    for at, rule in enumerate(use.types):
        for name, _ in rule.where:
            if name not in headings:
                yield name, f"schedule.types[{at}].where"
