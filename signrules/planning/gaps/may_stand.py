"""What may stand on the sheets at some time: in the way of a head, and to be printed on."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from functools import cached_property

from signrules.job_graphs import before_within
from signrules.model.passes import OTHER_SIDE, SIDES, Gap
from signrules.model.quantities import Interval
from signrules.physics.flatness import thickness_of
from signrules.physics.forms import Form
from signrules.physics.machine import Machine
from signrules.physics.planes import HeadPlane
from signrules.physics.stacks import BARE
from signrules.physics.standing import Base, height_above
from signrules.physics.zones import Cover

MOST_STACKS = 2_000
"""Of so many ways in which stacks can come about the heights are known; of more, nothing is."""

MOST_ORDERED = 512
"""Of so many ways to print a part of a cover those that precedence forbids are left out."""

Surface = tuple[Base, int]
"""A bare sheet, by how much it may be lifted and whether its bow counts, and the number of the
stack on it.
"""

PlaneName = Hashable
"""What a plane is, whichever of the sheets of one thickness it was set over."""


class MayStand:
    """What may stand on the sheets of one machine.

    Sheets of one thickness and bow are alike to a head.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine, self.job, self.heights = machine, machine.job, machine.heights
        self._names: dict[Hashable, PlaneName] = {}
        self._near: dict[tuple[str, bool], tuple[Surface, ...]] = {}
        self._like = {
            sheet.id: (thickness_of(sheet), sheet.bow, sheet.id in machine.turning)
            for sheet in self.job.media
        }

    @property
    def is_known(self) -> bool:
        """Whether the stacks are few enough to be known."""
        return self.stacks is not None

    def name_of(self, plane: HeadPlane) -> PlaneName:
        """What a plane is; two of one name lie alike to all that may stand."""
        if plane.key not in self._names:
            # Without the id of its sheet: what counts is how thick that may be, not which one it
            # is.
            forms = plane.key_without(f"media.{plane.media}.")
            stacks = self.stacks or {}
            standing = tuple(stacks.get((plane.media, side)) for side in SIDES)
            self._names[plane.key] = (self._like[plane.media], standing, forms)
        return self._names[plane.key]

    @cached_property
    def planes(self) -> tuple[HeadPlane, ...]:
        """The planes at extra 0 that may be set over bare sheets and stacks, one of each name."""
        heights, plane_of_name = self.heights, dict[PlaneName, HeadPlane]()
        base_gap = Form.of(heights.ground.base_gap)
        for (media, _), stacks in (self.stacks or {}).items():
            for stack in sorted(stacks):
                reference = "media" if stack == BARE else "build-up"
                form = base_gap + heights.ground.top(media) + heights.stacks.forms[stack]
                plane = HeadPlane((form,), Gap(Interval.exact(0.0), reference), media)
                plane_of_name.setdefault(self.name_of(plane), plane)
        return tuple(plane_of_name.values())

    def above_obstacles(self, plane: HeadPlane) -> set[float]:
        """How far in mm, at the bad end, a plane lies above each stack that may be in its way."""
        return {above.low for above in self._above(plane, bowed=True)}

    def crisp_extras(self, plane: HeadPlane) -> set[Interval]:
        """The throws onto each surface on which a pass may be crisp, less the base gap, in mm."""
        return set(self._above(plane.less(self.heights.ground.base_gap), bowed=False))

    def _above(self, plane: HeadPlane, *, bowed: bool) -> Iterator[Interval]:
        heights = self.heights
        for base, stack in self._seen_from(plane.media, bowed):
            yield height_above(plane, heights.ground, heights.stacks, base, stack)

    def _seen_from(self, media: str, bowed: bool) -> tuple[Surface, ...]:
        """What a plane set over a sheet sees: that sheet, and of the others those alike once."""
        key = (media, bowed)
        if key not in self._near:
            surfaces: dict[Hashable, Surface] = {}
            for (other, side), stacks in (self.stacks or {}).items():
                for lift in sorted(self._lifts(other, side)):
                    for stack in sorted(stacks):
                        alike = (other == media, self._like[other], lift, stack)
                        surfaces.setdefault(alike, (Base(other, lift, bowed), stack))
            self._near[key] = tuple(surfaces.values())
        return self._near[key]

    def _lifts(self, media: str, side: str) -> set[float]:
        """By how much ink underneath may lift a sheet that lies with one side up, in mm."""
        if media not in self.machine.turning or self.stacks is None:
            return {0.0}
        under = OTHER_SIDE[side]
        highs = self.heights.stacks.highs
        return {0.0, *(highs[stack] for stack in self.stacks[media, under])}

    @cached_property
    def stacks(self) -> dict[tuple[str, str], frozenset[int]] | None:
        """The stacks that may stand on each side of each sheet; None where they are very many."""
        stacks_on_side: dict[tuple[str, str], frozenset[int]] = {}
        # One allowance for all sides, so that the work is bounded by the job and not by its sheets.
        stacks_left = MOST_STACKS
        for sheet in self.job.media:
            for side in SIDES:
                stacks: set[int] = {BARE}
                for cover in self.heights.layout.covers_on(sheet.id, side):
                    partial_stacks = self._partial_stacks(cover)
                    stacks_left -= len(partial_stacks)
                    if stacks_left < 0:
                        return None
                    stacks |= partial_stacks
                stacks_on_side[sheet.id, side] = frozenset(stacks)
        return stacks_on_side

    def _partial_stacks(self, cover: Cover) -> set[int]:
        """The stacks of a cover as it may stand at some time.

        Where there are many ways, precedence is left out: that brings in stacks that never stand,
        which are tried for nothing.
        """
        if 2 ** len(cover) > MOST_ORDERED:
            return self._any_partial_stacks(cover)
        needed = {
            pass_index: before_within(self.machine, pass_index, cover) for pass_index in cover
        }
        # Part by part in every order that precedence allows, each part looked at once.
        done, stacks = {frozenset[int]()}, {BARE}
        waiting = list(done)
        while waiting:
            standing = waiting.pop()
            for pass_index in cover:
                with_one_more = standing | {pass_index}
                if (
                    pass_index not in standing
                    and needed[pass_index] <= standing
                    and with_one_more not in done
                ):
                    done.add(with_one_more)
                    waiting.append(with_one_more)
                    stacks.add(self.heights.stacks.of_passes(sorted(with_one_more)))
        return stacks

    def _any_partial_stacks(self, cover: Cover) -> set[int]:
        """The stacks of any of some passes, of which many make the same ones."""
        stacks = {BARE}
        for pass_index in cover:
            if len(stacks) > MOST_STACKS:
                break
            stacks |= {self.heights.stacks.with_pass(stack, pass_index) for stack in stacks}
        return stacks
