"""`compose`: from a list of doors and a shop to the bed loads that make all of them."""

from __future__ import annotations

import datetime
import os
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import define, evolve, field, frozen

from signrules.composing.filled_sheets import Sheets, filled_sheets
from signrules.composing.grouping import Settings
from signrules.composing.judged_loads import ComposedLoad, Judging, as_bytes
from signrules.composing.kept_places import Kept, kept_loads
from signrules.composing.load_jobs import BedLoad, job_document, numbered_loads, work_order
from signrules.composing.loads import LaidPiece, Piece, bed_loads, pieces_of, spread_load
from signrules.composing.panels import MICROMETRES, Size
from signrules.composing.units import (
    Unit,
    micrometres_down,
    micrometres_up,
    size_of_stock,
    units_of,
)
from signrules.documents.stock import Stock
from signrules.errors import DocumentFault, WorkOrderError
from signrules.evaluation import Evaluation
from signrules.given_values import day_or_today, demand_given
from signrules.many_jobs.row_setup import Setup, total_setup
from signrules.many_jobs.workers import Executor
from signrules.model.job import Job
from signrules.model.wording import NOTHING, listed_names, number_text
from signrules.model.work_order import PlacingBounds, WorkOrder
from signrules.planning.plan import Plan
from signrules.plugins import Plugins, load_plugins
from signrules.schedules.jobs import NO_COLUMNS, ScheduledJob, ScheduledJobs, jobs_from_schedule
from signrules.schedules.sign_jobs import sheets_on_relief
from signrules.shop import Shop
from signrules.work_order_files import fitting_work_order

HEIGHT_DECIMALS = 6
"""Heads at one height to a nanometre, the guard of lengths, are at one setting."""


@frozen
class Composition:
    """The bed loads that make the signs of a schedule, in the order of printing.

    `order` says where each sign lies; `proven` whether, beside what is kept, no placing takes fewer
    stock sheets, or as many and fewer bed loads. `least_setup` is what any sequence of these loads
    takes at the least, as bed loads and weight of set-up. `notes` say what was recognised of the
    schedule, what was chosen, and why a load has no safe order. From `folder` the jobs name their
    files of artwork.
    """

    order: WorkOrder
    loads: tuple[ComposedLoad, ...]
    least_setup: tuple[int, float] = (0, 0.0)
    folder: Path = field(factory=Path.cwd)

    @property
    def setup(self) -> Setup:
        """The set-up of all loads in a row."""
        setups = (load.carried.setup for load in self.loads)
        return total_setup(each for each in setups if each is not None)

    @property
    def notes(self) -> tuple[str, ...]:
        """What is worth telling."""
        return self.order.notes

    @property
    def proven(self) -> bool:
        """Whether stock sheets and bed loads are as few as the bounds."""
        # Both counts at their bounds at once: fewer sheets with more loads would not be better.
        counts = PlacingBounds(len(self.order.stock_sheets), len(self.order.loads))
        return counts == self.order.at_least


