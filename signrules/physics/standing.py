"""What stands on the sheets at one time, and what a pass meets there."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import NamedTuple

from signrules.model.job import Job
from signrules.model.passes import OTHER_SIDE, HeadSetting
from signrules.model.quantities import Interval, clamped_interval, greatest_of, least_of
from signrules.physics.bed_layout import Layout, SideLayout, Slots
from signrules.physics.flatness import thickness_of
from signrules.physics.forms import Form, Unknown
from signrules.physics.planes import HeadPlane, Throw
from signrules.physics.stacks import BARE, Ends, Stacks

# Named tuples and no attrs classes: they are hashed for every pass of every order.


class Landing(NamedTuple):
    """What a pass lands on: its sheet, and the stacks within the areas of the pass.

    `lift` says by how much in mm the sheet may be lifted. `full_stacks` are the stacks without the
    ink that leaves something bare.
    """

    media: str
    lift: float
    stacks: frozenset[int]
    full_stacks: frozenset[int]


class Base(NamedTuple):
    """A bare sheet, by how much in mm it may be lifted, and whether its bow counts."""

    media: str
    lift: float
    bowed: bool


class Obstacle(NamedTuple):
    """A sheet in the way of a head, with the stacks of which one may be the highest."""

    base: Base
    tops: tuple[int, ...]


Obstacles = tuple[Obstacle, ...]
"""What stands in the way of a head, sheet by sheet."""


class Side:
    """The stacks at each place on one side of a sheet.

    `all` has them with everything, `full` with what leaves nothing bare. These are one list where
    no pass leaves anything bare. `changed` holds the places that were printed on, in that order.
    """

    def __init__(self, layout: SideLayout, *, covered: bool) -> None:
        places = len(layout.covers)
        self.of_pass = layout.of_pass
        self.all = [BARE] * places
        self.full = self.all if covered else [BARE] * places
        self.how_many = {BARE: places}
        self.changed: list[int] = []
        self._highest: dict[Slots, tuple[int, Ends]] = {}

    def under(self, slots: Slots) -> set[int]:
        """The stacks at some places."""
        return set(slots.entries_of(self.all))

    def highest(self, slots: Slots, stacks: Stacks) -> Ends:
        """The ends of the highest ink at some places."""
        # Ink only grows, so that beside the last answer only places printed on since then count.
        change_count = len(self.changed)
        seen, ends = self._highest.get(slots, (0, None))
        # When more has changed than there are places, to look at all of them again is cheaper.
        if ends is None or change_count - seen > len(slots):
            ends = stacks.highest(self.under(slots))
        elif change_count > seen:
            grown_stacks = [self.all[place] for place in self.changed[seen:] if slots.holds(place)]
            ends = stacks.highest(grown_stacks, ends)
        self._highest[slots] = change_count, ends
        return ends


class Ground:
    """The surfaces on which ink stands: the top of each sheet, flat or bowed, lifted or not."""

    def __init__(self, job: Job) -> None:
        self.base_gap = Unknown("printer.base_gap", job.printer.base_gap)
        self._thickness: dict[str, Unknown] = {}
        self._bow: dict[str, Unknown] = {}
        for sheet in job.media:
            # From 0: a sheet may lie flat at one place and stand off by all of its bow at another.
            name, bow = f"media.{sheet.id}", Interval(0, 0, sheet.bow.high)
            self._thickness[sheet.id] = Unknown(f"{name}.thickness", thickness_of(sheet))
            self._bow[sheet.id] = Unknown(f"{name}.bow", bow)
        self._known: dict[tuple[str, float, bool], Form] = {}

    def top(self, media: str, lift: float = 0.0, *, bowed: bool = False) -> Form:
        """The bare top of a sheet that ink underneath lifts by anything up to `lift` mm."""
        key = (media, lift, bowed)
        if key not in self._known:
            parts = [self._thickness[media]]
            if bowed:
                parts.append(self._bow[media])
            if lift:
                # Nothing over bare face, all of it over the highest ink: so it is an unknown from
                # 0.
                parts.append(Unknown(f"media.{media}.lift", Interval(0, 0, lift)))
            self._known[key] = Form.of(*parts)
        return self._known[key]


def height_above(
    plane: HeadPlane, ground: Ground, stacks: Stacks, base: Base, stack: int
) -> Interval:
    """How far in mm a head plane lies above a stack on a sheet; worked out once for each plane."""
    top = ground.top(base.media, base.lift, bowed=base.bowed)
    return plane.above_known((base, stack), top, stacks.forms[stack])


class Standing:
    """What has been printed so far. `add` prints one more pass; everything else only looks."""

    def __init__(
        self, layout: Layout, stacks: Stacks, ground: Ground, printed: Collection[int] = ()
    ) -> None:
        self.layout, self.stacks, self.ground = layout, stacks, ground
        self.job = layout.job
        self.printed = set(printed)
        self._sides: dict[tuple[str, str], Side] = {}
        self._planes: dict[tuple[float, float, float, str, str, tuple[int, ...]], HeadPlane] = {}
        self._surfaces: dict[tuple[str, float, int], Interval] = {}

    def add(self, pass_index: int) -> None:
        """Print a pass."""
        self.printed.add(pass_index)
        # A side that nobody has looked at is made of `printed` once somebody does.
        side = self._sides.get((self.layout.media[pass_index].id, self.job.passes[pass_index].side))
        if side is not None:
            self._print(side, pass_index)

    def side(self, media: str, side: str) -> Side:
        """The stacks on one side of a sheet."""
        key = (media, side)
        if key not in self._sides:
            passes = self.layout.passes_on[key]
            covered = all(self.job.passes[pass_index].coverage >= 1 for pass_index in passes)
            self._sides[key] = Side(self.layout.side(media, side), covered=covered)
            for pass_index in sorted(self.printed & passes):
                self._print(self._sides[key], pass_index)
        return self._sides[key]

    def _print(self, side: Side, pass_index: int) -> None:
        # Very many passes are printed on very many places: what the loop needs is looked up once.
        with_pass, how_many, changed = self.stacks.with_pass, side.how_many, side.changed
        counts_as_full = side.full is not side.all and self.job.passes[pass_index].coverage >= 1
        for place in side.of_pass.get(pass_index, ()):
            before = side.all[place]
            after = side.all[place] = with_pass(before, pass_index)
            how_many[before] -= 1
            if not how_many[before]:
                del how_many[before]
            how_many[after] = how_many.get(after, 0) + 1
            changed.append(place)
            if counts_as_full:
                side.full[place] = with_pass(side.full[place], pass_index)

    # --- what is there ----------------------------------------------------------------------------

    def landing(self, pass_index: int) -> Landing:
        """What a pass that comes next lands on."""
        media, name = self.layout.media[pass_index].id, self.job.passes[pass_index].side
        side = self.side(media, name)
        places = side.of_pass[pass_index]
        stacks = frozenset([side.all[place] for place in places])
        # The highest surface counts all ink, the lowest none that may be missing just there.
        full_stacks = stacks
        if side.full is not side.all:
            full_stacks = frozenset([side.full[place] for place in places])
        return Landing(media, self.lift(media, name), stacks, full_stacks)

    def tops_on(self, media: str, side: str) -> tuple[int, ...]:
        """The stacks that can be the highest on one side of a sheet."""
        return self.stacks.tops(self.side(media, side).how_many)

    def build_up(self, media: str, side: str) -> Interval:
        """The highest ink on one side of a sheet, in mm."""
        return greatest_of(self.stacks.heights[stack] for stack in self.tops_on(media, side))

    def lift(self, media: str, up: str) -> float:
        """By how much in mm the ink underneath may lift a sheet, anywhere on it."""
        # A sheet lies on what was printed on the side that is down.
        under = OTHER_SIDE[up]
        if not self.layout.passes_on[media, under]:
            return 0.0
        return self.build_up(media, under).high

    # --- what a pass meets ------------------------------------------------------------------------

    def head_plane(self, pass_index: int, gap: HeadSetting) -> HeadPlane:
        """The head plane of a pass whose gap is set now.

        Reference surface + base gap + extra; from the bed, the extra alone.
        """
        media = self.layout.media[pass_index].id
        # Several stacks may be the highest, depending on how thick the inks come out, so a plane
        # over the build-up is the highest of several forms.
        tops: tuple[int, ...] = (BARE,)
        if gap.above == "build-up":
            tops = self.tops_on(media, self.job.passes[pass_index].side)
        # By its numbers, since a job has a gap object for every pass and few different ones.
        key = (gap.stated.low, gap.stated.nominal, gap.stated.high, gap.above, media, tops)
        if key not in self._planes:
            extra = Form.of(Unknown("extra", gap.stated))
            above = extra
            if gap.above != "bed":
                above = extra + Form.of(self.ground.base_gap) + self.ground.top(media)
            forms = tuple(above + self.stacks.forms[stack] for stack in tops)
            self._planes[key] = HeadPlane(forms, gap, media)
        return self._planes[key]

    def clearance(
        self,
        pass_index: int,
        plane: HeadPlane,
        turned: Collection[str] | None = None,
    ) -> Interval:
        """Head plane minus the highest surface in the band of a pass that has just been printed.

        `turned` names the sheets that lie with their back up; left out, they lie as they are
        loaded. In mm; <= 0 is a head strike.
        """
        clearances: list[Interval] = []
        for media, side in self._sides_in_band(pass_index, turned):
            base = Base(media, self.lift(media, side), bowed=True)
            slots = self.layout.slots_in_band(pass_index, media, side)
            side_stacks = self.side(media, side)
            # Ink that stands in the plane as well cancels, which its height alone does not show.
            if plane.holds_ink:
                clearance = least_of(self._above(plane, base, side_stacks.under(slots)))
            else:
                highest_ink = side_stacks.highest(slots, self.stacks)
                clearance = self._above_ink(plane, base, highest_ink)
            clearances.append(clearance)
        return least_of(clearances)

    def _sides_in_band(
        self, pass_index: int, turned: Collection[str] | None
    ) -> Iterator[tuple[str, str]]:
        """The sheets under the head in a pass, each with the side that lies up."""
        back_up = self.job.loaded_back_up if turned is None else turned
        for media in self.layout.in_band[pass_index]:
            up = "back" if media in back_up else "front"
            yield media, up

    def obstacles(self, pass_index: int, turned: Collection[str] | None = None) -> Obstacles:
        """What stands in the way of a pass that has just been printed, by sheet."""
        obstacles = []
        for media, side in self._sides_in_band(pass_index, turned):
            base = Base(media, self.lift(media, side), bowed=True)
            under = self.side(media, side).under(self.layout.slots_in_band(pass_index, media, side))
            obstacles.append(Obstacle(base, self.stacks.tops(under)))
        return tuple(obstacles)

    def clearance_over(self, obstacles: Obstacles, plane: HeadPlane) -> Interval:
        """Head plane minus the highest of what stood in the way at some time, in mm."""
        clearance = plane.clearances.get(obstacles)
        if clearance is None:
            above: list[Interval] = []
            for obstacle in obstacles:
                above += self._above(plane, obstacle.base, obstacle.tops)
            clearance = plane.clearances[obstacles] = least_of(above)
        return clearance

    def throw(self, pass_index: int, plane: HeadPlane) -> Throw:
        """Head plane minus the surfaces within the areas of a pass that comes next, in mm."""
        return self.throw_onto(self.landing(pass_index), plane)

    def throw_onto(self, landing: Landing, plane: HeadPlane) -> Throw:
        """Head plane minus the lowest and the highest surface that a pass lands on, in mm."""
        throw = plane.throws.get(landing)
        if throw is None:
            # A bow is known only as "at most": it would make throws too short all over the sheet.
            base = Base(landing.media, landing.lift, bowed=False)
            throw = Throw(
                self._least_above(plane, base, landing.stacks),
                self._greatest_above(plane, base, landing.full_stacks),
            )
            plane.throws[landing] = throw
        return throw

    def under_last_layer(self, landing: Landing, pass_index: int) -> Landing:
        """What the last layer of a pass lands on: its layers before, wherever the pass prints."""
        layers = self.job.passes[pass_index].layers - 1
        if not layers:
            return landing
        media, lift, stacks, full_stacks = landing
        with_layers = self.stacks.with_layers
        grown_stacks = [with_layers(stack, pass_index, layers) for stack in stacks]
        # Where it covers in part it lands on its own ink all the same.
        grown_full_stacks = [with_layers(stack, pass_index, layers) for stack in full_stacks]
        return Landing(media, lift, frozenset(grown_stacks), frozenset(grown_full_stacks))

    def crisp_extras(self, landing: Landing, plane: HeadPlane) -> Throw:
        """The throws of a pass less the base gap, in mm.

        They are the extras over a bare sheet at which an alignment would have exactly these throws;
        the base gap stands on both sides and cancels.
        """
        return self.throw_onto(landing, plane.less(self.ground.base_gap))

    def surface(self, pass_index: int) -> Interval:
        """The highest surface within the areas of a pass, in mm above the bed, on a flat sheet."""
        return self.surface_of(self.landing(pass_index))

    def surface_of(self, landing: Landing) -> Interval:
        """The highest surface that a pass lands on, in mm above the bed, on a flat sheet."""
        media, lift = landing.media, landing.lift
        return greatest_of([self._top_of(media, lift, stack) for stack in landing.stacks])

    def _top_of(self, media: str, lift: float, stack: int) -> Interval:
        key = (media, lift, stack)
        if key not in self._surfaces:
            self._surfaces[key] = (
                self.ground.top(media, lift) + self.stacks.forms[stack]
            ).interval()
        return self._surfaces[key]

    def _least_above(self, plane: HeadPlane, base: Base, stacks: Collection[int]) -> Interval:
        """How far a plane lies above the highest of some stacks."""
        if plane.holds_ink:
            return least_of(self._above(plane, base, stacks))
        return self._above_ink(plane, base, self.stacks.highest(stacks))

    def _greatest_above(self, plane: HeadPlane, base: Base, stacks: Collection[int]) -> Interval:
        """How far a plane lies above the lowest of some stacks."""
        if plane.holds_ink:
            return greatest_of(self._above(plane, base, stacks))
        return self._above_ink(plane, base, self.stacks.lowest(stacks))

    def _above_ink(self, plane: HeadPlane, base: Base, ink: Ends) -> Interval:
        """How far a plane without ink lies above ink of a known height: nothing of it cancels."""
        key = (base, ink)
        height = plane.known.get(key)
        if height is None:
            over_bare = height_above(plane, self.ground, self.stacks, base, BARE)
            ink_low, ink_nominal, ink_high = ink
            height = plane.known[key] = clamped_interval(
                over_bare.low - ink_high, over_bare.nominal - ink_nominal, over_bare.high - ink_low
            )
        return height

    def _above(self, plane: HeadPlane, base: Base, stacks: Collection[int]) -> list[Interval]:
        return [
            height_above(plane, self.ground, self.stacks, base, stack) for stack in sorted(stacks)
        ]
