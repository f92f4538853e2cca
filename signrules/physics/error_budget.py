"""What adds up between two passes that should lie on each other.

Three things: putting the sheet back, growth of the sheet between them, and where the drops of each
land. The terms are added, worst case, and beside it combined as the root of the sum of squares,
which holds for terms that are independent of each other (both: any handbook on tolerances).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from attrs import frozen

from signrules.model.job import Job
from signrules.model.passes import Area
from signrules.model.quantities import GUARD_MM, Interval, clamped_interval
from signrules.physics import duration, thermal
from signrules.physics.flatness import thickness_of
from signrules.physics.timeline import Timeline


def worst_case(terms: Iterable[float]) -> float:
    """The sum of the sizes of some terms."""
    return math.fsum(abs(term) for term in terms)


def root_sum_square(terms: Iterable[float]) -> float:
    """The root of the sum of the squares of some terms."""
    return math.sqrt(math.fsum(term * term for term in terms))


def farthest_distance(
    point: tuple[float, float] | None, areas: Sequence[Area], size: tuple[float, float]
) -> float:
    """The largest distance in mm, along x or y, from the point that stays put to some areas.

    Registration is judged along the axes, as marks show it. Where the point is None, any point of a
    sheet of that size may be the one, so the far side of the sheet counts. Geometry.
    """
    farthest = 0.0
    for axis, side in enumerate(size):
        # The distance to a point is largest at an end of where that may be, so both ends are
        # enough.
        fixed = (0.0, side) if point is None else (point[axis],)
        for area in areas:
            start, length = ((area.x, area.width), (area.y, area.height))[axis]
            for place in fixed:
                farthest = max(farthest, abs(start - place), abs(start + length - place))
    return farthest


def common_areas(areas: Sequence[Area], others: Sequence[Area]) -> tuple[Area, ...]:
    """Where both of two passes print; all areas of both where they nowhere overlap. Geometry."""
    common = []
    for area in areas:
        for other in others:
            x, y = max(area.x, other.x), max(area.y, other.y)
            width = min(area.x + area.width, other.x + other.width) - x
            height = min(area.y + area.height, other.y + other.height) - y
            if width > GUARD_MM and height > GUARD_MM:
                common.append(Area(x, y, width, height))
    # Passes that nowhere overlap still have to keep their distance, such as dots beside their text.
    return tuple(common) or (*areas, *others)


@frozen
class SheetHeat:
    """What tells how warm a sheet gets: its density in kg/m3 and its heat capacity in J/(kg K)."""

    density: float
    heat_capacity: float


@frozen
class Warmth:
    """The temperature of a sheet in degrees C while a pass is printed.

    `estimated` tells it from one that is stated.
    """

    degrees: Interval
    estimated: bool = False


def stated_warmth(job: Job, pass_index: int) -> Warmth:
    """The temperature that a pass states, or that of the room."""
    degrees = job.passes[pass_index].sheet_temperature
    if degrees is None:
        degrees = job.temperature
    return Warmth(Interval.exact(degrees))


def estimated_warmths(
    timeline: Timeline, media: str, heat: SheetHeat, dose: float, cooling: float
) -> dict[int, Warmth]:
    """For each pass on a sheet the temperature that lamps and air let expect, from start to end.

    Every layer printed on the sheet so far has warmed it by its dose (J/m2), the sheet cools (W/(m2
    K)) from layer to layer, and what it cools during set-up is left out, so that the estimate is on
    the warm side. Energy balance and Newton's law of cooling. Raises ValueError where the printer
    does not state what printing times take.
    """
    job, heights = timeline.machine.job, timeline.machine.heights
    thick = thickness_of(job.media_named(media)).nominal
    warming = thermal.warming_of_layer(dose, heat.density, heat.heat_capacity, thick)
    constant = thermal.cooling_time_constant(cooling, heat.density, heat.heat_capacity, thick)
    warmth = 0.0
    warmths = {}
    # In the order of printing: what came before has warmed the sheet.
    for item_index in timeline.order:
        if not timeline.machine.is_pass(item_index) or heights.media[item_index].id != media:
            continue
        period = duration.layer_time(job, job.passes[item_index])
        if period is None:
            raise ValueError(f"expected a printer that states {', '.join(duration.NEEDED)}")
        start = warmth
        layers = job.passes[item_index].layers
        warmth = thermal.warmth_of_sheet(start, warming, layers, period, constant)
        # A sheet that is warmer than this pass keeps it cools while the pass prints.
        low, high = sorted((job.temperature + start, job.temperature + warmth))
        warmths[item_index] = Warmth(Interval.between(low, high), estimated=True)
    return warmths


def temperature_difference(a: Interval, b: Interval) -> Interval:
    """How far two temperatures lie apart, whichever is the higher, in K."""
    low = max(a.low - b.high, b.low - a.high, 0.0)
    high = max(a.high - b.low, b.high - a.low)
    return clamped_interval(low, abs(a.nominal - b.nominal), high)