def compose(
    schedule: str | os.PathLike[str],
    shop: Shop,
    *,
    columns: Mapping[str, str] = NO_COLUMNS,
    plugins: Plugins | None = None,
    name: str = "",
    keep: WorkOrder | str | os.PathLike[str] | None = None,
    today: datetime.date | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] = "",
    kept_in: str | os.PathLike[str] | None = None,
) -> Composition:
    """The signs of a door schedule on stock sheets, and these in bed loads, each a job.

    `schedule`, `columns`, `plugins` and `folder` are those of `jobs_from_schedule`;
    `[composition]` of the shop says what is kept free and what signs are printed on. It takes as
    few stock sheets as it finds, then as few bed loads, then as few gap settings. `today` is that
    of `evaluate`.

    An `executor`, as that of `evaluate_many`, judges the loads in their places; the rest is done
    here. `kept_in` is a folder in which the judgement of each load is kept, to be read there
    another time. Neither changes what comes of it. What stays of a load is a `ComposedLoad`.

    Signs of an earlier work order, `keep`, stay where they lie as long as the schedule asks for
    them with the type and size that they had; the others are placed beside them and on new sheets.
    Where `keep` is its folder or its file, it is held against the jobs that lie beside it too.

    Raises ScheduleError for faults of the schedule, WorkOrderError where a sign goes onto no sheet
    or a blank not onto the bed, or where `keep` does not fit its jobs or the shop; SignrulesError
    for a folder that cannot be made, NotEvaluated where a worker died.
    """
    demand_given("compose", (plugins, Plugins | None), (shop, Shop))
    plugins = load_plugins() if plugins is None else plugins
    if isinstance(keep, str | os.PathLike):
        keep = fitting_work_order(keep, plugins=plugins, shop=shop)
    scheduled = jobs_from_schedule(schedule, shop, columns=columns, plugins=plugins, folder=folder)
    today = day_or_today(today)
    kept_folder = None if kept_in is None else Path(kept_in)
    composer = _Composer(Judging(shop, plugins, today), executor, kept_folder)
    found = composer.composition(scheduled, name, keep)
    return evolve(found, folder=Path(folder).absolute())


