"""A plain reference: a raster of the bed.

It shares no code with the library beyond the classes of the model, and is written to be obviously
right, not fast: the sheet is cut into the cells between all edges, every cell keeps the list of
passes printed on it. Hold a rule or a tool of your own against it where a second opinion is worth
the time. Lengths in mm, intervals as (low, nominal, high) or (low, high).
"""

from __future__ import annotations

from itertools import pairwise

from signrules.model import Area, HeadSetting, Interval, Job, Media, Pass

EPS = 1e-6
"""A nanometre, in mm."""

Sum = dict[object, int]
"""A height as a sum of unknowns, each with how often it counts."""

Triple = tuple[float, float, float]
"""Low, nominal and high end of a length in mm."""

Ends = tuple[float, float]
"""A pair of lengths in mm, mostly of one length at its low and at its high end."""

Cell = tuple[float, float, list[Pass]]
"""From where to where in y, and the passes that print there."""


def add_sums(*sums: Sum, sign: int = 1) -> Sum:
    """The sum of sums; with sign -1 the first less the others."""
    total: Sum = {}
    for number, one in enumerate(sums):
        for unknown, count in one.items():
            if number > 0:
                # The first is the one from which the others are taken.
                count *= sign
            total[unknown] = total.get(unknown, 0) + count
    # What cancels must vanish, and not stay as a spread of nothing: the same base gap stands in
    # head and surface, and cannot be larger in one than in the other.
    return {unknown: count for unknown, count in total.items() if count}


def subtract_sums(a: Sum, b: Sum) -> Sum:
    """One sum less another; what stands in both cancels."""
    return add_sums(a, b, sign=-1)


