"""Where a rectangle around ink is cut in two, so that least of both parts is far from the ink.

Geometry. Arrays go by column and row; numpy comes with shapely.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from attrs import frozen

from signrules.artwork.libraries import numpy_library, shapely_part
from signrules.model.passes import Area

GRID_CELLS = 32
"""How many steps a rectangle is divided into along its longer side to find where to cut it."""

MOST_SIDES = 6
"""So many of the longest straight sides are tried as cuts as well."""

CLEAN_SHARE = 0.02
"""A rectangle of which less than this share is not near ink needs no further cut."""

SAME_PLACE_MM = 1e-3
"""Sides whose ends differ by less run straight."""


@frozen
class Cut:
    """Where a rectangle is cut: at an x, or at a y.

    `empty` is the area that is not near ink in the rectangles around the ink on both sides, and
    `clean` the area of those among them that have next to nothing of it.
    """

    along_x: bool
    at: float
    empty: float
    clean: float


def best_cut(ink: Any, near: Any, area: Area) -> Cut | None:
    """The cut of the rectangle around some ink after which least is not near ink.

    Where one cut alone changes nothing, as in a frame, it is the one that leaves the largest clean
    rectangle, or else the one nearest to the middle; None where there is no line to cut along.
    """
    grid = _Grid.over(ink, near, area)
    cuts = [*grid.cuts(along_x=True), *grid.transposed().cuts(along_x=False)]
    if not cuts:
        return None
    best = min(cuts, key=lambda cut: cut.empty)
    # A frame around a sign loses nothing by one cut: both halves still span what it encloses. A
    # clean strip cut off it is a step towards the four rectangles that do.
    if best.empty < (1 - CLEAN_SHARE) * grid.sums[-1, -1]:
        return best
    cleanest = max(cuts, key=lambda cut: cut.clean)
    if cleanest.clean > 0:
        return cleanest
    return min(cuts, key=lambda cut: _off_middle(cut, area))


def _off_middle(cut: Cut, area: Area) -> tuple[bool, float]:
    """How far a cut lies from the middle; those across the shorter side come last."""
    if cut.along_x:
        return area.width < area.height, abs(cut.at - area.x - area.width / 2)
    return area.height <= area.width, abs(cut.at - area.y - area.height / 2)


@frozen(eq=False)
class _Grid:
    """A rectangle in steps: which of its cells have ink, and how much in them is not near ink.

    `edges` lie between columns, `other_edges` between rows. `sums` add up what is empty from the
    corner on; their first column and row are zeros.
    """

    edges: Any
    other_edges: Any
    inked: Any
    sums: Any

    @classmethod
    def over(cls, ink: Any, near: Any, area: Area) -> _Grid:
        numpy, shapely = numpy_library(), shapely_part()
        step = max(area.width, area.height) / GRID_CELLS
        corners = shapely.get_coordinates(ink)
        # Cuts along straight sides of the ink are exact; an even grid alone would miss them by up
        # to a step, and leave slivers to be cut off again.
        xs = _steps(area.x, area.width, step, _side_places(corners, 0, step))
        ys = _steps(area.y, area.height, step, _side_places(corners, 1, step))
        left, low = numpy.meshgrid(xs[:-1], ys[:-1], indexing="ij")
        right, high = numpy.meshgrid(xs[1:], ys[1:], indexing="ij")
        middles = (left + right) / 2, (low + high) / 2
        inked = _cells_by_boxes(ink, xs, ys)
        sides = (each[inked] for each in (left, low, right, high))
        shapely.prepare(ink)
        # Boxes first: intersecting is what costs, and most cells of a line of text lie in no box.
        inked[inked] = shapely.intersects(ink, shapely.box(*sides))
        shapely.prepare(near)
        # The middle of a cell speaks for all of it. That only guides the choice of a cut: the
        # excess that counts is computed exactly from the patches.
        is_near = shapely.contains_xy(near, *middles)
        empty = numpy.where(is_near, 0.0, (right - left) * (high - low))
        sums = numpy.zeros((len(xs), len(ys)))
        sums[1:, 1:] = empty.cumsum(axis=0).cumsum(axis=1)
        return cls(xs, ys, inked, sums)

    def transposed(self) -> _Grid:
        """The same with x and y in each other's place."""
        return _Grid(self.other_edges, self.edges, self.inked.T, self.sums.T)

    def cuts(self, *, along_x: bool) -> list[Cut]:
        """A cut for each line between columns that has ink on both sides."""
        lines = range(1, len(self.inked))
        extents = _InkExtents.of_columns(self.inked)
        before, after = extents.up_to_each(), extents.from_each_on()
        empty_before, clean_before = self._empty_and_clean(before)
        empty_after, clean_after = self._empty_and_clean(after)
        empty = (empty_before[:-1] + empty_after[1:]).tolist()
        clean = (clean_before[:-1] + clean_after[1:]).tolist()
        has_both = (before.has_ink[:-1] & after.has_ink[1:]).tolist()
        return [
            Cut(along_x, float(self.edges[line]), empty[line - 1], clean[line - 1])
            for line in lines
            if has_both[line - 1]
        ]

    def _empty_and_clean(self, extents: _InkExtents) -> tuple[Any, Any]:
        """What is not near ink in rectangles; and their area where that is next to nothing."""
        first, last, low, high = extents.first, extents.last, extents.low, extents.high
        sums = self.sums
        # A summed-area table: what a rectangle holds is four look-ups, however many cells it has.
        empty = sums[last, high] - sums[first, high] - sums[last, low] + sums[first, low]
        across = self.edges[last] - self.edges[first]
        area = across * (self.other_edges[high] - self.other_edges[low])
        return empty, area * (empty <= CLEAN_SHARE * area)


