"""Where the dots of a text lie, their room and ink, and how far they stay from other things.

Lengths in mm, areas in mm2, volumes in mm3 (1 mm3 is 1 uL). All of it is geometry. x runs to the
right and y upwards, from the lower left corner of the sheet as the finished sign is read: the first
line has the largest y, and dots 2 and 3 lie below dot 1. A job's areas count from the same corner,
so a sign that lies on the bed upright needs no conversion.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import chain, product

from attrs import frozen

from signrules.braille.cells import dots_of
from signrules.model.passes import Area
from signrules.model.quantities import GUARD_MM
from signrules.physics.ink import cap_limit, cap_volume
from signrules.physics.number_checks import positive_number

Point = tuple[float, float]

_PLACES = {1: (0, 0), 2: (0, 1), 3: (0, 2), 4: (1, 0), 5: (1, 1), 6: (1, 2), 7: (0, 3), 8: (1, 3)}
"""Column and row of each dot, counted from dot 1 to the right and down."""


@frozen
class BrailleLayout:
    """Dots of a text in their places: `lines` holds the centres in the order of the text."""

    lines: tuple[tuple[Point, ...], ...]
    dot_diameter: float

    @property
    def dots(self) -> tuple[Point, ...]:
        """The centres of all dots."""
        return tuple(chain.from_iterable(self.lines))

    @property
    def count(self) -> int:
        """How many dots there are."""
        return sum(map(len, self.lines))

    @property
    def extents(self) -> Area | None:
        """The rectangle around all dots, from edge to edge of their bases; None without dots."""
        return self._around(self.dots)

    @property
    def base_area(self) -> float:
        """The area of all bases: dots x pi d**2 / 4."""
        return self.count * math.pi * self.dot_diameter**2 / 4

    def volume(self, height: float) -> float:
        """The volume of all dots at a height above the face; see `dot_volume`.

        Raises ValueError unless above 0.
        """
        return self.count * dot_volume(self.dot_diameter, height)

    def fits(self, width: float, height: float) -> bool:
        """Whether the dots go into a box of a width and height, wherever it lies, upright.

        Without dots they do.
        """
        around = self.extents
        return around is None or (
            around.width <= width + GUARD_MM and around.height <= height + GUARD_MM
        )

    def clear_of(self, areas: Iterable[Area]) -> float | None:
        """The least distance from the edge of a dot's base to the edge of any of the rectangles.

        0 where they touch or lie on each other, None where there is no dot or no rectangle.
        """
        distances = [_point_distance(dot, area) for dot, area in product(self.dots, areas)]
        if not distances:
            return None
        # From the centre, so that the corner of a rectangle is met by a round base and not by its
        # square.
        return max(min(distances) - self.dot_diameter / 2, 0.0)

    def areas(self, *, per: str = "line") -> tuple[Area, ...]:
        """Rectangles for a pass: one around each line with dots, or one around each dot.

        `per` is "line" or "dot". Raises ValueError for another `per`.
        """
        if per not in ("line", "dot"):
            raise ValueError(f"per: expected 'line' or 'dot', got {per!r}")
        groups = self.lines
        if per == "dot":
            # A line without dots makes no area: a text may end in an empty line.
            groups = tuple((dot,) for dot in self.dots)
        return tuple(area for group in groups if (area := self._around(group)) is not None)

    def _around(self, dots: tuple[Point, ...]) -> Area | None:
        if not dots:
            return None
        radius = self.dot_diameter / 2
        left_edge, right = min(x for x, _ in dots), max(x for x, _ in dots)
        low, high = min(y for _, y in dots), max(y for _, y in dots)
        return Area(
            left_edge - radius,
            low - radius,
            right - left_edge + 2 * radius,
            high - low + 2 * radius,
        )


def braille_layout(
    cells: str,
    *,
    at: Point,
    dot_spacing: float,
    cell_spacing: float,
    line_spacing: float,
    dot_diameter: float,
) -> BrailleLayout:
    """Lay out cells: braille patterns, with spaces as blank cells and line ends between lines.

    `at` is the centre of dot 1 of the first cell of the first line. Spacings are centre to centre:
    of neighbouring dots in a cell, of the same dot in the next cell, of the same dot in the next
    line. Raises ValueError for another character, a place that is not finite, or a length that is
    not above 0.
    """
    # A place that is no number would show only as a rule that fails far from here.
    if not all(map(math.isfinite, at)):
        raise ValueError(f"at: expected a finite place, got {at!r}")
    dot, step = (
        positive_number("dot_spacing", dot_spacing, "mm"),
        positive_number("cell_spacing", cell_spacing, "mm"),
    )
    line_pitch, base = (
        positive_number("line_spacing", line_spacing, "mm"),
        positive_number("dot_diameter", dot_diameter, "mm"),
    )
    lines = []
    for number, line in enumerate(cells.split("\n")):
        centres = []
        for index, pattern in enumerate(line):
            # Each place from the first, so that rounding does not add up along a line.
            x, y = at[0] + index * step, at[1] - number * line_pitch
            for column, row in (_PLACES[name] for name in dots_of(pattern)):
                centres.append((x + column * dot, y - row * dot))
        lines.append(tuple(centres))
    return BrailleLayout(tuple(lines), base)


def dot_volume(base: float, height: float) -> float:
    """The volume of one dot: a dome up to half its base, and above that a hemisphere on a cylinder.

    Raises ValueError unless both are above 0.
    """
    dome = min(height, cap_limit(base))
    return cap_volume(base, dome) + max(height - dome, 0.0) * math.pi * base**2 / 4


def area_distance(one: Area, other: Area) -> float:
    """How far apart two rectangles are, edge to edge; 0 where they touch or lie on each other."""
    across = max(one.x - other.x - other.width, other.x - one.x - one.width, 0.0)
    along = max(one.y - other.y - other.height, other.y - one.y - one.height, 0.0)
    return math.hypot(across, along)


def _point_distance(point: Point, area: Area) -> float:
    return area_distance(Area(*point, 0.0, 0.0), area)
