"""The geometry of a bed by plain interval arithmetic, for an oracle that shares no code with the
library.

It takes nothing but the classes of the model. A length with a tolerance is an unknown; what stands
on both sides of a difference cancels. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, product
from typing import NamedTuple

from signrules.model import Area, Gap, Job

EPS = 1e-6
"""A nanometre, in mm."""

Ideal = frozenset[int]
"""What is printed of one sheet: its passes, with each of them all that must come before it."""

Stack = tuple[int, ...]
"""The passes on a spot, by index."""


class Plane(NamedTuple):
    """A head plane: which gap was set over which sheet when so much of it was printed."""

    gap: Gap
    sheet: int
    printed: Ideal


class Bed:
    """The geometry of a job, and what follows from it for clearances, planes and alignments."""

    def __init__(self, job: Job) -> None:
        self.job, self.passes, self.sheets = job, job.passes, job.media
        number = {sheet.id: at for at, sheet in enumerate(self.sheets)}
        self.sheet_of = [0 if item.media is None else number[item.media] for item in self.passes]
        index = {item.id: at for at, item in enumerate(self.passes)}
        self.before = [
            frozenset(index[name] for name in (*item.over, *item.after)) for item in self.passes
        ]
        self.layers = {ink.id: ink.layer for ink in job.inks}
        self.cells = [self._cells(at) for at in range(len(self.sheets))]
        self.ideals = [list(self._ideals(at)) for at in range(len(self.sheets))]

    def on(self, sheet: int) -> list[int]:
        """The passes on a sheet."""
        return [at for at, where in enumerate(self.sheet_of) if where == sheet]

    def _areas(self, at: int) -> tuple[Area, ...]:
        return self.passes[at].areas or (Area(0.0, 0.0, *self.sheets[self.sheet_of[at]].size),)

    def _cells(self, sheet: int) -> set[tuple[float, float, Stack]]:
        """From where to where in y, and what is printed there, for every piece between the edges of
        all areas.
        """
        spots = [(at, area) for at in self.on(sheet) for area in self._areas(at)]
        width, height = self.sheets[sheet].size
        xs = sorted({0.0, width, *(edge for _, a in spots for edge in (a.x, a.x + a.width))})
        ys = sorted({0.0, height, *(edge for _, a in spots for edge in (a.y, a.y + a.height))})
        found = set()
        for (left, right), (low, high) in product(pairwise(xs), pairwise(ys)):
            x, y = (left + right) / 2, (low + high) / 2
            here = {at for at, a in spots if a.x < x < a.x + a.width and a.y < y < a.y + a.height}
            found.add((low, high, tuple(sorted(here))))
        return found

    def _ideals(self, sheet: int) -> Iterator[Ideal]:
        mine = self.on(sheet)
        waiting, seen = [frozenset[int]()], {frozenset[int]()}
        while waiting:
            done = waiting.pop()
            yield done
            for at in mine:
                more = done | {at}
                ready = self.before[at].intersection(mine) <= done
                if at not in done and ready and more not in seen:
                    seen.add(more)
                    waiting.append(more)

    def band(self, at: int) -> tuple[float, float]:
        """From where to where in y the head passes."""
        corner, head = self.sheets[self.sheet_of[at]].at[1], self.job.printer.head_length
        low = min(area.y for area in self._areas(at))
        high = max(area.y + area.height for area in self._areas(at))
        return corner + low - head, corner + high + head

    def under(self, at: int, sheet: int) -> list[Stack]:
        """The stacks of a sheet over which the head passes in a pass; none where it does not."""
        low, high = self.band(at)
        corner = self.sheets[sheet].at[1]
        return [
            stack
            for y0, y1, stack in self.cells[sheet]
            if min(high, corner + y1) - max(low, corner + y0) > EPS
        ]

    def anew(self, at: int, printed: Ideal) -> Plane:
        """The plane of a pass whose gap is set when so much of its sheet is printed."""
        gap = self.passes[at].gap
        assert gap is not None
        return Plane(gap, self.sheet_of[at], printed if gap.above == "build-up" else frozenset())

    def _tops(self, plane: Plane) -> list[Stack]:
        return [tuple(plane.printed.intersection(stack)) for *_, stack in self.cells[plane.sheet]]

    def _ink(self, top: Stack, stack: Stack) -> tuple[float, float]:
        """The ink of one stack less that of another, low and high; the layer of an ink is one
        unknown.
        """
        counts: dict[str, int] = {}
        for some, sign in ((top, 1), (stack, -1)):
            for at in some:
                counts[self.passes[at].ink] = (
                    counts.get(self.passes[at].ink, 0) + sign * self.passes[at].layers
                )
        ends = [
            (count * self.layers[ink].low, count * self.layers[ink].high)
            for ink, count in counts.items()
        ]
        return sum(min(pair) for pair in ends), sum(max(pair) for pair in ends)

    def nominal(self, plane: Plane) -> float:
        """The nominal height of a plane above the bed."""
        inks = [sum(self._thickness(at) for at in top) for top in self._tops(plane)]
        bare = self.sheets[plane.sheet].thickness.nominal + self.job.printer.base_gap.nominal
        return bare + plane.gap.extra.nominal + max(inks)

    def _thickness(self, at: int) -> float:
        return self.passes[at].layers * self.layers[self.passes[at].ink].nominal

    def clears(self, at: int, plane: Plane, sheet: int, printed: Ideal) -> bool:
        """Whether a plane clears one sheet with so much printed on it, in a pass."""
        least, printer = self.job.printer.min_clearance, self.job.printer
        under, over = self.sheets[sheet], self.sheets[plane.sheet]
        ground = printer.base_gap.low + plane.gap.extra.low - under.bow.high
        if sheet != plane.sheet:
            ground += over.thickness.low - under.thickness.high
        tops = self._tops(plane)
        for stack in {tuple(printed.intersection(stack)) for stack in self.under(at, sheet)}:
            left = ground + max(self._ink(top, stack)[0] for top in tops)
            if left <= EPS or left < least - EPS:
                return False
        return True

    # --- alignments -------------------------------------------------------------------------------

    def alignments(self) -> int | None:
        """How many alignments any order needs; None where it depends on the order, or might."""
        printer = self.job.printer
        tolerance = printer.allowed_landing_error
        if tolerance is None:
            return 0
        reach = tolerance * printer.drop_speed / (2 * printer.carriage_speed)
        two_way = [at for at, item in enumerate(self.passes) if item.directions == 2]
        windows = {
            at: [_window(low, high, reach) for low, high in self._throws(at)] for at in two_way
        }
        records = [one.extra for one in self.job.usable_alignments]

        def recorded(window: tuple[float, float]) -> bool:
            return any(window[0] - EPS <= extra <= window[1] + EPS for extra in records)

        every = [window for some in windows.values() for window in some]
        if all(map(recorded, every)):
            return 0
        wanting = [window for window in every if not recorded(window)]
        always = any(not any(map(recorded, some)) for some in windows.values())
        common = max(start for start, _ in wanting) <= min(end for _, end in wanting) + EPS
        return 1 if always and common else None

    def _throws(self, at: int) -> Iterator[tuple[float, float]]:
        """The throw less the base gap to the surface where a pass must be crisp, in any order: low
        and high.
        """
        item, mine = self.passes[at], self.ideals[self.sheet_of[at]]
        here = [stack for *_, stack in self.cells[self.sheet_of[at]] if at in stack]
        lowest = item.crisp_on == "lowest"
        for printed in (ideal for ideal in mine if at not in ideal):
            counted = [one for one in printed if not lowest or self.passes[one].coverage >= 1]
            stacks = [tuple(set(stack).intersection(counted)) for stack in here]
            for set_at in (ideal for ideal in mine if ideal <= printed):
                plane = self.anew(at, set_at)
                ends = [[self._ink(top, stack) for top in self._tops(plane)] for stack in stacks]
                lows, highs = ([max(pair[end] for pair in some) for some in ends] for end in (0, 1))
                pick = max if lowest else min
                yield plane.gap.extra.low + pick(lows), plane.gap.extra.high + pick(highs)


def _window(low: float, high: float, reach: float) -> tuple[float, float]:
    start, end = high - reach, low + reach
    return (start, end) if start <= end + EPS else ((low + high) / 2, (low + high) / 2)
