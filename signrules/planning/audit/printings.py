"""What are the numbers of a pass as it is printed, and does the plan say them?"""

from __future__ import annotations

from collections.abc import Iterable
from operator import attrgetter
from typing import NamedTuple

from signrules.model.passes import Pass
from signrules.model.quantities import Interval
from signrules.physics.heights import HeadPlane, Throw
from signrules.physics.standing import Standing
from signrules.physics.timeline import Printing
from signrules.planning.audit.claims import agrees, in_words, planes_agree
from signrules.planning.audit.findings import Findings


class Found(NamedTuple):
    """What was found of a pass, under the names that the plan has for it; the head plane stands beside it."""

    at: int
    position: int
    paid: bool
    clearance: Interval
    throw: Throw
    throw_at_end: Throw
    crisp: Interval
    other: Interval
    before: Interval
    after: Interval
    side_up: str


CALLED = Found(
    at="number of the pass",
    position="place in the order",
    paid="cost of its gap setting (True where it counts)",
    clearance="clearance",
    throw="throw",
    throw_at_end="throw at its end",
    crisp="offset with the throw to where it must be crisp",
    other="offset with the throw to its other surface",
    before="height before it",
    after="height after it",
    side_up="side that lies up",
)
SAID = attrgetter(*Found._fields)


class PrintingCheck:
    """Works out what a pass meets and compares it with what a plan says; `print` prints on what stands."""

    def __init__(self, standing: Standing, findings: Findings) -> None:
        self.standing, self.findings = standing, findings
        self._planes: dict[tuple[int, int], bool] = {}  # Very many passes have one of a few planes.

    def print(
        self, item: Pass, place: tuple[int, int, bool], plane: HeadPlane, turned: set[str]
    ) -> Found:
        """Print a pass; `place` is its number, its place in the order, and whether setting its gap counts."""
        at, standing = place[0], self.standing
        start = standing.landing(at)
        standing.add(at)
        end = standing.landing(at)
        offsets = standing.crisp_offsets(start, plane)
        crisp, other = offsets.to_lowest, offsets.to_highest
        if item.crisp_on == "highest":
            crisp, other = other, crisp
        return Found(
            *place,
            standing.clearance(at, plane, turned),
            standing.throw_onto(start, plane),
            standing.throw_onto(end, plane),
            crisp,
            other,
            standing.surface_of(start),
            standing.surface_of(end),
            "back" if standing.layout.media[at].id in turned else "front",
        )

    def compare(self, item: Pass, found: Found, plane: HeadPlane, claims: Iterable[object]) -> None:
        """Tell where one of several printings of a pass is not as was found; most are one and the same object."""
        seen: object = self
        for said in claims:
            if said is not seen:
                self._compare_one(item, found, plane, said)
            seen = said

    def _compare_one(self, item: Pass, found: Found, plane: HeadPlane, said: object) -> None:
        if not isinstance(said, Printing):
            self.findings.tell(f"{item.id}: the plan does not give its numbers")
            return
        if not self._has_plane(said.plane, plane):
            height = in_words(plane.height)
            self.findings.tell(f"{item.id}: the head plane is {height}, not as the plan says")
        if SAID(said) == found:
            return
        for name, truth in zip(Found._fields, found, strict=True):
            if not agrees(getattr(said, name), truth):
                what = f"the {getattr(CALLED, name)} is {in_words(truth)}"
                self.findings.tell(f"{item.id}: {what}, not as the plan says")

    def _has_plane(self, said: object, plane: HeadPlane) -> bool:
        key = id(said), id(plane)
        if key not in self._planes:
            self._planes[key] = planes_agree(said, plane)
        return self._planes[key]
