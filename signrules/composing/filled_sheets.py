"""Which stock sheets the signs are made of, and where each lies on its sheet.

Signs of one list of standards lie together, since a job has one list. What decides: the fewest
stock sheets, then the fewest gap settings, then the least area of stock.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice, permutations, product
from typing import Any

from attrs import evolve, field, frozen

from signrules.composing.grouping import Grouping, Room, Spots, cost_of, grouped
from signrules.composing.panels import Panels, Size, panels_of
from signrules.composing.rectangles import Packed, Rectangle
from signrules.composing.units import (
    Unit,
    frame_within,
    lying_on,
    micrometres_up,
    rectangle_of,
    size_of_stock,
)
from signrules.documents.stock import Stock
from signrules.model.work_order import UPRIGHT

MOST_CHOICES = 64
"""So many ways to choose among the sheets that types allow are tried."""

MOST_STOCKS_IN_TURN = 24


Make = tuple[str, ...]
"""What stock sheets have in common that differ in nothing but their size."""


@frozen
class FilledSheet:
    """Signs on one panel, or on one stock sheet from which they are cut before they are printed."""

    panels: Panels
    spots: Spots


@frozen
class Filling:
    """All signs of one list of standards on sheets, and a bound on the stock sheets."""

    sheets: tuple[FilledSheet, ...]
    at_least: int

    @property
    def cost(self) -> tuple[int, int, int]:
        """Stock sheets, gap settings if each sheet is a load of its own, and area of stock."""
        bins: Packed = tuple(sheet.spots for sheet in self.sheets)
        area = sum(sheet.panels.size[0] * sheet.panels.size[1] for sheet in self.sheets)
        return stock_sheets_of(self.sheets), cost_of(bins)[1], area


def stock_sheets_of(sheets: Iterable[FilledSheet]) -> int:
    """How many sheets are taken from stock for some panels."""
    counts: dict[Panels, int] = defaultdict(int)
    for sheet in sheets:
        counts[sheet.panels] += 1
    # Rounded up: a sheet that is cut for one panel more is a whole sheet of stock.
    return sum(-(-count // len(panels.corners)) for panels, count in counts.items())


@frozen(eq=False)
class Sheets:
    """The stock sheets of a shop, as signs are placed on them. Lengths in micrometres."""

    stock: Stock
    bed: Size
    _panels: dict[str, Panels | None] = field(factory=dict)

    @property
    def gutter(self) -> int:
        """What is kept free between signs."""
        return micrometres_up(self.stock.composition.gutter)

    @property
    def bed_room(self) -> Size:
        """What the bed holds within its margins."""
        margin = micrometres_up(self.stock.composition.bed_margin)
        return self.bed[0] - 2 * margin, self.bed[1] - 2 * margin

    def panels(self, id: str) -> Panels | None:
        """What a stock sheet gives; None where it states no size or the bed holds no part of it."""
        if id not in self._panels:
            size = size_of_stock(self.stock.sheets[id])
            self._panels[id] = None if size is None else self._panels_of(id, size)
        return self._panels[id]

    def _panels_of(self, id: str, size: Size) -> Panels | None:
        if self.stock.composition.print_on == "blanks":
            return Panels(id, size, UPRIGHT, ((0, 0),))
        return panels_of(id, size, self.bed_room, self.gutter)

    def room(self, panels: Panels) -> Room:
        """An empty panel within its margins."""
        margin = micrometres_up(self.stock.composition.margin)
        return Room((frame_within(panels.size, margin, self.gutter),))

    def rectangle(self, unit: Unit, panels: Panels) -> Rectangle | None:
        """A sign as it may lie on a panel; None where it does not go onto an empty one."""
        lying = lying_on(self.stock, panels.stock, panels.cut)
        found = rectangle_of(unit, lying, self.gutter)
        if found is None:
            return None
        (frame,) = self.room(panels).frames
        ways = tuple(
            way
            for way in found.ways
            if found.size(way)[0] <= frame.width and found.size(way)[1] <= frame.height
        )
        return evolve(found, ways=ways) if ways else None

    def holds(self, unit: Unit, id: str) -> bool:
        """Whether a stock sheet holds a sign."""
        panels = self.panels(id)
        return panels is not None and self.rectangle(unit, panels) is not None

    def thickness(self, id: str) -> str:
        """What a stock sheet states of its thickness; alike texts are one thickness."""
        return str(self.stock.sheets[id].get("thickness", ""))

    def makes_for(self, unit: Unit) -> tuple[Make, ...]:
        """The makes of sheet that hold a sign, in the order in which its type names them."""
        held = (id for id in unit.stocks if self.holds(unit, id))
        return tuple(dict.fromkeys(self.make(id) for id in held))

    def make(self, id: str) -> Make:
        """What stock sheets have in common that differ in nothing but their size."""
        table = self.stock.sheets[id]
        same: Mapping[str, Any] = {key: table[key] for key in sorted(table) if key != "size"}
        return tuple(f"{key}={value!r}" for key, value in same.items())


def filled_sheets(units: Sequence[Unit], sheets: Sheets) -> Filling:
    """The best way found to place signs of one list of standards, each of which some sheet holds.

    Where signs may be made of sheets of several makes, every choice among them is tried, up to
    `MOST_CHOICES`; beyond that the bound is no more than 0.
    """
    makes = {unit.id: sheets.makes_for(unit) for unit in units}
    open_makes = list(dict.fromkeys(makes.values()))
    choices = list(islice(product(*open_makes), MOST_CHOICES + 1))
    found = []
    for choice in choices[:MOST_CHOICES]:
        chosen = dict(zip(open_makes, choice, strict=True))
        found.append(_filled_by_make(units, {id: chosen[own] for id, own in makes.items()}, sheets))
    best = min(found, key=lambda filling: filling.cost)
    # The bound is the least of all choices. With one that was not looked at, nothing is known.
    complete = len(choices) <= MOST_CHOICES
    return evolve(best, at_least=min(each.at_least for each in found) if complete else 0)


def _filled_by_make(units: Sequence[Unit], chosen: Mapping[str, Make], sheets: Sheets) -> Filling:
    """Signs on sheets of the make that is chosen for each."""
    by_make: dict[Make, list[Unit]] = defaultdict(list)
    for unit in units:
        by_make[chosen[unit.id]].append(unit)
    found = [_filled_of_make(some, make, sheets) for make, some in sorted(by_make.items())]
    every = tuple(chain.from_iterable(filling.sheets for filling in found))
    return Filling(every, sum(filling.at_least for filling in found))


def _filled_of_make(units: Sequence[Unit], make: Make, sheets: Sheets) -> Filling:
    """Signs on sheets that differ in size alone: one size after the other takes what it may."""
    stocks = sorted(
        {id for unit in units for id in unit.stocks if sheets.make(id) == make},
        key=lambda id: (-_area(sheets.panels(id)), id),
    )
    # Largest first is mostly best, and where a small sheet alone holds the rest it is not.
    turns = islice(permutations(stocks), MOST_STOCKS_IN_TURN)
    fillings = [_filled_in_turn(units, turn, sheets) for turn in turns]
    best = min((each for each in fillings if each is not None), key=lambda each: each.cost)
    smaller = tuple(_on_a_smaller_sheet(each, stocks, units, sheets) for each in best.sheets)
    # Panels of a large sheet come several at a time, so to take small ones instead may cost sheets.
    if stock_sheets_of(smaller) <= stock_sheets_of(best.sheets):
        best = evolve(best, sheets=smaller)
    return evolve(best, at_least=max(best.at_least, _fewest_sheets(units, stocks, sheets)))


def _area(panels: Panels | None) -> int:
    return 0 if panels is None else panels.size[0] * panels.size[1]


def _filled_in_turn(units: Sequence[Unit], stocks: Sequence[str], sheets: Sheets) -> Filling | None:
    """Each size of sheet takes all signs that it may and that are left; None if some remain."""
    left = list(units)
    filled: list[FilledSheet] = []
    at_least = 0
    for id in stocks:
        panels = sheets.panels(id)
        if panels is None:
            continue
        own = rectangles_on(left, panels, sheets)
        found = grouped(list(own.values()), sheets.room(panels)) or Grouping()
        filled += (FilledSheet(panels, spots) for spots in found.bins)
        at_least += -(-found.at_least // len(panels.corners))
        left = [unit for unit in left if unit.id not in own]
    if left:
        return None
    # Of one size alone, what a solver proves of it holds for all.
    if len(stocks) > 1:
        at_least = 0
    return Filling(tuple(filled), at_least)


def rectangles_on(units: Sequence[Unit], panels: Panels, sheets: Sheets) -> dict[str, Rectangle]:
    """The signs that may be made of a panel and go onto it, by id."""
    found = {}
    for unit in units:
        rectangle = sheets.rectangle(unit, panels)
        if panels.stock in unit.stocks and rectangle is not None:
            found[unit.id] = rectangle
    return found


def _on_a_smaller_sheet(
    filled: FilledSheet, stocks: Sequence[str], units: Sequence[Unit], sheets: Sheets
) -> FilledSheet:
    """The same signs on the smallest sheet that holds them and that all of them may be made of."""
    ids = {spot.rectangle.id for spot in filled.spots}
    own = [unit for unit in units if unit.id in ids]
    for id in reversed(stocks):
        panels = sheets.panels(id)
        # A sheet that is cut into several would leave panels over that nobody asked for.
        if panels is None or _area(panels) >= _area(filled.panels) or len(panels.corners) > 1:
            continue
        rectangles = rectangles_on(own, panels, sheets)
        if len(rectangles) < len(own):
            continue
        placed = sheets.room(panels).place(list(rectangles.values()))
        if placed is not None:
            return FilledSheet(panels, placed)
    return filled


def _fewest_sheets(units: Sequence[Unit], stocks: Sequence[str], sheets: Sheets) -> int:
    """A bound on the stock sheets: panels as large as the largest of all along both sides."""
    known = [panels for id in stocks if (panels := sheets.panels(id)) is not None]
    largest = Panels(
        "",
        (max(each.size[0] for each in known), max(each.size[1] for each in known)),
        UPRIGHT,
        (),
    )
    # Grains are left aside: what they forbid can only take more sheets, and a bound may say less.
    free = [rectangle_of(unit, lying_on(sheets.stock, ""), sheets.gutter) for unit in units]
    room = sheets.room(largest)
    panels_needed = room.fewest([each for each in free if each is not None])
    most_of_a_sheet = max(len(each.corners) for each in known)
    return -(-panels_needed // most_of_a_sheet)


def each_panel(filling: Sequence[FilledSheet]) -> Iterator[tuple[FilledSheet, int, int]]:
    """Filled sheets with the number of the stock sheet that each is cut from, and which part.

    Stock sheets are counted from 0, in the order in which they are first needed.
    """
    opened: dict[Panels, tuple[int, int]] = {}
    count = 0
    for filled in filling:
        number, part = opened.get(filled.panels, (-1, len(filled.panels.corners)))
        if part == len(filled.panels.corners):
            number, part, count = count, 0, count + 1
        yield filled, number, part
        opened[filled.panels] = number, part + 1
