"""Affine maps of the plane, as PDF and SVG write them: (a, b, c, d, e, f) takes (x, y) to
(ax + cy + e, bx + dy + f).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

Matrix = tuple[float, float, float, float, float, float]
Points = NDArray[np.float64]
"""Points as rows of x and y."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

FARTHEST_MM = 1e7
"""What lies farther out than this is taken to lie at this distance: no bed is 10 km long."""


def joined(first: Matrix, then: Matrix) -> Matrix:
    """The map that does `first`, and `then` on what comes of it."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return (
        a * p + b * r,
        a * q + b * s,
        c * p + d * r,
        c * q + d * s,
        e * p + f * r + t,
        e * q + f * s + u,
    )


def moved_point(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    """Where a map takes a point."""
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def moved_points(matrix: Matrix, points: Points) -> Points:
    """Where a map takes points, none farther out than `FARTHEST_MM`."""
    a, b, c, d, e, f = matrix
    moved: Points = points @ np.array([[a, b], [c, d]]) + np.array([e, f])
    if np.abs(moved).max(initial=0.0) <= FARTHEST_MM:
        return moved
    near: Points = np.clip(np.nan_to_num(moved), -FARTHEST_MM, FARTHEST_MM)
    return near


def moved_region(matrix: Matrix, region: Any) -> Any:
    """Where a map takes a region."""
    return shapely.transform(region, lambda points: moved_points(matrix, points))


def largest_stretch(matrix: Matrix) -> float:
    """The most that a map lengthens a line: its largest singular value."""
    a, b, c, d, _, _ = matrix
    half = (a * a + b * b + c * c + d * d) / 2
    determinant = a * d - b * c
    return math.sqrt(half + math.sqrt(max(half * half - determinant * determinant, 0.0)))


def is_flat(matrix: Matrix) -> bool:
    """Whether a map leaves no area of anything, or is none of finite numbers."""
    a, b, c, d, _, _ = matrix
    return not math.isfinite(sum(matrix)) or abs(a * d - b * c) < 1e-18


def inverted(matrix: Matrix) -> Matrix:
    """The map that undoes one that is not flat."""
    a, b, c, d, e, f = matrix
    size = a * d - b * c
    p, q, r, s = d / size, -b / size, -c / size, a / size
    return (p, q, r, s, -(e * p + f * r), -(e * q + f * s))
