"""From a job to the changeover core, where the job's heights let clearance only get worse as more is printed.

That is so where every gap is stated, handling has its place (see `settling`), no neighbour is turned over, and

- over the media and the bed, the head plane is the same whatever the order;
- over the build-up, the head clears its own sheet at any time, also with all that the passes of the same gap print
  while the plane is kept, and clears every neighbour however low the plane is set.

Set-ups are then classes: passes with the same head plane, or with the same gap over the build-up of one sheet.
"""

from __future__ import annotations

from functools import cached_property
from math import floor

from attrs import frozen

from signrules.model.passes import Gap
from signrules.model.quantities import GUARD_MM, Interval, greatest_of, least_of
from signrules.physics.heights import HeadPlane
from signrules.physics.landing import Window, fewest_alignments, window
from signrules.physics.layout import Slots
from signrules.physics.machine import Machine
from signrules.physics.standing import Standing
from signrules.physics.zones import Cover, snapper
from signrules.planning.changeover import Bar, Changeover, Stack, bits, closed, transposed, union
from signrules.planning.picometres import PER_MM, least_clearance, room, thickness
from signrules.planning.settling import settled


@frozen(eq=False)
class Reduced:
    """A job as a changeover problem, one unit of cost a gap setting.

    `relaxed` is the same with changes for nothing wherever two head planes might come out alike, for a bound; it is
    the problem itself where none can. `loads` are the bed loads, reloads and flips, `groups` how many loads there are,
    `alignments` the fewest new ones that any order needs. `machine` has the precedence that handling brings.
    """

    machine: Machine
    problem: Changeover
    relaxed: Changeover
    loads: int
    groups: int
    alignments: int


def reduced(machine: Machine) -> Reduced | None:
    """The changeover problem of a job; None where the job is not of that kind."""
    if not _of_that_kind(machine):
        return None
    placed = settled(machine)
    after = None if placed is None else _must_follow(placed)
    if placed is None or after is None:
        return None
    reduction = _Reduction(placed, after)
    return reduction.result() if reduction.clears_over_build_up() else None


@frozen(eq=False)
class Setups:
    """The classes of a job's passes, and which of them must be watched for what stands under their head.

    `fewest` is how many gap settings any order takes at the least.
    """

    classes: tuple[int, ...]
    watched: tuple[bool, ...]
    fewest: int


def setups(machine: Machine) -> Setups | None:
    """The classes of a job that reduces to the changeover core; None where it does not. Near linear."""
    if not _of_that_kind(machine) or settled(machine) is not machine:
        return None
    reduction = _Reduction(machine, [])
    if not reduction.clears_over_build_up():
        return None
    fixed = sum(kind[0] == "plane" for kind in reduction.kinds)
    watched = tuple(not reduction.over_build_up(at) for at in range(machine.pass_count))
    return Setups(reduction.classes(), watched, max(fixed, 1))


def _of_that_kind(machine: Machine) -> bool:
    passes, heights = machine.job.passes, machine.heights
    over: dict[tuple[Gap, str], set[str]] = {}
    for at, item in enumerate(passes):
        if item.gap is None or (machine.loose(at, at) and machine.has_partners(at)):
            return False
        if machine.turning and not machine.turning.isdisjoint({*heights.layout.in_band[at]} - {heights.media[at].id}):
            return False
        if item.gap.reference == "build-up":
            over.setdefault((item.gap, heights.media[at].id), set()).add(item.side)
    # A plane set from the build-up of one side may be kept for the other; that is for the search to follow.
    return not machine.registers_across_loads and all(len(sides) == 1 for sides in over.values())


def _must_follow(machine: Machine) -> list[int] | None:
    """For each pass a bitmask of the passes that must follow it, pauses in between left out; None for a cycle."""
    order = machine.topological
    if order is None:
        return None
    follows = [0] * len(machine.items)
    for at in reversed(order):
        mask = 0
        for then in machine.followers[at]:
            mask |= 1 << then if machine.is_pass(then) else follows[then]
        follows[at] = mask
    return follows[: machine.pass_count]


