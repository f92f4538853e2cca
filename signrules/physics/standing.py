"""What stands on the sheets at one time, and what a pass meets there."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from signrules.model.job import Job
from signrules.model.passes import Gap
from signrules.model.quantities import Interval, greatest_of, least_of
from signrules.physics.bed_layout import Layout, SideLayout, Slots
from signrules.physics.flatness import thickness_of
from signrules.physics.forms import Form, Unknown
from signrules.physics.planes import HeadPlane, Throw
from signrules.physics.stacks import BARE, Ends, Stacks

Landing = tuple[str, float, frozenset[int], frozenset[int]]
"""What a pass lands on: its sheet, by how much that may be lifted in mm, the stacks within the
areas of the pass, and the same without the ink that leaves something bare."""

Base = tuple[str, float, bool]
"""A bare sheet: which, by how much it may be lifted in mm, and whether its bow counts."""

Obstacles = tuple[tuple[Base, tuple[int, ...]], ...]
"""What stands in the way of a head: sheets, each with the stacks of which one may be the highest.
"""


class Side:
    """The stacks on one side of a sheet: at each place with everything, and with what leaves
    nothing bare.

    These are one list where no pass leaves anything bare. `changed` holds the places that were
    printed on, in that order.
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
        return {*self.all[slots.start : slots.stop], *[self.all[place] for place in slots.besides]}

    def highest(self, slots: Slots, stacks: Stacks) -> Ends:
        """The ends of the highest ink at some places; from the last answer on, where little was
        printed since.
        """
        now = len(self.changed)
        seen, ends = self._highest.get(slots, (0, None))
        if ends is None or now - seen > len(slots):
            ends = stacks.highest(self.under(slots))
        elif now > seen:
            ends = stacks.highest(
                [self.all[place] for place in self.changed[seen:] if slots.holds(place)], ends
            )
        self._highest[slots] = now, ends
        return ends


class Ground:
    """The surfaces on which ink stands, by sheet: its flat top, its top with the bow, each lifted
    or not.
    """

    def __init__(self, job: Job) -> None:
        self.base_gap = Unknown("printer.base_gap", job.printer.base_gap)
        self._thickness = {
            m.id: Unknown(f"media.{m.id}.thickness", thickness_of(m)) for m in job.media
        }
        self._bow = {
            m.id: Unknown(f"media.{m.id}.bow", Interval(0, 0, m.bow.high)) for m in job.media
        }
        self._known: dict[tuple[str, float, bool], Form] = {}

    def top(self, media: str, lift: float = 0.0, *, bowed: bool = False) -> Form:
        """The bare top of a sheet that ink underneath lifts by anything up to `lift` mm."""
        key = (media, lift, bowed)
        if key not in self._known:
            parts = [self._thickness[media]]
            parts += [self._bow[media]] if bowed else []
            parts += [Unknown(f"media.{media}.lift", Interval(0, 0, lift))] if lift else []
            self._known[key] = Form.of(*parts)
        return self._known[key]


