"""Braille cells as a lattice: which rows and columns dots lie in, and by which spacings.

Rows and columns are found in coordinates turned so that lines run along x. A row or column is a
place and the dots that lie on it. All of it is geometry.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from statistics import fmean, median

from attrs import evolve, frozen

from signrules.artwork.dots import Dot, near_pairs

MOST_TURNED = 6.0
"""How far in degrees a block may be turned before it is no block of lines along x."""

ALIGNED_REACH = 10.0
"""Within this many mm two dots of a block lie along its lines, across them, or at more than
`MOST_TURNED` to both.
"""

BLOCK_REACH = 18.0
"""Dots of one block lie no further from the next, in mm: two cells with a blank one between, or
two lines."""

DOT_STEPS = (1.8, 3.4)
CELL_STEPS = (5.0, 10.0)
"""What may be the distance of neighbouring dots, and of cells, in mm; wider than any standard."""

USUAL_DOT_STEP = 2.34
"""0.092 in, the least of the 2010 ADA Standards, table 703.3.1; taken where no two dots tell."""

USUAL_CELL_STEPS = (6.0, 7.7)
"""About those of the 2010 ADA Standards, table 703.3.1; preferred where dots allow several."""

SAME_ROW = 0.5
"""Dots within this many mm of each other are of one row, or one column."""

OFF_LATTICE = 0.1
"""A dot further in mm from its place in the lattice is a stray one."""

MOST_BLANKS = 3
"""As many blank cells may lie between two columns that tell the distance of cells."""


@frozen
class Mark:
    """A dot in turned coordinates."""

    u: float
    v: float
    dot: Dot


def blocks_of(dots: Sequence[Dot]) -> list[list[Dot]]:
    """Dots in blocks that lie apart from each other, from the top down, then to the right."""
    number = {id(dot): at for at, dot in enumerate(dots)}
    first = list(range(len(dots)))

    # Union-find with halved paths: blocks are chains of near dots, and may be long.
    def root(at: int) -> int:
        while first[at] != at:
            first[at] = first[first[at]]
            at = first[at]
        return at

    for one, other in near_pairs(dots, BLOCK_REACH):
        first[root(number[id(one)])] = root(number[id(other)])
    blocks: dict[int, list[Dot]] = {}
    for at, dot in enumerate(dots):
        blocks.setdefault(root(at), []).append(dot)
    return sorted(blocks.values(), key=lambda each: (-max(d.y for d in each), each[0].x))


def turn_of(dots: Sequence[Dot]) -> float:
    """By how many degrees the lines of a block are turned from x towards y, up to
    `MOST_TURNED`; 0 where no two dots tell.
    """
    angles = []
    for one, other in near_pairs(dots, ALIGNED_REACH):
        angle = math.degrees(math.atan2(other.y - one.y, other.x - one.x))
        # Along a line and across it tell the same turn, so angles are folded into a quarter circle.
        folded = (angle + 45) % 90 - 45
        if abs(folded) <= MOST_TURNED:
            angles.append(folded)
    if not angles:
        return 0.0
    # Dots at a slant within cells scatter over all angles, those in line pile up at one. Quarters
    # of a degree are coarse enough for a pile, and its neighbours catch what the rounding split.
    steps = Counter(round(angle * 4) for angle in angles)
    fullest = max(steps, key=lambda step: sum(steps[step + off] for off in (-1, 0, 1)))
    return median(angle for angle in angles if abs(angle - fullest / 4) <= 0.375)


def turned_marks(dots: Sequence[Dot], degrees: float) -> list[Mark]:
    """Dots in coordinates that are turned by an angle with their lines."""
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [Mark(dot.x * cosine + dot.y * sine, dot.y * cosine - dot.x * sine, dot) for dot in dots]


def dot_steps(marks: Sequence[Mark]) -> list[float]:
    """The distances of neighbours within cells, along lines and across them.

    Where no two dots are neighbours so, those of dots that lie at a slant.
    """
    straight, slanted = [], []
    for one, other in _near_marks(marks):
        across, along = abs(one.u - other.u), abs(one.v - other.v)
        if along < SAME_ROW and _is_dot_step(across):
            straight.append(across)
        elif across < SAME_ROW and _is_dot_step(along):
            straight.append(along)
        elif _is_dot_step(across) and _is_dot_step(along):
            slanted += [across, along]
    return straight or slanted


def _near_marks(marks: Sequence[Mark]) -> Iterator[tuple[Mark, Mark]]:
    by_dot = {id(mark.dot): mark for mark in marks}
    for one, other in near_pairs([mark.dot for mark in marks], 2 * DOT_STEPS[1]):
        yield by_dot[id(one)], by_dot[id(other)]


def near_dot_distances(dots: Sequence[Dot], reach: float = CELL_STEPS[1]) -> list[float]:
    """How far the nearest other dot lies from each dot that has one within reach."""
    nearest: dict[int, float] = {}
    for one, other in near_pairs(dots, reach):
        apart = math.hypot(one.x - other.x, one.y - other.y)
        for dot in (one, other):
            nearest[id(dot)] = min(apart, nearest.get(id(dot), apart))
    return list(nearest.values())


def _is_dot_step(distance: float) -> bool:
    return DOT_STEPS[0] <= distance <= DOT_STEPS[1]


@frozen
class Row:
    """Marks that lie at one place along an axis."""

    at: float
    marks: tuple[Mark, ...]


def rows_of(marks: Iterable[Mark], *, along_u: bool) -> list[Row]:
    """Marks in rows by v, or in columns by `u`, from the least place on."""

    def place(mark: Mark) -> float:
        return mark.u if along_u else mark.v

    rows: list[list[Mark]] = []
    for mark in sorted(marks, key=place):
        if rows and place(mark) - place(rows[-1][0]) < SAME_ROW:
            rows[-1].append(mark)
        else:
            rows.append([mark])
    return [Row(median(map(place, row)), tuple(row)) for row in rows]


@frozen
class Line:
    """A line of cells: the place of its uppermost row of dots, and its rows by 0, 1, 2 downwards.

    `shifts` are how many rows further down its dots may lie as well.
    """

    top: float
    rows: dict[int, Row]

    @property
    def count(self) -> int:
        """How many dots it has."""
        return sum(len(row.marks) for row in self.rows.values())

    @property
    def shifts(self) -> range:
        """How many rows further down the same dots may lie as well."""
        return range(3 - max(self.rows))

    def shifted(self, rows: int, step: float) -> Line:
        """The line whose dots are taken for those of lower rows."""
        moved = {at + rows: row for at, row in self.rows.items()}
        return Line(self.top + rows * step, moved)


def lines_of(marks: Sequence[Mark], step: float) -> tuple[list[Line], list[Mark]]:
    """Lines of three rows from the top down, and the marks that lie in none.

    The line with most dots is taken first, then that of those left. What lies near a line and in
    none of its rows is in no line.
    """
    left = rows_of(marks, along_u=False)
    lines: list[Line] = []
    strays: list[Mark] = []
    while left:
        # Fullest first: rows of two lines can be taken for one of three, and it has fewer dots
        # then.
        line = max((_line_from(row, left, step) for row in left), key=_fullness)
        taken = {row.at for row in line.rows.values()}
        left = [row for row in left if row.at not in taken]
        if any(_is_between(line, other, step) for other in lines):
            strays += [mark for row in line.rows.values() for mark in row.marks]
        else:
            lines.append(line)
    return sorted(lines, key=lambda line: -line.top), strays


def _fullness(line: Line) -> tuple[int, float]:
    return line.count, line.top


def _line_from(top: Row, rows: Sequence[Row], step: float) -> Line:
    """The line whose uppermost row of dots is a given one."""
    found = {0: top}
    for at in (1, 2):
        for row in rows:
            if abs(top.at - at * step - row.at) <= SAME_ROW:
                found[at] = row
    return Line(top.at, found)


def _is_between(line: Line, other: Line, step: float) -> bool:
    """Whether a row of one line lies nearer to one of another than lines lie."""
    return any(
        abs(row.at - there.at) < 1.5 * step
        for row in line.rows.values()
        for there in other.rows.values()
    )


def cell_step(lines: Sequence[Sequence[Row]], step: float) -> tuple[float, bool] | None:
    """The distance of cells on which most dots of the columns of lines lie, and whether no other
    distance serves as well; None where no two columns tell.
    """
    votes: Counter[float] = Counter()
    for columns in lines:
        for one, other in pairwise(columns):
            for candidate in _cell_steps_of(other.at - one.at, step):
                votes[round(candidate, 2)] += 1
    # A vote says what one gap allows. What counts is on which distance most dots lie together.
    scored = [
        (sum(len(placed_columns(columns, each, step).on) for columns in lines), each)
        for each, _ in votes.most_common(40)
    ]
    if not scored:
        return None
    most = max(score for score, _ in scored)
    best = [each for score, each in scored if score == most]
    usual = [each for each in best if USUAL_CELL_STEPS[0] <= each <= USUAL_CELL_STEPS[1]]
    chosen = max(usual or best, key=lambda each: (votes[each], -each))
    return chosen, all(abs(each - chosen) < SAME_ROW for each in best)


def _cell_steps_of(gap: float, step: float) -> Iterator[float]:
    """What the distance of cells may be where two columns lie a gap apart."""
    for cells in range(1, MOST_BLANKS + 2):
        for shift in (-step, 0.0, step):
            candidate = (gap + shift) / cells
            if CELL_STEPS[0] <= candidate <= CELL_STEPS[1]:
                yield candidate


@frozen
class Placed:
    """A column in its cell: the number of the cell in its line, 0 or 1 for left or right."""

    cell: int
    side: int
    column: Row


@frozen
class PlacedColumns:
    """The columns of a line that lie in cells, and those that lie in none.

    `loose` says that all lie on one side, so that it may be the other one.
    """

    on: tuple[Placed, ...] = ()
    off: tuple[Row, ...] = ()

    @property
    def loose(self) -> bool:
        """Whether all columns lie on one side of their cells: it may be either."""
        return len({placed.side for placed in self.on}) < 2

    @property
    def score(self) -> tuple[int, int]:
        """How many dots lie in cells, left ones before right ones."""
        dots = sum(len(placed.column.marks) for placed in self.on)
        return dots, -sum(placed.side for placed in self.on)


def placed_columns(columns: Sequence[Row], cell: float, step: float) -> PlacedColumns:
    """Columns in cells by the distance of cells, from the first column that most others agree with.

    Each is placed from the last one that is, so that small errors do not add up.
    """
    # The first columns may be strays, or lie on either side of their cells.
    tries = [
        _placed_from(columns, start, side, cell, step)
        for start in range(min(3, len(columns)))
        for side in (0, 1)
    ]
    # Left before right where both fit as many: see the head of `braille_blocks`.
    return max(tries, key=lambda each: each.score, default=PlacedColumns())


def _placed_from(
    columns: Sequence[Row], start: int, side: int, cell: float, step: float
) -> PlacedColumns:
    last = Placed(0, side, columns[start])
    on, off = [last], list(columns[:start])
    for column in columns[start + 1 :]:
        gap = column.at - last.column.at + last.side * step
        left, right = round(gap / cell), round((gap - step) / cell)
        missed, missed_right = abs(gap - left * cell), abs(gap - step - right * cell)
        # A column is taken for the side to which it lies nearer.
        cells, side = left, 0
        if missed_right < missed:
            missed, cells, side = missed_right, right, 1
        if missed < SAME_ROW and (cells, side) > (0, last.side):
            last = Placed(last.cell + cells, side, column)
            on.append(last)
        else:
            off.append(column)
    return PlacedColumns(tuple(on), tuple(off))


@frozen
class Steps:
    """Distances in mm of columns within a cell and of cells; None for what no two tell."""

    dot: float
    cell: float | None


def fitted_steps(lines: Sequence[Sequence[Placed]], steps: Steps) -> Steps:
    """The steps that fit the columns of all lines best, by least squares.

    Each line starts where it will. What its columns do not tell stays as it was.
    """
    cells, sides, places = [], [], []
    for line in lines:
        if line:
            cells += _centred([placed.cell for placed in line])
            sides += _centred([placed.side for placed in line])
            places += _centred([placed.column.at for placed in line])
    cc, ss, cs = _product(cells, cells), _product(sides, sides), _product(cells, sides)
    cp, sp = _product(cells, places), _product(sides, places)
    # The normal equations of two unknowns. Starts of lines are gone by centring, which is what
    # eliminating one unknown for each line comes to.
    determinant = cc * ss - cs * cs
    if determinant > 1e-9:
        dot = (sp * cc - cp * cs) / determinant
        return Steps(dot, (cp * ss - sp * cs) / determinant)
    # Cells and sides that vary together, or not at all, tell one step only.
    if cc > 0:
        return evolve(steps, cell=cp / cc)
    if ss > 0:
        return evolve(steps, dot=sp / ss)
    return steps


def _centred(values: Sequence[float]) -> list[float]:
    middle = fmean(values)
    return [value - middle for value in values]


def _product(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))
