"""Gaps for a long order in one walk through it: each head plane is kept for as long as any gap allows.

For planes that do not depend on what has been printed this takes the fewest settings that the order allows: a run that
is kept longer leaves the next one less to do. Alignments are not weighed.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice

from attrs import define

from signrules.model.passes import Gap
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine, clears
from signrules.physics.timeline import KEEP
from signrules.planning.reaches import open_gaps

Choices = dict[int, Gap | None]
"""For each pass with an open gap the gap that is set for it, or None where the head plane is kept."""


def kept_longest(machine: Machine, order: Sequence[int]) -> Choices:
    """The gaps of the passes of an order that leave theirs open; see above."""
    walk = _Walk(machine)
    for at in order:
        walk.do(at)
    walk.settle()
    return walk.choices


@define
class _Kept:
    """One way to go on with a head plane since it was set: the plane, and what each pass since then is given."""

    plane: HeadPlane
    choices: Choices


class _Walk:
    """Through an order, with all ways in which the last setting that costs anything may have been made (`alive`).

    A way may set the gap anew at the same height, which costs nothing and may clear where the old plane did not.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine, self.job = machine, machine.job
        self.candidates = open_gaps(machine.job.printer)
        self.standing = machine.heights.standing()
        self.turned: set[str] = set()
        self.choices: Choices = {}
        self.alive: list[_Kept] = []
        self.stated: tuple[Gap, str, HeadPlane] | None = None

    def do(self, at: int) -> None:
        if not self.machine.is_pass(at):
            flipped = self.machine.flips(at)
            self.turned ^= {flipped} if flipped else set()
        elif self.job.passes[at].gap is None:
            self.choose(at)
        else:
            self.state(at)

    def settle(self, next_plane: HeadPlane | None = None) -> None:
        """Decide for one of the ways that are alive, the first of equal ones.

        One at the height of the next plane, if any, spares the next setting.
        """
        if self.alive:
            same = (way for way in self.alive if next_plane is not None and _level(way.plane, next_plane))
            self.choices |= next(same, self.alive[0]).choices

    def state(self, at: int) -> None:
        gap = self.job.passes[at].gap
        assert gap is not None
        plane = self.machine.print_stated(at, gap, self.stated, self.standing, self.turned)
        self.settle(plane)
        self.alive, self.stated = [_Kept(plane, {})], (gap, self.machine.heights.media[at].id, plane)

    def choose(self, at: int) -> None:
        anew = [self.standing.head_plane(at, gap) for gap in self.candidates]
        planes = (*(way.plane for way in self.alive), *anew)
        reached = {plane: self.reaches(at, plane) for plane in planes}
        self.standing.add(at)
        left = {plane: self.standing.clearance(at, plane, self.turned).low for plane in planes}
        least = self.job.printer.min_clearance
        safe = [plane for plane in anew if reached[plane] and clears(left[plane], least)]
        self.stated = None
        going = []
        for way in self.alive:
            if reached[way.plane] and clears(left[way.plane], least):
                way.choices[at] = KEEP
                going.append(way)
            else:
                same = (plane for plane in safe if _level(plane, way.plane))
                going += [_Kept(plane, {**way.choices, at: plane.gap}) for plane in islice(same, 1)]
        if not going:
            # Where none is safe, what the drops can reach comes first, then what leaves the most clearance.
            best = max(anew, key=lambda plane: (reached[plane], left[plane]))
            self.settle(None if safe else best)
            going = [_Kept(plane, {at: plane.gap}) for plane in safe or [best]]
        self.alive = going

    def reaches(self, at: int, plane: HeadPlane) -> bool:
        most = self.job.printer.max_throw
        return most is None or self.standing.throw(at, plane).to_lowest.high <= most + GUARD_MM


def _level(one: HeadPlane, other: HeadPlane) -> bool:
    return abs(one.height.nominal - other.height.nominal) <= GUARD_MM
