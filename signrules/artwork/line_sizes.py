"""What each line of letters measures, where their sizes differ. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import median

from attrs import frozen

from signrules.model.quantities import Interval

SAME_SIZE_MM = 0.01
"""Lines whose heights differ by less are of one size."""


@frozen
class LineSizes:
    """The height, the stroke, the width of O and the gaps of a line, as far as they are known."""

    height: Interval
    stroke: Interval | None = None
    width: Interval | None = None
    spacing: Interval | None = None


@frozen
class PartSizes:
    """All heights, strokes, widths of O and gaps that are known of a line, or of a part of one."""

    heights: Sequence[float]
    strokes: Sequence[float]
    widths: Sequence[float]
    gaps: Sequence[float] = ()

    @property
    def sizes(self) -> LineSizes | None:
        """Each from the least to the most; None where the height is not known."""
        height = spread(self.heights)
        if height is None:
            return None
        return LineSizes(height, spread(self.strokes), spread(self.widths), spread(self.gaps))


def lines_of_several_sizes(lines: Iterable[LineSizes | None]) -> tuple[LineSizes, ...]:
    """The sizes of lines where they differ in height; none where they do not, or where one is not
    known, for then the figures of all lines say as much.
    """
    known = list(lines)
    sizes = [line for line in known if line is not None]
    if len(sizes) < max(len(known), 2):
        return ()
    heights = [end for line in sizes for end in (line.height.low, line.height.high)]
    if max(heights) - min(heights) < SAME_SIZE_MM:
        return ()
    return tuple(dict.fromkeys(sizes))


def spread(values: Iterable[float]) -> Interval | None:
    """The least and the most of some lengths; None without any."""
    known = [value for value in values if math.isfinite(value)]
    if not known:
        return None
    return Interval(min(known), median(known), max(known))
