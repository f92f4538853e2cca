"""What lies between two passes that register: putting the sheet back, and its growth."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cached_property, reduce
from itertools import chain

from attrs import frozen

from signrules.catalogue.materials import Material
from signrules.model.media import Media
from signrules.model.passes import Area
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.physics import duration, thermal
from signrules.physics.error_budget import (
    SheetHeat,
    Warmth,
    common_areas,
    estimated_warmths,
    farthest_distance,
    stated_warmth,
    temperature_difference,
)
from signrules.physics.machine import Move
from signrules.physics.timeline import Timeline
from signrules.rules.sheets import known_of_sheet, unsaid_field

NONE = Interval.exact(0.0)
Sweeps = dict[str, dict[int, Warmth]]
"""By sheet the estimated temperatures of its passes, worked out once for all partners of a pass."""


@frozen
class SheetGrowth:
    """A sheet that differs by so many K from what it was, over a distance in mm, by a coefficient
    in ppm/K.
    """

    sheet: str
    warmer: Interval
    distance: float
    expansion: Interval

    @property
    def size(self) -> Interval:
        """How far the print on the sheet has moved, in mm."""
        least, meant, most = (
            thermal.thermal_growth(self.expansion, self.distance, kelvin)
            for kelvin in (self.warmer.low, self.warmer.nominal, self.warmer.high)
        )
        # Each end with the end of the coefficient that makes it worst.
        return Interval(least.low, meant.nominal, most.high)


@frozen
class BetweenPasses:
    """What lies between a pass and an earlier one that registers with it.

    `unknown` names a field without which the growth is not known, and nothing of it is.
    """

    other: int
    moves: tuple[Move, ...]
    grown: tuple[SheetGrowth, ...] = ()
    here: Warmth | None = None
    there: Warmth | None = None
    unknown: str | None = None

    @property
    def locating(self) -> float:
        """The locating errors of all moves in between, in mm, as far as they are stated."""
        return math.fsum(move.error or 0.0 for move in self.moves)

    @cached_property
    def growth(self) -> Interval:
        """By how much sheets have grown, all added, in mm."""
        return sum((share.size for share in self.grown), NONE)

    @property
    def warms(self) -> bool:
        """Whether a sheet has grown, or may have for all that is known."""
        return bool(self.grown) or self.unknown is not None

    @property
    def missing(self) -> str | None:
        """A field without which the sum is not known."""
        unstated = (f"printer.locating.{move.method}" for move in self.moves if move.error is None)
        return next(unstated, self.unknown)

    @property
    def estimated(self) -> bool:
        """Whether a temperature is estimated and not stated."""
        return any(warmth is not None and warmth.estimated for warmth in (self.here, self.there))


def all_between(
    timeline: Timeline, pass_index: int, materials: Mapping[str, Material]
) -> list[BetweenPasses]:
    """One for each earlier pass that registers with a pass, as far as methods of locating bridge
    all moves between.
    """
    intervals = []
    sweeps: Sweeps = {}
    # Moves that nothing bridges are for `registration.frame` to stop; there is no sum to make of
    # them.
    for other in timeline.telling_partners(pass_index):
        moves = tuple(timeline.moves_between(other, pass_index))
        if all(move.bridges for move in moves):
            intervals.append(_between_passes(timeline, pass_index, other, moves, materials, sweeps))
    return intervals


def _between_passes(
    timeline: Timeline,
    pass_index: int,
    other: int,
    moves: tuple[Move, ...],
    materials: Mapping[str, Material],
    sweeps: Sweeps,
) -> BetweenPasses:
    job = timeline.machine.job
    own_warmth, other_warmth = (
        _temperature_while_printed(timeline, index, materials, sweeps)
        for index in (pass_index, other)
    )
    for warmth in (own_warmth, other_warmth):
        if isinstance(warmth, str):
            return BetweenPasses(other, moves, unknown=warmth)
    assert isinstance(own_warmth, Warmth)
    assert isinstance(other_warmth, Warmth)
    warmths = {pass_index: own_warmth, other: other_warmth}
    growths = []
    for sheet, printed, warmer in _warmer_sheets(timeline, warmths):
        # Both passes at one temperature: nothing grows, and no coefficient is asked for.
        if warmer.high <= 0:
            continue
        expansion = known_of_sheet(sheet, materials, "expansion")
        if not isinstance(expansion, Interval):
            return BetweenPasses(other, moves, unknown=unsaid_field(sheet, "expansion"))
        passes = [job.passes[printed_index] for printed_index in printed]
        distance = _distance_from_fixed(
            sheet, [job.areas_of(item) for item in passes], {item.side for item in passes}
        )
        growths.append(SheetGrowth(sheet.id, warmer, distance, expansion))
    return BetweenPasses(other, moves, tuple(growths), own_warmth, other_warmth)


def _warmer_sheets(
    timeline: Timeline, warmths: Mapping[int, Warmth]
) -> list[tuple[Media, tuple[int, ...], Interval]]:
    """The sheets of two passes, which of the two print on each, and by how many K it warms.

    Which passes these are is said by number: their areas are cut with each other only where the
    sheet grows.
    """
    sheets = timeline.machine.heights.media
    own, other = warmths
    # On one sheet only the difference between the two counts: it grew under both alike.
    if sheets[own].id == sheets[other].id:
        warmer = temperature_difference(warmths[own].degrees, warmths[other].degrees)
        return [(sheets[own], (own, other), warmer)]
    # Two sheets lie side by side: each grows by itself from the temperature of the room.
    room = Interval.exact(timeline.machine.job.temperature)
    return [
        (sheets[index], (index,), temperature_difference(warmth.degrees, room))
        for index, warmth in warmths.items()
    ]


def _distance_from_fixed(sheet: Media, areas: Sequence[tuple[Area, ...]], sides: set[str]) -> float:
    """How far from the point that stays put some passes print on a sheet, in mm.

    Over which edge a sheet is turned is not known, so once it is turned any corner may be the one
    that stays put, and areas on its two sides are not cut with each other.
    """
    # Never turned over: the point that stays put is where the operator says it is.
    if sides == {sheet.up}:
        return farthest_distance(sheet.located_at, reduce(common_areas, areas), sheet.size)
    fixed_areas = (
        reduce(common_areas, areas) if len(sides) == 1 else tuple(chain.from_iterable(areas))
    )
    return farthest_distance(None, fixed_areas, sheet.size)


def _temperature_while_printed(
    timeline: Timeline, pass_index: int, materials: Mapping[str, Material], sweeps: Sweeps
) -> Warmth | str:
    """The temperature of the sheet while a pass is printed, or the field that is needed to estimate
    it.
    """
    job = timeline.machine.job
    printer, sheet = job.printer, timeline.machine.heights.media[pass_index]
    # What was stated goes before what can be estimated; without a dose lamps warm nothing.
    if job.passes[pass_index].sheet_temperature is not None or not printer.absorbed_dose:
        return stated_warmth(job, pass_index)
    lacking = unknown_of_cooling(printer, sheet, materials) or duration.unstated_field(printer)
    if lacking is not None:
        return lacking
    assert printer.cooling is not None
    if sheet.id not in sweeps:
        heat = heat_properties(sheet, materials)
        sweeps[sheet.id] = estimated_warmths(
            timeline, sheet.id, heat, printer.absorbed_dose, printer.cooling
        )
    return sweeps[sheet.id][pass_index]


def unknown_of_cooling(
    printer: Printer, sheet: Media, materials: Mapping[str, Material]
) -> str | None:
    """A field without which nobody knows how fast a sheet cools; None where all are known."""
    if printer.cooling is None:
        return "printer.cooling"
    for name in ("density", "heat_capacity"):
        if known_of_sheet(sheet, materials, name) is None:
            return unsaid_field(sheet, name)
    return None


def heat_properties(sheet: Media, materials: Mapping[str, Material]) -> SheetHeat:
    """Density and heat capacity of a sheet, both of which must be known."""
    density, capacity = (
        known_of_sheet(sheet, materials, name) for name in ("density", "heat_capacity")
    )
    assert isinstance(density, float | int)
    assert isinstance(capacity, float | int)
    return SheetHeat(density, capacity)
