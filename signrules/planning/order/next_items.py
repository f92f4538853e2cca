"""What can be done next: the states between steps, and the safe ways from one to the next.

Whether a next item is safe depends only on what has been printed, on what lies on the bed and on
the head plane, so two ways to the same state are one.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from functools import cache

from attrs import evolve, frozen

from signrules.model.passes import HeadSetting
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import HeadPlane
from signrules.physics.landing import Window
from signrules.physics.machine import Machine, clears_head, flies_far_enough
from signrules.physics.planes import settings_between
from signrules.physics.timeline import KEEP
from signrules.planning.bitmasks import as_mask, bits_of, union_of
from signrules.planning.gaps.alignment_records import Needs, Records, with_window
from signrules.planning.gaps.gap_candidates import OpenGaps

UNBRIDGED = float("inf")
"""How far a sheet may lie from where it lay when nothing puts it back."""


@frozen(cache_hash=True)
class State:
    """What the rest of a plan depends on. `done` is a bitmask of items.

    `plane` numbers the head plane; `stated` is what the pass just before stated, kept only for gaps
    over the build-up (elsewhere a gap set again gives the same plane). `shifts` holds, for passes
    that others must still register with, by how much their sheet has been moved since. `needs`
    are the alignments still to be made.
    """

    done: int = 0
    load: str | None = None
    plane: int | None = None
    stated: tuple[HeadSetting, str] | None = None
    shifts: tuple[tuple[int, float], ...] = ()
    needs: Needs = frozenset()


@frozen
class NextItem:
    """One item done next, the gap that an open one is given, and the state after it.

    `loads` and `settings` are what it takes.
    """

    at: int
    gap: HeadSetting | None
    after: State
    loads: int
    settings: int


class NextItems:
    """The safe moves of some items of a machine; `active` is a bitmask of those that take part.

    `thorough` says which gaps are tried for open ones; see `OpenGaps`.
    """

    def __init__(self, machine: Machine, active: int, *, thorough: bool) -> None:
        self.machine, self.heights, self.job = machine, machine.heights, machine.job
        self.items = tuple(bits_of(active))
        self.before = {at: as_mask(machine.before[at]) & active for at in self.items}
        self.open_gaps = OpenGaps(machine, thorough=thorough)
        self.planes: list[HeadPlane] = []
        self._plane_numbers: dict[Hashable, int] = {}
        on_media = {sheet.id: 0 for sheet in self.job.media}
        for at in self.items:
            if machine.is_pass(at):
                on_media[self.heights.media[at].id] |= 1 << at
        self._in_band = {
            at: union_of(on_media[media] for media in self.heights.layout.in_band[at])
            for at in self.items
            if machine.is_pass(at)
        }
        self._on_own_media = {at: on_media[self.heights.media[at].id] for at in self._in_band}
        self._partners = {
            at: [other for other in machine.partners(at) if active >> other & 1]
            for at in self._in_band
        }
        self._flips = as_mask(at for at in self.items if machine.flips(at) is not None)
        self._records = Records.of_job(self.job)
        # Each is asked with no more of the state than it depends on, so that many states share it.
        self._safe = cache(self._safe_unshared)
        self._fresh = cache(self._fresh_unshared)
        self._in_reach = cache(self._in_reach_unshared)
        self._window = cache(self._window_unshared)
        self._set_plane = cache(self._set_plane_unshared)
        self._turned = cache(self._turned_unshared)
        self._printed = cache(
            lambda mask: frozenset(at for at in bits_of(mask) if machine.is_pass(at))
        )

    def height(self, state: State) -> float | None:
        """The nominal height in mm of the head plane; None before the first gap is set."""
        return None if state.plane is None else self.planes[state.plane].height.nominal

    def following(self, state: State) -> Iterator[NextItem]:
        """Everything that may safely be done next."""
        for at in self.items:
            if not state.done >> at & 1 and not self.before[at] & ~state.done:
                yield from self.doing(state, at)

    def doing(self, state: State, at: int) -> Iterator[NextItem]:
        """The safe ways to do one item next."""
        arrived, loads = self._arrive(state, at)
        if not self.machine.is_pass(at):
            loads += self.machine.counts_as_load(at)
            yield NextItem(at, None, self._handled(arrived, at), loads, 0)
            return
        turned = self._turned(state.done)
        lies_on_back = self.heights.media[at].id in turned
        wants_back = self.job.passes[at].side == "back"
        if lies_on_back != wants_back or not self._registers(arrived, at):
            return
        before = None if state.plane is None else self.planes[state.plane]
        for gap, plane in self._planes(state, at, turned):
            settings = settings_between(before, self.planes[plane])
            yield NextItem(at, gap, self._printed_state(arrived, at, plane), loads, settings)

    # --- loads and registration ----------------------------------------------------------------

    def _arrive(self, state: State, at: int) -> tuple[State, int]:
        """The state with the item's load on the bed, and how many loads that takes."""
        load = self.machine.load_of[at]
        if load is None or load == state.load:
            return state, 0
        shifted = state
        if state.load is not None:
            # Nothing puts the sheets of a load back where they lay once it has come off the bed.
            shifted = self._shift(state, state.load, UNBRIDGED)
        return evolve(shifted, load=load), 1

    def _handled(self, state: State, at: int) -> State:
        move = self.machine.move_by(at)
        if move is not None:
            error = UNBRIDGED
            # A method whose error nobody states bridges the move all the same.
            if move.bridges:
                error = move.error or 0.0
            state = self._shift(state, move.load, error)
        return evolve(state, done=state.done | 1 << at)

    def _shift(self, state: State, load: str, error: float) -> State:
        """The state after a load has been moved: what was printed on it lies elsewhere."""
        shifts = dict(state.shifts)
        for at in self._in_band:
            moved = state.done >> at & 1 and self.machine.load_of[at] == load
            if moved and self._is_open(at, state.done):
                shifts[at] = shifts.get(at, 0.0) + error
        kept = sorted((at, shift) for at, shift in shifts.items() if shift)
        return evolve(state, shifts=tuple(kept))

    def _is_open(self, at: int, done: int) -> bool:
        """Whether passes that must register with one are still to come."""
        return any(not done >> other & 1 for other in self._partners[at])

    def _registers(self, state: State, at: int) -> bool:
        """Whether a pass, printed next, registers with all its partners."""
        tolerance = self.job.registration_tolerance
        shifts = dict(state.shifts)
        for other in self._partners[at]:
            if not state.done >> other & 1:
                continue
            if self.machine.loose(at, other):
                return False
            shift = shifts.get(other, 0.0)
            if shift == UNBRIDGED:
                return False
            if tolerance is not None and shift > tolerance + GUARD_MM:
                return False
        return True

    def _printed_state(self, state: State, at: int, plane: int) -> State:
        item, done = self.job.passes[at], state.done | 1 << at
        needs = state.needs
        if self._records.are_asked_by(item):
            wanted = self._window(at, plane, state.done & self._on_own_media[at])
            if wanted is not None:
                needs = with_window(needs, wanted)
        stated = self.machine.may_keep_after(at)
        shifts = state.shifts
        if shifts:
            # Dropped once nothing asks for them, so that more states are one.
            shifts = tuple((other, shift) for other, shift in shifts if self._is_open(other, done))
        return State(done, state.load, plane, stated, shifts, needs)

    # --- head planes ---------------------------------------------------------------------------

    def _planes(
        self, state: State, at: int, turned: frozenset[str]
    ) -> Iterator[tuple[HeadSetting | None, int]]:
        """The head planes with which a pass is safe next, each with the gap of an open one."""
        stated, printed = self.job.passes[at].gap, state.done & self._in_band[at]
        if stated is not None:
            yield from self._stated_planes(state, at, stated, turned)
            return
        # A gap set again to the plane that stands is no further way: keeping it leads to the same
        # state.
        seen: set[int] = set()
        if self._can_keep(state, at, turned):
            assert state.plane is not None
            seen.add(state.plane)
            yield KEEP, state.plane
        for gap, plane in self._fresh(at, printed, turned):
            if plane not in seen:
                seen.add(plane)
                yield gap, plane

    def _can_keep(self, state: State, at: int, turned: frozenset[str]) -> bool:
        """Whether the head plane as it stands clears for an open gap and is within reach."""
        if state.plane is None:
            return False
        if not self._in_reach(at, state.plane, state.done & self._on_own_media[at]):
            return False
        return self._safe(at, state.plane, state.done & self._in_band[at], turned)

    def _stated_planes(
        self, state: State, at: int, stated: HeadSetting, turned: frozenset[str]
    ) -> Iterator[tuple[HeadSetting | None, int]]:
        printed = state.done & self._in_band[at]
        mark = self.machine.may_keep_after(at)
        kept, is_stated_again = state.plane, mark is not None and state.stated == mark
        # Not a choice: a replay keeps the plane of the same gap wherever it clears.
        if kept is not None and is_stated_again and self._safe(at, kept, printed, turned):
            yield None, kept
            return
        plane = self._set_plane(at, stated, state.done & self._on_own_media[at])
        if self._safe(at, plane, printed, turned):
            yield None, plane

    def _fresh_unshared(
        self, at: int, printed: int, turned: frozenset[str]
    ) -> tuple[tuple[HeadSetting, int], ...]:
        """The gaps worth trying for an open one, set again, that clear and reach."""
        # Where a plane lies and where drops land hangs on the sheet of the pass alone; what the
        # head must clear, on all sheets under it.
        own = printed & self._on_own_media[at]
        standing = self.heights.standing_after(self._printed(own))
        after = self._printed(printed | 1 << at)
        found = []
        for fresh in self.open_gaps.fresh(at, standing):
            clearance = self.heights.clearance(at, fresh.plane, after, turned).low
            for gap in self.open_gaps.settable(fresh, clearance):
                found.append((gap, self._set_plane(at, gap, own)))
        return tuple(found)

    def _set_plane_unshared(self, at: int, gap: HeadSetting, printed: int) -> int:
        plane = self.heights.head_plane(at, gap, self._printed(printed))
        # States hold the number and not the plane, so that states with equal planes are equal.
        if plane.key not in self._plane_numbers:
            self._plane_numbers[plane.key] = len(self.planes)
            self.planes.append(plane)
        return self._plane_numbers[plane.key]

    def _safe_unshared(self, at: int, plane: int, printed: int, turned: frozenset[str]) -> bool:
        after = self._printed(printed | 1 << at)
        clearance = self.heights.clearance(at, self.planes[plane], after, turned)
        return clears_head(clearance.low, self.job.printer.min_clearance)

    def _in_reach_unshared(self, at: int, plane: int, printed: int) -> bool:
        throw = self.heights.throw(at, self.planes[plane], self._printed(printed))
        return flies_far_enough(throw.to_lowest.high, self.job.printer.max_throw)

    def _window_unshared(self, at: int, plane: int, printed: int) -> Window | None:
        """The alignments that serve a pass; None where one on record does."""
        surface = self.job.passes[at].crisp_on
        plane_set = self.planes[plane]
        extra = self.heights.crisp_extra(at, plane_set, self._printed(printed), surface)
        return self._records.missing(extra)

    def _turned_unshared(self, done: int) -> frozenset[str]:
        turned: frozenset[str] = frozenset()
        for at in bits_of(done & self._flips):
            flipped = self.machine.flips(at)
            if flipped is not None:
                turned ^= {flipped}
        return turned
