"""What are the numbers of a pass as it is printed, and does the plan say them?"""

from __future__ import annotations

from collections.abc import Hashable
from operator import attrgetter
from typing import NamedTuple

from signrules.model.passes import Pass
from signrules.model.quantities import Interval
from signrules.physics.heights import HeadPlane, Throw
from signrules.physics.standing import Landing, Standing
from signrules.physics.timeline import Printing
from signrules.planning.audit.claims import agrees_with, in_words, planes_agree
from signrules.planning.audit.findings import Findings


class Met(NamedTuple):
    """What a pass meets where it lands, under the names that the plan has for it."""

    throw: Throw
    throw_at_end: Throw
    crisp_extra: Interval
    crisp_extra_at_end: Interval
    other_extra: Interval
    surface_before: Interval
    surface_after: Interval


Found = tuple[int, int, bool, Interval, str]
"""What else was found of a pass; its head plane stands beside it."""

FOUND_FIELDS = ("pass_index", "position", "counts_as_setting", "clearance", "side_up")
"""The names that the plan has for it."""

CALLED = {
    "pass_index": "number of the pass",
    "position": "place in the order",
    "counts_as_setting": "cost of its gap setting (True where it counts)",
    "clearance": "clearance",
    "side_up": "side that lies up",
    "throw": "throw",
    "throw_at_end": "throw at its end",
    "crisp_extra": "extra with the throw to where it must be crisp",
    "crisp_extra_at_end": "extra with the throw of its last layer to where it must be crisp",
    "other_extra": "extra with the throw to its other surface",
    "surface_before": "height before it",
    "surface_after": "height after it",
}
FOUND, MET = attrgetter(*FOUND_FIELDS), attrgetter(*Met._fields)


class PrintingCheck:
    """Works out what a pass meets, and compares it with what a plan says."""

    def __init__(self, standing: Standing, findings: Findings) -> None:
        self.standing, self.findings = standing, findings
        # Very many passes are alike: one of a few planes over one of a few kinds of ground.
        self._met: dict[Hashable, Met] = {}
        self._surfaces: dict[Landing, Interval] = {}
        # Which plane each of the plan's is, by identity: the plan keeps its objects.
        self._planes: dict[int, HeadPlane] = {}

    def meet(self, pass_index: int, item: Pass, plane: HeadPlane) -> Met:
        """What a pass meets that is printed next."""
        landing = self.standing.landing(pass_index)
        # All that the numbers of a pass hang on, so passes of one key have them in common.
        key = (landing, plane, item.ink, item.layers, item.coverage, item.crisp_on)
        meeting = self._met.get(key)
        if meeting is None:
            meeting = self._met[key] = self._meet_anew(pass_index, item, landing, plane)
        return meeting

    def _meet_anew(self, pass_index: int, item: Pass, landing: Landing, plane: HeadPlane) -> Met:
        standing, grown_landing = self.standing, self._grown(landing, pass_index)
        extras = standing.crisp_extras(landing, plane)
        crisp, other = extras.to_lowest, extras.to_highest
        ends = standing.crisp_extras(self._on_its_own(landing, pass_index, item.layers - 1), plane)
        crisp_at_end = ends.to_lowest
        if item.crisp_on == "highest":
            crisp, other, crisp_at_end = other, crisp, ends.to_highest
        return Met(
            standing.throw_onto(landing, plane),
            standing.throw_onto(grown_landing, plane),
            crisp,
            crisp_at_end,
            other,
            self._surface_of(landing),
            self._surface_of(grown_landing),
        )

    def _surface_of(self, landing: Landing) -> Interval:
        surface = self._surfaces.get(landing)
        if surface is None:
            surface = self._surfaces[landing] = self.standing.surface_of(landing)
        return surface

    def _grown(self, landing: Landing, pass_index: int) -> Landing:
        """What a pass has landed on, with its own ink."""
        with_pass = self.standing.stacks.with_pass
        grown_stacks = frozenset(with_pass(stack, pass_index) for stack in landing.stacks)
        full_stacks = landing.full_stacks
        if self.standing.job.passes[pass_index].coverage >= 1:
            full_stacks = frozenset(with_pass(stack, pass_index) for stack in full_stacks)
        return Landing(landing.media, landing.lift, grown_stacks, full_stacks)

    def _on_its_own(self, landing: Landing, pass_index: int, layers: int) -> Landing:
        """What a pass has landed on, with so many of its own layers wherever it prints."""
        with_layers = self.standing.stacks.with_layers
        return Landing(
            landing.media,
            landing.lift,
            frozenset(with_layers(stack, pass_index, layers) for stack in landing.stacks),
            frozenset(with_layers(stack, pass_index, layers) for stack in landing.full_stacks),
        )

    def compare(
        self,
        item: Pass,
        plane: HeadPlane,
        found: Found,
        met: Met,
        said: object,
    ) -> None:
        """Tell where a printing of a pass, as the plan gives it, is not as was found."""
        if not isinstance(said, Printing):
            self.findings.tell(f"{item.id}: the plan does not give its numbers")
            return
        # Each pair of planes is compared once, since their forms are long and their passes many.
        if self._planes.get(id(said.plane)) is not plane:
            self._compare_planes(item, plane, said.plane)
        # Compared whole first: nearly all plans are right, and word by word takes ten times as
        # long.
        if FOUND(said) != found:
            self._tell_differences(item, said, FOUND_FIELDS, found)
        if MET(said) != met:
            self._tell_differences(item, said, Met._fields, met)

    def _tell_differences(
        self,
        item: Pass,
        said: Printing,
        names: tuple[str, ...],
        found: tuple[object, ...],
    ) -> None:
        for name, truth in zip(names, found, strict=True):
            if not agrees_with(getattr(said, name), truth):
                expected_words = f"the {CALLED[name]} is {in_words(truth)}"
                self.findings.tell(f"{item.id}: {expected_words}, not as the plan says")

    def _compare_planes(self, item: Pass, plane: HeadPlane, said: object) -> None:
        if planes_agree(said, plane):
            self._planes[id(said)] = plane
        else:
            height = in_words(plane.height)
            self.findings.tell(f"{item.id}: the head plane is {height}, not as the plan says")