class _Reduction:
    def __init__(self, machine: Machine, after: list[int]) -> None:
        self.machine, self.heights, self.job = machine, machine.heights, machine.job
        self.after = after
        self.count = machine.pass_count
        self.everything = frozenset(range(self.count))
        self.thick = [thickness(self.heights, at) for at in range(self.count)]
        self._lifts: dict[str, float] = {}
        self._stacks: dict[Cover, Stack] = {}
        self._bands: dict[tuple[int, Slots], tuple[int, Bar]] = {}
        self.planes = self.heights.stated_planes

    # --- gaps over the build-up ------------------------------------------------------------------------------------

    def over_build_up(self, at: int) -> bool:
        gap = self.job.passes[at].gap
        return gap is not None and gap.reference == "build-up"

    def clears_over_build_up(self) -> bool:
        """Whether gaps over the build-up clear whatever the order, set anew or kept from a pass with the same gap."""
        for kind, members in self.kinds.items():
            if kind[0] != "build-up":
                continue
            own = frozenset(members)
            at = members[0]
            media = self.heights.media[at]
            gap = self.planes[at].gap
            free = self.job.printer.base_gap.low + gap.offset.low - media.bow.high - least_clearance(self.heights)
            free -= self._lift(at)
            kept = max(
                sum(self.thick[i] for i in cover if i in own)
                for cover in self.heights.layout.covers_on(media.id, self.job.passes[at].side)
            )
            if kept > floor(free * PER_MM + 0.5):
                return False
            if not all(self._clears_neighbours(i, self.planes[i]) for i in members):
                return False
        return True

    def _clears_neighbours(self, at: int, plane: HeadPlane) -> bool:
        own = self.heights.media[at].id
        return all(
            sum(self.thick[i] for i in cover) <= self._room(at, media, plane)
            for media in self.heights.layout.in_band[at]
            if media != own
            for cover in self.heights.layout.covers_in_band(at, media, self._side_up(at, media))
        )

    def _room(self, at: int, media: str, plane: HeadPlane) -> int:
        """How high ink may stand on one sheet under the head in a pass, in picometres."""
        lift = self._lift(at) if media == self.heights.media[at].id else 0.0
        return room(self.heights, plane, media, lift)

    def _side_up(self, at: int, media: str) -> str:
        return self.job.passes[at].side if media == self.heights.media[at].id else "front"

    def _lift(self, at: int) -> float:
        """By how much the sheet of a pass may be lifted, in mm: on its back, by all that was printed on the front."""
        if self.job.passes[at].side == "front":
            return 0.0
        media = self.heights.media[at].id
        if media not in self._lifts:
            self._lifts[media] = self.heights.build_up(media, "front", self.everything).high
        return self._lifts[media]

    # --- classes ---------------------------------------------------------------------------------------------------

    def classes(self) -> tuple[int, ...]:
        """The class of each pass."""
        classes = [0] * self.count
        for number, members in enumerate(self.kinds.values()):
            for at in members:
                classes[at] = number
        return tuple(classes)

    @cached_property
    def kinds(self) -> dict[tuple[str, object], list[int]]:
        """The passes by set-up: the head plane, or the gap over the build-up of one sheet."""
        heights = {at: plane.height.nominal for at, plane in self.planes.items() if not self.over_build_up(at)}
        same = snapper(heights.values(), GUARD_MM)
        found: dict[tuple[str, object], list[int]] = {}
        for at in range(self.count):
            key = (
                ("build-up", (self.planes[at].gap, self.heights.media[at].id))
                if self.over_build_up(at)
                else ("plane", same[heights[at]])
            )
            found.setdefault(key, []).append(at)
        return found

    def _reach(self, kind: tuple[str, object], members: list[int]) -> tuple[float, float]:
        """Between which nominal heights in mm the head plane of a class comes to lie."""
        if kind[0] == "plane":
            height = self.planes[members[0]].height.nominal
            return height, height
        media, side = self.heights.media[members[0]].id, self.job.passes[members[0]].side
        bare = self.planes[members[0]].height.nominal
        lowest = min(self._first(at).build_up(media, side).nominal for at in members)
        return bare + lowest, bare + self.heights.build_up(media, side, self.everything).nominal

    def _first(self, at: int) -> Standing:
        """What stands at the least when a pass comes."""
        return self.heights.standing(self.before[at])

    # --- the problem -----------------------------------------------------------------------------------------------

    def result(self) -> Reduced:
        bars = self._bars()
        kinds, classes = self.kinds, self.classes()
        loads = {load: number for number, load in enumerate(dict.fromkeys(m.load for m in self.heights.media))}
        groups = tuple(loads[m.load] for m in self.heights.media)
        reach = [self._reach(kind, members) for kind, members in kinds.items()]
        plain = [[int(a != b) for b in range(len(kinds))] for a in range(len(kinds))]
        alike = [
            [int(a != b and not _may_meet(reach[a], reach[b])) for b in range(len(kinds))] for a in range(len(kinds))
        ]
        start = [1] * len(kinds)

        def problem(cost: list[list[int]]) -> Changeover:
            return Changeover(classes, groups, tuple(self.after), bars, *closed(cost, start))

        exact = problem(plain)
        relaxed = exact if alike == plain else problem(alike)
        handled = sum(self.machine.counts_as_load(at) for at in range(self.count, len(self.machine.items)))
        return Reduced(self.machine, exact, relaxed, len(loads) + handled, len(loads), self._alignments())

    def _bars(self) -> tuple[tuple[Bar, ...], ...]:
        """What must stand under no head, as precedence where one pass alone is too much, the rest as bars."""
        return tuple(() if self.over_build_up(at) else self._bars_of(at) for at in range(self.count))

    def _bars_of(self, at: int) -> tuple[Bar, ...]:
        """The bars of a pass; what is too thick by itself is added to what must follow it."""
        layout, found = self.heights.layout, list[Bar]()
        for media in layout.in_band[at]:
            room = self._room(at, media, self.planes[at])
            too_thick, bar = self._band(at, media, room)
            if bar.stacks:
                found.append(bar)
            if media == self.heights.media[at].id:
                own = tuple(self._stack(cover) for cover in layout.covers_of(at))
                too_thick |= union(_thicker(stack, room - self.thick[at]) for stack in own)
                if self.thick[at] > room:
                    found.append(Bar(room, own))
            self.after[at] |= too_thick & ~(1 << at)
        return tuple(found)

    def _band(self, at: int, media: str, room: int) -> tuple[int, Bar]:
        """What is too thick by itself under the head on one sheet, and the bar of what is so together.

        It is the same for all passes of one band with the same room above the sheet.
        """
        side = self._side_up(at, media)
        key = (room, self.heights.layout.slots_in_band(at, media, side))
        if key not in self._bands:
            stacks = [self._stack(cover) for cover in self.heights.layout.covers_in_band(at, media, side)]
            too_thick = union(_thicker(stack, room) for stack in stacks)
            bar = Bar(room, tuple(stack for stack in stacks if stack.weight(~too_thick) > room))
            self._bands[key] = too_thick, bar
        return self._bands[key]

    def _stack(self, cover: Cover) -> Stack:
        if cover not in self._stacks:
            by_weight: dict[int, int] = {}
            for at in cover:
                by_weight[self.thick[at]] = by_weight.get(self.thick[at], 0) | 1 << at
            self._stacks[cover] = Stack(tuple(sorted(by_weight.items())))
        return self._stacks[cover]

    @cached_property
    def before(self) -> list[frozenset[int]]:
        """For each pass those that come before it in every order, as far as one step of precedence says.

        To be asked for once the bars are made, which add to the precedence.
        """
        return [frozenset(bits(mask)) for mask in transposed(self.after)]

    # --- alignments ------------------------------------------------------------------------------------------------

    def _alignments(self) -> int:
        """The fewest new alignments that any order needs: each pass served at the best of all its possible throws."""
        tolerance = self.job.printer.allowed_landing_error
        if tolerance is None:
            return 0
        records = [a.offset for a in self.job.usable_alignments]
        windows = []
        for at, item in enumerate(self.job.passes):
            if item.directions == 2 and item.gap is not None:
                anywhere = self._all_windows(at, tolerance)
                if not any(anywhere.holds(offset) for offset in records):
                    windows.append(anywhere)
        return len(fewest_alignments(windows, ()))

    def _all_windows(self, at: int, tolerance: float) -> Window:
        """From the lowest to the highest alignment that serves a pass in some order."""
        item = self.job.passes[at]
        assert item.gap is not None
        beneath = {i for cover in self.heights.layout.covers_of(at) for i in cover if i != at}
        least = frozenset(i for i in beneath if self.after[i] >> at & 1)
        most = frozenset(i for i in beneath if not self.after[at] >> i & 1)
        planes = [self.planes[at]]
        if self.over_build_up(at):
            planes = [self._first(at).head_plane(at, item.gap), self.heights.head_plane(at, item.gap, self.everything)]
        ends = [
            window(self.job.printer, self._crisp_offset(at, plane, printed), tolerance)
            for plane in planes
            for printed in (least, most)
        ]
        return Window(min(w.low for w in ends), max(w.high for w in ends))

    def _crisp_offset(self, at: int, plane: HeadPlane, printed: frozenset[int]) -> Interval:
        """The throw of a pass less the base gap, from the stacks within its areas alone."""
        lowest = self.job.passes[at].crisp_on == "lowest"
        lower = plane.less(self.heights.ground.base_gap)
        media, lift = self.heights.media[at].id, self._lift(at)
        covers = self.heights.layout.covers_of(at)
        some = {self.heights.full(cover) for cover in covers} if lowest else covers
        throws = [self.heights.above_ink(lower, media, lift, cover, printed) for cover in some]
        return greatest_of(throws) if lowest else least_of(throws)


def _may_meet(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return a[0] <= b[1] + GUARD_MM and b[0] <= a[1] + GUARD_MM


def _thicker(stack: Stack, most: int) -> int:
    """Those of a stack that are thicker than so much."""
    return union(mask for weight, mask in stack.weights if weight > most)
