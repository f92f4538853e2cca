"""The exact search for the cheapest safe order, over passes, handling and gaps together.

Best first (A*) over what has been done. Whether a next item is safe depends only on what has been printed, on what
lies on the bed and on the head plane, so two ways to the same state are one, and the cheaper one is kept. Ties go to
the order that is smallest in declared order.
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Iterable, Iterator
from functools import cache

from attrs import evolve, frozen

from signrules.model.passes import Gap
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import HeadPlane
from signrules.physics.landing import Window, fewest_alignments, window
from signrules.physics.machine import Machine, clears
from signrules.physics.timeline import KEEP
from signrules.planning.changeover import bits, union
from signrules.planning.costs import Costs
from signrules.planning.reaches import SLACK_MM, fewest_planes, open_gaps, plane_reaches
from signrules.planning.tally import count_states

Cost = tuple[int, float]
UNBRIDGED = float("inf")


@frozen
class State:
    """What the rest of a plan depends on. `done` is a bitmask of items.

    `plane` numbers the head plane; `stated` is what the pass just before stated, kept only for gaps over the build-up
    (elsewhere a gap set anew gives the same plane). `shifts` holds, for passes that others must still register with,
    by how much their sheet has been moved since. `needs` are the alignments still to be made.
    """

    done: int = 0
    load: str | None = None
    plane: int | None = None
    stated: tuple[Gap, str] | None = None
    shifts: tuple[tuple[int, float], ...] = ()
    needs: frozenset[Window] = frozenset()


@frozen
class Found:
    """The outcome of a search: an order with its choices, or none; and what is known of the best cost."""

    order: tuple[int, ...] | None
    choices: dict[int, Gap | None]
    optimal: bool
    bound: Cost | None
    expansions: int

    @property
    def exhausted(self) -> bool:
        """Whether it is proven that there is no order."""
        return self.order is None and self.optimal


class Search:
    """One search over some of the items of a machine; `active` is a bitmask of those that take part."""

    def __init__(self, machine: Machine, active: int | None = None) -> None:
        self.machine, self.heights, self.job = machine, machine.heights, machine.job
        self.costs = Costs.of(self.job.printer.minutes)
        self.active = (1 << len(machine.items)) - 1 if active is None else active
        self.items = tuple(bits(self.active))
        self.declared = machine.declared_order()
        self.place = {at: place for place, at in enumerate(self.declared)}
        self.before = {at: _mask(machine.before[at]) & self.active for at in self.items}
        self.candidates = open_gaps(self.job.printer)
        self.planes: list[HeadPlane] = []
        self._plane_numbers: dict[Hashable, int] = {}
        on_media: dict[str, int] = {m.id: 0 for m in self.job.media}
        for at in self.items:
            if machine.is_pass(at):
                on_media[self.heights.media[at].id] |= 1 << at
        self.relevant = {
            at: union(on_media[m] for m in self.heights.layout.in_band[at]) for at in self.items if machine.is_pass(at)
        }
        self.passes = _mask(self.relevant)
        self.on_own_media = {at: on_media[self.heights.media[at].id] for at in self.relevant}
        self.partners = {at: [o for o in machine.partners(at) if self.active >> o & 1] for at in self.relevant}
        self.reaches = plane_reaches(machine, frozenset(self.items))
        # Results that many states share.
        self._safe = cache(self._safe_unshared)
        self._window = cache(self._window_unshared)
        self._loads_left = cache(lambda left: machine.loads_taken(bits(left)))
        self._settings_left = cache(self._settings_left_unshared)
        self._set_plane = cache(self._set_plane_unshared)
        self._to_align = cache(self._to_align_unshared)
        self._turned = cache(self._turned_unshared)
        self._printed = cache(lambda mask: frozenset(at for at in bits(mask) if machine.is_pass(at)))

    # --- the search ------------------------------------------------------------------------------------------------

    def run(self, budget: int, *, any_order: bool = False) -> Found:
        """The cheapest order, or any one; `budget` is the most states that are put in the queue."""
        goal = self.active
        start = State()
        # Of equal costs the order that is smallest in declared order comes first, then the gaps in theirs. So what
        # is done is written by its place in declared order.
        queue: list[tuple[Cost, tuple[int, ...], tuple[int, ...], State, int, int]] = []
        counts: dict[State, Cost] = {}
        heapq.heappush(queue, (self._least(start, 0, 0), (), (), start, 0, 0))
        closed: set[State] = set()
        expansions = opened = 0
        while queue:
            bound, places, gaps_taken, state, loads, gaps = heapq.heappop(queue)
            if state in closed:
                continue
            closed.add(state)
            if state.done == goal:
                order = tuple(self.declared[place] for place in places)
                return self._found(order, gaps_taken, bound, expansions, optimal=not any_order)
            if opened >= budget:
                return Found(None, {}, False, bound, expansions)
            expansions += 1
            count_states(1)
            for at, number, after, more_loads, more_gaps in self._moves(state):
                if after in closed:
                    continue
                least = self._least(after, loads + more_loads, gaps + more_gaps)
                if any_order:
                    least = (-after.done.bit_count(), 0.0)
                known = counts.get(after)
                if known is None or least <= known:
                    counts[after] = least
                    opened += 1
                    way = ((*places, self.place[at]), (*gaps_taken, number))
                    heapq.heappush(queue, (least, *way, after, loads + more_loads, gaps + more_gaps))
        return Found(None, {}, True, None, expansions)

    def _found(
        self, order: tuple[int, ...], gaps: tuple[int, ...], bound: Cost, expansions: int, *, optimal: bool
    ) -> Found:
        choices: dict[int, Gap | None] = {}
        for at, number in zip(order, gaps, strict=True):
            if self.machine.is_pass(at) and self.job.passes[at].gap is None:
                choices[at] = self.gap_of(at, number)
        return Found(order, choices, optimal, bound if optimal else None, expansions)

    def gap_of(self, at: int, number: int) -> Gap | None:
        """The gap that a choice stands for; None where it keeps the head plane."""
        return KEEP if number == 0 else self.candidates[number - 1]

    def alignments_to_make(self, state: State) -> int:
        """How many new alignments serve everything printed so far."""
        return self._to_align(state.needs)

    def forced(self, state: State, at: int) -> Iterator[tuple[int, State, int, int]]:
        """The ways to do an item next whether or not it is safe: (which gap, state after, settings paid, unsafe).

        An "auto" pass that cannot be printed safely is given each gap that the printer can set, safe or not.
        """
        arrived, _ = self._arrive(state, at)
        if not self.machine.is_pass(at):
            yield 0, self._handled(arrived, at), 0, 0
            return
        turned = self._turned(state.done)
        ways = [(*way, 0) for way in self._planes(state, at, turned)]
        for number, plane, unsafe in ways or [(*way, 1) for way in self._unsafe_planes(state, at)]:
            yield number, self._printed_state(arrived, at, plane), int(self._paid(state, plane)), unsafe

    def _unsafe_planes(self, state: State, at: int) -> Iterator[tuple[int, int]]:
        """Of the gaps that a pass may have though none is safe, the one that leaves most clearance.

        What the drops can reach comes first: a gap that clears by throwing too far is no way out.
        """
        stated = self.job.passes[at].gap
        gaps = list(enumerate(self.candidates, start=1)) if stated is None else [(0, stated)]
        turned, printed = self._turned(state.done), self._printed(state.done | 1 << at)
        planes = [(number, self._set_plane(at, gap, state.done & self.on_own_media[at])) for number, gap in gaps]
        yield max(
            planes,
            key=lambda way: (
                stated is not None or self._within_reach(at, way[1], state.done),
                self.heights.clearance(at, self.planes[way[1]], printed, turned).low,
                -way[0],
            ),
        )

    def _paid(self, state: State, plane: int) -> bool:
        return state.plane is None or abs(self._height(plane) - self._height(state.plane)) > GUARD_MM

    def _least(self, state: State, loads: int, gaps: int) -> Cost:
        """What any order through a state costs at the least."""
        left = self.active & ~state.done
        more, names = self._loads_left(left)
        loads += more - (state.load in names)
        gaps += self._settings_left(left & self.passes, None if state.plane is None else self._height(state.plane))
        return loads, self.costs.weight(loads, gaps, self._to_align(state.needs))

    def _settings_left_unshared(self, left: int, here: float | None) -> int:
        """How many gap settings the passes that are left take at the least, the head plane being at `here` mm."""
        reaches = (self.reaches[at] for at in bits(left))
        return fewest_planes(r for r in reaches if here is None or not r[0] - SLACK_MM <= here <= r[1] + SLACK_MM)

    # --- what can be done next -------------------------------------------------------------------------------------

    def _moves(self, state: State) -> Iterator[tuple[int, int, State, int, int]]:
        """What may be done next: (item, which gap, state after, loads and gap settings that it takes).

        Gap 0 keeps the plane, or takes the stated gap; n sets the n-th candidate.
        """
        for at in self.items:
            if state.done >> at & 1 or self.before[at] & ~state.done:
                continue
            arrived, loads = self._arrive(state, at)
            if not self.machine.is_pass(at):
                yield at, 0, self._handled(arrived, at), loads + self.machine.counts_as_load(at), 0
                continue
            turned = self._turned(state.done)
            media = self.heights.media[at].id
            if (self.job.passes[at].side == "back") != (media in turned) or not self._registers(arrived, at):
                continue
            for number, plane in self._planes(state, at, turned):
                paid = int(self._paid(state, plane))
                yield at, number, self._printed_state(arrived, at, plane), loads, paid

    def _arrive(self, state: State, at: int) -> tuple[State, int]:
        """The state with the item's load on the bed, and how many loads that takes."""
        load = self.machine.load_of[at]
        if load is None or load == state.load:
            return state, 0
        shifted = state
        if state.load is not None:
            shifted = self._shift(state, state.load, UNBRIDGED)
        return evolve(shifted, load=load), 1

    def _handled(self, state: State, at: int) -> State:
        move = self.machine.move_by(at)
        if move is not None:
            error = (move.error or 0.0) if move.bridges else UNBRIDGED
            state = self._shift(state, move.load, error)
        return evolve(state, done=state.done | 1 << at)

    def _shift(self, state: State, load: str, error: float) -> State:
        """The state after a load has been moved: what was printed on it no longer lies where it lay."""
        shifts = dict(state.shifts)
        for at in self.relevant:
            if state.done >> at & 1 and self.machine.load_of[at] == load and self._open(at, state.done):
                shifts[at] = shifts.get(at, 0.0) + error
        return evolve(state, shifts=tuple(sorted((at, shift) for at, shift in shifts.items() if shift)))

    def _open(self, at: int, done: int) -> bool:
        """Whether passes that must register with one are still to come."""
        return any(not done >> other & 1 for other in self.partners[at])

    def _registers(self, state: State, at: int) -> bool:
        """Whether a pass, printed next, lies true to those that it registers with."""
        tolerance = self.job.registration_tolerance
        shifts = dict(state.shifts)
        for other in self.partners[at]:
            if state.done >> other & 1:
                shift = shifts.get(other, 0.0)
                too_far = shift == UNBRIDGED or (tolerance is not None and shift > tolerance + GUARD_MM)
                if too_far or self.machine.loose(at, other):
                    return False
        return True

    def _printed_state(self, state: State, at: int, plane: int) -> State:
        item, done = self.job.passes[at], state.done | 1 << at
        needs = state.needs
        if item.directions == 2:
            wanted = self._window(at, plane, state.done & self.on_own_media[at])
            if wanted is not None and not any(wanted.holds(a.offset) for a in self.job.usable_alignments):
                needs = _reduced(needs, wanted)
        stated = None
        if item.gap is not None and item.gap.reference == "build-up":
            stated = (item.gap, self.heights.media[at].id)
        shifts = tuple((p, shift) for p, shift in state.shifts if self._open(p, done))
        return State(done, state.load, plane, stated, shifts, needs)

    # --- head planes -----------------------------------------------------------------------------------------------

    def _planes(self, state: State, at: int, turned: frozenset[str]) -> Iterator[tuple[int, int]]:
        """The head planes with which a pass can safely be printed next: (which candidate, number of the plane)."""
        gap, printed = self.job.passes[at].gap, state.done & self.relevant[at]
        if gap is not None:
            kept = state.plane if state.stated == (gap, self.heights.media[at].id) else None
            if kept is not None and self._safe(at, kept, printed, turned):
                yield 0, kept
                return
            plane = self._set_plane(at, gap, state.done & self.on_own_media[at])
            if self._safe(at, plane, printed, turned):
                yield 0, plane
            return
        options = [] if state.plane is None else [(0, state.plane)]
        for number, candidate in enumerate(self.candidates, start=1):
            options.append((number, self._set_plane(at, candidate, state.done & self.on_own_media[at])))
        seen: set[int] = set()
        for number, plane in options:
            if plane not in seen and self._within_reach(at, plane, printed) and self._safe(at, plane, printed, turned):
                seen.add(plane)
                yield number, plane

    def _set_plane_unshared(self, at: int, gap: Gap, printed: int) -> int:
        plane = self.heights.head_plane(at, gap, self._printed(printed))
        if plane.key not in self._plane_numbers:
            self._plane_numbers[plane.key] = len(self.planes)
            self.planes.append(plane)
        return self._plane_numbers[plane.key]

    def _height(self, plane: int) -> float:
        return self.planes[plane].height.nominal

    def _safe_unshared(self, at: int, plane: int, printed: int, turned: frozenset[str]) -> bool:
        clearance = self.heights.clearance(at, self.planes[plane], self._printed(printed | 1 << at), turned)
        return clears(clearance.low, self.job.printer.min_clearance)

    def _within_reach(self, at: int, plane: int, printed: int) -> bool:
        most = self.job.printer.max_throw
        if most is None:
            return True
        throw = self.heights.throw(at, self.planes[plane], self._printed(printed & self.on_own_media[at]))
        return throw.to_lowest.high <= most + GUARD_MM

    def _window_unshared(self, at: int, plane: int, printed: int) -> Window | None:
        tolerance = self.job.printer.allowed_landing_error
        if tolerance is None:
            return None
        surface = self.job.passes[at].crisp_on
        offset = self.heights.crisp_offset(at, self.planes[plane], self._printed(printed), surface)
        return window(self.job.printer, offset, tolerance)

    def _to_align_unshared(self, needs: frozenset[Window]) -> int:
        return len(fewest_alignments(needs, ()))

    def _turned_unshared(self, done: int) -> frozenset[str]:
        turned: frozenset[str] = frozenset()
        for at in bits(done):
            flipped = self.machine.flips(at)
            if flipped is not None:
                turned ^= {flipped}
        return turned


def _reduced(needs: frozenset[Window], wanted: Window) -> frozenset[Window]:
    """The windows with one more, without any that holds another one: what pierces the inner pierces the outer."""
    if any(wanted.low <= w.low and w.high <= wanted.high for w in needs):
        return needs
    return frozenset({wanted, *(w for w in needs if not (w.low <= wanted.low and wanted.high <= w.high))})


def _mask(items: Iterable[int]) -> int:
    return union(1 << at for at in items)
