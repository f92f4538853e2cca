"""From records to rows of words: which column is which, and what stands in each of its cells."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence

from attrs import evolve, field, frozen

from signrules.documents.refusal import nearest_known
from signrules.errors import DocumentFault
from signrules.model.limits import UNPRINTED
from signrules.model.wording import NOTHING, counted_things, listed_names, shown_value
from signrules.schedules.decimals import with_points
from signrules.schedules.records import (
    Records,
    SheetRecord,
    header_of,
    plain_heading,
    wrong_count,
)

LINE_END = "\n"


@frozen
class ScheduleRow:
    """One door: the number of its row, and the words in its cells by the names of columns.

    `numbers` are the same words, with decimal points where the column holds numbers. `spoiled`
    says whether one of its cells has a fault that is told.
    """

    number: int
    words: Mapping[str, str]
    numbers: Mapping[str, str]
    spoiled: bool = False


@frozen
class ScheduleRows:
    """The rows of a schedule, and the headings of its columns by name.

    `header` is the number of its header row, `notes` are what whoever sent it should know.
    """

    header: int
    headings: Mapping[str, str]
    rows: tuple[ScheduleRow, ...] = ()
    notes: tuple[str, ...] = ()
    faults: tuple[DocumentFault, ...] = field(default=())


def sought_headings(columns: Mapping[str, str], named: Collection[str]) -> dict[str, str]:
    """The heading of each column by name: the mapped one, else the name itself."""
    return {**{name: name for name in named}, **columns}


def schedule_rows(
    records: Records,
    columns: Mapping[str, str],
    named: Collection[str],
    numeric: Collection[str],
    decimal: str | None,
) -> ScheduleRows:
    """The rows of some records.

    `columns` are the headings that are mapped by name, `named` the names that anything asks for,
    `numeric` those that are asked for as numbers, `decimal` the mark that the shop states.
    """
    headings = sought_headings(columns, named)
    head = header_of(records.rows, tuple(headings.values()))
    if head is None:
        expected = f"a header row with columns such as {listed_names(list(headings.values()))}"
        fault = DocumentFault("row 1", NOTHING, expected)
        return ScheduleRows(1, {}, faults=(*records.faults, fault))
    of_header = list(_faults_of_header(head, headings, columns))
    if of_header:
        return ScheduleRows(head.number, {}, faults=(*records.faults, *of_header))
    faults = list(records.faults)
    places = _places_of(head, headings)
    below = [row for row in records.rows if row.number > head.number and not row.is_blank]
    whole = []
    for row in below:
        wrong = wrong_count(row, head, records.padded)
        if wrong is None:
            whole.append(row)
        else:
            faults.append(wrong)
    if not below and not faults:
        faults.append(DocumentFault(f"row {head.number + 1}", NOTHING, "a row for each door"))
    found = ScheduleRows(head.number, {name: headings[name] for name in places})
    rows, cell_faults = _read_cells(whole, places, headings)
    rows, number_faults, comma_notes = _with_numbers(rows, found.headings, numeric, decimal)
    notes = [
        *records.notes,
        *_notes_on_rows(records.rows, head, len(below)),
        *comma_notes,
        *_notes_on_columns(head, whole, places, columns, named),
    ]
    return evolve(
        found,
        rows=tuple(rows),
        notes=tuple(notes),
        faults=(*faults, *cell_faults, *number_faults),
    )


def _faults_of_header(
    head: SheetRecord, headings: Mapping[str, str], columns: Mapping[str, str]
) -> Iterator[DocumentFault]:
    there = [plain_heading(cell) for cell in head.cells]
    for name, heading in headings.items():
        count = there.count(plain_heading(heading))
        place = f"row {head.number}, column {heading}"
        # To take the first of them would pass over the other without a word.
        if count > 1:
            yield DocumentFault(place, f"{count} columns of that name", "one")
        elif not count and name in columns:
            expected = f"the column that is mapped to {name}"
            near = nearest_known(heading, [each for each in there if each])
            if near:
                expected += f"; the nearest is {shown_value(near)}"
            yield DocumentFault(place, NOTHING, expected)


def _places_of(head: SheetRecord, headings: Mapping[str, str]) -> dict[str, int]:
    """Which column each name is, counted from 0; those that are not there have none."""
    there = [plain_heading(cell) for cell in head.cells]
    found = {}
    for name, heading in headings.items():
        if plain_heading(heading) in there:
            found[name] = there.index(plain_heading(heading))
    return found


def _read_cells(
    rows: Sequence[SheetRecord], places: Mapping[str, int], headings: Mapping[str, str]
) -> tuple[list[ScheduleRow], list[DocumentFault]]:
    """The words of each row; empty where a cell is not there or has a fault."""
    read: list[ScheduleRow] = []
    faults: list[DocumentFault] = []
    for row in rows:
        words: dict[str, str] = {}
        spoiled = False
        for name, place in places.items():
            word = row.cells[place] if place < len(row.cells) else ""
            words[name] = _in_line_ends(word)
            bad = _unprinted(words[name])
            if bad is not None:
                where = f"row {row.number}, column {headings[name]}"
                spoiled = True
                found = f"a control character (U+{ord(bad):04X})"
                faults.append(DocumentFault(where, found, "text that can be printed"))
        read.append(ScheduleRow(row.number, words, words, spoiled))
    return read, faults


def _in_line_ends(word: str) -> str:
    # Spreadsheets write line ends within a cell in all three ways, and hard spaces for looks.
    return word.replace("\r\n", LINE_END).replace("\r", LINE_END).replace("\u00a0", " ")


def _unprinted(word: str) -> str | None:
    for character in word:
        if character != LINE_END and unicodedata.category(character) in UNPRINTED:
            return character
    return None


def _with_numbers(
    rows: Sequence[ScheduleRow],
    headings: Mapping[str, str],
    numeric: Collection[str],
    decimal: str | None,
) -> tuple[list[ScheduleRow], list[DocumentFault], list[str]]:
    """The rows with decimal points in their numbers, and what was recognised or may be either."""
    faults: list[DocumentFault] = []
    notes: list[str] = []
    numbers = {row.number: dict(row.words) for row in rows}
    spoiled = {row.number for row in rows if row.spoiled}
    for name in headings:
        if name not in numeric:
            continue
        cells = {row.number: row.words[name] for row in rows}
        column = with_points(cells, headings[name], decimal)
        faults += column.faults
        if column.commas:
            notes.append(f"column {headings[name]!r}: its commas are decimal")
        spoiled |= column.spoiled
        for number, word in column.words.items():
            numbers[number][name] = word
    read = [evolve(row, numbers=numbers[row.number], spoiled=row.number in spoiled) for row in rows]
    return read, faults, notes


def _notes_on_rows(rows: Sequence[SheetRecord], head: SheetRecord, doors: int) -> Iterator[str]:
    above = [row.number for row in rows if row.number < head.number and not row.is_blank]
    if above:
        yield f"row {head.number} is the header; what stands above it is not read"
    yield counted_things(doors, "row") + " below the header"


def _notes_on_columns(
    head: SheetRecord,
    rows: Sequence[SheetRecord],
    places: Mapping[str, int],
    columns: Mapping[str, str],
    named: Collection[str],
) -> Iterator[str]:
    """Columns that nothing reads."""
    for at in range(max(len(row.cells) for row in (head, *rows))):
        heading = head.cells[at] if at < len(head.cells) else ""
        filled = any(at < len(row.cells) and row.cells[at] for row in rows)
        # Told, since a column that was meant to be read may only be called otherwise.
        if at not in places.values() and filled:
            called = repr(plain_heading(heading)) if heading else f"{at + 1}, without a heading,"
            yield f"column {called} is not read: nothing maps it"
    for name, heading in columns.items():
        if name not in named:
            yield f"column {heading!r} is not read: nothing asks for {{{name}}}"