def height_above(
    plane: HeadPlane, ground: Ground, stacks: Stacks, base: Base, stack: int
) -> Interval:
    """How far a head plane lies above a stack of ink on a bare sheet, in mm; worked out once for
    each plane.
    """
    media, lift, bowed = base
    return plane.above_known(
        (base, stack), ground.top(media, lift, bowed=bowed), stacks.inks[stack]
    )


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

    def add(self, at: int) -> None:
        """Print a pass."""
        self.printed.add(at)
        side = self._sides.get((self.layout.media[at].id, self.job.passes[at].side))
        if side is not None:
            self._print(side, at)

    def side(self, media: str, side: str) -> Side:
        """The stacks on one side of a sheet."""
        key = (media, side)
        if key not in self._sides:
            passes = self.layout.passes_on[key]
            covered = min([self.job.passes[at].coverage for at in passes], default=1.0) >= 1
            self._sides[key] = Side(self.layout.side(media, side), covered=covered)
            for at in sorted(self.printed & passes):
                self._print(self._sides[key], at)
        return self._sides[key]

    def _print(self, side: Side, at: int) -> None:
        more, how_many, changed = self.stacks.with_pass, side.how_many, side.changed
        apart = side.full is not side.all and self.job.passes[at].coverage >= 1
        for place in side.of_pass.get(at, ()):
            before = side.all[place]
            after = side.all[place] = more(before, at)
            how_many[before] -= 1
            if not how_many[before]:
                del how_many[before]
            how_many[after] = how_many.get(after, 0) + 1
            changed.append(place)
            if apart:
                side.full[place] = more(side.full[place], at)

    # --- what is there ----------------------------------------------------------------------------

    def landing(self, at: int) -> Landing:
        """What a pass that comes next lands on."""
        media, name = self.layout.media[at].id, self.job.passes[at].side
        side = self.side(media, name)
        places = side.of_pass[at]
        stacks = frozenset([side.all[place] for place in places])
        full = (
            stacks if side.full is side.all else frozenset([side.full[place] for place in places])
        )
        return media, self.lift(media, name), stacks, full

    def tops_on(self, media: str, side: str) -> tuple[int, ...]:
        """The stacks that can be the highest on one side of a sheet."""
        return self.stacks.tops(self.side(media, side).how_many)

    def build_up(self, media: str, side: str) -> Interval:
        """The highest ink on one side of a sheet, in mm."""
        return greatest_of(self.stacks.heights[stack] for stack in self.tops_on(media, side))

    def lift(self, media: str, up: str) -> float:
        """By how much the ink underneath may lift a sheet, in mm: from nothing to its highest,
        anywhere.
        """
        under = "front" if up == "back" else "back"
        return self.build_up(media, under).high if self.layout.passes_on[media, under] else 0.0

    # --- what a pass meets ------------------------------------------------------------------------

    def head_plane(self, at: int, gap: Gap) -> HeadPlane:
        """The head plane of a pass whose gap is set now.

        Reference surface + base gap + extra; from the bed, the extra alone.
        """
        media = self.layout.media[at].id
        tops = self.tops_on(media, self.job.passes[at].side) if gap.above == "build-up" else (BARE,)
        # By its numbers, since a job has a gap object for every pass and few different ones.
        key = (gap.extra.low, gap.extra.nominal, gap.extra.high, gap.above, media, tops)
        if key not in self._planes:
            extra = Form.of(Unknown("extra", gap.extra))
            above = extra
            if gap.above != "bed":
                above = extra + Form.of(self.ground.base_gap) + self.ground.top(media)
            forms = tuple(above + self.stacks.inks[stack] for stack in tops)
            self._planes[key] = HeadPlane(forms, gap, media)
        return self._planes[key]

    def clearance(
        self,
        at: int,
        plane: HeadPlane,
        turned: Collection[str] | None = None,
    ) -> Interval:
        """Head plane minus the highest surface in the band of a pass that has just been printed.

        `turned` names the sheets that lie with their back up; left out, they lie as they are
        loaded. In mm; <= 0 is a head strike.
        """
        found: list[Interval] = []
        for media, side in self._sides_in_band(at, turned):
            base = (media, self.lift(media, side), True)
            slots, standing = self.layout.slots_in_band(at, media, side), self.side(media, side)
            if plane.holds_ink:
                found.append(least_of(self._above(plane, base, standing.under(slots))))
            else:
                found.append(self._above_ink(plane, base, standing.highest(slots, self.stacks)))
        return least_of(found)

    def _sides_in_band(self, at: int, turned: Collection[str] | None) -> Iterator[tuple[str, str]]:
        """The sheets under the head in a pass, each with the side that lies up."""
        back_up = self.job.loaded_back_up if turned is None else turned
        for media in self.layout.in_band[at]:
            yield media, "back" if media in back_up else "front"

    def obstacles(self, at: int, turned: Collection[str] | None = None) -> Obstacles:
        """What stands in the way of a pass that has just been printed: sheets with the stacks that
        can be highest.
        """
        found = []
        for media, side in self._sides_in_band(at, turned):
            under = self.side(media, side).under(self.layout.slots_in_band(at, media, side))
            found.append(((media, self.lift(media, side), True), self.stacks.tops(under)))
        return tuple(found)

    def clearance_over(self, obstacles: Obstacles, plane: HeadPlane) -> Interval:
        """Head plane minus the highest of what stands in the way, in mm; as `clearance`, of any
        time.
        """
        found = plane.clearances.get(obstacles)
        if found is None:
            above = [
                height for base, tops in obstacles for height in self._above(plane, base, tops)
            ]
            found = plane.clearances[obstacles] = least_of(above)
        return found

    def throw(self, at: int, plane: HeadPlane) -> Throw:
        """Head plane minus the lowest and the highest surface within the areas of a pass that comes
        next.
        """
        return self.throw_onto(self.landing(at), plane)

    def throw_onto(self, landing: Landing, plane: HeadPlane) -> Throw:
        """The same for what the pass lands on."""
        found = plane.throws.get(landing)
        if found is None:
            media, lift, stacks, full = landing
            base = (media, lift, False)
            found = Throw(
                self._least_above(plane, base, stacks), self._greatest_above(plane, base, full)
            )
            plane.throws[landing] = found
        return found

    def under_last_layer(self, landing: Landing, at: int) -> Landing:
        """What the last layer of a pass lands on: its layers before, wherever the pass prints."""
        layers = self.job.passes[at].layers - 1
        if not layers:
            return landing
        media, lift, stacks, full = landing
        more = self.stacks.with_layers
        grown = frozenset([more(stack, at, layers) for stack in stacks])
        # Where it covers in part it lands on its own ink all the same.
        return media, lift, grown, frozenset([more(stack, at, layers) for stack in full])

    def crisp_extras(self, landing: Landing, plane: HeadPlane) -> Throw:
        """The throws of a pass less the base gap, in mm.

        They are the extras over a bare sheet at which an alignment would have exactly these throws;
        the base gap stands on both sides and cancels.
        """
        return self.throw_onto(landing, plane.less(self.ground.base_gap))

    def surface(self, at: int) -> Interval:
        """The highest surface within the areas of a pass, in mm above the bed, the sheet lying
        flat.
        """
        return self.surface_of(self.landing(at))

    def surface_of(self, landing: Landing) -> Interval:
        """The same of what the pass lands on."""
        media, lift, stacks, _ = landing
        return greatest_of([self._top_of(media, lift, stack) for stack in stacks])

    def _top_of(self, media: str, lift: float, stack: int) -> Interval:
        key = (media, lift, stack)
        if key not in self._surfaces:
            self._surfaces[key] = (
                self.ground.top(media, lift) + self.stacks.inks[stack]
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
        """The same for ink of a known height where none stands in the plane: nothing of
        it cancels.
        """
        key = (base, ink)
        found = plane.known.get(key)
        if found is None:
            bare = height_above(plane, self.ground, self.stacks, base, BARE)
            low, nominal, high = ink
            ends = (bare.low - high, bare.high - low)
            found = Interval(ends[0], min(max(bare.nominal - nominal, ends[0]), ends[1]), ends[1])
            plane.known[key] = found
        return found

    def _above(self, plane: HeadPlane, base: Base, stacks: Collection[int]) -> list[Interval]:
        return [
            height_above(plane, self.ground, self.stacks, base, stack) for stack in sorted(stacks)
        ]
