"""From records to rows of words: which column is which, and what stands in each of its cells."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence

from attrs import evolve, field, frozen

from signrules.documents.refusal import nearest_known
from signrules.errors import DocumentFault
from signrules.model.limits import UNPRINTED
from signrules.model.wording import NOTHING, counted_things, listed_names, shown_value
from signrules.schedules.decimals import MARKS, DecimalMark, recognised_mark, with_points
from signrules.schedules.records import (
    Records,
    SheetRecord,
    header_of,
    plain_heading,
    wrong_count,
)
from signrules.schedules.row_words import rows_in_words

LINE_END = "\n"


@frozen
class ScheduleRow:
    """One door: the number of its row, and the words in its cells by the names of columns.

    `numbers` are the same words, with decimal points where the column holds numbers. `spoiled`
    are the names of those columns in which its cell has a fault that is told, `exact` of those in
    which it is a number of a workbook.
    """

    number: int
    words: Mapping[str, str]
    numbers: Mapping[str, str]
    spoiled: frozenset[str] = frozenset()
    exact: frozenset[str] = frozenset()


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
        *_notes_on_formats(whole, places, headings, numeric),
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
            near = _nearest_heading(heading, there)
            if near:
                expected += f"; the nearest is {shown_value(near)}"
            yield DocumentFault(place, NOTHING, expected)


def _nearest_heading(heading: str, there: Sequence[str]) -> str | None:
    """The heading most like one that is not there, such as the same in capitals."""
    plain = plain_heading(heading).casefold()
    in_other_case = [each for each in there if each.casefold() == plain]
    if in_other_case:
        return in_other_case[0]
    return nearest_known(heading, [each for each in there if each])


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
    """The words of each row, and what is wrong with its cells."""
    read: list[ScheduleRow] = []
    faults: list[DocumentFault] = []
    for row in rows:
        words: dict[str, str] = {}
        spoiled: set[str] = set()
        for name, place in places.items():
            word = row.cells[place] if place < len(row.cells) else ""
            words[name] = _in_line_ends(word)
            wrong = row.spoiled.get(place) or _unprinted(words[name])
            if wrong is not None:
                spoiled.add(name)
                faults.append(DocumentFault(_cell_path(row.number, headings[name]), *wrong))
        exact = frozenset(name for name, place in places.items() if place in row.numbers)
        read.append(ScheduleRow(row.number, words, words, frozenset(spoiled), exact))
    return read, faults


def _cell_path(row: int, heading: str) -> str:
    return f"row {row}, column {heading}"


def _in_line_ends(word: str) -> str:
    # Spreadsheets write line ends within a cell in all three ways, and hard spaces for looks.
    return word.replace("\r\n", LINE_END).replace("\r", LINE_END).replace("\u00a0", " ")


def _unprinted(word: str) -> tuple[str, str] | None:
    """What was found and expected of a word with a character that cannot be printed."""
    for character in word:
        if character != LINE_END and unicodedata.category(character) in UNPRINTED:
            return f"a control character (U+{ord(character):04X})", "text that can be printed"
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
    spoiled = {row.number: set(row.spoiled) for row in rows}
    # Cells of a workbook that hold a number have no mark that anyone could read otherwise.
    texts = {
        name: {row.number: row.words[name] for row in rows if name not in row.exact}
        for name in headings
        if name in numeric
    }
    of_all = recognised_mark(cell for cells in texts.values() for cell in cells.values())
    for name, cells in texts.items():
        if decimal is None:
            mark = DecimalMark(recognised_mark(cells.values()) or of_all)
        else:
            mark = DecimalMark(MARKS[decimal], stated=True)
        column = with_points(cells, headings[name], mark)
        faults += column.faults
        if column.commas:
            notes.append(f"column {headings[name]!r}: its commas are decimal")
        for number in column.spoiled:
            spoiled[number].add(name)
        for number, word in column.words.items():
            numbers[number][name] = word
    read = [
        evolve(row, numbers=numbers[row.number], spoiled=frozenset(spoiled[row.number]))
        for row in rows
    ]
    return read, faults, notes


def _notes_on_rows(rows: Sequence[SheetRecord], head: SheetRecord, doors: int) -> Iterator[str]:
    above = [row.number for row in rows if row.number < head.number and not row.is_blank]
    if above:
        yield f"row {head.number} is the header; what stands above it is not read"
    yield counted_things(doors, "row") + " below the header"


def _notes_on_formats(
    rows: Sequence[SheetRecord],
    places: Mapping[str, int],
    headings: Mapping[str, str],
    numeric: Collection[str],
) -> Iterator[str]:
    """Numbers of a workbook that stand for words, and may show there otherwise than they are."""
    for name, place in places.items():
        found = [row for row in rows if place in row.formatted and name not in numeric]
        if found:
            where = rows_in_words(row.number for row in found)
            example = shown_value(found[0].cells[place])
            yield (
                f"column {headings[name]!r}: a number in {where}, such as {example}, which the"
                " workbook may show otherwise; format the column as text and write what it is to be"
            )


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
