"""Braille read back from its dots: cells, spacings as drawn, and what is wrong with it.

A dot that is missing cannot be told from one that is not meant: only the text tells. Nor can cells
be told from others whose dots lie alike: where all dots of a line lie in two rows, or all on one
side of their cells, the upper rows and the left side are taken, and `assumed` says so. Braille
that is mirrored, or stands on its head, reads as other cells, well formed ones: see
`signrules.artwork.orientation`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from statistics import median

from attrs import evolve, field, frozen

from signrules.artwork.dots import Dot
from signrules.artwork.drawing import Point
from signrules.artwork.geometry import turned
from signrules.artwork.lattice import (
    OFF_LATTICE,
    USUAL_CELL_STEPS,
    USUAL_DOT_STEP,
    Line,
    Mark,
    Placed,
    PlacedColumns,
    Steps,
    cell_step,
    dot_steps,
    fitted_steps,
    lines_of,
    placed_columns,
    rows_of,
    turned_marks,
)
from signrules.artwork.lattice_fit import Lattice, Seat, settled_lattice, tilt_of
from signrules.braille.cells import BLANK, cell_of_dots
from signrules.model.quantities import Interval

USUAL_LINE_STEPS = (9.9, 10.4)
"""About those of the 2010 ADA Standards, table 703.3.1: 0.395 to 0.400 in."""

OFF_ROWS = 0.3
"""Dots of a cell may lie closer along lines than across them, or wider, by less than this in mm."""

OUTLIER_MM = 0.02
"""Columns that differ by more from a lattice are looked at one by one."""

MOST_TURNS = 4
"""A block is turned straight in so many steps; more make no difference that is seen."""

NOTHING_MISSING = 0.3
"""Without a column that is out of place, the others differ by less than this share of before."""


Nodes = dict[tuple[int, int, int], Mark]
"""The dots of a line by cell, side and row."""


@frozen
class BrailleBlock:
    """Cells that lie on one lattice. Lengths in mm, centre to centre.

    `lines` are Unicode braille patterns from the top down, without blank cells around them, and
    `starts` the places of dot 1 of their first cells. `turned` is by how many degrees they run up
    from x. Spacings are what was measured, from the least to the most, None where no two dots tell.
    `assumed` says in sentences what else the same dots could be.
    """

    lines: tuple[str, ...]
    starts: tuple[Point, ...]
    dots: tuple[Dot, ...]
    dot_diameter: Interval
    dot_spacing: Interval | None = None
    cell_spacing: Interval | None = None
    line_spacing: Interval | None = None
    turned: float = 0.0
    assumed: tuple[str, ...] = ()


@frozen
class _Fit:
    """Lines with their columns in cells, and the steps that fit them."""

    lines: list[Line]
    placed: list[PlacedColumns]
    steps: Steps
    across: float
    assumed: list[str] = field(factory=list)


@frozen
class _Seating:
    """Dots in the seats of a lattice, with its turn in degrees, and those that lie in none."""

    fit: _Fit
    lattice: Lattice
    seats: list[Seat]
    strays: list[Dot]
    degrees: float

    @property
    def unevenness(self) -> tuple[int, float]:
        """How many dots lie in no seat, and how far at most the others lie off theirs, in mm."""
        return len(self.strays), max(map(self.lattice.misfit, self.seats), default=0.0)


def block_at(dots: Sequence[Dot], degrees: float) -> tuple[BrailleBlock, list[Dot]]:
    """The block of some dots whose lines are turned by an angle, and those off its lattice."""
    seating = _seated(dots, degrees)
    # Neighbours tell the turn, and of uneven dots not well: whole rows tell it better.
    for _ in range(MOST_TURNS):
        if seating.unevenness <= (0, OUTLIER_MM):
            break
        again = _seated(dots, seating.degrees + tilt_of(seating.seats))
        if again.unevenness >= seating.unevenness:
            break
        seating = again
    return _block_from(seating, dots), seating.strays


def _seated(dots: Sequence[Dot], degrees: float) -> _Seating:
    marks = turned_marks(dots, degrees)
    fit, strays = _fit_of(marks)
    seats = [seat for at in range(len(fit.lines)) for seat in _seats_of(fit, at)]
    starts = [
        (_start_of(placed, fit.steps), _top_of(line, fit.across))
        for line, placed in zip(fit.lines, fit.placed, strict=True)
    ]
    lattice = settled_lattice(seats, Lattice(tuple(starts), fit.steps, fit.across))
    strays += [seat.mark for seat in seats if not lattice.holds(seat)]
    held = [seat for seat in seats if lattice.holds(seat)]
    return _Seating(fit, lattice, held, [mark.dot for mark in strays], degrees)


def _seats_of(fit: _Fit, at: int) -> Iterator[Seat]:
    """The seats of the dots of a line, by its number."""
    row_of = {id(mark): row for row, marks in fit.lines[at].rows.items() for mark in marks.marks}
    for placed in fit.placed[at].on:
        for mark in placed.column.marks:
            yield Seat(at, placed.cell, placed.side, row_of[id(mark)], mark)


def _fit_of(marks: Sequence[Mark]) -> tuple[_Fit, list[Mark]]:
    steps = dot_steps(marks)
    dot = median(steps) if steps else USUAL_DOT_STEP
    assumed = []
    if not steps:
        assumed.append(f"no two dots are neighbours in a cell: {USUAL_DOT_STEP:g} mm is taken")
    lines, strays = lines_of(marks, dot)
    lines, unsure = _settled_rows(lines, dot)
    if unsure:
        assumed.append("dots lie in too few rows to tell which: the upper rows are taken")
    columns = [
        rows_of((mark for row in line.rows.values() for mark in row.marks), along_u=True)
        for line in lines
    ]
    found = cell_step(columns, dot)
    if found is not None and not found[1]:
        assumed.append(f"other distances of cells than {found[0]:.2f} mm would serve as well")
    # Nothing tells the distance where no line has two cells near each other. Any usual one will do.
    cell = USUAL_CELL_STEPS[0] if found is None else found[0]
    placed = [placed_columns(each, cell, dot) for each in columns]
    for each in placed:
        strays += [mark for column in each.off for mark in column.marks]
    start_steps = Steps(dot, cell)
    fitted = _fitted_without_outliers([each.on for each in placed], start_steps)
    placed, unsure = _settled_sides(placed, fitted)
    if unsure:
        assumed.append("dots lie on one side of their cells: the left side is taken")
    known = evolve(fitted, cell=None) if found is None else fitted
    return _Fit(lines, placed, known, _row_step(marks, dot), assumed), strays


def _row_step(marks: Sequence[Mark], dot: float) -> float:
    """The distance of rows within a cell: by neighbours one above the other, where there are."""
    steps = []
    for column in rows_of(marks, along_u=True):
        places = sorted(mark.v for mark in column.marks)
        steps += [b - a for a, b in pairwise(places) if abs(b - a - dot) < OFF_ROWS]
    return median(steps) if steps else dot


def _settled_rows(lines: Sequence[Line], step: float) -> tuple[list[Line], bool]:
    """Lines whose dots may be of lower rows put where the others let expect them, and whether
    that remains unsure.
    """
    fixed = [at for at, line in enumerate(lines) if len(line.shifts) == 1]
    if len(fixed) == len(lines):
        return list(lines), False
    spacing = None
    if len(fixed) > 1:
        spacing = (lines[fixed[0]].top - lines[fixed[-1]].top) / (fixed[-1] - fixed[0])
    settled = []
    for at, line in enumerate(lines):
        shift = 0
        if fixed and len(line.shifts) > 1:
            # The nearest line that is sure: what rounding and a slight turn add grows with the
            # distance.
            nearest = min(fixed, key=lambda each: abs(each - at))
            shift = _shift_of(line, lines[nearest].top, nearest - at, spacing, step)
        settled.append(line.shifted(shift, step))
    return settled, spacing is None


def _shift_of(line: Line, top: float, lines_up: int, spacing: float | None, step: float) -> int:
    """By how many rows a line is moved down to lie as far from another as lines lie."""
    for shift in line.shifts:
        apart = (line.top + shift * step - top) / lines_up
        if spacing is not None and abs(apart - spacing) < step / 3:
            return shift
        if spacing is None and USUAL_LINE_STEPS[0] <= apart <= USUAL_LINE_STEPS[1]:
            return shift
    return 0


def _settled_sides(
    placed: Sequence[PlacedColumns], steps: Steps
) -> tuple[list[PlacedColumns], bool]:
    """Lines with dots on one side alone put on that of a line that they share their cells with,
    and whether that remains unsure.
    """
    assert steps.cell is not None
    starts = [_start_of(each, steps) for each in placed if each.on and not each.loose]
    settled, unsure = [], False
    for each in placed:
        if not each.loose or not each.on:
            settled.append(each)
            continue
        found = _side_like(each, starts, steps)
        unsure = unsure or found is None
        on = tuple(evolve(column, side=found or 0) for column in each.on)
        settled.append(evolve(each, on=on))
    return settled, unsure


def _side_like(placed: PlacedColumns, starts: Sequence[float], steps: Steps) -> int | None:
    """The side on which a line's cells would begin where those of another line begin."""
    assert steps.cell is not None
    for side in (0, 1):
        start = placed.on[0].column.at - side * steps.dot
        for other in starts:
            off = (start - other) / steps.cell
            if abs(off - round(off)) * steps.cell < OFF_LATTICE:
                return side
    return None


