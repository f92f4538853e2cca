"""What is done at the machine: the items of a job and what each needs and moves.

Items are the passes, by their index in the job, and after them the handling.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from functools import cached_property
from heapq import heapify, heappop, heappush
from typing import Any

from attrs import frozen

from signrules.model.job import Job
from signrules.model.passes import Handling, HeadSetting, Pass
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import HeadPlane, Heights
from signrules.physics.planes import StatedGap, StatedPlane
from signrules.physics.standing import Standing

PLUGIN = "plugin"
"""The kind of precedence that a plugin gives."""


@frozen
class Precedence:
    """One item must come before another.

    `kind` is `after`, `over`, `plugin`, or what else makes it so. `plugin` is the name of the
    plugin that says so, "" where the job or its planner does.
    """

    before: int
    then: int
    kind: str
    reason: str
    plugin: str = ""

    @property
    def said(self) -> str:
        """The reason, and the plugin that gives it."""
        if self.plugin:
            return f"{self.reason} (plugin {self.plugin})"
        return self.reason


@frozen
class Move:
    """Something that ends the frame of a bed load: its media do not lie where they lay.

    `error` is the locating error in mm where the media are put back by a method whose error the
    printer states; `bridges` says whether there is a method at all.
    """

    load: str
    what: str
    method: str | None = None
    error: float | None = None

    @property
    def bridges(self) -> bool:
        """Whether passes on both sides of the move can still register."""
        return self.method is not None


class Machine:
    """The items of a job, indexed, with their order constraints and what they do to bed loads."""

    def __init__(self, heights: Heights, extra: Iterable[Precedence] = ()) -> None:
        self.heights = heights
        self.job: Job = heights.job
        self.pass_count = len(self.job.passes)
        self.items = self.job.items
        self.index = {item.id: item_index for item_index, item in enumerate(self.items)}
        # The same edge may be declared twice, as when a pass lies over what it also comes after.
        self.precedence = tuple(dict.fromkeys((*self._declared(), *extra)))

    def _declared(self) -> Iterable[Precedence]:
        for item_index, item in enumerate(self.items):
            for name in item.after:
                text = f"{item.id} is declared to come after {name}"
                yield Precedence(self.index[name], item_index, "after", text)
            if isinstance(item, Pass):
                for name in item.over:
                    text = f"{item.id} lands on the ink of {name}"
                    yield Precedence(self.index[name], item_index, "over", text)

    def is_pass(self, item_index: int) -> bool:
        """Whether an item is a pass."""
        return item_index < self.pass_count

    def path(self, item_index: int) -> str:
        """Where an item stands in the job, as checks name it."""
        table = "passes" if self.is_pass(item_index) else "handling"
        return f"{table}.{self.items[item_index].id}"

    @cached_property
    def has_open_gaps(self) -> bool:
        """Whether any pass leaves its gap to the planner."""
        return any(item.gap is None for item in self.job.passes)

    @cached_property
    def before(self) -> tuple[frozenset[int], ...]:
        """For each item, the items that must come before it."""
        earlier_items_of: list[set[int]] = [set() for _ in self.items]
        for edge in self.precedence:
            earlier_items_of[edge.then].add(edge.before)
        return tuple(frozenset(earlier_items) for earlier_items in earlier_items_of)

    @cached_property
    def load_of(self) -> tuple[str | None, ...]:
        """For each item, the bed load that must be on; None for what needs none, as a pause."""
        return tuple(self._load_of_item(item) for item in self.items)

    def _load_of_item(self, item: Pass | Handling) -> str | None:
        if isinstance(item, Handling) and not self.job.kind_of(item).on_sheet:
            return None
        return self.job.media_of(item).load

    @cached_property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """For each item, the items that must come after it, ascending."""
        later_items_of: list[set[int]] = [set() for _ in self.items]
        for edge in self.precedence:
            later_items_of[edge.before].add(edge.then)
        return tuple(tuple(sorted(later_items)) for later_items in later_items_of)

    @cached_property
    def reasons(self) -> dict[tuple[int, int], list[str]]:
        """Why one item must come before another, where it is not the job itself that says so."""
        reasons: dict[tuple[int, int], list[str]] = {}
        for edge in self.precedence:
            if edge.kind not in ("after", "over"):
                reasons.setdefault((edge.before, edge.then), []).append(edge.said)
        return reasons

    @cached_property
    def topological(self) -> tuple[int, ...] | None:
        """The items in an order that keeps the precedence, the first declared first.

        None where the precedence has a cycle.
        """
        # Keys that are alike but for the item itself, so the first declared comes first.
        order = self._sorted([(0, item_index) for item_index in range(len(self.items))])
        return tuple(order) if len(order) == len(self.items) else None

    def sorted_by(self, keys: Sequence[tuple[Any, ...]]) -> tuple[int, ...]:
        """The items in the order of their keys as far as the precedence allows.

        Of equal keys the first declared comes first. Items that a cycle holds back come last.
        """
        order = self._sorted([(*key, item_index) for item_index, key in enumerate(keys)])
        placed = set(order)
        return (
            *order,
            *(item_index for item_index in range(len(self.items)) if item_index not in placed),
        )

    def _sorted(self, keys: Sequence[tuple[Any, ...]]) -> list[int]:
        """The items that no cycle holds back; of those that may come next the least key is first.

        The last part of each key is the item itself. Kahn's algorithm (1962) with a heap.
        """
        missing = [len(earlier_items) for earlier_items in self.before]
        # The heap makes the order depend on the keys alone and not on how edges are listed.
        ready = [keys[item_index] for item_index, count in enumerate(missing) if not count]
        heapify(ready)
        order = []
        while ready:
            item_index = heappop(ready)[-1]
            order.append(item_index)
            for follower in self.followers[item_index]:
                missing[follower] -= 1
                if not missing[follower]:
                    heappush(ready, keys[follower])
        return order

    # --- registration -----------------------------------------------------------------------------

    @cached_property
    def register_groups(self) -> tuple[tuple[int, ...], ...]:
        """The passes, ascending, that register since they share a sheet and a side.

        A pass that says in `registers_to` with which it registers is in no group.
        """
        groups: dict[tuple[str, str], list[int]] = {}
        for pass_index, item in enumerate(self.job.passes):
            if item.registers_to is None:
                groups.setdefault((self.heights.media[pass_index].id, item.side), []).append(
                    pass_index
                )
        return tuple(tuple(group) for group in groups.values())

    @cached_property
    def group_of(self) -> dict[int, int]:
        """The register group of each pass that is in one."""
        group_numbers: dict[int, int] = {}
        for number, group in enumerate(self.register_groups):
            group_numbers |= dict.fromkeys(group, number)
        return group_numbers

    def register_group(self, pass_index: int) -> tuple[int, ...]:
        """The register group that a pass is in; empty where it is in none."""
        if pass_index not in self.group_of:
            return ()
        return self.register_groups[self.group_of[pass_index]]

    @cached_property
    def named_partners(self) -> tuple[frozenset[int], ...]:
        """For each pass, those that its `over` or `registers_to` names, or that name it there."""
        partners_of: list[set[int]] = [set() for _ in self.job.passes]
        for pass_index, item in enumerate(self.job.passes):
            for name in (*item.over, *(item.registers_to or ())):
                if self.index[name] != pass_index:
                    partners_of[pass_index].add(self.index[name])
                    partners_of[self.index[name]].add(pass_index)
        return tuple(frozenset(partners) for partners in partners_of)

    def partners(self, pass_index: int) -> tuple[int, ...]:
        """The passes that register with one, ascending."""
        return tuple(
            sorted(
                {*self.register_group(pass_index), *self.named_partners[pass_index]} - {pass_index}
            )
        )

    def has_partners(self, pass_index: int) -> bool:
        """Whether anything registers with a pass."""
        return bool(self.named_partners[pass_index]) or len(self.register_group(pass_index)) > 1

    @cached_property
    def registers_across_loads(self) -> bool:
        """Whether passes on different bed loads must register, which no order can bring about."""
        for pass_index, item in enumerate(self.job.passes):
            for name in (*item.over, *(item.registers_to or ())):
                if self.load_of[pass_index] != self.load_of[self.index[name]]:
                    return True
        return False

    def move_by(self, item_index: int) -> Move | None:
        """What an item does to the load that is on: None for passes and what moves nothing."""
        item = self.items[item_index]
        load = self.load_of[item_index]
        if not isinstance(item, Handling) or load is None or not self.job.kind_of(item).moves:
            return None
        if item.locates_by is None:
            return Move(load, item.id)
        error = self.job.printer.locating_error(item.locates_by)
        return Move(load, item.id, item.locates_by, error)

    def counts_as_load(self, item_index: int) -> bool:
        """Whether an item costs a load: a reload and a flip do."""
        item = self.items[item_index]
        return isinstance(item, Handling) and self.job.kind_of(item).counts_as_load

    def loads_taken(self, items: Iterable[int]) -> tuple[int, frozenset[str]]:
        """How many bed loads some items take at the least, and which must be on for them."""
        # No order puts a load on less than once, and each reload and flip counts wherever it comes.
        item_indices = tuple(items)
        needed = {self.load_of[item_index] for item_index in item_indices}
        names = frozenset(load for load in needed if load is not None)
        handled = sum(self.counts_as_load(item_index) for item_index in item_indices)
        return len(names) + handled, names

    def flips(self, item_index: int) -> str | None:
        """The sheet that an item turns over, if it does."""
        item = self.items[item_index]
        if isinstance(item, Handling) and self.job.kind_of(item).turns:
            return self.job.media_of(item).id
        return None

    def back_up_after(self, items: Iterable[int]) -> frozenset[str]:
        """The sheets that lie with their back up once some items are done, in whatever order."""
        back_up = self.job.loaded_back_up
        for item_index in items:
            flipped = self.flips(item_index)
            if flipped is not None:
                # Turned over twice it lies as before.
                back_up ^= {flipped}
        return back_up

    @cached_property
    def turning(self) -> frozenset[str]:
        """The sheets that are turned over at some time."""
        turned = (self.flips(item_index) for item_index in range(self.pass_count, len(self.items)))
        return frozenset(media for media in turned if media is not None)

    def loose(self, pass_index: int, other: int) -> bool:
        """Whether two passes cannot register because nothing holds one of their sheets."""
        # A sheet that nothing holds need not lie where it lay when the other pass was printed.
        return any(self.heights.media[index].hold == "none" for index in (pass_index, other))

    def may_keep_after(self, pass_index: int) -> StatedGap | None:
        """What the pass just before must have stated, and on which sheet, for a pass to keep its
        plane.

        None for all but gaps stated over the build-up: any other gives the same plane again, or is
        the planner's.
        """
        gap = self.job.passes[pass_index].gap
        if gap is None or not may_be_kept(gap):
            return None
        return StatedGap(gap, self.heights.media[pass_index].id)

    def print_stated(
        self,
        pass_index: int,
        gap: HeadSetting,
        last: StatedPlane | None,
        standing: Standing,
        turned: Collection[str],
    ) -> HeadPlane:
        """Print a pass that states its gap on what stands, and give back its head plane.

        `last` is the plane of the pass just before, if that stated its gap. Where both state the
        same, it is kept if it leaves this pass at least `min_clearance`; otherwise the gap is set
        again.
        """
        # A gap is set before the pass prints, and must clear what stands once it has.
        plane_anew = standing.head_plane(pass_index, gap)
        standing.add(pass_index)
        if last is not None and StatedGap(last.gap, last.media) == self.may_keep_after(pass_index):
            clearance = standing.clearance(pass_index, last.plane, turned)
            if clears_head(clearance.low, self.job.printer.min_clearance):
                return last.plane
        return plane_anew

    def declared_order(self) -> tuple[int, ...]:
        """The items as declared, each handling as soon as what it comes after is done.

        Passes that `after` or `over` puts later than they are declared come as early as that
        allows; items that a cycle holds back come last.
        """
        is_due = [
            not self.is_pass(item_index) and bool(self.before[item_index])
            for item_index in range(len(self.items))
        ]
        # False comes before True: handling that may come now comes ahead of any pass.
        return self.sorted_by([(not is_soon,) for is_soon in is_due])


def may_be_kept(gap: HeadSetting) -> bool:
    """Whether a stated gap may be left as the pass before set it.

    It may where it is set from what stands: that grows, so that set again it gives another plane.
    """
    return gap.above == "build-up"


def flies_far_enough(throw: float, most: float | None) -> bool:
    """Whether drops reach over a throw in mm.

    `most` is how far they fly, None where that is not stated.
    """
    return most is None or throw <= most + GUARD_MM


def clears_head(clearance: float, least: float) -> bool:
    """Whether a clearance in mm is no strike and reaches the least that the printer asks for."""
    return clearance > GUARD_MM and clearance >= least - GUARD_MM
