"""From a job to the changeover core, where clearance only gets less as more is printed.

That is so of gaps stated over the media and the bed: the head plane is the same whatever the order.
A gap over the build-up of a sheet is taken with the lowest plane that it can have (so an order of
the core is safe) and must clear its own sheet at any time; what stands in its way on other sheets
is a bar only where all of it would be too much. Two problems come out of that:

- the strict one, whose orders are safe; None where handling or a gap has no place in it,
- the loose one, which holds back no safe order: it leaves out what the strict one adds.

Set-ups are classes: passes whose head planes lie at the same heights.
"""

from __future__ import annotations

from functools import cached_property
from itertools import chain
from math import floor

from attrs import evolve, frozen

from signrules.model.quantities import GUARD_MM
from signrules.physics.bed_layout import Slots
from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine, clears_head
from signrules.physics.zones import Cover, cluster_snapper
from signrules.planning.bitmasks import union_of
from signrules.planning.gaps.plane_reaches import Reach, planes_over_build_up
from signrules.planning.order.changeover import Bar, Changeover, Stack, closed_costs
from signrules.planning.order.integer_lengths import (
    PER_MM,
    ink_picometres,
    least_clearance,
    room_picometres,
)
from signrules.planning.order.settling import settled_machine


@frozen(eq=False)
class Reduced:
    """A job with stated gaps as changeover problems, one unit of cost a gap setting.

    `strict` and `loose` as above; they are one where nothing sets them apart. `groups` is how many
    bed loads there are. `machine` has the precedence that handling brings.
    """

    machine: Machine
    strict: Changeover | None
    loose: Changeover
    groups: int


def reduced_problems(machine: Machine) -> Reduced | None:
    """The changeover problems of a job; None with open gaps or a circle in the precedence."""
    if machine.has_open_gaps or machine.topological is None:
        return None
    placed = settled_machine(machine)
    after = _must_follow(placed or machine)
    if after is None:
        return None
    return _Reduction(machine, placed, after).result()


@frozen(eq=False)
class Setups:
    """The classes of a job's passes, and which must be watched for what stands under the head.

    `fewest` is how many gap settings any order takes at the least.
    """

    classes: tuple[int, ...]
    watched: tuple[bool, ...]
    fewest: int


def setup_classes(machine: Machine) -> Setups | None:
    """The classes of a job whose strict problem has no bars but of fixed planes; else None.

    It takes about linear time.
    """
    if machine.has_open_gaps or settled_machine(machine) is not machine:
        return None
    reduction = _Reduction(machine, machine, ())
    if not reduction.may_be_strict() or not reduction.clears_without_bars():
        return None
    fixed = {
        reduction.class_of[pass_index]
        for pass_index in range(machine.pass_count)
        if reduction.is_fixed(pass_index)
    }
    # A gap over the build-up clears its own sheet by what it is set over, and was seen to clear the
    # others with all their ink.
    watched = tuple(reduction.is_fixed(pass_index) for pass_index in range(machine.pass_count))
    return Setups(reduction.class_of, watched, max(len(fixed), 1))


def _must_follow(machine: Machine) -> tuple[int, ...] | None:
    """For each pass a bitmask of the passes that must follow it, directly or by handling.

    None for a circle.
    """
    order = machine.topological
    if order is None:
        return None
    follows = [0] * len(machine.items)
    # From the end on: what must follow handling is known before what comes ahead of it.
    for item_index in reversed(order):
        mask = 0
        for follower in machine.followers[item_index]:
            if machine.is_pass(follower):
                mask |= 1 << follower
            else:
                mask |= follows[follower]
        follows[item_index] = mask
    return tuple(follows[: machine.pass_count])