@define
class _Composer:
    """Composes for one shop."""

    judging: Judging
    executor: Executor | None
    kept_in: Path | None
    printer: str = ""
    head_length: int = 0
    sheets: Sheets = field(init=False)
    notes: list[str] = field(factory=list)

    @property
    def stock(self) -> Stock:
        """What the shop has."""
        return self.judging.shop.stock

    def composition(
        self, scheduled: ScheduledJobs, name: str, keep: WorkOrder | None
    ) -> Composition:
        """All signs of some rows in bed loads."""
        self.notes += scheduled.notes
        if not scheduled.jobs:
            return self._without_signs(name)
        # All rows are printed by the one printer of the shop file, so the first job tells its bed
        # and head.
        first = scheduled.jobs[0]
        self.printer = str(first.document["printer"])
        sheets = self.sheets = Sheets(self.stock, _bed_size(first.job))
        self.head_length = micrometres_up(first.job.printer.head_length)
        self._note_what_touches()
        units = units_of(scheduled.jobs, self._settings_by_type(scheduled.jobs))
        kept = Kept((), tuple(units)) if keep is None else kept_loads(keep, units, sheets)
        if kept.changed:
            self.notes.append(
                f"placed anew, of another type or size: {listed_names(list(kept.changed))}"
            )
        _demand_room(kept.left, sheets)
        self._note_sheets_without_size(units)
        at_least = _bounds_of(kept)
        loads = list(kept.loads)
        # A job has one list of standards for all its signs, so signs of two lists share no load.
        for standards, some in _by_standards(kept.left).items():
            filling = filled_sheets(some, sheets)
            pieces = pieces_of(filling.sheets, some, sheets)
            loading = bed_loads(pieces, sheets, self.head_length)
            if loading is None:
                raise WorkOrderError(_blanks_off_the_bed(pieces, sheets))
            if not kept.loads:
                # Beside placements that stay, what else is needed is found and not bounded.
                at_least = PlacingBounds(
                    at_least.stock_sheets + filling.at_least, at_least.loads + loading.at_least
                )
            loads += (BedLoad(standards, load) for load in loading.loads)
        by_id = {unit.id: unit for unit in units}
        return self._in_order(self._safe_loads(loads, by_id), by_id, name, at_least)

    def _without_signs(self, name: str) -> Composition:
        self.notes.append("no row asks for a sign, so nothing is made")
        printer = next(iter(self.stock.printers), "")
        order = WorkOrder(name, printer, PlacingBounds(0, 0), notes=tuple(self.notes))
        return Composition(order, ())

    def _note_what_touches(self) -> None:
        """Tell where nothing is kept free: shops that say nothing may not mean that."""
        use = self.stock.composition
        if use.gutter == 0:
            self.notes.append("[composition] keeps no gutter, so signs may touch and leave no cut")
        if use.margin == 0:
            self.notes.append("[composition] keeps no margin, so signs may reach the sheet's edge")

    def _note_sheets_without_size(self, units: Sequence[Unit]) -> None:
        """Tell of sheets that signs may be made of and that none can be placed on."""
        named = dict.fromkeys(id for unit in units for id in unit.stocks)
        for id in named:
            if size_of_stock(self.stock.sheets[id]) is None:
                self.notes.append(f"sheets.{id} states no size, so no sign is placed on it")

    def _settings_by_type(self, jobs: Sequence[ScheduledJob]) -> dict[str, Settings]:
        """The heights of the head above the bed at which the signs of each type are printed.

        They are those of the plan of one sign of the type alone, the first by its id; nothing where
        it has none.
        """
        first: dict[str, ScheduledJob] = {}
        for each in sorted(jobs, key=lambda job: job.sign.id):
            first.setdefault(each.type, each)
        # Signs of one type differ in words alone, and words change no height.
        return {
            type: _settings_of(self.judging.evaluated(each.job)) for type, each in first.items()
        }

    def _safe_loads(self, loads: Sequence[BedLoad], units: Mapping[str, Unit]) -> list[BedLoad]:
        """The loads, those of several thicknesses taken apart that have no safe order together."""
        found: list[BedLoad] = []
        for load in loads:
            # A load with an id was there before and stays as it was promised; one piece stands in
            # no way.
            if load.id or len(load.pieces) == 1:
                found.append(load)
                continue
            # Packing knows sizes and gaps and no heights. Whether the heads clear is for the
            # planner to say.
            parts = _by_thickness(load, self.sheets)
            ways = self._ways_to_lie(load)
            if len(parts) == len(ways) == 1:
                found.append(load)
                continue
            # A plane that is set for a thick sheet may be too high for the thin one in its band:
            # spread out, the pieces do not meet under one head. That can cost settings too, so both
            # are planned.
            best = self._with_least_setup(ways, units)
            if best is not None or len(parts) == 1:
                found.append(best or load)
                continue
            self.notes.append(
                f"sheets of {len(parts)} thicknesses have no safe order on one bed, so they are"
                " loads of their own"
            )
            found += parts
        return found

    def _ways_to_lie(self, load: BedLoad) -> list[BedLoad]:
        """A load as it is, and with its pieces spread along y where the bed has room for that."""
        pieces = spread_load(load.pieces, self.sheets, self.head_length)
        return [load] if pieces is None else [load, evolve(load, pieces=pieces)]

    def _with_least_setup(
        self, ways: Sequence[BedLoad], units: Mapping[str, Unit]
    ) -> BedLoad | None:
        """The first of those whose plan takes the least set-up; None where none has a plan."""
        costs = []
        for number, load in enumerate(ways):
            plan = self._plan(load, units)
            if plan is not None:
                costs.append((plan.cost, number))
        return ways[min(costs)[1]] if costs else None

    def _plan(self, load: BedLoad, units: Mapping[str, Unit]) -> Plan | None:
        (numbered,) = numbered_loads([load])
        document = job_document(numbered, "", units, self.stock, self.printer)
        return self.judging.evaluated(self.judging.job(document)).plan

    def _in_order(
        self,
        loads: Sequence[BedLoad],
        units: Mapping[str, Unit],
        name: str,
        at_least: PlacingBounds,
    ) -> Composition:
        """The loads in the order that takes the least set-up, each judged in its place."""
        documents = self._documents(numbered_loads(loads), units, "")
        sequence = self.judging.sequence(self.judging.job(document) for document in documents)
        numbered = numbered_loads([loads[number] for number in sequence.order])
        in_bytes = []
        for document in self._documents(numbered, units, name):
            in_bytes.append(as_bytes(document))
            self._note_relief_below(document)
        names = [load.id for load in numbered]
        composed = tuple(
            self.judging.composed(sequence, names, in_bytes, self.executor, self.kept_in)
        )
        for load in composed:
            if load.summary.why_not:
                self.notes.append(f"{load.id} has no safe order: {load.summary.why_not}")
        order = work_order(
            numbered,
            units,
            self.stock,
            name=name,
            printer=self.printer,
            at_least=at_least,
            notes=tuple(dict.fromkeys(self.notes)),
        )
        return Composition(order, composed, sequence.least_beside(composed))

    def _note_relief_below(self, document: Mapping[str, Any]) -> None:
        for sheet in sheets_on_relief(document):
            self.notes.append(
                f"{sheet} is turned over onto relief and then lies on it: look that it lies firm,"
                " and that the relief is cured and bears it"
            )

    def _documents(
        self, loads: Iterable[BedLoad], units: Mapping[str, Unit], name: str
    ) -> Iterator[Mapping[str, Any]]:
        for load in loads:
            title = f"{name}, {load.id}" if name else load.id
            yield job_document(load, title, units, self.stock, self.printer)


