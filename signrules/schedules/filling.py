"""A sign type filled with the words of one row of a schedule."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from attrs import evolve, field, frozen

from signrules.documents.figures import split_figures
from signrules.documents.placeholders import (
    Placeholder,
    WordOf,
    filled_text,
    filled_value,
    placeholders_of,
)
from signrules.documents.refusal import Refused, joined_path
from signrules.documents.sign_type_tables import faults_between
from signrules.documents.table_reader import read_table
from signrules.errors import DocumentFault
from signrules.model.sign_types import DATA, SignType
from signrules.model.wording import NOTHING, shown_value
from signrules.schedules.columns import LINE_END, ScheduleRow, ScheduleRows
from signrules.schedules.row_words import rows_in_words

WORDED = ("sheet", "artwork", "kind", "standards", "text", "cells")
"""The keys of a sign type that hold words. Placeholders anywhere else may stand for numbers."""

_LINE_MARK = re.compile(" */(?= |$) *|(?<= )/ *")
"""What stands between lines in a cell beside line ends: a slash with a space beside it."""


def lines_of_word(word: str) -> tuple[str, ...]:
    """The lines of a text that stands in one cell."""
    lines = _LINE_MARK.sub(LINE_END, word).split(LINE_END)
    return tuple(line.strip() for line in lines if line.strip())


SPLIT_AT = {"text": LINE_END, "cells": LINE_END, "standards": "[;,]"}
"""Lists of texts, and what stands between several in one cell."""


@frozen
class FilledType:
    """A sign type with the words of a row: the table, figures with their origins, and what it
    says.

    `shares` say how much of the area of letters gets ink, by feature, where they are set from a
    font. `sources` are the layers of artwork that passes were read from, by the id of the pass;
    `read_notes` is what was taken for granted then.
    """

    id: str
    table: Mapping[str, Any]
    sign_type: SignType
    shares: Mapping[str, float] = field(factory=dict)
    sources: Mapping[str, Mapping[str, Any]] = field(factory=dict)
    read_notes: tuple[str, ...] = ()

    @property
    def path(self) -> str:
        """Where it stands in the shop file."""
        return f"sign_types.{self.id}"


class RowFaults:
    """The faults of one row, by the columns that they come from."""

    def __init__(self, row: ScheduleRow, rows: ScheduleRows) -> None:
        self.row, self._rows = row, rows
        self.found: list[DocumentFault] = []

    def add(self, place: str, found: str, expected: str) -> None:
        """A fault at a place of the row, such as `column Type`."""
        where = f"row {self.row.number}, {place}" if place else f"row {self.row.number}"
        self.found.append(DocumentFault(where, found, expected))

    def column(self, name: str) -> str:
        """What a column is called in messages."""
        return f"column {self._rows.headings.get(name, name)}"

    def word_of(self, words: Mapping[str, str], where: str) -> WordOf:
        """What stands in place of placeholders at a place; what lacks is a fault of its column."""

        def word(each: Placeholder) -> str:
            found = words.get(each.name, "")
            # What is wrong with a cell is told once, where it is read.
            if found or each.optional or each.name in self.row.spoiled:
                return found
            if each.name in self._rows.headings:
                self.add(self.column(each.name), NOTHING, f"a word for {{{each.name}}} of {where}")
            else:
                self._add_missing(each.name, where)
            return ""

        return word

    def _add_missing(self, name: str, where: str) -> None:
        """The fault of a column that no row has, at the header."""
        place = f"row {self._rows.header}, column {name}"
        expected = f"a column {name!r}, or one that is mapped to {name}: {where} asks for it"
        self.found.append(DocumentFault(place, NOTHING, expected))

    def of_type(self, faults: list[DocumentFault], table: Mapping[str, Any], path: str) -> None:
        """Faults in a filled type: at the columns whose words stand there, else at the type."""
        for fault in faults:
            names = [each.name for each in placeholders_of(_value_at(table, fault.path, path))]
            place = fault.path
            if names:
                columns = " and ".join(self.column(name) for name in dict.fromkeys(names))
                place = f"{columns} ({fault.path})"
            self.add(place, self._found_in_cell(fault.found, names), fault.expected)

    def _found_in_cell(self, found: str, names: Sequence[str]) -> str:
        """What was found, and the word of the cell that makes it where that is another text."""
        for name in dict.fromkeys(names):
            word, number = self.row.words.get(name, ""), self.row.numbers.get(name, "")
            is_a_text = found.endswith(("'", '"')) and found != shown_value(word)
            if number and is_a_text and number in found:
                return f"{shown_value(word)}, which makes {found}"
        return found


_OF_ROW = re.compile(r"row ([0-9]+)(.*)", re.DOTALL)


def grouped_by_rows(faults: Iterable[DocumentFault]) -> list[DocumentFault]:
    """Faults of rows, those that are the same in several rows as one with all of its rows."""
    rows: dict[tuple[str, str, str], list[int]] = {}
    for fault in faults:
        match = _OF_ROW.fullmatch(fault.path)
        number, place = (int(match[1]), match[2]) if match else (0, fault.path)
        rows.setdefault((place, fault.found, fault.expected), []).append(number)
    return [
        DocumentFault(rows_in_words(numbers) + place, found, expected)
        for (place, found, expected), numbers in rows.items()
    ]


def _value_at(table: Mapping[str, Any], where: str, path: str) -> object:
    """What a table says at a path within it; None where the path leads past what is stated."""
    value: Any = table
    inside = where.removeprefix(path).lstrip(".").replace("[", ".[")
    for part in filter(None, inside.split(".")):
        try:
            value = value[int(part[1:-1])] if part.startswith("[") else value[part]
        except (LookupError, TypeError, ValueError):
            return None
        if isinstance(value, str):
            return value
    return value if not isinstance(value, Mapping) else None


def filled_type(
    id: str, table: Mapping[str, Any], row: ScheduleRow, faults: RowFaults
) -> FilledType | None:
    """A sign type with the words of a row; None where it has a fault, which is added."""
    path = f"sign_types.{id}"
    before = len(faults.found)
    filled = dict(_filled_keys(table, row, faults, path))
    if len(faults.found) > before or row.spoiled:
        return None
    # After filling, since a figure may hold a placeholder as well.
    figures = split_figures(filled, SignType, path)
    try:
        sign_type: SignType = read_table(figures.document, SignType)
    except Refused as refused:
        faults.of_type(refused.under(path), table, path)
        return None
    sign_type = evolve(sign_type, text=_raised_text(sign_type))
    faults.of_type(list(faults_between(sign_type, path)), table, path)
    if len(faults.found) > before:
        return None
    return FilledType(id, filled, sign_type)


def _filled_keys(
    table: Mapping[str, Any], row: ScheduleRow, faults: RowFaults, path: str
) -> Iterator[tuple[str, Any]]:
    """The keys of a table of a sign type and what they hold once it is filled."""
    # In texts alone does a slash part lines; elsewhere it is one, as in a fraction of an inch.
    lines = {name: _LINE_MARK.sub(LINE_END, word) for name, word in row.words.items()}
    for key, value in table.items():
        where = joined_path(path, key)
        if not any(True for _ in placeholders_of(value)):
            yield key, value
        elif key in SPLIT_AT and isinstance(value, list | tuple):
            words = row.words if key == "standards" else lines
            yield key, list(_split_texts(value, faults.word_of(words, where), SPLIT_AT[key]))
        elif key in WORDED and isinstance(value, str):
            text = filled_text(value, faults.word_of(row.words, where))
            if text is not None:
                yield key, text
        else:
            word_of = faults.word_of(row.numbers, where)
            yield key, filled_value(value, word_of, worded=(DATA,), numbers=key != DATA)


def _split_texts(texts: Iterable[object], word_of: WordOf, mark: str) -> Iterator[object]:
    """Texts with their words, one for each line or part that a word holds."""
    for text in texts:
        if not isinstance(text, str) or not any(True for _ in placeholders_of(text)):
            yield text
            continue
        filled = filled_text(text, word_of)
        if filled is not None:
            parts = (part.strip() for part in re.split(mark, filled))
            yield from (part for part in parts if part)


def _raised_text(sign_type: SignType) -> tuple[str, ...]:
    """The lines of a sign, in capitals where its raised characters are."""
    if sign_type.raised is None or sign_type.raised.case != "upper":
        return sign_type.text
    return tuple(line.upper() for line in sign_type.text)