class Raster:
    """Cells of every sheet, and heights as sums of unknowns."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.values: dict[object, Triple] = {}
        self._know("base", job.printer.base_gap)
        for sheet in job.media:
            self._know(("t", sheet.id), sheet.thickness)
            self.values["bow", sheet.id] = (0.0, 0.0, sheet.bow.high)
        for ink in job.inks:
            self._know(("ink", ink.id), ink.layer)
        self.cells = {sheet.id: self._cells(sheet.id, sheet.size) for sheet in job.media}

    def _know(self, unknown: object, value: Interval) -> object:
        self.values[unknown] = (value.low, value.nominal, value.high)
        return unknown

    def media(self, item: Pass) -> str:
        """The id of the sheet that a pass prints on."""
        return item.media or self.job.media[0].id

    def areas(self, item: Pass) -> list[Area]:
        """The rectangles of a pass."""
        sheet = self.sheet(self.media(item))
        return list(item.areas or [Area(0, 0, *sheet.size)])

    def sheet(self, name: str) -> Media:
        """The sheet of that id."""
        return next(sheet for sheet in self.job.media if sheet.id == name)

    def _cells(self, media: str, size: Ends) -> list[Cell]:
        own_passes = [item for item in self.job.passes if self.media(item) == media]
        xs, ys = {0.0, size[0]}, {0.0, size[1]}
        for item in own_passes:
            for area in self.areas(item):
                xs |= {area.x, area.x + area.width}
                ys |= {area.y, area.y + area.height}
        cells = []
        for x0, x1 in pairwise(sorted(xs)):
            for y0, y1 in pairwise(sorted(ys)):
                # No edge runs through a cell, so its middle stands for all of it.
                middle = (x0 + x1) / 2, (y0 + y1) / 2
                cells.append((y0, y1, [item for item in own_passes if self._covers(item, *middle)]))
        return cells

    def _covers(self, item: Pass, x: float, y: float) -> bool:
        """Whether a pass prints at a place on its sheet."""
        return any(
            area.x < x < area.x + area.width and area.y < y < area.y + area.height
            for area in self.areas(item)
        )

    def interval(self, total: Sum) -> Triple:
        """The ends of a sum."""
        low = nominal = high = 0.0
        for unknown, count in total.items():
            lowest, middle, highest = self.values[unknown]
            if count < 0:
                # What is taken away is least where the unknown is greatest.
                lowest, highest = highest, lowest
            low += count * lowest
            nominal += count * middle
            high += count * highest
        return low, nominal, high

    def stack(self, over: list[Pass], printed: set[str], side: str, full_only: bool = False) -> Sum:
        """How high the printed passes of a side stand in a cell; `full_only`: the fully covered."""
        total: Sum = {}
        for item in over:
            # Ink that covers a part only may be anywhere in the cell: it counts for the highest
            # surface, and not for the lowest.
            if item.id in printed and item.side == side and (item.coverage >= 1 or not full_only):
                total["ink", item.ink] = total.get(("ink", item.ink), 0) + item.layers
        return total

    def lift(self, media: str, up: str, printed: set[str]) -> Sum:
        """By how much ink on the side that lies down may lift a sheet."""
        under = "back" if up == "front" else "front"
        highest = max(
            self.interval(self.stack(over, printed, under))[2] for *_, over in self.cells[media]
        )
        if highest <= 0:
            return {}
        unknown = ("lift", media, highest)
        # From not at all to its full height: where the sheet rests on its ink, nobody knows.
        self.values[unknown] = (0.0, 0.0, highest)
        return {unknown: 1}

    def plane(self, item: Pass, gap: HeadSetting, printed: set[str]) -> list[Sum]:
        """The head plane that a gap gives: the highest of these sums."""
        extra: Sum = {self._know(("extra", gap.stated), gap.stated): 1}
        media = self.media(item)
        # Without the base gap: the plane itself is stated.
        if gap.above == "bed":
            return [extra]
        above = add_sums(extra, {"base": 1, ("t", media): 1})
        if gap.above == "media":
            return [above]
        return [
            add_sums(above, self.stack(over, printed, item.side)) for *_, over in self.cells[media]
        ]

    def over_surface(self, plane: list[Sum], surface: Sum) -> Triple:
        """How far a head plane is above a surface."""
        intervals = [self.interval(subtract_sums(top, surface)) for top in plane]
        lows, middles, highs = zip(*intervals, strict=True)
        return max(lows), max(middles), max(highs)

    def in_band(self, item: Pass) -> list[str]:
        """The ids of the sheets that the head passes over."""
        low, high = self.band(item)
        load = self.sheet(self.media(item)).load
        return [
            m.id
            for m in self.job.media
            if m.load == load and min(high, m.at[1] + m.size[1]) - max(low, m.at[1]) > EPS
        ]

    def band(self, item: Pass) -> Ends:
        """From where to where in y the head passes."""
        y = self.sheet(self.media(item)).at[1]
        head = self.job.printer.head_length
        return (
            y + min(area.y for area in self.areas(item)) - head,
            y + max(area.y + area.height for area in self.areas(item)) + head,
        )

    def clearance(self, item: Pass, plane: list[Sum], printed: set[str], turned: set[str]) -> Ends:
        """The least that is left under the head, low and high; sheets in `turned` lie back up."""
        low, high = self.band(item)
        clearances = []
        for name in self.in_band(item):
            sheet = self.sheet(name)
            up = "back" if name in turned else "front"
            ground = add_sums({("t", name): 1, ("bow", name): 1}, self.lift(name, up, printed))
            for y0, y1, over in self.cells[name]:
                if min(high, sheet.at[1] + y1) - max(low, sheet.at[1] + y0) > EPS:
                    clearances.append(
                        self.over_surface(plane, add_sums(ground, self.stack(over, printed, up)))
                    )
        return min(f[0] for f in clearances), min(f[2] for f in clearances)

    def throws(self, item: Pass, plane: list[Sum], printed: set[str]) -> list[Ends]:
        """The throw to the highest and to the lowest surface within the areas: low and high."""
        media = self.media(item)
        ground = add_sums({("t", media): 1}, self.lift(media, item.side, printed))
        tops, feet = [], []
        for *_, over in self.cells[media]:
            if item in over:
                top = add_sums(ground, self.stack(over, printed, item.side))
                foot = add_sums(ground, self.stack(over, printed, item.side, full_only=True))
                tops.append(self.over_surface(plane, top))
                feet.append(self.over_surface(plane, foot))
        return [
            (min(low for low, _, _ in tops), min(high for _, _, high in tops)),
            (max(low for low, _, _ in feet), max(high for _, _, high in feet)),
        ]

    def nominal(self, plane: list[Sum]) -> float:
        """The nominal height of a head plane above the bed."""
        return max(self.interval(unknown)[1] for unknown in plane)