def _bounds_of(kept: Kept) -> PlacingBounds:
    """What is taken for placements that stay, which is the fewest with them."""
    sheets = {id for load in kept.loads for id in load.sheet_ids}
    return PlacingBounds(len(sheets), len(kept.loads))


def _bed_size(job: Job) -> Size:
    width, height = job.printer.bed
    return micrometres_down(width), micrometres_down(height)


def _settings_of(evaluation: Evaluation) -> Settings:
    if evaluation.plan is None:
        return frozenset()
    printings = evaluation.plan.timeline.printings.values()
    return frozenset(round(each.plane.height.nominal, HEIGHT_DECIMALS) for each in printings)


def _by_standards(units: Sequence[Unit]) -> dict[tuple[str, ...], list[Unit]]:
    found: dict[tuple[str, ...], list[Unit]] = defaultdict(list)
    for unit in units:
        found[unit.standards].append(unit)
    return found


def _by_thickness(load: BedLoad, sheets: Sheets) -> list[BedLoad]:
    found: dict[str, list[LaidPiece]] = defaultdict(list)
    for laid in load.pieces:
        found[sheets.thickness(laid.piece.stock)].append(laid)
    return [BedLoad(load.standards, tuple(pieces)) for pieces in found.values()]


def _demand_room(units: Sequence[Unit], sheets: Sheets) -> None:
    """Raises WorkOrderError for each type of which a sign goes onto no sheet."""
    faults: dict[str, DocumentFault] = {}
    for unit in units:
        if sheets.makes_for(unit):
            continue
        filled = unit.sign.filled
        unsized = [id for id in unit.stocks if size_of_stock(sheets.stock.sheets[id]) is None]
        for id in unsized:
            path = f"sheets.{id}.size"
            expected = f"the size of the sheet, from which signs of {filled.path} are cut"
            faults.setdefault(path, DocumentFault(path, NOTHING, expected))
        if unsized:
            continue
        width, height = (number_text(side) for side in unit.sign.size)
        expected = (
            f"a sheet that holds it within the margins of [composition], lying as"
            f" turning and grain allow, and that lies on the bed: {listed_names(list(unit.stocks))}"
        )
        found = f"a sign of {width} mm by {height} mm (row {unit.row})"
        faults.setdefault(filled.id, DocumentFault(f"{filled.path}.sheet", found, expected))
    if faults:
        raise WorkOrderError(faults.values())


def _blanks_off_the_bed(pieces: Sequence[Piece], sheets: Sheets) -> Iterator[DocumentFault]:
    """The largest blank, which the bed does not hold."""
    largest = max(pieces, key=lambda piece: (max(piece.size), min(piece.size)))
    width, height = (number_text(side / MICROMETRES) for side in largest.size)
    found = f"a blank of {width} mm by {height} mm"
    bed_width, bed_height = (number_text(side / MICROMETRES) for side in sheets.bed_room)
    expected = f"one that lies on {bed_width} mm by {bed_height} mm, the bed within its margins"
    yield DocumentFault(f"signs.{largest.signs[0][0]}", found, expected)