class _Reduction:
    """One reduction; `placed` has the precedence of the handling, None where it is not settled."""

    def __init__(self, machine: Machine, placed: Machine | None, after: tuple[int, ...]) -> None:
        self.machine = placed or machine
        self.is_settled = placed is not None
        self.heights, self.job = machine.heights, machine.job
        self.after = after
        self.count = machine.pass_count
        self.everything = frozenset(range(self.count))
        self.thick = [ink_picometres(self.heights, pass_index) for pass_index in range(self.count)]
        self.planes = self.heights.stated_planes
        self._lifts: dict[str, float] = {}
        self._stacks: dict[Cover, Stack] = {}
        self._bands: dict[tuple[int, Slots], tuple[int, Bar]] = {}

    def is_fixed(self, pass_index: int) -> bool:
        """Whether the head plane of a pass is the same in every order."""
        return self.planes[pass_index].gap.above != "build-up"

    # --- what can be strict --------------------------------------------------------------------

    def may_be_strict(self) -> bool:
        """Whether orders of the core can be safe orders of the job."""
        if not self.is_settled or self.machine.registers_across_loads:
            return False
        return all(self._can_stand(pass_index) for pass_index in range(self.count))

    def _can_stand(self, pass_index: int) -> bool:
        # Such a pass has no safe order at all, which is for the search to say.
        if self.machine.loose(pass_index, pass_index) and self.machine.has_partners(pass_index):
            return False
        if any(
            not self._clears_turned(pass_index, media)
            for media in self._turning_neighbours(pass_index)
        ):
            return False
        return self.is_fixed(pass_index) or self._clears_own_ink(pass_index)

    def _turning_neighbours(self, pass_index: int) -> frozenset[str]:
        if not self.machine.turning:
            return frozenset()
        own_sheet = self.heights.media[pass_index].id
        return (self.machine.turning & {*self.heights.layout.in_band[pass_index]}) - {own_sheet}

    def _clears_turned(self, pass_index: int, media: str) -> bool:
        """Whether a pass clears a neighbour with all its ink, whichever side of it lies up."""
        plane = self._lowest_plane(pass_index)
        sides = (frozenset[str](), frozenset({media}))
        least_clearance = self.job.printer.min_clearance
        return all(
            clears_head(self._over_neighbour(pass_index, media, plane, turned), least_clearance)
            for turned in sides
        )

    def _clears_own_ink(self, pass_index: int) -> bool:
        """Whether a gap over the build-up, set again, always clears the sheet below it."""
        # Set over the highest stack, the gap leaves the same room over it however high that is: in
        # the way are only the pass's own ink, the bow of the sheet and what lifts it.
        gap, media = self.planes[pass_index].gap, self.heights.media[pass_index]
        room = (
            self.job.printer.base_gap.low + gap.stated.low - media.bow.high - self._lift(pass_index)
        )
        room_left = floor((room - least_clearance(self.heights)) * PER_MM + 0.5)
        return self.thick[pass_index] <= room_left

    def clears_without_bars(self) -> bool:
        """Whether gaps over the build-up clear every neighbour with all its ink."""
        for pass_index in range(self.count):
            if self.is_fixed(pass_index):
                continue
            if not all(
                self._clears_all(pass_index, media) for media in self._neighbours(pass_index)
            ):
                return False
        return True

    def _neighbours(self, pass_index: int) -> list[str]:
        own_sheet = self.heights.media[pass_index].id
        return [media for media in self.heights.layout.in_band[pass_index] if media != own_sheet]

    def _clears_all(self, pass_index: int, media: str) -> bool:
        """Whether a gap over the build-up, at its lowest, clears a neighbour with all its ink."""
        plane = self._lowest_plane(pass_index)
        # All the ink of a job on the neighbour: what clears that clears it at any time.
        low = self._over_neighbour(pass_index, media, plane, frozenset())
        return clears_head(low, self.job.printer.min_clearance)

    def _over_neighbour(
        self, pass_index: int, media: str, plane: HeadPlane, turned: frozenset[str]
    ) -> float:
        """What a plane leaves over a neighbour with all its ink, in mm at the bad end."""
        standing = self.heights.standing_after(self.everything)
        obstacles = standing.obstacles(pass_index, turned)
        of_media = tuple(obstacle for obstacle in obstacles if obstacle.base.media == media)
        return standing.clearance_over(of_media, plane).low

    def _lowest_plane(self, pass_index: int) -> HeadPlane:
        if self.is_fixed(pass_index):
            return self.planes[pass_index]
        return self.over_build_up[pass_index][0]

    @cached_property
    def over_build_up(self) -> dict[int, tuple[HeadPlane, HeadPlane]]:
        """The lowest and the highest plane of each gap over the build-up."""
        return planes_over_build_up(self.machine, frozenset(range(len(self.machine.items))))

    # --- classes -------------------------------------------------------------------------------

    @cached_property
    def spans(self) -> list[Reach]:
        """Between which nominal heights in mm the head plane of each pass lies.

        A gap over the build-up that the same gap may have set before has the heights of all of
        these.
        """
        spans: list[Reach] = []
        highest: dict[object, float] = {}
        for pass_index in range(self.count):
            low, high = self.over_build_up.get(
                pass_index, (self.planes[pass_index], self.planes[pass_index])
            )
            spans.append((low.height.nominal, high.height.nominal))
            highest[self._mark(pass_index)] = max(
                highest.get(self._mark(pass_index), 0.0), spans[pass_index][1]
            )
        return [(low, highest[self._mark(pass_index)]) for pass_index, (low, _) in enumerate(spans)]

    def _mark(self, pass_index: int) -> object:
        """What passes share that may keep each other's plane; of fixed planes only the height."""
        if self.is_fixed(pass_index):
            return self.planes[pass_index].height.nominal
        return self.planes[pass_index].gap, self.heights.media[pass_index].id

    @cached_property
    def classes(self) -> dict[Reach, int]:
        """The class of each span; ends that lie within the guard of each other are one."""
        snapped = self._same
        class_of_span: dict[Reach, int] = {}
        for low, high in self.spans:
            class_of_span.setdefault((snapped[low], snapped[high]), len(class_of_span))
        return class_of_span

    @cached_property
    def _same(self) -> dict[float, float]:
        return cluster_snapper(chain.from_iterable(self.spans), GUARD_MM)

    @cached_property
    def class_of(self) -> tuple[int, ...]:
        """The class of each pass."""
        snapped = self._same
        return tuple(self.classes[snapped[low], snapped[high]] for low, high in self.spans)

    # --- the problems --------------------------------------------------------------------------

    def result(self) -> Reduced:
        """Both problems, the strict one and the loose one."""
        loads = {sheet.load: 0 for sheet in self.heights.media}
        numbers = {load: number for number, load in enumerate(loads)}
        groups = tuple(numbers[sheet.load] for sheet in self.heights.media)
        loose_bars = tuple(self._fixed_bars(pass_index) for pass_index in range(self.count))
        spans = list(self.classes)
        plain = [[int(span != other) for other in spans] for span in spans]
        # The loose problem must hold back no order, so two planes that may turn out level change
        # for nothing there.
        alike = [[int(not _may_meet(span, other)) for other in spans] for span in spans]
        # The first plane has to be set whichever it is.
        start = [1] * len(spans)
        after = tuple(
            mask | self._too_thick(pass_index) for pass_index, mask in enumerate(self.after)
        )
        # Bars of gaps over the build-up take the lowest plane. In some orders it lies higher, so
        # they may hold back safe orders and have no place in the loose problem.
        strict_bars = tuple(
            (*bars, *self._bars_over_build_up(pass_index))
            for pass_index, bars in enumerate(loose_bars)
        )
        exact = Changeover(self.class_of, groups, after, strict_bars, *closed_costs(plain, start))
        loose = exact
        if alike != plain or strict_bars != loose_bars:
            loose = evolve(exact, bars=loose_bars, cost=closed_costs(alike, start)[0])
        strict = exact if self.may_be_strict() else None
        return Reduced(self.machine, strict, loose, len(loads))

    def _too_thick(self, pass_index: int) -> int:
        """The passes that by themselves are too thick under a fixed plane, and must follow it."""
        if not self.is_fixed(pass_index):
            return 0
        # As precedence this is settled at once; as a bar it would be weighed again and again.
        too_thick = 0
        for media in self._watched(pass_index):
            room = self._room(pass_index, media, self.planes[pass_index])
            too_thick |= self._band(pass_index, media, room)[0]
            if media == self.heights.media[pass_index].id:
                too_thick |= union_of(
                    _thicker_than(stack, room - self.thick[pass_index])
                    for stack in self._own_stacks(pass_index)
                )
        return too_thick & ~(1 << pass_index)

    def _fixed_bars(self, pass_index: int) -> tuple[Bar, ...]:
        """What must not stand together under the head of a fixed plane."""
        if not self.is_fixed(pass_index):
            return ()
        bars = []
        for media in self._watched(pass_index):
            room = self._room(pass_index, media, self.planes[pass_index])
            bar = self._band(pass_index, media, room)[1]
            if bar.stacks:
                bars.append(bar)
            if media == self.heights.media[pass_index].id and self.thick[pass_index] > room:
                bars.append(Bar(room, self._own_stacks(pass_index)))
        return tuple(bars)

    def _watched(self, pass_index: int) -> list[str]:
        """The sheets under the head in a pass of which one side lies up throughout."""
        # Of a neighbour that is turned over the core does not know which side lies up.
        turning = self._turning_neighbours(pass_index)
        return [media for media in self.heights.layout.in_band[pass_index] if media not in turning]

    def _own_stacks(self, pass_index: int) -> tuple[Stack, ...]:
        return tuple(self._stack(cover) for cover in self.heights.layout.covers_of(pass_index))

    def _bars_over_build_up(self, pass_index: int) -> tuple[Bar, ...]:
        """What must not stand on other sheets when a gap is set over a low build-up."""
        if self.is_fixed(pass_index):
            return ()
        bars = []
        for media in self._neighbours(pass_index):
            if media in self.machine.turning or self._clears_all(pass_index, media):
                continue
            plane = self._lowest_plane(pass_index)
            room = self._room(pass_index, media, plane)
            covers = self.heights.layout.covers_in_band(
                pass_index, media, self._side_up(pass_index, media)
            )
            stacks = tuple(self._stack(cover) for cover in covers)
            # A stack that leaves room even when all of it stands never bars.
            heavy = tuple(stack for stack in stacks if stack.weight(stack.items) > room)
            bars.append(Bar(room, heavy))
        return tuple(bars)

    def _room(self, pass_index: int, media: str, plane: HeadPlane) -> int:
        """How high ink may stand on one sheet under the head in a pass, in picometres."""
        lift = 0.0
        if media == self.heights.media[pass_index].id:
            lift = self._lift(pass_index)
        return room_picometres(self.heights, plane, media, lift)

    def _side_up(self, pass_index: int, media: str) -> str:
        # All sheets are loaded front up, and those that are turned over are not asked for.
        if media != self.heights.media[pass_index].id:
            return "front"
        return self.job.passes[pass_index].side

    def _lift(self, pass_index: int) -> float:
        """By how many mm the sheet of a pass may be lifted: on its back, by all ink on the front.

        Where it is not settled what comes before the turning, nothing is sure to be there.
        """
        if self.job.passes[pass_index].side == "front" or not self.is_settled:
            return 0.0
        media = self.heights.media[pass_index].id
        if media not in self._lifts:
            self._lifts[media] = self.heights.build_up(media, "front", self.everything).high
        return self._lifts[media]

    def _band(self, pass_index: int, media: str, free: int) -> tuple[int, Bar]:
        """What is too thick by itself under the head on one sheet, and the bar of what is together.

        It is the same for all passes of one band with the same room above the sheet.
        """
        side = self._side_up(pass_index, media)
        key = (free, self.heights.layout.slots_in_band(pass_index, media, side))
        if key not in self._bands:
            covers = self.heights.layout.covers_in_band(pass_index, media, side)
            stacks = [self._stack(cover) for cover in covers]
            too_thick = union_of(_thicker_than(stack, free) for stack in stacks)
            heavy = tuple(stack for stack in stacks if stack.weight(~too_thick) > free)
            self._bands[key] = too_thick, Bar(free, heavy)
        return self._bands[key]

    def _stack(self, cover: Cover) -> Stack:
        if cover not in self._stacks:
            by_weight: dict[int, int] = {}
            for pass_index in cover:
                by_weight[self.thick[pass_index]] = (
                    by_weight.get(self.thick[pass_index], 0) | 1 << pass_index
                )
            self._stacks[cover] = Stack(tuple(sorted(by_weight.items())))
        return self._stacks[cover]


def _may_meet(one: Reach, other: Reach) -> bool:
    return one[0] <= other[1] + GUARD_MM and other[0] <= one[1] + GUARD_MM


def _thicker_than(stack: Stack, most: int) -> int:
    """Those of a stack that are thicker than so much."""
    return union_of(mask for weight, mask in stack.weights if weight > most)
