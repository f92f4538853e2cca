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
from signrules.physics.planes import StatedGap, settings_between
from signrules.physics.replaying import KEEP
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
    stated: StatedGap | None = None
    shifts: tuple[tuple[int, float], ...] = ()
    needs: Needs = frozenset()


@frozen
class NextItem:
    """One item done next, the gap that an open one is given, and the state after it.

    `loads` and `settings` are what it takes.
    """

    item_index: int
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
        self.before = {
            item_index: as_mask(machine.before[item_index]) & active for item_index in self.items
        }
        self.open_gaps = OpenGaps(machine, thorough=thorough)
        self.planes: list[HeadPlane] = []
        self._plane_numbers: dict[Hashable, int] = {}
        on_media = {sheet.id: 0 for sheet in self.job.media}
        for item_index in self.items:
            if machine.is_pass(item_index):
                on_media[self.heights.media[item_index].id] |= 1 << item_index
        self._in_band = {
            item_index: union_of(
                on_media[media] for media in self.heights.layout.in_band[item_index]
            )
            for item_index in self.items
            if machine.is_pass(item_index)
        }
        self._on_own_media = {
            item_index: on_media[self.heights.media[item_index].id] for item_index in self._in_band
        }
        self._partners = {
            item_index: [other for other in machine.partners(item_index) if active >> other & 1]
            for item_index in self._in_band
        }
        self._flips = as_mask(
            item_index for item_index in self.items if machine.flips(item_index) is not None
        )
        self._records = Records.of_job(self.job)
        # Each is asked with no more of the state than it depends on, so that many states share it.
        self._safe = cache(self._safe_unshared)
        self._fresh = cache(self._fresh_unshared)
        self._in_reach = cache(self._in_reach_unshared)
        self._window = cache(self._window_unshared)
        self._set_plane = cache(self._set_plane_unshared)
        self._turned = cache(self._turned_unshared)
        self._printed = cache(
            lambda mask: frozenset(
                item_index for item_index in bits_of(mask) if machine.is_pass(item_index)
            )
        )

    def height(self, state: State) -> float | None:
        """The nominal height in mm of the head plane; None before the first gap is set."""
        return None if state.plane is None else self.planes[state.plane].height.nominal

    def following(self, state: State) -> Iterator[NextItem]:
        """Everything that may safely be done next."""
        for item_index in self.items:
            if not state.done >> item_index & 1 and not self.before[item_index] & ~state.done:
                yield from self.doing(state, item_index)

    def doing(self, state: State, item_index: int) -> Iterator[NextItem]:
        """The safe ways to do one item next."""
        arrived, loads = self._arrive(state, item_index)
        if not self.machine.is_pass(item_index):
            loads += self.machine.counts_as_load(item_index)
            yield NextItem(item_index, None, self._handled(arrived, item_index), loads, 0)
            return
        turned = self._turned(state.done)
        lies_on_back = self.heights.media[item_index].id in turned
        wants_back = self.job.passes[item_index].side == "back"
        if lies_on_back != wants_back or not self._registers(arrived, item_index):
            return
        before = None if state.plane is None else self.planes[state.plane]
        for gap, plane in self._planes(state, item_index, turned):
            settings = settings_between(before, self.planes[plane])
            yield NextItem(
                item_index, gap, self._printed_state(arrived, item_index, plane), loads, settings
            )

    # --- loads and registration ----------------------------------------------------------------

    def _arrive(self, state: State, item_index: int) -> tuple[State, int]:
        """The state with the item's load on the bed, and how many loads that takes."""
        load = self.machine.load_of[item_index]
        if load is None or load == state.load:
            return state, 0
        shifted = state
        if state.load is not None:
            # Nothing puts the sheets of a load back where they lay once it has come off the bed.
            shifted = self._shift(state, state.load, UNBRIDGED)
        return evolve(shifted, load=load), 1

    def _handled(self, state: State, item_index: int) -> State:
        move = self.machine.move_by(item_index)
        if move is not None:
            error = UNBRIDGED
            # A method whose error nobody states bridges the move all the same.
            if move.bridges:
                error = move.error or 0.0
            state = self._shift(state, move.load, error)
        return evolve(state, done=state.done | 1 << item_index)

    def _shift(self, state: State, load: str, error: float) -> State:
        """The state after a load has been moved: what was printed on it lies elsewhere."""
        shifts = dict(state.shifts)
        for item_index in self._in_band:
            moved = state.done >> item_index & 1 and self.machine.load_of[item_index] == load
            if moved and self._is_open(item_index, state.done):
                shifts[item_index] = shifts.get(item_index, 0.0) + error
        # Sorted and without zeros, so that two ways to the same shifts are one state.
        kept = sorted((item_index, shift) for item_index, shift in shifts.items() if shift)
        return evolve(state, shifts=tuple(kept))

    def _is_open(self, pass_index: int, done: int) -> bool:
        """Whether passes that must register with one are still to come."""
        return any(not done >> other & 1 for other in self._partners[pass_index])

    def _registers(self, state: State, pass_index: int) -> bool:
        """Whether a pass, printed next, registers with all its partners."""
        tolerance = self.job.registration_tolerance
        shifts = dict(state.shifts)
        for other in self._partners[pass_index]:
            if not state.done >> other & 1:
                continue
            if self.machine.loose(pass_index, other):
                return False
            shift = shifts.get(other, 0.0)
            if shift == UNBRIDGED:
                return False
            if tolerance is not None and shift > tolerance + GUARD_MM:
                return False
        return True

    def _printed_state(self, state: State, pass_index: int, plane: int) -> State:
        item, done = self.job.passes[pass_index], state.done | 1 << pass_index
        needs = state.needs
        if self._records.are_asked_by(item):
            wanted = self._window(pass_index, plane, state.done & self._on_own_media[pass_index])
            if wanted is not None:
                needs = with_window(needs, wanted)
        stated = self.machine.may_keep_after(pass_index)
        shifts = state.shifts
        if shifts:
            # Dropped once nothing asks for them, so that more states are one.
            shifts = tuple((other, shift) for other, shift in shifts if self._is_open(other, done))
        return State(done, state.load, plane, stated, shifts, needs)

    # --- head planes ---------------------------------------------------------------------------

    def _planes(
        self, state: State, pass_index: int, turned: frozenset[str]
    ) -> Iterator[tuple[HeadSetting | None, int]]:
        """The head planes with which a pass is safe next, each with the gap of an open one."""
        stated, printed = self.job.passes[pass_index].gap, state.done & self._in_band[pass_index]
        if stated is not None:
            yield from self._stated_planes(state, pass_index, stated, turned)
            return
        # A gap set again to the plane that stands is no further way: keeping it leads to the same
        # state.
        seen: set[int] = set()
        # The plane that stands is offered first: of two moves of equal bound the cheaper is kept.
        if self._can_keep(state, pass_index, turned):
            assert state.plane is not None
            seen.add(state.plane)
            yield KEEP, state.plane
        for gap, plane in self._fresh(pass_index, printed, turned):
            if plane not in seen:
                seen.add(plane)
                yield gap, plane

    def _can_keep(self, state: State, pass_index: int, turned: frozenset[str]) -> bool:
        """Whether the head plane as it stands clears for an open gap and is within reach."""
        if state.plane is None:
            return False
        if not self._in_reach(pass_index, state.plane, state.done & self._on_own_media[pass_index]):
            return False
        return self._safe(pass_index, state.plane, state.done & self._in_band[pass_index], turned)

    def _stated_planes(
        self, state: State, pass_index: int, stated: HeadSetting, turned: frozenset[str]
    ) -> Iterator[tuple[HeadSetting | None, int]]:
        printed = state.done & self._in_band[pass_index]
        mark = self.machine.may_keep_after(pass_index)
        kept, is_stated_again = state.plane, mark is not None and state.stated == mark
        # Not a choice: a replay keeps the plane of the same gap wherever it clears.
        if kept is not None and is_stated_again and self._safe(pass_index, kept, printed, turned):
            yield None, kept
            return
        plane = self._set_plane(pass_index, stated, state.done & self._on_own_media[pass_index])
        if self._safe(pass_index, plane, printed, turned):
            yield None, plane

    def _fresh_unshared(
        self, pass_index: int, printed: int, turned: frozenset[str]
    ) -> tuple[tuple[HeadSetting, int], ...]:
        """The gaps worth trying for an open one, set again, that clear and reach."""
        # Where a plane lies and where drops land hangs on the sheet of the pass alone; what the
        # head must clear, on all sheets under it.
        printed_on_own = printed & self._on_own_media[pass_index]
        standing = self.heights.standing_after(self._printed(printed_on_own))
        after = self._printed(printed | 1 << pass_index)
        settings = []
        for fresh in self.open_gaps.fresh(pass_index, standing):
            clearance = self.heights.clearance(pass_index, fresh.plane, after, turned).low
            for gap in self.open_gaps.settable(fresh, clearance):
                settings.append((gap, self._set_plane(pass_index, gap, printed_on_own)))
        return tuple(settings)

    def _set_plane_unshared(self, pass_index: int, gap: HeadSetting, printed: int) -> int:
        plane = self.heights.head_plane(pass_index, gap, self._printed(printed))
        # States hold the number and not the plane, so that states with equal planes are equal.
        if plane.key not in self._plane_numbers:
            self._plane_numbers[plane.key] = len(self.planes)
            self.planes.append(plane)
        return self._plane_numbers[plane.key]

    def _safe_unshared(
        self, pass_index: int, plane: int, printed: int, turned: frozenset[str]
    ) -> bool:
        after = self._printed(printed | 1 << pass_index)
        clearance = self.heights.clearance(pass_index, self.planes[plane], after, turned)
        return clears_head(clearance.low, self.job.printer.min_clearance)

    def _in_reach_unshared(self, pass_index: int, plane: int, printed: int) -> bool:
        throw = self.heights.throw(pass_index, self.planes[plane], self._printed(printed))
        return flies_far_enough(throw.to_lowest.high, self.job.printer.max_throw)

    def _window_unshared(self, pass_index: int, plane: int, printed: int) -> Window | None:
        """The alignments that serve a pass; None where one on record does."""
        surface = self.job.passes[pass_index].crisp_on
        plane_set = self.planes[plane]
        extra = self.heights.crisp_extra(pass_index, plane_set, self._printed(printed), surface)
        return self._records.missing(extra)

    def _turned_unshared(self, done: int) -> frozenset[str]:
        turned: frozenset[str] = frozenset()
        for item_index in bits_of(done & self._flips):
            flipped = self.machine.flips(item_index)
            if flipped is not None:
                turned ^= {flipped}
        return turned
