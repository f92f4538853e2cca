"""Surfaces, head planes, clearance and throw.

Pure functions of a job and of what has been printed so far; the order in which it was printed makes no difference.
Everything that the job fixes once and for all (zones, bands, which stacks can be the highest) is worked out on first
use and kept.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import cached_property

from attrs import frozen

from signrules.model.job import Job
from signrules.model.passes import Gap, Pass
from signrules.model.quantities import GUARD_MM, Interval, greatest_of, least_of
from signrules.physics.flatness import thickness_of
from signrules.physics.forms import Form, Unknown
from signrules.physics.zones import Cover, Zone, zones_of

Printed = Collection[int]
"""Indices of the passes that stand on their sheets."""

NOTHING: frozenset[int] = frozenset()


@frozen(eq=False)
class HeadPlane:
    """Where the underside of the head runs: the highest of `forms`, in mm above the bed, and how it was set."""

    forms: tuple[Form, ...]
    gap: Gap
    media: str

    @property
    def height(self) -> Interval:
        """Height above the bed in mm."""
        return greatest_of(form.interval() for form in self.forms)

    @cached_property
    def key(self) -> frozenset[frozenset[tuple[Unknown, int]]]:
        """What the plane consists of: two planes of one key are one plane, whatever the unknowns turn out to be."""
        return frozenset(frozenset(form.terms.items()) for form in self.forms)

    def above(self, surface: Form) -> Interval:
        """How far the plane lies above a surface, in mm; what stands in both cancels."""
        return greatest_of((form - surface).interval() for form in self.forms)


@frozen
class Throw:
    """Head plane minus the surfaces on which a pass lands, in mm, before its own ink."""

    to_highest: Interval
    to_lowest: Interval

    @property
    def span(self) -> tuple[float, float]:
        """The least and the largest throw at the bad ends."""
        return (self.to_highest.low, self.to_lowest.high)


class Heights:
    """The heights of one job. Passes go by their index in `job.passes`."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.index = {item.id: at for at, item in enumerate(job.passes)}
        self.media = tuple(job.media_of(item) for item in job.passes)
        self._base_gap = Unknown("printer.base_gap", job.printer.base_gap)
        self._thickness = {m.id: Unknown(f"media.{m.id}.thickness", thickness_of(m)) for m in job.media}
        self._bow = {m.id: Unknown(f"media.{m.id}.bow", Interval(0, 0, m.bow.high)) for m in job.media}
        layers = {ink.id: Unknown(f"inks.{ink.id}.layer", ink.layer) for ink in job.inks}
        self._layer = tuple(layers[item.ink] for item in job.passes)
        self._zones: dict[tuple[str, str], tuple[Zone, ...]] = {}
        self._band_covers: dict[tuple[str, str, float, float], tuple[Cover, ...]] = {}

    # --- what lies where -------------------------------------------------------------------------------------------

    def zones(self, media: str, side: str) -> tuple[Zone, ...]:
        """The zones of one side of a sheet; pieces in mm from the sheet's corner."""
        if (media, side) not in self._zones:
            areas = {at: self.job.areas_of(self.job.passes[at]) for at in self._passes_on[media, side]}
            self._zones[media, side] = zones_of(self.job.media_named(media).size, areas, GUARD_MM)
        return self._zones[media, side]

    @cached_property
    def _passes_on(self) -> dict[tuple[str, str], list[int]]:
        found: dict[tuple[str, str], list[int]] = {(m.id, s): [] for m in self.job.media for s in ("front", "back")}
        for at, item in enumerate(self.job.passes):
            found[self.media[at].id, item.side].append(at)
        return found

    @cached_property
    def bands(self) -> tuple[tuple[float, float], ...]:
        """What the head passes over in each pass, as lowest and highest y on the bed in mm."""
        return tuple(self._band(item) for item in self.job.passes)

    def _band(self, item: Pass) -> tuple[float, float]:
        at_y = self.job.media_of(item).at[1]
        head = self.job.printer.head_length
        areas = self.job.areas_of(item)
        return (at_y + min(a.y for a in areas) - head, at_y + max(a.y + a.height for a in areas) + head)

    @cached_property
    def in_band(self) -> tuple[tuple[str, ...], ...]:
        """The sheets of the same bed load over which the carriage travels in each pass, bare ones included."""
        by_load: dict[str, list[tuple[str, float, float]]] = {}
        for m in self.job.media:
            by_load.setdefault(m.load, []).append((m.id, m.at[1], m.at[1] + m.size[1]))
        return tuple(
            tuple(name for name, y0, y1 in by_load[self.media[at].load] if min(y1, high) - max(y0, low) > GUARD_MM)
            for at, (low, high) in enumerate(self.bands)
        )

    def covers_in_band(self, at: int, media: str, side: str) -> tuple[Cover, ...]:
        """The stacks on one sheet that can be the highest under the head during a pass."""
        low, high = self.bands[at]
        sheet = self.job.media_named(media)
        key = (media, side, max(low - sheet.at[1], 0.0), min(high - sheet.at[1], sheet.size[1]))
        if key not in self._band_covers:
            y0, y1 = key[2] + GUARD_MM, key[3] - GUARD_MM
            covers = {zone.cover for zone in self.zones(media, side) if zone.reaches(y0, y1)}
            self._band_covers[key] = maximal(covers)
        return self._band_covers[key]

    @cached_property
    def covers_on(self) -> dict[tuple[str, str], tuple[Cover, ...]]:
        """The stacks that can be the highest anywhere on one side of a sheet."""
        return {key: maximal({zone.cover for zone in self.zones(*key)}) for key in self._passes_on}

    @cached_property
    def _covers_within(self) -> tuple[set[Cover], ...]:
        found: tuple[set[Cover], ...] = tuple(set() for _ in self.job.passes)
        for media, side in self._passes_on:
            for zone in self.zones(media, side):
                for at in zone.cover:
                    found[at].add(zone.cover)
        return found

    @cached_property
    def highest_within(self) -> tuple[tuple[Cover, ...], ...]:
        """The stacks that can be the highest within each pass's own areas."""
        return tuple(maximal(covers) for covers in self._covers_within)

    @cached_property
    def lowest_within(self) -> tuple[tuple[Cover, ...], ...]:
        """The stacks that can be the lowest within each pass's own areas: where coverage is partial, no ink counts."""
        return tuple(minimal({self.full(cover) for cover in covers}) for covers in self._covers_within)

    def full(self, cover: Cover) -> Cover:
        """The passes of a stack that leave nothing bare."""
        return tuple(at for at in cover if self.job.passes[at].coverage >= 1)

    # --- heights ---------------------------------------------------------------------------------------------------

    def ink(self, cover: Cover, printed: Printed) -> Form:
        """The ink of a stack, as far as it has been printed."""
        terms: dict[Unknown, int] = {}
        for at in cover:
            if at in printed:
                layer = self._layer[at]
                terms[layer] = terms.get(layer, 0) + self.job.passes[at].layers
        return Form(terms)

    def sheet(self, media: str) -> Form:
        """The bare top of a sheet that lies flat."""
        return Form.of(self._thickness[media])

    def head_plane(self, at: int, gap: Gap, printed: Printed) -> HeadPlane:
        """The head plane of a pass whose gap is set when `printed` stands.

        Reference surface + base gap + offset; from the bed, the offset alone.
        """
        media = self.media[at].id
        offset = Form.of(Unknown("offset", gap.offset))
        if gap.reference == "bed":
            return HeadPlane((offset,), gap, media)
        above = offset + Form.of(self._base_gap) + self.sheet(media)
        if gap.reference == "media":
            return HeadPlane((above,), gap, media)
        covers = {tuple(i for i in cover if i in printed) for cover in self.covers_on[media, self.job.passes[at].side]}
        return HeadPlane(tuple(above + self.ink(cover, printed) for cover in maximal(covers)), gap, media)

    def clearance(self, at: int, plane: HeadPlane, printed: Printed, turned: Collection[str] = ()) -> Interval:
        """Head plane minus the highest surface in the band of a pass, at its end: `printed` holds the pass itself.

        `turned` names the sheets that lie with their back up. In mm; <= 0 is a head strike.
        """
        found = []
        for media in self.in_band[at]:
            side = "back" if media in turned else "front"
            standing = self.sheet(media) + Form.of(self._bow[media]) + self._lift(media, side, printed)
            for cover in self.covers_in_band(at, media, side):
                found.append(plane.above(standing + self.ink(cover, printed)))
        return least_of(found)

    def over_bare(self, plane: HeadPlane, media: str) -> Interval:
        """How far a head plane lies above the bare top of a sheet, its bow counted."""
        return plane.above(self.sheet(media) + Form.of(self._bow[media]))

    def throw(self, at: int, plane: HeadPlane, printed: Printed) -> Throw:
        """Head plane minus the lowest and the highest surface within the areas of a pass, before its own ink."""
        ground = self._ground(at, printed)
        return Throw(
            least_of(plane.above(ground + self.ink(cover, printed)) for cover in self.highest_within[at]),
            greatest_of(plane.above(ground + self.ink(cover, printed)) for cover in self.lowest_within[at]),
        )

    def crisp_offset(self, at: int, plane: HeadPlane, printed: Printed, surface: str) -> Interval:
        """The throw to one surface (`lowest` or `highest`) less the base gap, in mm.

        It is the offset over a bare sheet at which an alignment would have exactly this throw; the base gap stands
        on both sides and cancels.
        """
        lifted = HeadPlane(tuple(form - Form.of(self._base_gap) for form in plane.forms), plane.gap, plane.media)
        throw = self.throw(at, lifted, printed)
        return throw.to_lowest if surface == "lowest" else throw.to_highest

    def surface(self, at: int, printed: Printed) -> Interval:
        """The highest surface within the areas of a pass, in mm above the bed, the sheet lying flat."""
        ground = self._ground(at, printed)
        return greatest_of((ground + self.ink(cover, printed)).interval() for cover in self.highest_within[at])

    def build_up(self, media: str, side: str, printed: Printed) -> Interval:
        """The highest ink on one side of a sheet, in mm."""
        return greatest_of(self.ink(cover, printed).interval() for cover in self.covers_on[media, side])

    def _ground(self, at: int, printed: Printed) -> Form:
        media, side = self.media[at].id, self.job.passes[at].side
        return self.sheet(media) + self._lift(media, side, printed)

    def _lift(self, media: str, up: str, printed: Printed) -> Form:
        """What the ink underneath may add: from nothing to its highest, anywhere on the sheet."""
        under = "front" if up == "back" else "back"
        if not self._passes_on[media, under]:
            return Form({})
        highest = self.build_up(media, under, printed).high
        return Form.of(Unknown(f"media.{media}.lift", Interval(0, 0, highest))) if highest else Form({})


def maximal(covers: Iterable[Cover]) -> tuple[Cover, ...]:
    """The covers that no other one contains: more ink is never lower, so only these can be the highest."""
    return _extreme(covers, largest=True)


def minimal(covers: Iterable[Cover]) -> tuple[Cover, ...]:
    """The covers that contain no other one: only these can be the lowest."""
    return _extreme(covers, largest=False)


def _extreme(covers: Iterable[Cover], *, largest: bool) -> tuple[Cover, ...]:
    ordered = sorted(set(covers), key=lambda cover: (-len(cover) if largest else len(cover), cover))
    kept: list[frozenset[int]] = []
    result = []
    for cover in ordered:
        members = frozenset(cover)
        if not any(members <= other if largest else other <= members for other in kept):
            kept.append(members)
            result.append(cover)
    return tuple(result)
