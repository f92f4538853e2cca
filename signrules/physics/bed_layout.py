"""What lies where: the zones of every sheet, the bands of the head, and what is in them.

Everything here is fixed by the job, worked out on first use and kept.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cached_property
from typing import TypeVar

from attrs import field, frozen

from signrules.model.built_areas import areas_building
from signrules.model.job import Job
from signrules.model.passes import SIDES, Area, sign_of_feature
from signrules.model.quantities import GUARD_MM
from signrules.physics.upright import bounding_area
from signrules.physics.zones import Cover, Zone, zones_of

Entry = TypeVar("Entry")

LONG = 4.0
"""Places that reach over more than so many times the median are looked at one by one, all others by
their order.
"""


@frozen(eq=False)
class Slots:
    """Some places on one side of a sheet: a run from `start` to before `stop`, and some besides."""

    start: int
    stop: int
    besides: tuple[int, ...]
    _besides: frozenset[int] = field(init=False)

    @_besides.default
    def _as_set(self) -> frozenset[int]:
        return frozenset(self.besides)

    def holds(self, place: int) -> bool:
        """Whether a place is one of them."""
        return self.start <= place < self.stop or place in self._besides

    def entries_of(self, entries: Sequence[Entry]) -> list[Entry]:
        """Of entries for all places in their order, those for these places."""
        return [
            *entries[self.start : self.stop],
            *[entries[place] for place in self.besides],
        ]

    def __len__(self) -> int:
        return self.stop - self.start + len(self.besides)


@frozen(eq=False)
class SideLayout:
    """The places of one side of a sheet in order of y: the cover of each, and the stretch it takes.

    A place is a number in that order. A zone whose pieces lie apart in y has a place for each.
    `of_pass` gives the places that each pass covers. `long` are the places that take more of y than
    `longest`, in mm.
    """

    covers: tuple[Cover, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    of_pass: dict[int, tuple[int, ...]]
    longest: float
    long: tuple[int, ...]

    @classmethod
    def of(cls, zones: tuple[Zone, ...]) -> SideLayout:
        """The layout of some zones."""
        stretches: list[tuple[float, float, Cover]] = []
        for zone in zones:
            stretches += [(low, high, zone.cover) for low, high in _stretches(zone)]
        stretches.sort()
        # Of the median: a single long place, such as a flood, must not make all others be searched.
        lengths = sorted(high - low for low, high, _ in stretches)
        longest = LONG * lengths[len(lengths) // 2]
        of_pass: dict[int, list[int]] = {}
        for place, (_, _, cover) in enumerate(stretches):
            for pass_index in cover:
                of_pass.setdefault(pass_index, []).append(place)
        return cls(
            tuple(cover for _, _, cover in stretches),
            tuple(low for low, _, _ in stretches),
            tuple(high for _, high, _ in stretches),
            {pass_index: tuple(places) for pass_index, places in of_pass.items()},
            longest,
            tuple(place for place, (low, high, _) in enumerate(stretches) if high - low > longest),
        )

    def between(self, y0: float, y1: float) -> Slots:
        """The places of which some part lies strictly between two values of y, in mm."""
        # Places come by their low ends. Those that begin between the two are one run; of those
        # before it that are not long, only the next few can reach in.
        stop = bisect_left(self.low, y1)
        start = bisect_left(self.low, y0)
        first = bisect_right(self.low, y0 - self.longest)
        reaching = {place for place in range(first, start) if self.high[place] > y0}
        reaching |= {place for place in self.long if place < start and self.high[place] > y0}
        return Slots(start, stop, tuple(sorted(reaching)))


def _stretches(zone: Zone) -> list[tuple[float, float]]:
    """The stretches of y that a zone takes, those that touch as one."""
    stretches: list[tuple[float, float]] = []
    # The carriage travels along x over all of a sheet, so where along x ink stands makes no
    # difference.
    for low, high in sorted((piece.y0, piece.y1) for piece in zone.pieces):
        if stretches and low <= stretches[-1][1]:
            stretches[-1] = (stretches[-1][0], max(high, stretches[-1][1]))
        else:
            stretches.append((low, high))
    return stretches


class Layout:
    """The layout of one job. Passes go by their index in `job.passes`."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.media = tuple([job.media_of(item) for item in job.passes])
        self.areas = tuple([job.areas_of(item) for item in job.passes])
        self._zones: dict[tuple[str, str], tuple[Zone, ...]] = {}
        self._sides: dict[tuple[str, str], SideLayout] = {}
        self._slots: dict[tuple[str, str, tuple[float, float]], Slots] = {}
        self._covers: dict[Slots, tuple[Cover, ...]] = {}

    def zones(self, media: str, side: str) -> tuple[Zone, ...]:
        """The zones of one side of a sheet; pieces in mm from the sheet's corner."""
        if (media, side) not in self._zones:
            # Sorted, so that covers come out the same whatever the order of the set.
            areas = {
                pass_index: self.areas[pass_index]
                for pass_index in sorted(self.passes_on[media, side])
            }
            self._zones[media, side] = zones_of(self.job.media_named(media).size, areas, GUARD_MM)
        return self._zones[media, side]

    def side(self, media: str, side: str) -> SideLayout:
        """The places of one side of a sheet, each with its cover."""
        if (media, side) not in self._sides:
            self._sides[media, side] = SideLayout.of(self.zones(media, side))
        return self._sides[media, side]

    @cached_property
    def passes_on(self) -> dict[tuple[str, str], frozenset[int]]:
        """The passes on each side of each sheet."""
        passes_on_side: dict[tuple[str, str], list[int]] = {}
        for sheet in self.job.media:
            passes_on_side |= {(sheet.id, side): [] for side in SIDES}
        for pass_index, item in enumerate(self.job.passes):
            passes_on_side[self.media[pass_index].id, item.side].append(pass_index)
        return {key: frozenset(passes) for key, passes in passes_on_side.items()}

    @cached_property
    def faces(self) -> dict[str, str]:
        """The side on which each sign lies: the front, unless all that builds it is on the back."""
        sides_of_sign: dict[str, set[str]] = {sign.id: set() for sign in self.job.signs}
        for item in self.job.passes:
            for sign in item.built_signs:
                sides_of_sign[sign].add(item.side)
        face_of_sign = dict.fromkeys(sides_of_sign, "front")
        for sign, sides_built in sides_of_sign.items():
            # A sign built on both sides is read from its front: the back of a clear sheet carries
            # its colour.
            if sides_built == {"back"}:
                face_of_sign[sign] = "back"
        return face_of_sign

    @cached_property
    def signs(self) -> dict[tuple[str, str], dict[str, Area]]:
        """The signs on each side of a sheet with the rectangle that each takes.

        It is the area that the sign states, else that around all that passes build of it there.
        Passes that name no areas say nothing of where a sign lies.
        """
        built_areas: dict[tuple[str, str], dict[str, list[Area]]] = {}
        for item, sheet in zip(self.job.passes, self.media, strict=True):
            if item.areas is None:
                continue
            areas_of_signs = built_areas.setdefault((sheet.id, item.side), {})
            for feature in item.builds:
                areas = areas_building(self.job, item, feature)
                if areas:
                    areas_of_signs.setdefault(sign_of_feature(feature), []).extend(areas)
        bounding_areas = {
            key: {sign: bounding_area(areas) for sign, areas in areas_of_signs.items()}
            for key, areas_of_signs in built_areas.items()
        }
        for sign in self.job.signs:
            if sign.area is not None:
                key = self.job.media_of(sign).id, self.faces[sign.id]
                bounding_areas.setdefault(key, {})[sign.id] = sign.area
        return bounding_areas

    @cached_property
    def bands(self) -> tuple[tuple[float, float], ...]:
        """What the head passes over in each pass, as lowest and highest y on the bed in mm."""
        head = self.job.printer.head_length
        bands: list[tuple[float, float]] = []
        for areas, sheet in zip(self.areas, self.media, strict=True):
            low, high = math.inf, -math.inf
            for area in areas:
                low, high = min(low, area.y), max(high, area.y + area.height)
            # The head may reach over either edge of the areas by its whole length.
            bands.append((sheet.at[1] + low - head, sheet.at[1] + high + head))
        return tuple(bands)

    @cached_property
    def in_band(self) -> tuple[tuple[str, ...], ...]:
        """The sheets of its load over which the carriage travels in each pass, bare ones too."""
        by_load: dict[str, list[tuple[str, float, float]]] = {}
        for other in self.job.media:
            low, high = other.at[1], other.at[1] + other.size[1]
            by_load.setdefault(other.load, []).append((other.id, low, high))
        # A ganged bed has many passes in few bands.
        media_by_band: dict[tuple[str, tuple[float, float]], tuple[str, ...]] = {}
        media_in_band: list[tuple[str, ...]] = []
        for sheet, band in zip(self.media, self.bands, strict=True):
            key = (sheet.load, band)
            if key not in media_by_band:
                low, high = band
                media_by_band[key] = tuple(
                    name
                    for name, y0, y1 in by_load[sheet.load]
                    if min(y1, high) - max(y0, low) > GUARD_MM
                )
            media_in_band.append(media_by_band[key])
        return tuple(media_in_band)

    def slots_in_band(self, pass_index: int, media: str, side: str) -> Slots:
        """The places of one side of a sheet over which the head passes in a pass."""
        low, high = self.bands[pass_index]
        # Passes of one row of a bed have one band, so they share the answer.
        key = (media, side, (low, high))
        slots = self._slots.get(key)
        if slots is None:
            # Bands lie on the bed and places on their sheet. What only touches a band is not under
            # it.
            sheet_y = self.job.media_named(media).at[1]
            slots = self.side(media, side).between(
                low - sheet_y + GUARD_MM, high - sheet_y - GUARD_MM
            )
            self._slots[key] = slots
        return slots

    def covers_in_band(self, pass_index: int, media: str, side: str) -> tuple[Cover, ...]:
        """The covers over which the head passes in a pass, each once."""
        slots = self.slots_in_band(pass_index, media, side)
        if slots not in self._covers:
            covers_there = slots.entries_of(self.side(media, side).covers)
            self._covers[slots] = tuple(dict.fromkeys(covers_there))
        return self._covers[slots]

    def covers_of(self, pass_index: int) -> tuple[Cover, ...]:
        """The covers that a pass is part of, each once."""
        side = self.side(self.media[pass_index].id, self.job.passes[pass_index].side)
        return tuple(dict.fromkeys(side.covers[place] for place in side.of_pass[pass_index]))

    def all_covers(self) -> frozenset[Cover]:
        """The covers of every side of every sheet."""
        all_covers: set[Cover] = set()
        for sheet in self.job.media:
            for side in SIDES:
                all_covers.update(self.covers_on(sheet.id, side))
        return frozenset(all_covers)

    def covers_on(self, media: str, side: str) -> tuple[Cover, ...]:
        """All covers of one side of a sheet."""
        return tuple(dict.fromkeys(self.side(media, side).covers))