def _start_of(placed: PlacedColumns, steps: Steps) -> float:
    """Where the left column of the first cell of a line lies."""
    cell = steps.cell or 0.0
    # Each column says where the line starts. The median, since a stray one must not pull it along.
    places = [each.column.at - each.cell * cell - each.side * steps.dot for each in placed.on]
    return median(places) if places else 0.0


def _top_of(line: Line, step: float) -> float:
    return median(mark.v + at * step for at, row in line.rows.items() for mark in row.marks)


def _fitted_without_outliers(lines: Sequence[Sequence[Placed]], steps: Steps) -> Steps:
    """The steps that fit best, columns left aside that one by one would spoil the fit."""
    kept = [list(line) for line in lines]
    fitted = fitted_steps(kept, steps)
    # Least squares share one misplaced column among all, so that several would look wrong. Left out
    # one at a time, the one that is at fault shows itself: without it the rest fits.
    worst = _worst_misfit(kept, fitted)
    while worst > OUTLIER_MM:
        tries: list[tuple[float, int, list[list[Placed]], Steps]] = []
        for at, line in enumerate(kept):
            for number in range(len(line)):
                fewer = [*kept[:at], [*line[:number], *line[number + 1 :]], *kept[at + 1 :]]
                again = fitted_steps(fewer, steps)
                tries.append((_worst_misfit(fewer, again), len(tries), fewer, again))
        best = min(tries)
        # No single column is to blame: the spacing itself is uneven, and all columns tell of it.
        if best[0] > NOTHING_MISSING * worst:
            break
        worst, _, kept, fitted = best
    return fitted


