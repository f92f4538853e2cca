"""How letters are set otherwise than their font has them, as far as the map from their em tells."""

from __future__ import annotations

import math
from collections.abc import Iterator

from signrules.artwork.drawing import MIRRORED
from signrules_artwork.affine import Matrix, is_flat

SAME_SHARE = 0.001
"""Lengths that differ by less than this share are alike, as are angles of so many radians."""


def settings_of(to_mm: Matrix) -> Iterator[str]:
    """What a map from em to mm does to letters beside turning and sizing them, in words."""
    a, b, c, d, _, _ = to_mm
    across, upwards = math.hypot(a, b), math.hypot(c, d)
    if is_flat(to_mm):
        return
    if a * d - b * c < 0:
        yield MIRRORED
    slant = (a * c + b * d) / (across * upwards)
    if abs(slant) > SAME_SHARE:
        yield f"slanted by {math.degrees(math.asin(min(abs(slant), 1.0))):.1f} degrees"
    width = across * across / abs(a * d - b * c)
    if abs(width - 1) > SAME_SHARE:
        yield f"set to {100 * width:.1f} % of its width"
