"""From a door schedule to jobs: each row fills a sign type of the shop."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from attrs import define, evolve, field, frozen

from signrules.documents.lengths import parse_length
from signrules.documents.reading import VERSION, job_from_dict
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
from signrules.schedules.filling import FilledType, RowFaults, filled_type
from signrules.schedules.placing import (
    SignPlace,
    parts_off_the_sign,
    passes_of,
    placed_sign,
)
from signrules.schedules.records import records_of
from signrules.standards.common_ranges import Together, together
from signrules.standards.dimension_tables import Standard

SHEET = "sheet"
"""The id of the only sheet of a job."""

NO_COLUMNS: Mapping[str, str] = {}


@frozen
class ScheduledJob:
    """The job of one row of a schedule: a sign of a type, `quantity` times."""

    row: int
    type: str
    quantity: int
    job: Job


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
) -> ScheduledJobs:
    """A job for each row of a door schedule: one sign, on a blank of its size.

    `schedule` is a CSV file, a workbook (.xlsx, with the extra `schedules`), or the text of a CSV
    file where it holds a line end. Encoding, separator and decimal commas are recognised. `shop`
    has the sign types, and how schedules are read, in an attribute `stock`, as `read_shop` makes
    it. `columns` are headings by the names that placeholders call them, over those of the shop.
    `plugins` are those of `job_from_dict`; one of them may translate.

    Raises ScheduleError with every fault of all rows; paths read `row 3, column Room No.`, with
    rows counted as a spreadsheet does.
    """
    stock: Stock = getattr(shop, "stock", NO_STOCK)
    mapped = {**dict(stock.schedule.columns), **columns}
    asked = names_asked_for(stock.sign_types, stock.schedule)
    headings = tuple(sought_headings(mapped, asked).values())
    origin = schedule if isinstance(schedule, str) and "\n" not in schedule else ""
    origin = os.fspath(schedule) if isinstance(schedule, os.PathLike) else origin
    try:
        records, origin = records_of(schedule, headings, stock.schedule.worksheet)
    except Refused as refused:
        raise ScheduleError(refused.faults, origin) from None
    numeric = names_of_numbers(stock.sign_types, stock.schedule)
    rows = schedule_rows(records, mapped, asked, numeric, stock.schedule.decimal)
    maker = _Maker(stock, shop, plugins, rows)
    made = tuple(maker.jobs())
    if maker.faults:
        raise ScheduleError(maker.faults, origin)
    return ScheduledJobs(made, tuple(dict.fromkeys([*rows.notes, *maker.notes])))


@define
class _Maker:
    """Makes the jobs of the rows of one schedule, and collects faults and notes."""

    stock: Stock
    shop: object
    plugins: object
    rows: ScheduleRows
    faults: list[DocumentFault] = field(factory=list)
    notes: list[str] = field(factory=list)
    _ids: dict[str, int] = field(factory=dict)
    _ranges: dict[tuple[str, ...], Together | None] = field(factory=dict)
    _translated: dict[tuple[str, str, str], str | None] = field(factory=dict)

    def jobs(self) -> Iterator[ScheduledJob]:
        """The job of each row without a fault."""
        self.faults += self.rows.faults
        printer = self._printer()
        if not self.stock.sign_types:
            expected = "a shop file with a table [sign_types.ID]"
            self.faults.append(DocumentFault("sign_types", NOTHING, expected))
            return
        for name, path in missing_columns(self.stock.schedule, self.rows.headings):
            place = f"row {self.rows.header}, column {name}"
            self.faults.append(DocumentFault(place, NOTHING, f"a column that {path} asks for"))
        for row in self.rows.rows:
            faults = RowFaults(row, self.rows)
            yield from self._job_of_row(row, printer, faults)
            self.faults += faults.found

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
        id = id_of_row(use, row, faults)
        quantity = quantity_of_row(use, row, faults)
        type = type_of_row(use, types, row, faults)
        if id and self._ids.setdefault(id, row.number) != row.number:
            expected = f"an id that no other row has; row {self._ids[id]} has it too"
            faults.add("", f"the id {shown_value(id)}", expected)
        if type is None:
            return
        filled = filled_type(type, types[type], row, faults)
        if filled is None or faults.found:
            return
        document = self._document(filled, id, printer, faults)
        if document is None:
            return
        if not quantity:
            self.notes.append(f"row {row.number}: the quantity is 0, so no job is made")
            return
        try:
            job = job_from_dict(document, plugins=self.plugins, shop=self.shop)
        except JobError as error:
            faults.of_type(list(_of_type(error.faults, filled)), filled.table, filled.path)
        else:
            yield ScheduledJob(row.number, type, quantity, job)

    def _document(
        self, filled: FilledType, id: str, printer: str, faults: RowFaults
    ) -> dict[str, Any] | None:
        """The job document of one sign on a blank of its own; None with a fault that is added."""
        size = self._size_of(filled, faults)
        if size is None:
            return None
        braille = self._braille(filled, faults)
        if braille is None and filled.sign_type.braille is not None:
            return None
        place = SignPlace(SHEET, (0.0, 0.0), size[0])
        placed = placed_sign(filled, braille, id, place, size)
        off = list(parts_off_the_sign(placed, filled, place, size))
        if off:
            faults.of_type(off, self.stock.sign_types[filled.id], filled.path)
            return None
        document: dict[str, Any] = {
            "signrules": VERSION,
            "name": id,
            "printer": printer,
            "media": [{"id": SHEET, "use": filled.sign_type.sheet, "size": list(size)}],
            "passes": passes_of([placed]),
            "signs": [placed.sign],
        }
        if filled.sign_type.standards:
            document["standards"] = list(filled.sign_type.standards)
        tolerance = self.stock.schedule.registration_tolerance
        if tolerance is not None:
            document["registration_tolerance"] = tolerance
        return document

    def _size_of(self, filled: FilledType, faults: RowFaults) -> tuple[float, float] | None:
        """The size of a sign: that of its type, else that of its sheet."""
        sheet = self.stock.sheets.get(filled.sign_type.sheet)
        if sheet is None:
            expected = f"one of the sheets of the shop: {listed_names(list(self.stock.sheets))}"
            fault = DocumentFault(
                f"{filled.path}.sheet", shown_value(filled.sign_type.sheet), expected
            )
            faults.of_type([fault], self.stock.sign_types[filled.id], filled.path)
            return None
        stock_size = None
        if "size" in sheet:
            stock_size = tuple(parse_length(each) for each in sheet["size"])
        size = filled.sign_type.size or stock_size
        if size is None:
            fault = DocumentFault(f"{filled.path}.size", NOTHING, "a size, or a sheet that has one")
            faults.of_type([fault], self.stock.sign_types[filled.id], filled.path)
            return None
        if stock_size is not None and not _fits(size, stock_size):
            found = f"a sign of {size[0]:g} mm by {size[1]:g} mm"
            expected = f"one that its sheet holds, {stock_size[0]:g} mm by {stock_size[1]:g} mm"
            fault = DocumentFault(f"{filled.path}.size", found, expected)
            faults.of_type([fault], self.stock.sign_types[filled.id], filled.path)
            return None
        return size[0], size[1]

    def _braille(self, filled: FilledType, faults: RowFaults) -> Braille | None:
        """The braille of a sign with its cells and lengths; None without any, or with a fault."""
        sign_type = filled.sign_type
        if sign_type.braille is None:
            return None
        table = self.stock.sign_types[filled.id]
        ranges = self._ranges_of(sign_type.standards, filled, faults)
        cells = cells_of(sign_type, self._translate, ranges)
        if cells is None:
            text = shown_text(sign_type.text)
            expected = (
                f"cells for {text!r}: cells from a column, or a plugin that translates"
                f" {sign_type.braille.language!r}"
            )
            where = f"{filled.path}.braille.cells"
            faults.of_type([DocumentFault(where, NOTHING, expected)], table, filled.path)
            return None
        if not is_braille(cells):
            expected = "Unicode braille patterns (U+2800 to U+28FF)"
            fault = DocumentFault(f"{filled.path}.cells", shown_value(cells), expected)
            faults.of_type([fault], table, filled.path)
            return None
        braille = evolve(sign_type.braille, cells=cells)
        if sign_type.dots is None:
            return braille
        try:
            with_all = with_lengths(braille, ranges)
        except SignrulesError as error:
            expected = f"the lengths of its dots, or a standard that says them ({error})"
            fault = DocumentFault(f"{filled.path}.braille", "not all lengths", expected)
            faults.of_type([fault], table, filled.path)
            return None
        if with_all.from_standard:
            names = ", ".join(with_all.from_standard)
            standards = ", ".join(sign_type.standards)
            self.notes.append(
                f"{filled.path}.braille: {names} are in the middle of what {standards} allows"
            )
        return with_all.braille

    def _ranges_of(
        self, standards: tuple[str, ...], filled: FilledType, faults: RowFaults
    ) -> Together | None:
        """What some standards allow together; None where there are none or one is not known.

        One that is not known is told when the job is judged.
        """
        if standards not in self._ranges:
            known: Mapping[str, Standard] = getattr(self.plugins, "standards", {})
            try:
                chosen = [known.get(id, id) for id in standards]
                self._ranges[standards] = together(chosen) if chosen else None
            except SignrulesError:
                self._ranges[standards] = None
        return self._ranges[standards]

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
        self.notes += [f"a translator failed: {each}" for each in failed]
        return cells if isinstance(cells, str) else None


def _fits(size: Sequence[float], sheet: Sequence[float]) -> bool:
    """Whether a sign goes onto a sheet, upright or turned by a quarter."""
    return all(a <= b for a, b in zip(sorted(size), sorted(sheet), strict=True))


def _of_type(faults: Sequence[DocumentFault], filled: FilledType) -> Iterator[DocumentFault]:
    """Faults of a job at the places of the sign type that it was made of."""
    for fault in faults:
        inside = fault.path
        if inside.startswith("signs[0]"):
            inside = filled.path + inside.removeprefix("signs[0]")
        elif inside.startswith("passes["):
            inside = f"{filled.path}.{inside}"
        yield evolve(fault, path=inside)
