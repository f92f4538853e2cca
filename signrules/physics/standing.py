"""What stands on the sheets at one time, and what a pass meets there.

Every stack of ink is a count of layers for each ink, and equal stacks are one: a bed full of signs
has thousands of places and only a handful of different stacks, so heights are computed for stacks
and not for places.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from signrules.model.job import Job
from signrules.model.passes import Gap
from signrules.model.quantities import Interval, greatest_of, least_of
from signrules.physics.bed_layout import Layout, SideLayout, Slots
from signrules.physics.flatness import thickness_of
from signrules.physics.forms import Form, Unknown
from signrules.physics.planes import HeadPlane, Throw

BARE = 0
"""The number of the stack without ink."""

Landing = tuple[str, float, frozenset[int], frozenset[int]]
"""What a pass lands on: its sheet, by how much that may be lifted in mm, the stacks within the
areas of the pass, and the same without the ink that leaves something bare."""

Ends = tuple[float, float, float]
"""A height of ink in mm: its low, nominal and high value."""

Base = tuple[str, float, bool]
"""A bare sheet: which, by how much it may be lifted in mm, and whether its bow counts."""

Obstacles = tuple[tuple[Base, tuple[int, ...]], ...]
"""What stands in the way of a head: sheets, each with the stacks of which one may be the highest.
"""


class Stacks:
    """The stacks of ink that a job can bring about, numbered as they come up."""

    def __init__(self, job: Job) -> None:
        self._inks = {ink.id: number for number, ink in enumerate(job.inks)}
        self._layers = [Unknown(f"inks.{ink.id}.layer", ink.layer) for ink in job.inks]
        self._ink_of = [self._inks[item.ink] for item in job.passes]
        self._layers_of = [item.layers for item in job.passes]
        self._numbers: dict[tuple[int, ...], int] = {}
        self._more: dict[tuple[int, int, int], int] = {}
        self._tops: dict[frozenset[int], tuple[int, ...]] = {}
        self.counts: list[tuple[int, ...]] = []
        self.inks: list[Form] = []
        self.heights: list[Interval] = []
        self.lows: list[float] = []
        self.nominals: list[float] = []
        self.highs: list[float] = []
        self._number((0,) * len(job.inks))

    def _number(self, counts: tuple[int, ...]) -> int:
        if counts not in self._numbers:
            self._numbers[counts] = len(self.counts)
            self.counts.append(counts)
            form = Form({self._layers[ink]: count for ink, count in enumerate(counts) if count})
            self.inks.append(form)
            height = form.interval()
            self.heights.append(height)
            self.lows.append(height.low)
            self.nominals.append(height.nominal)
            self.highs.append(height.high)
        return self._numbers[counts]

    def with_pass(self, stack: int, at: int) -> int:
        """The stack with the layers of one more pass."""
        return self.with_layers(stack, at, self._layers_of[at])

    def with_layers(self, stack: int, at: int, layers: int) -> int:
        """The stack with so many layers of the ink of a pass."""
        key = (stack, self._ink_of[at], layers)
        found = self._more.get(key)
        if found is None:
            counts = list(self.counts[stack])
            counts[key[1]] += key[2]
            found = self._more[key] = self._number(tuple(counts))
        return found

    def of_passes(self, passes: Iterable[int]) -> int:
        """The stack that some passes make."""
        stack = BARE
        for at in passes:
            stack = self.with_pass(stack, at)
        return stack

    def highest(self, stacks: Iterable[int], known: Ends = (0.0, 0.0, 0.0)) -> Ends:
        """The ends of the highest of some stacks and of one that is known already."""
        low, nominal, high = known
        lows, nominals, highs = self.lows, self.nominals, self.highs
        for stack in stacks:
            low = lows[stack] if lows[stack] > low else low
            nominal = nominals[stack] if nominals[stack] > nominal else nominal
            high = highs[stack] if highs[stack] > high else high
        return low, nominal, high

    def lowest(self, stacks: Collection[int]) -> Ends:
        """The ends of the lowest of some stacks."""
        low, nominal, high = [
            min([of[stack] for stack in stacks]) for of in (self.lows, self.nominals, self.highs)
        ]
        return low, nominal, high

    def tops(self, stacks: Iterable[int]) -> tuple[int, ...]:
        """Those of some stacks that can be the highest: no other one has as much of every ink and
        more of one.
        """
        key = frozenset(stacks)
        if key not in self._tops:
            ordered = sorted(key, key=lambda stack: (-sum(self.counts[stack]), self.counts[stack]))
            kept: list[int] = []
            for stack in ordered:
                mine = self.counts[stack]
                if not any(
                    all(a <= b for a, b in zip(mine, self.counts[other], strict=True))
                    for other in kept
                ):
                    kept.append(stack)
            self._tops[key] = tuple(kept)
        return self._tops[key]


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
        """The throw onto the surfaces that a pass lands on."""
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
        """The highest of the surfaces that a pass lands on, in mm above the bed, the sheet lying
        flat.
        """
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
        """How far a plane without ink in it lies above ink of a known height: nothing cancels."""
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
