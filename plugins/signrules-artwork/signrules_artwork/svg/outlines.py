"""Tracks of the basic shapes and paths of SVG (SVG 2, 9 and 10, from memory).

svgelements reads the data of paths.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import svgelements

from signrules_artwork.affine import Matrix
from signrules_artwork.chords import Spot, Track
from signrules_artwork.faults import Reading
from signrules_artwork.svg.lengths import Viewport, length_of, numbers_in

ARC_PARTS = 12
"""Cubic curves of a full turn: they lie within 4e-7 of the radius of a circle (geometry)."""

MOST_PATH_CHARACTERS = 5_000_000


def tracks_of(kind: str, element: Any, viewport: Viewport, reading: Reading) -> list[Track] | None:
    """The tracks of an element by its kind; None for one that is no shape."""
    maker = _MAKERS.get(kind)
    return None if maker is None else maker(element, viewport, reading)


def ellipse_track(x: float, y: float, across: float, down: float) -> Track:
    """An ellipse by its middle and half its width and height."""
    track = Track((x + across, y), closed=True)
    step = math.tau / ARC_PARTS
    for part in range(ARC_PARTS):
        track.pieces.append(_arc_piece((x, y), (across, down), part * step, step))
    return track


def _arc_piece(middle: Spot, radii: Spot, start: float, turn: float) -> tuple[Spot, ...]:
    """A part of an ellipse as a cubic curve: handles of 4/3 tan(turn/4) of the radius
    (geometry).
    """
    handle = 4 / 3 * math.tan(turn / 4)
    end = start + turn
    unit = (
        (math.cos(start) - handle * math.sin(start), math.sin(start) + handle * math.cos(start)),
        (math.cos(end) + handle * math.sin(end), math.sin(end) - handle * math.cos(end)),
        (math.cos(end), math.sin(end)),
    )
    return tuple((middle[0] + radii[0] * u, middle[1] + radii[1] * v) for u, v in unit)


def _lengths(element: Any, viewport: Viewport, *names: str) -> list[float]:
    """Attributes that are lengths, each by what its percentage counts from."""
    found = []
    for name in names:
        whole = viewport.diagonal
        if name in {"x", "x1", "x2", "cx", "rx", "width"}:
            whole = viewport.width
        elif name in {"y", "y1", "y2", "cy", "ry", "height"}:
            whole = viewport.height
        found.append(length_of(element.get(name), viewport, whole, 0.0))
    return found


def _circle(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    x, y, radius = _lengths(element, viewport, "cx", "cy", "r")
    return _sized(element, radius, radius, reading) and [ellipse_track(x, y, radius, radius)]


def _ellipse(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    x, y, across, down = _lengths(element, viewport, "cx", "cy", "rx", "ry")
    if element.get("rx") in {None, "auto"}:
        across = down
    if element.get("ry") in {None, "auto"}:
        down = across
    return _sized(element, across, down, reading) and [ellipse_track(x, y, across, down)]


def _sized(element: Any, across: float, down: float, reading: Reading) -> list[Any]:
    """Something true if a shape has a size; else it is told."""
    if across > 0 and down > 0:
        return [element]
    reading.note("a shape of no size was left out")
    return []


def _rectangle(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    x, y, width, height = _lengths(element, viewport, "x", "y", "width", "height")
    if not _sized(element, width, height, reading):
        return []
    across, down = _lengths(element, viewport, "rx", "ry")
    if element.get("rx") in {None, "auto"}:
        across = down
    if element.get("ry") in {None, "auto"}:
        down = across
    across, down = min(max(across, 0.0), width / 2), min(max(down, 0.0), height / 2)
    if across <= 0 or down <= 0:
        corners = [(x + width, y), (x + width, y + height), (x, y + height)]
        return [Track((x, y), [(corner,) for corner in corners], closed=True)]
    middles = [
        (x + width - across, y + height - down),
        (x + across, y + height - down),
        (x + across, y + down),
        (x + width - across, y + down),
    ]
    track = Track((x + width, y + height - down), closed=True)
    for turn, middle in enumerate(middles):
        start = turn * math.pi / 2
        ray = (across * math.cos(start), down * math.sin(start))
        track.pieces.append(((middle[0] + ray[0], middle[1] + ray[1]),))
        for part in range(3):
            angle = start + part * math.pi / 6
            track.pieces.append(_arc_piece(middle, (across, down), angle, math.pi / 6))
    return [track]


def _line(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    x1, y1, x2, y2 = _lengths(element, viewport, "x1", "y1", "x2", "y2")
    return [Track((x1, y1), [((x2, y2),)])]


def _polyline(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    numbers = numbers_in(element.get("points"))
    corners = list(zip(numbers[::2], numbers[1::2], strict=False))
    if not corners:
        return []
    return [Track(corners[0], [(corner,) for corner in corners[1:]])]


def _polygon(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    tracks = _polyline(element, viewport, reading)
    for track in tracks:
        track.closed = True
    return tracks


def _path(element: Any, viewport: Viewport, reading: Reading) -> list[Track]:
    data = element.get("d") or ""
    if len(data) > MOST_PATH_CHARACTERS:
        reading.spend_points(10**9)
    reading.spend_steps(len(data) // 20)
    try:
        path = svgelements.Path(data)
    except Exception as error:
        # svgelements raises whatever it meets in damaged data.
        reading.note(f"a path that cannot be read was left out ({type(error).__name__})")
        return []
    tracks: list[Track] = []
    for segment in path:
        _add_segment(tracks, segment)
    return [track for track in tracks if _is_finite(track)]


def _add_segment(tracks: list[Track], segment: Any) -> None:
    if isinstance(segment, svgelements.Move):
        tracks.append(Track(_spot(segment.end)))
        return
    if isinstance(segment, svgelements.Close):
        if tracks:
            tracks[-1].closed = True
        return
    if not tracks:
        return
    if tracks[-1].closed:
        tracks.append(Track(tracks[-1].start))
    pieces = tracks[-1].pieces
    if isinstance(segment, svgelements.CubicBezier):
        pieces.append((_spot(segment.control1), _spot(segment.control2), _spot(segment.end)))
    elif isinstance(segment, svgelements.QuadraticBezier):
        pieces.append(_raised(_spot(segment.start), _spot(segment.control), _spot(segment.end)))
    elif isinstance(segment, svgelements.Arc):
        for curve in segment.as_cubic_curves(_arc_count(segment)):
            pieces.append((_spot(curve.control1), _spot(curve.control2), _spot(curve.end)))
    else:
        pieces.append((_spot(segment.end),))


def _arc_count(arc: Any) -> int:
    return max(1, math.ceil(abs(float(arc.sweep)) / (math.tau / ARC_PARTS)))


def _raised(start: Spot, control: Spot, end: Spot) -> tuple[Spot, ...]:
    """A quadratic curve as a cubic one: handles at two thirds (geometry)."""
    first = tuple(a + 2 / 3 * (c - a) for a, c in zip(start, control, strict=True))
    second = tuple(b + 2 / 3 * (c - b) for b, c in zip(end, control, strict=True))
    return ((first[0], first[1]), (second[0], second[1]), end)


def _spot(point: Any) -> Spot:
    return float(point.x), float(point.y)


def _is_finite(track: Track) -> bool:
    spots = [track.start, *(spot for piece in track.pieces for spot in piece)]
    return all(math.isfinite(x) and math.isfinite(y) for x, y in spots)


def transform_of(text: str | None, reading: Reading) -> Matrix:
    """The map of a `transform`; that which changes nothing where it cannot be read."""
    if not text or text == "none":
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    try:
        found = svgelements.Matrix(text)
        parts = [float(part) for part in (found.a, found.b, found.c, found.d, found.e, found.f)]
    except Exception as error:
        # svgelements raises whatever it meets in a damaged transform.
        reading.note(f"a transform that cannot be read was left out ({type(error).__name__})")
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    a, b, c, d, e, f = parts
    return (a, b, c, d, e, f)


_MAKERS: dict[str, Callable[[Any, Viewport, Reading], list[Track]]] = {
    "circle": _circle,
    "ellipse": _ellipse,
    "rect": _rectangle,
    "line": _line,
    "polyline": _polyline,
    "polygon": _polygon,
    "path": _path,
}
