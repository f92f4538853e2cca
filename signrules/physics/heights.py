"""Surfaces, head planes, clearance and throw.

Functions of a job and of what has been printed so far; the order in which it was printed makes no
difference.
"""

from __future__ import annotations

from collections.abc import Collection
from functools import cached_property, lru_cache

from signrules.model.job import Job
from signrules.model.passes import HeadSetting
from signrules.model.quantities import Interval
from signrules.physics.bed_layout import Layout, Slots
from signrules.physics.forms import Form
from signrules.physics.planes import HeadPlane, Throw
from signrules.physics.stacks import BARE, Stacks
from signrules.physics.standing import Base, Ground, Standing, height_above
from signrules.physics.zones import Cover, Zone

__all__ = ["HeadPlane", "Heights", "Printed", "Throw"]

Printed = Collection[int]
"""Indices of the passes that stand on their sheets."""

RECENT = 4096
"""How many sets of printed passes are kept ready."""


class Heights:
    """The heights of one job. Passes go by their index in `job.passes`."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.index = {item.id: pass_index for pass_index, item in enumerate(job.passes)}
        self.layout = Layout(job)
        self.media = self.layout.media
        self.ground = Ground(job)
        self.stacks = Stacks(job)
        self._total_ink: dict[tuple[str, str], list[float]] = {}
        self._tallest: dict[Slots, float] = {}
        self._recent = lru_cache(RECENT)(self.standing)

    # The cache cannot travel to another process; there it starts empty.
    def __getstate__(self) -> dict[str, object]:
        return {name: value for name, value in self.__dict__.items() if name != "_recent"}

    def __setstate__(self, state: dict[str, object]) -> None:
        self.__dict__.update(state)
        self._recent = lru_cache(RECENT)(self.standing)

    def standing(self, printed: Printed = ()) -> Standing:
        """What stands when some passes have been printed, to be looked at and printed on."""
        return Standing(self.layout, self.stacks, self.ground, printed)

    def standing_after(self, printed: Printed) -> Standing:
        """What stands when some passes have been printed, shared by all who ask.

        Nothing may be printed on it.
        """
        return self._recent(frozenset(printed))

    def zones(self, media: str, side: str) -> tuple[Zone, ...]:
        """The zones of one side of a sheet; pieces in mm from the sheet's corner."""
        return self.layout.zones(media, side)

    def full(self, cover: Cover) -> Cover:
        """The passes of a cover that leave nothing bare."""
        return tuple(
            pass_index for pass_index in cover if self.job.passes[pass_index].coverage >= 1
        )

    def ink(self, cover: Cover, printed: Printed) -> Form:
        """The ink of a cover, as far as it has been printed."""
        return self.stacks.forms[self._printed_stack(cover, printed)]

    def above_ink(
        self, plane: HeadPlane, media: str, lift: float, cover: Cover, printed: Printed
    ) -> Interval:
        """How far in mm a head plane lies above what is printed of a cover on a flat sheet."""
        stack = self._printed_stack(cover, printed)
        base = Base(media, lift, bowed=False)
        return height_above(plane, self.ground, self.stacks, base, stack)

    def _printed_stack(self, cover: Cover, printed: Printed) -> int:
        return self.stacks.of_passes(pass_index for pass_index in cover if pass_index in printed)

    def thickest(self, pass_index: int) -> float:
        """The ink that a pass lays at the most, in mm."""
        item = self.job.passes[pass_index]
        return self.job.ink_of(item).layer.high * item.layers

    def tallest(self, pass_index: int, media: str, side: str) -> float:
        """The ink in mm of the highest cover under the head in a pass, once all is printed."""
        slots = self.layout.slots_in_band(pass_index, media, side)
        if slots not in self._tallest:
            self._tallest[slots] = max(slots.entries_of(self._totals(media, side)), default=0.0)
        return self._tallest[slots]

    def _totals(self, media: str, side: str) -> list[float]:
        key = (media, side)
        if key not in self._total_ink:
            stacks = self.stacks
            self._total_ink[key] = [
                stacks.heights[stacks.of_passes(cover)].high
                for cover in self.layout.side(*key).covers
            ]
        return self._total_ink[key]

    def over_bare(self, plane: HeadPlane, media: str, lift: float = 0.0) -> Interval:
        """How far in mm a head plane lies above a bare sheet, with its bow and what may lift it."""
        base = Base(media, lift, bowed=True)
        return height_above(plane, self.ground, self.stacks, base, BARE)

    def head_plane(self, pass_index: int, gap: HeadSetting, printed: Printed) -> HeadPlane:
        """The head plane of a pass whose gap is set when `printed` stands.

        See `Standing.head_plane`.
        """
        # Over the media and the bed ink makes no difference, so that one answer serves all.
        if gap.above != "build-up":
            printed = ()
        return self.standing_after(printed).head_plane(pass_index, gap)

    @cached_property
    def stated_planes(self) -> dict[int, HeadPlane]:
        """The head plane of each pass that states its gap, set while no sheet has any ink."""
        bare_standing = self.standing_after(())
        return {
            pass_index: bare_standing.head_plane(pass_index, item.gap)
            for pass_index, item in enumerate(self.job.passes)
            if item.gap is not None
        }

    def clearance(
        self,
        pass_index: int,
        plane: HeadPlane,
        printed: Printed,
        turned: Collection[str] | None = None,
    ) -> Interval:
        """Head plane minus the highest surface in the band of a pass, at its end.

        `printed` holds the pass itself. `turned` names the sheets that lie with their back up; left
        out, they lie as they are loaded. In mm; <= 0 is a head strike.
        """
        return self.standing_after(printed).clearance(pass_index, plane, turned)

    def throw(self, pass_index: int, plane: HeadPlane, printed: Printed) -> Throw:
        """Head plane minus the surfaces within the areas of a pass, before its own ink."""
        return self.standing_after(printed).throw(pass_index, plane)

    def crisp_extra(
        self, pass_index: int, plane: HeadPlane, printed: Printed, surface: str
    ) -> Interval:
        """The throw to one surface (`lowest` or `highest`) less the base gap, in mm.

        See `Standing.crisp_extras`.
        """
        standing = self.standing_after(printed)
        return standing.crisp_extras(standing.landing(pass_index), plane).onto(surface)

    def build_up(self, media: str, side: str, printed: Printed) -> Interval:
        """The highest ink on one side of a sheet, in mm."""
        return self.standing_after(printed).build_up(media, side)
