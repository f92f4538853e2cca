"""Paths of lines and cubic curves, and the chords that stand for them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
from attrs import define, field

from signrules_artwork.affine import Points

CHORD_TOLERANCE_MM = 0.0005
"""The most that a chord lies from its curve."""

MOST_CHORDS = 4000
"""The most chords of one curve: enough for a quarter of a circle of 30 m."""

Spot = tuple[float, float]


@define
class Track:
    """One part of a path: a start, and pieces that are (end) of a line or (control, control, end)
    of a cubic curve.
    """

    start: Spot
    pieces: list[tuple[Spot, ...]] = field(factory=list)
    closed: bool = False

    @property
    def end(self) -> Spot:
        """Where it has come to."""
        return self.pieces[-1][-1] if self.pieces else self.start


def track_points(track: Track, tolerance: float, reach: float = 0.0) -> Points:
    """The corners of a track as chords.

    `reach` is how far to either side of the track something is drawn (half the width of a stroke):
    the edge of it lies within `tolerance` too.
    """
    parts = [np.array([track.start])]
    here = track.start
    for piece in track.pieces:
        if len(piece) == 1:
            parts.append(np.array([piece[0]]))
        else:
            count = _chord_count((here, *piece), tolerance, reach)
            parts.append(_cubic_basis(count) @ np.array((here, *piece)))
        here = piece[-1]
    return np.concatenate(parts)


def _chord_count(controls: Sequence[Spot], tolerance: float, reach: float) -> int:
    """How many chords a cubic curve needs: Wang's bound by second differences (geometry), and by
    the turn of its edge at `reach`.
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = controls
    bend = max(
        math.hypot(ax - 2 * bx + cx, ay - 2 * by + cy),
        math.hypot(bx - 2 * cx + dx, by - 2 * cy + dy),
    )
    count = math.sqrt(0.75 * bend / tolerance)
    if reach > 0:
        turn = _turn(controls)
        count = max(count, turn / math.sqrt(8 * tolerance / (reach + tolerance)))
    if not math.isfinite(count):
        return 1
    return max(1, min(math.ceil(count), MOST_CHORDS))


def _turn(controls: Sequence[Spot]) -> float:
    """How far a curve turns at most: the sum of the turns of its controls, in radians."""
    ways = [
        math.atan2(by - ay, bx - ax)
        for (ax, ay), (bx, by) in pairwise(controls)
        if (ax, ay) != (bx, by)
    ]
    turns = [abs(math.remainder(there - here, math.tau)) for here, there in pairwise(ways)]
    return sum(turns)


@lru_cache(maxsize=512)
def _cubic_basis(count: int) -> Points:
    """Bernstein's polynomials at the ends of so many equal steps of the parameter."""
    t = np.arange(1, count + 1) / count
    s = 1 - t
    return np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=1)
