"""Which shapes of a layer are dots: round, filled, of the size of a braille dot. Geometry."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, islice, product
from statistics import median
from typing import Any, TypeVar

from attrs import evolve, frozen

from signrules.artwork.drawing import Point, Shape
from signrules.artwork.libraries import numpy_library
from signrules.errors import MOST_LISTED

SMALLEST_DOT, LARGEST_DOT = 0.3, 5.0
"""Diameters in mm of what may be a dot at all; what a standard asks for is for its rules to say."""

MOST_OVAL = 1.25
"""The longer axis of a dot over its shorter one."""

ROUND_SHARES = (0.97, 1.03)
"""The area of a dot over that of the ellipse with the same moments; that of a square is 0.955."""

SAME_RADIUS = 0.005
"""Corners of a ring that lie on a circle differ from its radius by no more than this share."""

SAME_PLACE = 0.25
"""Dots whose centres lie closer than this share of their diameter are one dot drawn twice."""

SAME_CENTRE_MM = 0.02
"""How far the centres of a filled dot and its own outline may lie apart."""

ODD_SIZE = 0.1
"""The share by which a dot may differ from the middle one before its size is told."""


@frozen
class Dot:
    """A dot: its centre and diameter in mm, and where the file draws it. `oval` is its longer axis
    over its shorter one.
    """

    x: float
    y: float
    diameter: float
    place: str = ""
    oval: float = 1.0


@frozen
class DotFault:
    """What is wrong with dots as they are drawn: a word for it, where, and a sentence.

    `kind` is "doubled", "touching", "hollow", "not a dot", "odd size", "stray" or "turned".
    """

    kind: str
    at: Point
    text: str


@frozen
class FoundDots:
    """The dots among some shapes, the shapes that are none, and what is wrong with the dots."""

    dots: tuple[Dot, ...]
    others: tuple[Shape, ...]
    faults: tuple[DotFault, ...]


def found_dots(shapes: Iterable[Shape]) -> FoundDots:
    """The dots among shapes, those drawn twice once.

    A dot drawn as a filled circle with an outline of its own is one dot, as large as both.
    """
    discs: list[Dot] = []
    rings: list[Dot] = []
    others = []
    for shape in shapes:
        dot = dot_of(shape)
        if dot is None:
            others.append(shape)
        elif shape.holes:
            rings.append(dot)
        else:
            discs.append(dot)
    discs, hollow = _with_outlines(discs, rings)
    dots, faults = _without_doubles(discs)
    faults += _hollow_faults(hollow)
    faults += [*islice(_touching(dots), MOST_LISTED), *_odd_sizes(dots)]
    return FoundDots(tuple(dots), tuple(others), tuple(faults))


def dot_of(shape: Shape) -> Dot | None:
    """The dot that a shape is, its holes left aside; None where it is none."""
    ring = shape.outline
    if len(ring) < 3:
        return None
    corners = numpy_library().array(ring)
    area, centre, moments = _moments(corners)
    # Size before shape: it is cheap, and leaves out most of what a layer of letters holds.
    if not math.pi / 4 * SMALLEST_DOT**2 <= area <= math.pi / 4 * LARGEST_DOT**2:
        return None
    long, short = _half_axes(moments, area)
    if long > MOST_OVAL * short:
        return None
    if not ROUND_SHARES[0] <= area / (math.pi * long * short) <= ROUND_SHARES[1]:
        return None
    return Dot(*centre, _diameter(corners, centre, area), shape.place, long / short)


def _moments(corners: Any) -> tuple[float, Point, tuple[float, float, float]]:
    """Area, centroid and central second moments (xx, yy, xy) of a polygon, by Green's theorem.

    Places count from the first corner, so that nothing is lost to rounding far from the origin.
    """
    numpy = numpy_library()
    start_x, start_y = corners[0].tolist()
    x, y = (corners - corners[0]).T
    # After the last corner comes the first one again, which is 0, 0 from itself.
    next_x, next_y = numpy.append(x[1:], 0.0), numpy.append(y[1:], 0.0)
    cross = x * next_y - next_x * y
    area = float(cross.sum()) / 2
    if area == 0:
        return 0.0, (start_x, start_y), (0.0, 0.0, 0.0)
    x_sum, y_sum = float(cross @ (x + next_x)) / 6, float(cross @ (y + next_y)) / 6
    xx_sum = float(cross @ (x * x + x * next_x + next_x * next_x)) / 12
    yy_sum = float(cross @ (y * y + y * next_y + next_y * next_y)) / 12
    mixed = 2 * x * y + x * next_y + next_x * y + 2 * next_x * next_y
    xy_sum = float(cross @ mixed) / 24
    x_mean, y_mean = x_sum / area, y_sum / area
    sign = math.copysign(1.0, area)
    central = (
        sign * (xx_sum - area * x_mean**2),
        sign * (yy_sum - area * y_mean**2),
        sign * (xy_sum - area * x_mean * y_mean),
    )
    # The sign of the area tells which way round the ring runs, which files do not agree on.
    return abs(area), (start_x + x_mean, start_y + y_mean), central


def _half_axes(moments: tuple[float, float, float], area: float) -> tuple[float, float]:
    """The half axes of the ellipse with these second moments: twice the root of each variance."""
    xx, yy, xy = (moment / area for moment in moments)
    middle, off = (xx + yy) / 2, math.hypot((xx - yy) / 2, xy)
    return 2 * math.sqrt(middle + off), 2 * math.sqrt(max(middle - off, 1e-12))


def _diameter(corners: Any, centre: Point, area: float) -> float:
    """The diameter of the circle on which the corners of a ring lie, or else of its area."""
    radii = numpy_library().hypot(*(corners - centre).T)
    radius = float(radii.mean())
    # Chords cut a circle short, so its polygon has less area than the disc it stands for: by 4.5 %
    # of 12 corners. Where all corners lie on a circle, that circle is what was drawn.
    if float(radii.max() - radii.min()) <= 2 * SAME_RADIUS * radius:
        return 2 * radius
    return 2 * math.sqrt(area / math.pi)


def _with_outlines(discs: Sequence[Dot], rings: Sequence[Dot]) -> tuple[list[Dot], list[Dot]]:
    """Discs grown to the outlines that are drawn around them, and outlines around nothing."""
    grown = list(discs)
    by_place = _by_place(discs, LARGEST_DOT)
    hollow = []
    for ring in rings:
        inside = [
            at
            for at in _near(by_place, (ring.x, ring.y), LARGEST_DOT)
            if math.hypot(discs[at].x - ring.x, discs[at].y - ring.y) <= SAME_CENTRE_MM
        ]
        if not inside:
            hollow.append(ring)
        for at in inside:
            diameter = max(grown[at].diameter, ring.diameter)
            grown[at] = evolve(grown[at], diameter=diameter)
    return grown, hollow


def _hollow_faults(hollow: Sequence[Dot]) -> Iterator[DotFault]:
    """That dots are rings; of many, which are drawn alike, one fault with the first place."""
    if len(hollow) < MANY_RINGS:
        for ring in hollow:
            yield _fault("hollow", ring, "is drawn as a ring that is not filled")
        return
    first = hollow[0]
    text = (
        f"{len(hollow)} dots are drawn as rings, the first at {first.x:.3f}, {first.y:.3f} mm: they"
        " are not filled, or something white lies on them"
    )
    yield DotFault("hollow", (first.x, first.y), text)


MANY_RINGS = 4
"""So many dots that are rings are told as one fault."""


def _without_doubles(discs: Sequence[Dot]) -> tuple[list[Dot], list[DotFault]]:
    """Each dot once, and a fault for each that is drawn again at its place."""
    by_place: dict[tuple[int, int], list[int]] = defaultdict(list)
    kept: list[Dot] = []
    faults = []
    for disc in discs:
        twin = next(
            (
                kept[at]
                for at in _near(by_place, (disc.x, disc.y), LARGEST_DOT)
                if _is_same(disc, kept[at])
            ),
            None,
        )
        if twin is None:
            by_place[_square_of(disc.x, disc.y, LARGEST_DOT)].append(len(kept))
            kept.append(disc)
        else:
            apart = math.hypot(disc.x - twin.x, disc.y - twin.y)
            faults.append(_fault("doubled", twin, f"is drawn twice, {apart:.3f} mm apart"))
    return kept, faults


def _is_same(one: Dot, other: Dot) -> bool:
    apart = math.hypot(one.x - other.x, one.y - other.y)
    return apart < SAME_PLACE * min(one.diameter, other.diameter)


def _touching(dots: Sequence[Dot]) -> Iterator[DotFault]:
    for one, other in near_pairs(dots, LARGEST_DOT):
        between = math.hypot(one.x - other.x, one.y - other.y)
        overlap = (one.diameter + other.diameter) / 2 - between
        if overlap >= 0:
            text = (
                f"touches the dot at {other.x:.3f}, {other.y:.3f} mm: their edges overlap by"
                f" {overlap:.3f} mm"
            )
            yield _fault("touching", one, text)


def _odd_sizes(dots: Sequence[Dot]) -> Iterator[DotFault]:
    if not dots:
        return
    # The median and not the mean: a few large dots would make the small ones look odd too.
    usual = median(dot.diameter for dot in dots)
    for dot in dots:
        if abs(dot.diameter - usual) > ODD_SIZE * usual:
            text = f"is {dot.diameter:.3f} mm wide where most are {usual:.3f} mm"
            yield _fault("odd size", dot, text)


def _fault(kind: str, dot: Dot, text: str) -> DotFault:
    return DotFault(kind, (dot.x, dot.y), f"the dot at {dot.x:.3f}, {dot.y:.3f} mm {text}")


T = TypeVar("T", bound=Dot)


def near_pairs(dots: Sequence[T], distance: float) -> Iterator[tuple[T, T]]:
    """Each pair of dots that lie closer than a distance, once."""
    by_place = _by_place(dots, distance)
    for (column, row), here in by_place.items():
        # Half of the squares around this one; the other half look back at it.
        beside = ((1, -1), (1, 0), (1, 1), (0, 1))
        there = [at for x, y in beside for at in by_place.get((column + x, row + y), ())]
        for one, other in (*combinations(here, 2), *product(here, there)):
            if math.hypot(dots[one].x - dots[other].x, dots[one].y - dots[other].y) < distance:
                yield dots[one], dots[other]


def _by_place(dots: Sequence[Dot], side: float) -> dict[tuple[int, int], list[int]]:
    found: dict[tuple[int, int], list[int]] = defaultdict(list)
    for at, dot in enumerate(dots):
        found[_square_of(dot.x, dot.y, side)].append(at)
    return found


def _square_of(x: float, y: float, side: float) -> tuple[int, int]:
    return math.floor(x / side), math.floor(y / side)


def _near(by_place: dict[tuple[int, int], list[int]], place: Point, side: float) -> Iterator[int]:
    """Numbers of the dots in the square of a place and those around it."""
    column, row = _square_of(*place, side)
    for x, y in product((-1, 0, 1), repeat=2):
        yield from by_place.get((column + x, row + y), ())
