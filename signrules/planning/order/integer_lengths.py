"""Heights as whole picometres, for sums that must not depend on the order in which they are made.

A picometre is finer than the guard by so much that no rounding passes it.
"""

from __future__ import annotations

from math import ceil, floor

from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import Heights
from signrules.physics.planes import HeadPlane

PER_MM = 10**9


def ink_picometres(heights: Heights, pass_index: int) -> int:
    """The ink that a pass lays at the most."""
    # Rounded to the nearest. Half a picometre for each layer is far below the guard of a nanometre.
    return ceil(heights.thickest(pass_index) * PER_MM - 0.5)


def least_clearance(heights: Heights) -> float:
    """The clearance in mm that a head must be left, the guard allowed for.

    It is no strike, and what the printer asks for.
    """
    return max(heights.job.printer.min_clearance - GUARD_MM, GUARD_MM * 1.001)


def room_picometres(heights: Heights, plane: HeadPlane, media: str, lift: float = 0.0) -> int:
    """How high ink may stand on a sheet under a head plane whose forms hold no ink.

    The sheet may be lifted by up to `lift` mm.
    """
    return floor(
        (heights.over_bare(plane, media, lift).low - least_clearance(heights)) * PER_MM + 0.5
    )