def _worst_misfit(lines: Sequence[Sequence[Placed]], steps: Steps) -> float:
    misfits = [0.0]
    for line in lines:
        start = _start_of(PlacedColumns(tuple(line)), steps)
        cell = steps.cell or 0.0
        for each in line:
            expected = start + each.cell * cell + each.side * steps.dot
            misfits.append(abs(each.column.at - expected))
    return max(misfits)


def _block_from(seating: _Seating, dots: Sequence[Dot]) -> BrailleBlock:
    cells = seating.lattice.steps.cell
    lines: dict[int, Nodes] = {}
    for seat in seating.seats:
        lines.setdefault(seat.line, {})[seat.cell, seat.side, seat.row] = seat.mark
    starts = [seating.lattice.starts[at] for at in lines]
    nodes = list(lines.values())
    first = [min(cell for cell, _, _ in line) for line in nodes]
    places = [
        turned((u + number * (cells or 0.0), v), seating.degrees)
        for number, (u, v) in zip(first, starts, strict=True)
    ]
    told_cells = Interval.exact(cells) if cells else None
    return BrailleBlock(
        lines=tuple(map(_cells_of, nodes)),
        starts=tuple(places),
        dots=tuple(dots),
        dot_diameter=spread_of([dot.diameter for dot in dots]) or Interval.exact(0.0),
        dot_spacing=spread_of(_dot_distances(nodes)),
        cell_spacing=spread_of(_cell_distances(nodes)) or told_cells,
        line_spacing=spread_of([a[1] - b[1] for a, b in pairwise(starts)]),
        turned=seating.degrees,
        assumed=tuple(seating.fit.assumed),
    )


def _cells_of(nodes: Nodes) -> str:
    cells: dict[int, list[int]] = {}
    for cell, side, row in nodes:
        cells.setdefault(cell, []).append(1 + 3 * side + row)
    # Cells without dots inside of a line are spaces between words.
    filled = range(min(cells), max(cells) + 1)
    return "".join(cell_of_dots(cells[at]) if at in cells else BLANK for at in filled)


def _dot_distances(lines: Iterable[Nodes]) -> list[float]:
    """The distances of neighbours in a cell, along and across."""
    found = []
    for nodes in lines:
        for (cell, side, row), mark in nodes.items():
            if (cell, side, row + 1) in nodes:
                found.append(mark.v - nodes[cell, side, row + 1].v)
            if side == 0 and (cell, 1, row) in nodes:
                found.append(nodes[cell, 1, row].u - mark.u)
    return found


def _cell_distances(lines: Iterable[Nodes]) -> list[float]:
    """The distances of the same dot in one cell and the next."""
    return [
        nodes[cell + 1, side, row].u - mark.u
        for nodes in lines
        for (cell, side, row), mark in nodes.items()
        if (cell + 1, side, row) in nodes
    ]


def spread_of(values: Sequence[float]) -> Interval | None:
    """The least and the most of some lengths; None without any."""
    if not values:
        return None
    return Interval(min(values), median(values), max(values))
