"""A plain reference of the planner: every order with every gap is tried, over a raster of the bed.

It shares no code with the library beyond the classes of the model, and is written to be obviously
right, not fast: jobs of up to some six passes. Lengths in mm.
"""

from __future__ import annotations

from typing import NamedTuple

from signrules.model import Gap, Handling, HeadSetting, Interval, Job, Pass, Spacers
from signrules.testing.reference import EPS, Ends, Raster, Sum, subtract_sums


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
        alignments = self._stabs(state.windows)
        weight = state.loads * load + state.gaps * gap + alignments * alignment
        return state.loads, weight

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
        if isinstance(item, Handling) and not self.job.kind_of(item).on_sheet:
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
            kind, errors = self.job.kind_of(item), dict(self.printer.locating)
            error = float("inf")
            if item.locates_by is not None:
                error = errors.get(item.locates_by, 0.0)
            moved = [(len(state.done), sheet.load, error)] if kind.moves else []
            if kind.turns:
                state = state._replace(turned=state.turned ^ {sheet.id})
            self._step(
                state._replace(
                    done=done,
                    moved=(*state.moved, *moved),
                    loads=state.loads + kind.counts_as_load,
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
