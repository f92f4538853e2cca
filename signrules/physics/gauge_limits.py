"""By how much the head plane of a pass may lie off what is stated before a limit is passed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import frozen

from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.halving import last_holding
from signrules.physics.landing import landing_error
from signrules.physics.timeline import Timeline

FINEST_MM = 1e-7
FURTHEST_MM = 100.0
"""No room is looked for further away: a gap is not misread by as much."""


@frozen
class GaugeRoom:
    """How far a head plane may be set too low and too high, in mm; infinite where nothing limits
    it. Both are 0 where a limit is passed as it is.
    """

    down: float
    up: float


def gauge_room(timeline: Timeline, passes: Iterable[int]) -> GaugeRoom:
    """The room of a head plane that serves one pass or more, all other figures as they are stated.

    The clearance keeps to `min_clearance` at the bad end of every tolerance, the throw to
    `max_throw`, and two-way printing lands within the landing tolerance by an alignment that there
    is. A limit that the job does not state gives no bound. What two passes lie apart is not looked
    at. (Geometry, and the kinematics of two-way printing for landing.)
    """
    rooms = [_room_of_pass(timeline, pass_index) for pass_index in passes]
    return GaugeRoom(min(room.down for room in rooms), min(room.up for room in rooms))


def _room_of_pass(timeline: Timeline, pass_index: int) -> GaugeRoom:
    printing, printer = timeline.printings[pass_index], timeline.machine.job.printer
    down, up = printing.clearance.low - printer.min_clearance, math.inf
    if printer.max_throw is not None:
        up = printer.max_throw - printing.throw.to_lowest.high
    if timeline.machine.job.passes[pass_index].directions == 2:
        down = min(down, _landing_room(timeline, pass_index, -1))
        up = min(up, _landing_room(timeline, pass_index, +1))
    if min(down, up) < -GUARD_MM:
        return GaugeRoom(0.0, 0.0)
    return GaugeRoom(max(down, 0.0), max(up, 0.0))


def _landing_room(timeline: Timeline, pass_index: int, towards: int) -> float:
    """How far the plane may go one way until no alignment brings the two directions together.

    Below 0 where none does as it is.
    """
    printer, crisp = timeline.machine.job.printer, timeline.printings[pass_index].crisp_extra
    tolerance = printer.allowed_landing_error
    if tolerance is None:
        return math.inf

    def lands(distance: float) -> bool:
        extra = crisp + Interval.exact(towards * distance)
        return any(
            landing_error(printer, extra, alignment).high <= tolerance + GUARD_MM
            for alignment in timeline.alignments
        )

    if not lands(0.0):
        return -1.0
    if lands(FURTHEST_MM):
        return math.inf
    return last_holding(lands, 0.0, FURTHEST_MM, finest=FINEST_MM)
