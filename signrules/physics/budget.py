"""What adds up between two passes that should lie on each other.

Three things: putting the sheet back, growth of the sheet between them, and where the drops of each land. The terms are
added, worst case, and beside it combined as the root of the sum of squares, which holds for terms that are independent
of each other (both: any handbook on tolerances).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from attrs import frozen

from signrules.model.job import Job
from signrules.model.passes import Area
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics import duration, thermal
from signrules.physics.flatness import thickness_of
from signrules.physics.timeline import Timeline


def worst_case(terms: Iterable[float]) -> float:
    """The sum of the sizes of some terms."""
    return math.fsum(abs(term) for term in terms)


def root_sum_square(terms: Iterable[float]) -> float:
    """The root of the sum of the squares of some terms."""
    return math.sqrt(math.fsum(term * term for term in terms))


def farthest(point: tuple[float, float] | None, areas: Sequence[Area], size: tuple[float, float]) -> float:
    """The largest distance along x or y, in mm, from the point that stays put to a point of some areas.

    Registration is judged along the axes, as marks show it. Where the point is None, any point of a sheet of that size
    may be the one, so the far side of the sheet counts. Geometry.
    """
    far = 0.0
    for axis, side in enumerate(size):
        for area in areas:
            start, length = ((area.x, area.width), (area.y, area.height))[axis]
            fixed = (0.0, side) if point is None else (point[axis],)
            far = max(far, *(abs(end - at) for end in (start, start + length) for at in fixed))
    return far


def common_areas(mine: Sequence[Area], its: Sequence[Area]) -> tuple[Area, ...]:
    """Where both of two passes print; all of both where they nowhere lie on each other. Geometry."""
    found = []
    for a in mine:
        for b in its:
            x, y = max(a.x, b.x), max(a.y, b.y)
            width = min(a.x + a.width, b.x + b.width) - x
            height = min(a.y + a.height, b.y + b.height) - y
            if width > GUARD_MM and height > GUARD_MM:
                found.append(Area(x, y, width, height))
    return tuple(found) or (*mine, *its)


@frozen
class SheetHeat:
    """What must be known of a sheet to reckon its warmth: density in kg/m3, heat capacity in J/(kg K)."""

    density: float
    heat_capacity: float


@frozen
class Warmth:
    """The temperature in degrees C of a sheet while a pass is printed, and whether it was reckoned and not stated."""

    degrees: Interval
    estimated: bool = False


def stated_warmth(job: Job, at: int) -> Warmth:
    """The temperature that a pass states, or that of the room."""
    stated = job.passes[at].sheet_temperature
    return Warmth(Interval.exact(job.temperature if stated is None else stated))


def estimated_warmth(timeline: Timeline, at: int, heat: SheetHeat, dose: float, cooling: float) -> Warmth | None:
    """The temperature that lamps and air let expect, from the start of a pass to its end; None without printing times.

    Every layer printed on the sheet so far has warmed it by its dose, the sheet cools from layer to layer, and what it
    cools during set-up is left out, so that the estimate is on the warm side. Energy balance and Newton's law.
    """
    job, heights = timeline.machine.job, timeline.machine.heights
    sheet = heights.media[at]
    thick = thickness_of(sheet).nominal
    each = thermal.warming_of_layer(dose, heat.density, heat.heat_capacity, thick)
    constant = thermal.cooling_time_constant(cooling, heat.density, heat.heat_capacity, thick)
    warm = start = 0.0
    for item in timeline.order:
        if not timeline.machine.is_pass(item) or heights.media[item].id != sheet.id:
            continue
        period = duration.layer_time(job, job.passes[item])
        if period is None:
            return None
        start, warm = warm, thermal.warmth(warm, each, job.passes[item].layers, period, constant)
        if item == at:
            break
    return Warmth(Interval.between(*sorted((job.temperature + start, job.temperature + warm))), estimated=True)


def apart(a: Interval, b: Interval) -> Interval:
    """How far two temperatures lie apart, whichever is the higher, in K."""
    low = max(a.low - b.high, b.low - a.high, 0.0)
    high = max(a.high - b.low, b.high - a.low)
    return Interval(low, min(max(abs(a.nominal - b.nominal), low), high), high)
