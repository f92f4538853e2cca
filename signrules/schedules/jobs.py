"""From a door schedule to jobs: each row fills a sign type of the shop."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import define, evolve, field, frozen

from signrules.braille.cells import BLANK
from signrules.documents.lengths import parse_length
from signrules.documents.reading import job_from_dict
from signrules.documents.refusal import Refused
from signrules.documents.stock import NO_STOCK, Stock
from signrules.errors import DocumentFault, JobError, ScheduleError, SignrulesError
from signrules.model.job import Job
from signrules.model.limits import is_braille
from signrules.model.sign import Braille
from signrules.model.wording import NOTHING, listed_names, shown_value
from signrules.schedules.cells import cells_of, shown_text, with_lengths
from signrules.schedules.choosing import (
    id_of_row,
    missing_columns,
    names_asked_for,
    names_of_numbers,
    quantity_of_row,
    type_of_row,
)
from signrules.schedules.columns import (
    ScheduleRow,
    ScheduleRows,
    schedule_rows,
    sought_headings,
)
from signrules.schedules.drawn_types import ArtworkShelf, with_artwork
from signrules.schedules.filling import FilledType, RowFaults, filled_type, grouped_by_rows
from signrules.schedules.lettering import FontShelf, shelf_beside, with_letters
from signrules.schedules.placing import (
    SignPlace,
    parts_off_the_sign,
    placed_sign,
)
from signrules.schedules.records import is_schedule_text, records_of
from signrules.schedules.sign_jobs import job_of_signs
from signrules.standards.common_ranges import Together, together
from signrules.standards.dimension_tables import Standard

SHEET = "sheet"
"""The id of the only sheet of a job."""

NO_COLUMNS: Mapping[str, str] = {}

TRANSLATES = "signrules_translate_braille"
"""The hook by which plugins translate."""


@frozen
class ScheduledSign:
    """The sign of one row: its type with the words of the row, its braille, width and height."""

    id: str
    filled: FilledType
    braille: Braille | None
    size: tuple[float, float]


@frozen
class ScheduledJob:
    """The job of one row of a schedule: a sign of a type, `quantity` times.

    `document` is the job as plain data that names what it takes from the shop, `job` what comes of
    it, `sign` what is drawn, wherever it comes to lie.
    """

    row: int
    type: str
    quantity: int
    job: Job
    document: Mapping[str, Any] = field(repr=False)
    sign: ScheduledSign = field(repr=False)


@frozen
class ScheduledJobs:
    """The jobs of a schedule in the order of its rows.

    `notes` say what was recognised of the schedule, what of it is not read, and what was chosen.
    """

    jobs: tuple[ScheduledJob, ...]
    notes: tuple[str, ...] = ()


def jobs_from_schedule(
    schedule: str | os.PathLike[str],
    shop: object,
    *,
    columns: Mapping[str, str] = NO_COLUMNS,
    plugins: object = None,
    folder: str | os.PathLike[str] = "",
) -> ScheduledJobs:
    """A job for each row of a door schedule: one sign, on a blank of its size.

    `schedule` is a CSV file, a workbook (.xlsx, with the extra `schedules`), or the text of a CSV
    file where it holds a line end. Encoding, separator and decimal commas are recognised. `shop`
    has the sign types, and how schedules are read, in an attribute `stock`, as `read_shop` makes
    it; its fonts and files of artwork are sought from where its file lies. `columns` are headings
    by the names that placeholders call them, over those of the shop. `plugins` are those of
    `job_from_dict`; they may translate and read artwork. `folder` is where the jobs will lie: from
    there they name the files of artwork that they were read from.

    Raises ScheduleError with every fault of all rows; paths read `row 3, column Room No.`, or
    `rows 3 and 5 to 9` for what these have in common, with rows counted as a spreadsheet does;
    SignrulesError where a package of an extra is needed that is not installed.
    """
    stock: Stock = getattr(shop, "stock", NO_STOCK)
    mapped = {**dict(stock.schedule.columns), **columns}
    asked = names_asked_for(stock.sign_types, stock.schedule)
    headings = tuple(sought_headings(mapped, asked).values())
    origin = "" if is_schedule_text(schedule) else os.fspath(schedule)
    try:
        records = records_of(schedule, headings, stock.schedule.worksheet)
    except Refused as refused:
        raise ScheduleError(refused.faults, origin) from None
    numeric = names_of_numbers(stock.sign_types, stock.schedule)
    rows = schedule_rows(records, mapped, asked, numeric, stock.schedule.decimal)
    shelf = shelf_beside(shop)
    drawings = ArtworkShelf(shelf.folder, Path(folder), plugins)
    maker = _Maker(stock, shop, plugins, rows, shelf, drawings)
    made = tuple(maker.jobs())
    if maker.faults:
        raise ScheduleError(grouped_by_rows(maker.faults), origin)
    # Sorted, so that rows in another sequence are told alike.
    of_types = sorted({*maker.type_notes, *shelf.notes, *drawings.notes})
    notes = [*rows.notes, *maker.notes, *of_types]
    return ScheduledJobs(made, tuple(dict.fromkeys(notes)))


@define
class _Maker:
    """Makes the jobs of the rows of one schedule, and collects faults and notes."""

    stock: Stock
    shop: object
    plugins: object
    rows: ScheduleRows
    shelf: FontShelf
    drawings: ArtworkShelf
    faults: list[DocumentFault] = field(factory=list)
    notes: list[str] = field(factory=list)
    type_notes: list[str] = field(factory=list)
    _told: set[DocumentFault] = field(factory=set)
    _ids: dict[str, tuple[str, int]] = field(factory=dict)
    _ranges: dict[tuple[str, ...], Together | None] = field(factory=dict)
    _translated: dict[tuple[str, str, str], str | None] = field(factory=dict)

    def jobs(self) -> Iterator[ScheduledJob]:
        """The job of each row without a fault."""
        self._add(self.rows.faults)
        printer = self._printer()
        if not self.stock.sign_types:
            expected = "a shop file with a table [sign_types.ID]"
            self.faults.append(DocumentFault("sign_types", NOTHING, expected))
        if not printer or not self.stock.sign_types:
            return
        for name, path in missing_columns(self.stock.schedule, self.rows.headings):
            place = f"row {self.rows.header}, column {name}"
            self.faults.append(DocumentFault(place, NOTHING, f"a column that {path} asks for"))
        for row in self.rows.rows:
            faults = RowFaults(row, self.rows)
            yield from self._job_of_row(row, printer, faults)
            # The next row is read all the same: whoever mends a schedule wants all faults at once.
            self._add(faults.found)

    def _add(self, faults: Sequence[DocumentFault]) -> None:
        """Faults of a row; those of the header, which every row has, once."""
        for fault in faults:
            if fault not in self._told:
                self._told.add(fault)
                self.faults.append(fault)

    def _printer(self) -> str:
        """The printer that the schedule names, or the only one of the shop."""
        named = self.stock.schedule.printer
        if named is not None:
            return named
        if len(self.stock.printers) == 1:
            return next(iter(self.stock.printers))
        known = listed_names(list(self.stock.printers)) or "none"
        expected = f"printer in [schedule], one of those of the shop: {known}"
        self.faults.append(DocumentFault("schedule.printer", NOTHING, expected))
        return ""

    def _job_of_row(
        self, row: ScheduleRow, printer: str, faults: RowFaults
    ) -> Iterator[ScheduledJob]:
        use, types = self.stock.schedule, self.stock.sign_types
        quantity = quantity_of_row(use, row, faults)
        # First, since such a row asks for nothing, whatever else it lacks.
        if not quantity and not faults.found:
            self.notes.append(f"row {row.number}: the quantity is 0, so no job is made")
            return
        id = id_of_row(use, row, faults)
        type = type_of_row(use, types, row, faults)
        self._demand_own_id(id, row, faults)
        if type is None:
            return
        filled = filled_type(type, types[type], row, faults)
        if filled is None or faults.found:
            return
        try:
            sign = self._sign(filled, id)
            # Made and read back row by row, so that what the job refuses is told at the row.
            document = self._document(sign, printer)
            job = job_from_dict(document, plugins=self.plugins, shop=self.shop)
        except Refused as refused:
            faults.of_type(list(refused.faults), types[type], filled.path)
        except JobError as error:
            faults.of_type(list(_of_type(error.faults, filled)), types[type], filled.path)
        else:
            yield ScheduledJob(row.number, type, quantity, job, document, sign)

    def _demand_own_id(self, id: str, row: ScheduleRow, faults: RowFaults) -> None:
        """Add a fault where another row has the id, in whatever capitals."""
        first, earlier = self._ids.setdefault(id.casefold(), (id, row.number))
        if id and earlier != row.number:
            expected = f"an id that no other row has; row {earlier} has it too"
            if first != id:
                expected += f", as {shown_value(first)}: capitals tell no ids apart"
            faults.add("", f"the id {shown_value(id)}", expected)

    def _sign(self, filled: FilledType, id: str) -> ScheduledSign:
        """The sign of a row. Raises Refused, with paths into the shop file."""
        self._demand_sheets(filled)
        filled = with_artwork(filled, self.drawings, self.stock, self._translate)
        size = self._size_of(filled)
        limited = self._limited_by(filled.sign_type.standards)
        filled = with_letters(filled, self.shelf, limited)
        return ScheduledSign(id, filled, self._braille(filled), size)

    def _document(self, sign: ScheduledSign, printer: str) -> dict[str, Any]:
        """The job document of one sign on a blank of its own. Raises Refused, with paths into the
        shop file.
        """
        filled, size = sign.filled, sign.size
        place = SignPlace(SHEET, (0.0, 0.0), size[0])
        placed = placed_sign(filled, sign.braille, sign.id, place, size)
        off = list(parts_off_the_sign(placed, filled, place, size))
        if off:
            raise Refused(off)
        blank = {"id": SHEET, "use": filled.sign_type.sheet[0], "size": list(size)}
        standards = filled.sign_type.standards
        return job_of_signs(sign.id, self.stock, printer, standards, [blank], [placed])

    def _demand_sheets(self, filled: FilledType) -> None:
        """Raises Refused for a sheet that the shop does not have."""
        for id in filled.sign_type.sheet:
            if id not in self.stock.sheets:
                expected = f"one of the sheets of the shop: {listed_names(list(self.stock.sheets))}"
                raise _refusal(filled, "sheet", shown_value(id), expected)

    def _size_of(self, filled: FilledType) -> tuple[float, float]:
        """The size of a sign: that of its type, else that of its sheet. Raises Refused."""
        of_sheet = stated_size(self.stock.sheets[filled.sign_type.sheet[0]])
        size = filled.sign_type.size or of_sheet
        if size is None:
            raise _refusal(filled, "size", NOTHING, "a size, or a sheet that has one")
        if of_sheet is not None and not _fits(size, of_sheet):
            found = f"a sign of {size[0]:g} mm by {size[1]:g} mm"
            expected = f"one that its sheet holds, {of_sheet[0]:g} mm by {of_sheet[1]:g} mm"
            raise _refusal(filled, "size", found, expected)
        return size

    def _braille(self, filled: FilledType) -> Braille | None:
        """The braille of a sign with its cells and lengths, if it has any. Raises Refused."""
        sign_type = filled.sign_type
        if sign_type.braille is None:
            return None
        try:
            ranges = self._ranges_of(sign_type.standards)
        except SignrulesError as error:
            raise _refusal(filled, "standards", "an unknown standard", str(error)) from None
        cells = self._cells(filled, sign_type.braille, ranges)
        braille = evolve(sign_type.braille, cells=cells)
        if sign_type.dots is None:
            return braille
        try:
            laid = with_lengths(braille, ranges)
        except SignrulesError as error:
            expected = f"the lengths of its dots, or a standard that says them ({error})"
            raise _refusal(filled, "braille", "not all lengths", expected) from None
        if laid.from_standard:
            names = ", ".join(laid.from_standard)
            standards = ", ".join(sign_type.standards)
            where = f"{filled.path}.braille"
            self.type_notes.append(f"{where}: {names} in the middle of what {standards} allows")
        return laid.braille

    def _cells(self, filled: FilledType, braille: Braille, ranges: Together | None) -> str:
        """The cells of a sign that has braille. Raises Refused where there are none."""
        sign_type = filled.sign_type
        cells = cells_of(sign_type, braille, self._translate, ranges)
        if cells is None or not cells.replace(BLANK, " ").strip():
            raise _refusal(filled, "braille.cells", NOTHING, self._cells_expected(filled, braille))
        if not is_braille(cells):
            expected = "Unicode braille patterns (U+2800 to U+28FF)"
            raise _refusal(filled, "cells", shown_value(cells), expected)
        return cells

    def _cells_expected(self, filled: FilledType, braille: Braille) -> str:
        """What is asked for where a sign has no cells; the same for all rows without any plugin
        that translates.
        """
        expected = "a column for the key cells of the type, or a plugin that translates"
        implementing = getattr(self.plugins, "implementing", None)
        if implementing is not None and any(True for _ in implementing(TRANSLATES)):
            text = shown_text(filled.sign_type.text)
            return f"cells for {text!r}: {expected} {braille.language!r} and knows these words"
        not_loaded = getattr(self.plugins, "not_loaded", ())
        if not_loaded:
            expected += f" {braille.language!r}; installed and not loaded"
            return f"{expected}: {', '.join(not_loaded)}: load_plugins(entry_points=True)"
        return f"{expected} {braille.language!r}"

    def _ranges_of(self, standards: tuple[str, ...]) -> Together | None:
        """What some standards allow together; None without any. Raises SignrulesError for one that
        nobody knows.
        """
        if standards not in self._ranges:
            known: Mapping[str, Standard] = getattr(self.plugins, "standards", {})
            chosen = [known.get(id, id) for id in standards]
            self._ranges[standards] = together(chosen) if chosen else None
        return self._ranges[standards]

    def _limited_by(self, standards: tuple[str, ...]) -> frozenset[str]:
        """The quantities that some standards limit. None of unknown ones, which are told where they
        are needed.
        """
        try:
            ranges = self._ranges_of(standards)
        except SignrulesError:
            return frozenset()
        return frozenset(one.quantity for one in ranges.quantities) if ranges else frozenset()

    def _translate(self, line: str, grade: str, language: str) -> str | None:
        """What the plugins make of a line; each line is asked for once."""
        key = (line, grade, language)
        if key not in self._translated:
            self._translated[key] = self._asked(*key)
        return self._translated[key]

    def _asked(self, line: str, grade: str, language: str) -> str | None:
        translate: Callable[..., Any] | None = getattr(self.plugins, "translate", None)
        if translate is None:
            return None
        cells, failed = translate(line, grade, language)
        self.type_notes += [f"a translator failed: {each}" for each in failed]
        return cells if isinstance(cells, str) else None


def _refusal(filled: FilledType, inside: str, found: str, expected: str) -> Refused:
    """The refusal of what a filled type says at a place."""
    return Refused([DocumentFault(f"{filled.path}.{inside}", found, expected)])


def stated_size(sheet: Mapping[str, Any]) -> tuple[float, float] | None:
    """The size of a stock sheet; None where it states none."""
    if "size" not in sheet:
        return None
    width, height = (parse_length(each) for each in sheet["size"])
    return width, height


def _fits(size: Sequence[float], sheet: Sequence[float]) -> bool:
    """Whether a sign goes onto a sheet, upright or turned by a quarter."""
    # Sorted sides compare the longer with the longer, whichever way each is written.
    return all(a <= b for a, b in zip(sorted(size), sorted(sheet), strict=True))


def _of_type(faults: Sequence[DocumentFault], filled: FilledType) -> Iterator[DocumentFault]:
    """Faults of a job at the places of the sign type that it was made of."""
    for fault in faults:
        inside = fault.path
        if inside.startswith("signs[0]"):
            inside = filled.path + inside.removeprefix("signs[0]")
        elif inside.startswith("passes[") and filled.sign_type.artwork is not None:
            found = f"{fault.found} at {inside} of the job"
            fault, inside = evolve(fault, found=found), f"{filled.path}.artwork"
        elif inside.startswith("passes["):
            inside = f"{filled.path}.{inside}"
        yield evolve(fault, path=inside)
