"""How large the pixels of an image are, as its file states it."""

from __future__ import annotations

import math
from typing import Any

from attrs import frozen

from signrules_artwork.faults import artwork_error

INCH_MM = 25.4
LEAST_DPI, MOST_DPI = 1.0, 100_000.0


@frozen
class PixelSize:
    """The width and height of a pixel in mm."""

    width: float
    height: float


def pixel_size(across: float, down: float, where: str, how: str) -> PixelSize:
    """The size of pixels of which so many come to an inch. Raises ArtworkError for what is no
    resolution; `how` says how a file of the format states one.
    """
    for dots in (across, down):
        if not math.isfinite(dots) or not LEAST_DPI <= dots <= MOST_DPI:
            found = "no resolution" if dots in {0} else f"a resolution of {dots:g} dpi"
            raise artwork_error(where, found, f"pixels per inch: {how}")
    return PixelSize(INCH_MM / across, INCH_MM / down)


def stated_dots(value: Any) -> float:
    """A number of dots, from a number or a fraction; 0 for what is none."""
    try:
        if isinstance(value, tuple):
            return float(value[0]) / float(value[1])
        return float(value)
    except (TypeError, ValueError, ZeroDivisionError, IndexError):
        return 0.0
