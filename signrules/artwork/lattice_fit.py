"""Dots in their seats: where each is to lie, by the lattice that fits most of them. Geometry."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import fmean

from attrs import evolve, frozen

from signrules.artwork.drawing import Point
from signrules.artwork.lattice import OFF_LATTICE, Mark, Placed, Row, Steps, fitted_steps


@frozen
class Seat:
    """A dot in its place: the number of its line and cell, its side and row, 0 being the first."""

    line: int
    cell: int
    side: int
    row: int
    mark: Mark


@frozen
class Lattice:
    """Where seats lie, in turned coordinates and mm.

    `starts` are those of dot 1 of the first cell of each line, `across` is the distance of rows.
    """

    starts: tuple[Point, ...]
    steps: Steps
    across: float

    def misfit(self, seat: Seat) -> float:
        """How far a dot lies off its seat, along lines or across them."""
        u, v = _start_by(seat, self.steps, self.across)
        start_u, start_v = self.starts[seat.line]
        return max(abs(u - start_u), abs(v - start_v))

    def holds(self, seat: Seat) -> bool:
        """Whether a dot lies in its seat."""
        return self.misfit(seat) <= OFF_LATTICE


def _start_by(seat: Seat, steps: Steps, across: float) -> Point:
    """Where a line starts by one of its dots."""
    u = seat.mark.u - seat.cell * (steps.cell or 0.0) - seat.side * steps.dot
    return u, seat.mark.v + seat.row * across


def settled_lattice(seats: Sequence[Seat], lattice: Lattice) -> Lattice:
    """A first lattice, or where dots lie off it, the one through those that lie on it.

    Dots that all lie a little beside their places may lie off the first one, which is by medians.
    What is far off it stays out, so that it pulls nothing along.
    """
    on = [seat for seat in seats if lattice.holds(seat)]
    if len(on) == len(seats):
        return lattice
    return _fitted_lattice(on, lattice)


def _fitted_lattice(seats: Sequence[Seat], lattice: Lattice) -> Lattice:
    """The lattice through some dots, by least squares; what they do not tell stays as it was."""
    lines = [[seat for seat in seats if seat.line == at] for at in range(len(lattice.starts))]
    steps = fitted_steps([[_as_column(seat) for seat in line] for line in lines], lattice.steps)
    if lattice.steps.cell is None:
        steps = evolve(steps, cell=None)
    down = _slope([[(seat.row, seat.mark.v) for seat in line] for line in lines])
    across = lattice.across if down is None else -down
    starts = [
        _mean_start(line, steps, across) or start
        for line, start in zip(lines, lattice.starts, strict=True)
    ]
    return Lattice(tuple(starts), steps, across)


def _as_column(seat: Seat) -> Placed:
    return Placed(seat.cell, seat.side, Row(seat.mark.u, (seat.mark,)))


def _mean_start(seats: Iterable[Seat], steps: Steps, across: float) -> Point | None:
    starts = [_start_by(seat, steps, across) for seat in seats]
    if not starts:
        return None
    return fmean(u for u, _ in starts), fmean(v for _, v in starts)


def tilt_of(seats: Iterable[Seat]) -> float:
    """By how many degrees more the rows of dots are turned than their coordinates."""
    rows: dict[tuple[int, int], list[Point]] = {}
    for seat in seats:
        rows.setdefault((seat.line, seat.row), []).append((seat.mark.u, seat.mark.v))
    return math.degrees(math.atan(_slope(rows.values()) or 0.0))


def _slope(groups: Iterable[Sequence[Point]]) -> float | None:
    """The common slope of points in groups that each start where they will, by least squares."""
    products, squares = 0.0, 0.0
    for points in filter(None, groups):
        middle_x, middle_y = fmean(x for x, _ in points), fmean(y for _, y in points)
        products += math.fsum((x - middle_x) * (y - middle_y) for x, y in points)
        squares += math.fsum((x - middle_x) ** 2 for x, _ in points)
    return products / squares if squares > 1e-9 else None
