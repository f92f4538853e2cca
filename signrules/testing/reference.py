"""A plain reference: a raster of the bed and a brute force over orders and gaps.

It shares no code with the library beyond the classes of the model, and is written to be obviously
right, not fast: the sheet is cut into the cells between all edges, every cell keeps the list of
passes printed on it, and every order with every gap is tried. Hold a rule or a tool of your own
against it where a second opinion is worth the time: jobs of up to some six passes. Lengths in mm,
intervals as (low, nominal, high) or (low, high).
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from signrules.model import Area, Gap, Handling, HeadSetting, Interval, Job, Media, Pass, Spacers

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


class _State(NamedTuple):
    """Where the brute force stands: what is done, what lies on the bed and how, the head plane,
    what it cost.

    `stated` is the last stated gap, its sheet and its plane; `moved` what moved which load by how
    much after so many things were done; `windows` the alignments that are needed.
    """

    done: tuple[str, ...] = ()
    load: str | None = None
    plane: list[Sum] | None = None
    stated: tuple[HeadSetting, str, list[Sum]] | None = None
    turned: frozenset[str] = frozenset()
    moved: tuple[tuple[int, str, float], ...] = ()
    windows: tuple[Ends, ...] = ()
    loads: int = 0
    gaps: int = 0


class BruteForce:
    """The least (loads, weight) over every order and every gap; None where no order is safe."""

    def __init__(self, job: Job) -> None:
        self.job, self.raster, self.printer = job, Raster(job), job.printer
        self.best: tuple[int, float] | None = None
        self.seen: dict[object, tuple[int, int]] = {}
        minutes = (job.printer.minutes.load, job.printer.minutes.gap, job.printer.minutes.alignment)
        stated = [figure for figure in minutes if figure is not None]
        self.minutes = stated if len(stated) == len(minutes) else [0.0, 1.0, 1.0]

    def run(self) -> tuple[int, float] | None:
        """Try every order and every gap."""
        back_up = frozenset(sheet.id for sheet in self.job.media if sheet.up == "back")
        self._step(_State(turned=back_up))
        return self.best

    def _weight(self, state: _State) -> tuple[int, float]:
        load, gap, alignment = self.minutes
        return state.loads, state.loads * load + state.gaps * gap + self._stabs(
            state.windows
        ) * alignment

    def _stabs(self, windows: tuple[Ends, ...]) -> int:
        """How many alignments serve all windows: one at the end of the first to end, and so on."""
        # The greedy stabbing of intervals, which is optimal (a textbook exchange argument, from
        # memory).
        waiting = sorted(windows, key=lambda window: window[1])
        count = 0
        while waiting:
            point = waiting[0][1]
            waiting = [(low, high) for low, high in waiting if not low - EPS <= point <= high + EPS]
            count += 1
        return count

    def _step(self, state: _State) -> None:
        done = state.done
        items: list[Pass | Handling] = [*self.job.passes, *self.job.handling]
        if len(done) == len(items):
            cost = self._weight(state)
            if self.best is None or (cost[0], round(cost[1], 6)) < (
                self.best[0],
                round(self.best[1], 6),
            ):
                self.best = cost
            return
        key = self._key(state)
        known_cost = self.seen.get(key)
        # Alignments need no comparison: the key holds their windows.
        if known_cost is not None and known_cost[0] <= state.loads and known_cost[1] <= state.gaps:
            return
        self.seen[key] = (state.loads, state.gaps)
        for item in items:
            if item.id in done or any(name not in done for name in item.after):
                continue
            if isinstance(item, Pass) and any(name not in done for name in item.over):
                continue
            self._do(item, state)

    def _key(self, state: _State) -> object:
        plane = state.plane and tuple(sorted(str(sorted(s.items(), key=str)) for s in state.plane))
        moved = tuple(
            sorted(
                (i, tuple(m for m in state.moved if m[0] >= n)) for n, i in enumerate(state.done)
            )
        )
        stated = state.stated and state.stated[:2]
        return (
            frozenset(state.done),
            state.load,
            plane,
            stated,
            state.turned,
            moved,
            frozenset(state.windows),
        )

    def _do(self, item: Pass | Handling, state: _State) -> None:
        done = (*state.done, item.id)
        if isinstance(item, Handling) and item.does == "pause":
            self._step(state._replace(done=done))
            return
        sheet = self.raster.sheet(item.media or self.job.media[0].id)
        if sheet.load != state.load:
            # A load that is put on again lies where nobody knows: no method locates it.
            away = () if state.load is None else ((len(state.done), state.load, float("inf")),)
            state = state._replace(
                load=sheet.load, loads=state.loads + 1, moved=(*state.moved, *away)
            )
        if isinstance(item, Handling):
            errors = dict(self.printer.locating)
            error = float("inf")
            if item.locates_by is not None:
                error = errors.get(item.locates_by, 0.0)
            if item.does == "flip":
                state = state._replace(turned=state.turned ^ {sheet.id})
            self._step(
                state._replace(
                    done=done,
                    moved=(*state.moved, (len(state.done), sheet.load, error)),
                    loads=state.loads + (item.does in ("reload", "flip")),
                )
            )
            return
        # A side that lies down cannot be printed.
        if (item.side == "back") != (sheet.id in state.turned) or not self._registers(item, state):
            return
        for chosen in self._planes(item, state):
            plane = state.plane
            paid = (
                plane is None or abs(self.raster.nominal(chosen) - self.raster.nominal(plane)) > EPS
            )
            stated, windows = None, state.windows
            if item.gap is not None:
                stated = (item.gap, sheet.id, chosen)
            wanted = self._window(item, chosen, set(state.done))
            if wanted is not None:
                # Settled at the end, when it is known which alignment may serve several.
                windows = (*windows, wanted)
            state_then = state._replace(done=done, plane=chosen, stated=stated, windows=windows)
            self._step(state_then._replace(gaps=state.gaps + paid))

    def _safe(self, item: Pass, plane: list[Sum], state: _State) -> bool:
        low, _ = self.raster.clearance(item, plane, {*state.done, item.id}, set(state.turned))
        return low > EPS and low >= self.printer.min_clearance - EPS

    def _planes(self, item: Pass, state: _State) -> list[list[Sum]]:
        printed, stated = set(state.done), state.stated
        if item.gap is not None:
            # The operator leaves the head as it is where the next pass states the same gap over the
            # same sheet.
            is_same = stated is not None and stated[:2] == (item.gap, self.raster.media(item))
            if is_same and stated is not None and self._safe(item, stated[2], state):
                return [stated[2]]
            new = self.raster.plane(item, item.gap, printed)
            return [new] if self._safe(item, new, state) else []
        extras, control = {0.0}, self.printer.gap
        if isinstance(control, Spacers):
            extras |= set(control.spacers)
        else:
            step = 0
            while step * control.step <= control.max + 1e-9:
                extras.add(round(step * control.step, 6))
                step += 1
        choices = [] if state.plane is None else [state.plane]
        for reference in ("media", "build-up"):
            choices += [
                self.raster.plane(item, Gap(Interval.exact(extra), reference), printed)
                for extra in sorted(extras)
            ]
        return [
            choice
            for choice in choices
            if self._reaches(item, choice, printed) and self._safe(item, choice, state)
        ]

    def _reaches(self, item: Pass, plane: list[Sum], printed: set[str]) -> bool:
        longest = self.printer.max_throw
        return longest is None or self.raster.throws(item, plane, printed)[1][1] <= longest + EPS

    def _registers(self, item: Pass, state: _State) -> bool:
        for position, name in enumerate(state.done):
            other = next((p for p in self.job.passes if p.id == name), None)
            if other is None or not self._together(item, other):
                continue
            sheets = [self.raster.sheet(self.raster.media(p)) for p in (item, other)]
            error = sum(m[2] for m in state.moved if m[0] > position and m[1] == sheets[1].load)
            tolerance = self.job.registration_tolerance
            if any(s.hold == "none" for s in sheets) or error == float("inf"):
                return False
            if tolerance is not None and error > tolerance + EPS:
                return False
        return True

    def _together(self, a: Pass, b: Pass) -> bool:
        if b.id in a.over or a.id in b.over:
            return True
        if a.registers_to is None and b.registers_to is None:
            return self.raster.media(a) == self.raster.media(b) and a.side == b.side
        return b.id in (a.registers_to or ()) or a.id in (b.registers_to or ())

    def _window(self, item: Pass, plane: list[Sum], printed: set[str]) -> Ends | None:
        tolerance = self.printer.landing_tolerance
        if tolerance is None and self.printer.resolution is not None:
            tolerance = 25.4 / self.printer.resolution
        if item.directions == 1 or tolerance is None:
            return None
        less = [subtract_sums(form, {"base": 1}) for form in plane]
        highest, lowest = self.raster.throws(item, less, printed)
        low, high = lowest if item.crisp_on == "lowest" else highest
        reach = tolerance * self.printer.drop_speed / (2 * self.printer.carriage_speed)
        start, end = high - reach, low + reach
        # No alignment serves the whole throw: the middle leaves the least at both ends.
        if start > end + EPS:
            start = end = (low + high) / 2
        worked = self.printer.head_work
        usable = [
            alignment
            for alignment in self.job.alignments
            if worked is None or alignment.date is None or alignment.date >= worked
        ]
        if any(start - EPS <= alignment.extra <= end + EPS for alignment in usable):
            return None
        return round(start, 9), round(end, 9)
