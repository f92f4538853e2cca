"""What is to be placed: each sign of a schedule once, with the ways in which it may lie."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from attrs import frozen

from signrules.composing.grouping import Likeness, Settings
from signrules.composing.panels import MICROMETRES, Size
from signrules.composing.rectangles import Frame, Rectangle
from signrules.documents.stock import Stock
from signrules.errors import DocumentFault, ScheduleError
from signrules.model.quantities import GUARD_MM
from signrules.model.work_order import TURNED, UPRIGHT
from signrules.schedules.jobs import ScheduledJob, ScheduledSign, stated_size


@frozen
class Unit:
    """One sign to be made. Signs of one row differ in their ids alone."""

    id: str
    row: int
    sign: ScheduledSign
    settings: Settings

    @property
    def stocks(self) -> tuple[str, ...]:
        """The stock sheets that it may be made of."""
        return self.sign.filled.sign_type.sheet

    @property
    def standards(self) -> tuple[str, ...]:
        """The dimension tables that it is sold under."""
        return self.sign.filled.sign_type.standards


def micrometres_up(length_mm: float) -> int:
    """A length in whole micrometres, none of it lost."""
    # Without the guard 100 mm that came out as 100.00000000000001 would be a micrometre more, and a
    # sign that fits by the drawing would not.
    return math.ceil((length_mm - GUARD_MM) * MICROMETRES)


def micrometres_down(length_mm: float) -> int:
    """A length in whole micrometres, none added."""
    return math.floor((length_mm + GUARD_MM) * MICROMETRES)


def units_of(jobs: Sequence[ScheduledJob], settings: Mapping[str, Settings]) -> list[Unit]:
    """The signs of all rows, sorted by id; `settings` are those of each type.

    Of a row that asks for several, each has its number after the id. Raises ScheduleError where
    two signs would have one id.
    """
    units = [
        Unit(id, each.row, each.sign, settings[each.type]) for each in jobs for id in _ids_of(each)
    ]
    repeated = [id for id, times in Counter(unit.id for unit in units).items() if times > 1]
    if repeated:
        raise ScheduleError(_repeated_faults(units, repeated))
    return sorted(units, key=lambda unit: unit.id)


def _ids_of(job: ScheduledJob) -> Iterator[str]:
    if job.quantity == 1:
        yield job.sign.id
        return
    digits = len(str(job.quantity))
    for number in range(1, job.quantity + 1):
        yield f"{job.sign.id}-{number:0{digits}}"


def _repeated_faults(units: Sequence[Unit], repeated: Sequence[str]) -> Iterator[DocumentFault]:
    for id in repeated:
        rows = sorted({unit.row for unit in units if unit.id == id})
        numbered = "several signs of a row are numbered, and another row has that id"
        yield DocumentFault(f"row {rows[-1]}", f"the id {id!r}", f"an id of its own: {numbered}")


@frozen
class Lying:
    """How signs may lie on a sheet: whether they may turn, and along which axis its grain runs."""

    may_turn: bool
    grain: str | None = None

    def ways(self, unit: Unit) -> tuple[str, ...]:
        """The ways in which a sign may lie; none where it would have to turn and may not."""
        sign_type = unit.sign.filled.sign_type
        back = any(item.side == "back" for item in sign_type.passes)
        # Places on the back are mirrored along x; those of a turned sign would be along y, which no
        # table of a sign type says.
        allowed = (UPRIGHT,) if back or not self.may_turn else (UPRIGHT, TURNED)
        if self.grain is None:
            return allowed
        wanted = UPRIGHT if self.grain == sign_type.grain else TURNED
        return tuple(way for way in allowed if way == wanted)


def lying_on(stock: Stock, sheet: str, cut: str = UPRIGHT) -> Lying:
    """How signs may lie on a sheet that is cut from stock upright or turned."""
    grain = dict(stock.composition.grain).get(sheet)
    if grain is not None and cut == TURNED:
        grain = "y" if grain == "x" else "x"
    return Lying(stock.composition.turning == "allowed", grain)


def rectangle_of(unit: Unit, lying: Lying, gutter: int) -> Rectangle | None:
    """A sign with the gutter to its right and above it; None where it may not lie at all."""
    ways = lying.ways(unit)
    if not ways:
        return None
    width, height = (micrometres_up(side) + gutter for side in unit.sign.size)
    return Rectangle(unit.id, width, height, ways, Likeness(unit.settings))


def frame_within(size: Size, margin: int, gutter: int) -> Frame:
    """The room of a sheet within its margins; the gutter of the last one may reach beyond."""
    # Each sign is packed with a gutter at its right and top; along the far edges no saw cuts there.
    width, height = (side - 2 * margin + gutter for side in size)
    return Frame(max(width, 0), max(height, 0), margin, margin)


def size_of_stock(sheet: Mapping[str, Any]) -> Size | None:
    """The size of a stock sheet in micrometres; None where it states none."""
    size = stated_size(sheet)
    return None if size is None else (micrometres_down(size[0]), micrometres_down(size[1]))
