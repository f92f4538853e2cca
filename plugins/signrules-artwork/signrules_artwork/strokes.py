"""What a stroke covers: its width, caps, joins and dashes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from attrs import frozen

from signrules_artwork.affine import Matrix, Points, largest_stretch, moved_region
from signrules_artwork.chords import CHORD_TOLERANCE_MM, Track, track_points
from signrules_artwork.faults import Reading
from signrules_artwork.regions import NOWHERE, line_crowding, only_areas

HAIRLINE_MM = 0.02
"""The width that a stroke without one is taken to have. PDF says "the thinnest line of the device"
for it (ISO 32000-1, 8.4.3.2, from memory); a cut line is often drawn so.
"""


@frozen
class Pen:
    """How a stroke is drawn, in the units of its path. Caps and joins are "flat", "round" or
    "square", and "miter", "round" or "bevel".
    """

    width: float = 1.0
    cap: str = "flat"
    join: str = "miter"
    miter_limit: float = 10.0
    dashes: tuple[float, ...] = ()
    phase: float = 0.0


def stroked_region(tracks: Sequence[Track], pen: Pen, matrix: Matrix, reading: Reading) -> Any:
    """What a pen covers that follows tracks, after `matrix` has taken it to the page, in mm."""
    stretch = largest_stretch(matrix)
    if stretch <= 0:
        return NOWHERE
    width = pen.width
    if width * stretch < HAIRLINE_MM / 10:
        reading.note(f"a line without a width is taken to be {HAIRLINE_MM} mm wide")
        width = HAIRLINE_MM / stretch
    tolerance = CHORD_TOLERANCE_MM / stretch / 2
    lines = [(track_points(each, tolerance, width / 2), each.closed) for each in tracks]
    line_crowding((line for line, _ in lines), reading)
    drawn = [part for line, closed in lines for part in _dashed(line, closed, pen, reading)]
    pieces = [_stroked(line, closed, pen, width, tolerance) for line, closed in drawn]
    pieces = [piece for piece in pieces if not piece.is_empty]
    if not pieces:
        return NOWHERE
    region = pieces[0] if len(pieces) == 1 else shapely.union_all(pieces)
    reading.spend_points(int(shapely.get_num_coordinates(region)))
    return moved_region(matrix, only_areas(region))


def _stroked(line: Points, closed: bool, pen: Pen, width: float, tolerance: float) -> Any:
    """What one line covers. A line of no length leaves a dot with round caps, nothing else."""
    half = width / 2
    steps = max(2, math.ceil(math.pi / 4 / math.acos(max(-1.0, 1 - min(tolerance / half, 1.0)))))
    line = _without_repeats(line)
    if len(line) < 2:
        if pen.cap != "round":
            return NOWHERE
        return shapely.Point(line[0]).buffer(half, quad_segs=steps)
    kind = shapely.LinearRing if closed and len(line) > 2 else shapely.LineString
    return shapely.buffer(
        kind(line),
        half,
        quad_segs=steps,
        cap_style=pen.cap,
        join_style="mitre" if pen.join == "miter" else pen.join,
        mitre_limit=max(pen.miter_limit, 1.0),
    )


def _without_repeats(line: Points) -> Points:
    """The line without corners that repeat the one before."""
    moved = np.any(np.abs(np.diff(line, axis=0)) > 1e-12, axis=1)
    kept: Points = line[np.concatenate([[True], moved])]
    return kept


def _dashed(line: Points, closed: bool, pen: Pen, reading: Reading) -> list[tuple[Points, bool]]:
    """The parts of a line that are drawn, each with whether it is closed."""
    dashes = [max(0.0, dash) for dash in pen.dashes if math.isfinite(dash)]
    if sum(dashes) <= 0:
        return [(line, closed)]
    if len(dashes) % 2:
        dashes = dashes * 2
    if closed:
        line = np.concatenate([line, line[:1]])
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    whole = float(walked[-1])
    reading.spend_steps(int(min(whole / sum(dashes) * len(dashes), 1e9)))
    parts = []
    for start, end in _drawn_stretches(dashes, pen.phase, whole):
        parts.append((_part_of(line, walked, start, end), False))
    return parts


def _drawn_stretches(
    dashes: Sequence[float], phase: float, whole: float
) -> list[tuple[float, float]]:
    """From where to where along a line of length `whole` the dashes draw."""
    here = -math.fmod(max(phase, 0.0), sum(dashes))
    found = []
    last = whole * (1 + 1e-9)
    while here <= last:
        for drawn, gap in zip(dashes[::2], dashes[1::2], strict=True):
            start, end = max(here, 0.0), min(here + drawn, whole)
            if end > start:
                found.append((start, end))
            elif drawn == 0 and 0 <= here <= last:
                found.append((end, end))
            here += drawn + gap
    return found


def _part_of(line: Points, walked: Points, start: float, end: float) -> Points:
    """The part of a line between two lengths along it."""
    first, last = np.searchsorted(walked, start, "right"), np.searchsorted(walked, end, "left")
    inside = line[first:last]
    ends = [[np.interp(at, walked, line[:, axis]) for axis in (0, 1)] for at in (start, end)]
    return np.concatenate([[ends[0]], inside, [ends[1]]])
