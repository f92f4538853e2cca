"""Which passes cover which part of a sheet.

A zone is a set of points with the same history: every pass covers all of it or none. One sweep
along y finds them: at each edge of a rectangle only the stretch of x that the rectangle spans is
cut anew, so the work is in proportion to the pieces that come out, not to the square of the
rectangles.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping

from attrs import frozen

from signrules.model.passes import Area

Cover = tuple[int, ...]
"""The passes that cover a zone, as ascending indices."""


@frozen
class Piece:
    """A rectangle of a zone, in mm from the sheet's lower corner."""

    x0: float
    y0: float
    x1: float
    y1: float


@frozen
class Zone:
    """All points of one side of a sheet that the same passes cover."""

    cover: Cover
    pieces: tuple[Piece, ...]


def zones_of(
    size: tuple[float, float], areas: Mapping[int, Iterable[Area]], merge: float
) -> tuple[Zone, ...]:
    """The zones of a sheet of `size`, given the rectangles of each pass by its index.

    Bare ground is a zone of its own. Edges that lie within `merge` (mm) of each other count as one.
    Zones come in the order in which the sweep along y first leaves them.
    """
    # Layers of one sign share their rectangle, so that it is cut once for all of them.
    passes_in: dict[tuple[float, float, float, float], list[int]] = {}
    for index, areas_of_pass in areas.items():
        for area in areas_of_pass:
            corners = (area.x, area.y, area.x + area.width, area.y + area.height)
            passes_in.setdefault(corners, []).append(index)
    # Edges a hair apart would cut slivers that no printer prints, each with a stack of its own.
    edges_x, edges_y = {0.0, size[0]}, {0.0, size[1]}
    for x0, y0, x1, y1 in passes_in:
        edges_x |= {x0, x1}
        edges_y |= {y0, y1}
    snap_x, snap_y = cluster_snapper(edges_x, merge), cluster_snapper(edges_y, merge)
    changes: dict[float, list[tuple[float, float, list[int], int]]] = {}
    for (x0, y0, x1, y1), passes in passes_in.items():
        changes.setdefault(snap_y[y0], []).append((snap_x[x0], snap_x[x1], passes, +1))
        changes.setdefault(snap_y[y1], []).append((snap_x[x0], snap_x[x1], passes, -1))
    line = _SweepLine(snap_x[0.0], snap_x[size[0]], snap_y[0.0])
    # All that begins and ends at one y is done before anything is drawn there, in any order.
    for y in sorted(changes):
        ends: set[float] = set()
        for x0, x1, passes, change in changes[y]:
            line.change(y, x0, x1, passes, change)
            ends |= {x0, x1}
        # Joined only when all that changes at this y has, lest stretches be cut again at once.
        for x in sorted(ends):
            line.join(y, x)
    return line.finish(snap_y[size[1]])


def cluster_snapper(values: Iterable[float], merge: float) -> dict[float, float]:
    """The least value of its cluster for each value.

    A cluster is a run of values whose neighbours lie within `merge`.
    """
    snapped: dict[float, float] = {}
    anchor = last_value = float("-inf")
    for value in sorted(set(values)):
        if value - last_value > merge:
            anchor = value
        last_value = value
        snapped[value] = anchor
    return snapped


class _SweepLine:
    """The stretches of x at the present y: where each starts, what covers it, and since which y.

    How often a pass covers it counts, since rectangles of one pass may overlap.
    """

    def __init__(self, left: float, right: float, y: float) -> None:
        self.right = right
        self.starts = [left]
        self.covers: list[dict[int, int]] = [{}]
        self.since = [y]
        self.found: dict[Cover, list[Piece]] = {}

    def change(self, y: float, x0: float, x1: float, passes: Iterable[int], change: int) -> None:
        """Begin (+1) or end (-1) a rectangle of some passes on x0 to x1."""
        first = self.cut(x0)
        last = self.cut(x1) if x1 < self.right else len(self.starts)
        for strip in range(first, last):
            self.close(strip, y)
            cover = self.covers[strip]
            for index in passes:
                cover[index] = cover.get(index, 0) + change
                if not cover[index]:
                    del cover[index]

    def cut(self, x: float) -> int:
        """The stretch that starts at x, made by cutting one in two where need be."""
        strip = bisect_left(self.starts, x)
        if strip == len(self.starts) or self.starts[strip] != x:
            # Both halves have been covered alike since the same y, until one of them changes.
            self.starts.insert(strip, x)
            self.covers.insert(strip, dict(self.covers[strip - 1]))
            self.since.insert(strip, self.since[strip - 1])
        return strip

    def join(self, y: float, x: float) -> None:
        """Make one stretch of the two that meet at x where the same passes cover both."""
        strip = bisect_left(self.starts, x)
        if 0 < strip < len(self.starts) and self.covers[strip] == self.covers[strip - 1]:
            # Pieces that were begun at different y make no rectangle together.
            if self.since[strip] != self.since[strip - 1]:
                self.close(strip, y)
                self.close(strip - 1, y)
            del self.starts[strip], self.covers[strip], self.since[strip]

    def close(self, strip: int, y: float) -> None:
        """End the piece that a stretch has drawn since it was last changed."""
        if self.since[strip] < y:
            right = self.starts[strip + 1] if strip + 1 < len(self.starts) else self.right
            piece = Piece(self.starts[strip], self.since[strip], right, y)
            self.found.setdefault(tuple(sorted(self.covers[strip])), []).append(piece)
            self.since[strip] = y

    def finish(self, y: float) -> tuple[Zone, ...]:
        """The zones, once the sweep has reached the sheet's far edge."""
        for strip in range(len(self.starts)):
            self.close(strip, y)
        return tuple(Zone(cover, tuple(pieces)) for cover, pieces in self.found.items())