@frozen(eq=False)
class _InkExtents:
    """Rectangles around the ink of some columns: from column `first` up to `last`, from row `low`
    up to `high`, the last ones left out. Those without ink have `last` 0.
    """

    first: Any
    last: Any
    low: Any
    high: Any

    @classmethod
    def of_columns(cls, inked: Any) -> _InkExtents:
        """One for each column."""
        numpy = numpy_library()
        columns, rows = inked.shape
        has_ink = inked.any(axis=1)
        numbers = numpy.arange(columns)
        first = numpy.where(has_ink, numbers, columns)
        last = numpy.where(has_ink, numbers + 1, 0)
        low = numpy.where(has_ink, inked.argmax(axis=1), rows)
        high = numpy.where(has_ink, rows - inked[:, ::-1].argmax(axis=1), 0)
        return cls(first, last, low, high)

    @property
    def has_ink(self) -> Any:
        return self.last > 0

    def up_to_each(self) -> _InkExtents:
        """Around all columns up to each."""
        numpy = numpy_library()
        least, most = numpy.minimum.accumulate, numpy.maximum.accumulate
        return _InkExtents(least(self.first), most(self.last), least(self.low), most(self.high))

    def from_each_on(self) -> _InkExtents:
        """Around all columns from each on."""
        turned = self._turned().up_to_each()
        return turned._turned()

    def _turned(self) -> _InkExtents:
        return _InkExtents(self.first[::-1], self.last[::-1], self.low[::-1], self.high[::-1])


def _cells_by_boxes(ink: Any, xs: Any, ys: Any) -> Any:
    """Which cells the boxes around the parts of ink reach into."""
    numpy, shapely = numpy_library(), shapely_part()
    # A box that ends on an edge touches the cell beyond it, so that one counts too.
    boxes = shapely.bounds(shapely.get_parts(ink))
    first = (numpy.searchsorted(xs, boxes[:, 0]) - 1).clip(0).tolist()
    low = (numpy.searchsorted(ys, boxes[:, 1]) - 1).clip(0).tolist()
    last = numpy.searchsorted(xs, boxes[:, 2], side="right").tolist()
    high = numpy.searchsorted(ys, boxes[:, 3], side="right").tolist()
    cells = numpy.zeros((len(xs) - 1, len(ys) - 1), dtype=bool)
    for column, column_end, row, row_end in zip(first, last, low, high, strict=True):
        cells[column:column_end, row:row_end] = True
    return cells


def _side_places(corners: Any, axis: int, least: float) -> list[float]:
    """Where the longest straight sides across an axis lie, those of a least length.

    `corners` is an array of places, ring after ring.
    """
    sides = abs(corners[1:] - corners[:-1])
    straight = (sides[:, axis] < SAME_PLACE_MM) & (sides[:, 1 - axis] >= least)
    lengths: dict[float, float] = {}
    found = (corners[1:][straight][:, axis].tolist(), sides[straight][:, 1 - axis].tolist())
    for place, length in zip(*found, strict=True):
        lengths[round(place, 3)] = lengths.get(round(place, 3), 0.0) + length
    return sorted(lengths, key=lambda place: -lengths[place])[:MOST_SIDES]


def _steps(start: float, length: float, step: float, others: Iterable[float]) -> Any:
    """Places from one end of a length to the other, inner ones on whole micrometres, with others
    that lie between the ends.
    """
    number = max(round(length / step), 1)
    end = start + length
    inner = set(others) | {round(start + length * at / number, 3) for at in range(1, number)}
    places = [start, *sorted(at for at in inner if start < at < end), end]
    return numpy_library().array(places)
