"""The most room that open gaps can have: where even that has no order, no gaps have one."""

from __future__ import annotations

from attrs import evolve

from signrules.model.limits import LARGEST_MM
from signrules.model.passes import HeadAboveBed
from signrules.model.quantities import Interval
from signrules.physics.flatness import thickness_of
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.gaps.plane_reaches import SLACK_MM, plane_reaches


def with_most_room(machine: Machine) -> Machine | None:
    """The machine with each open gap as high as it can come to lie.

    All that tolerances could take away is given on top. None where a gap would be more than a job
    can state.
    """
    reaches = plane_reaches(machine)
    added = _lost_to_tolerances(machine) + SLACK_MM
    passes = []
    for pass_index, item in enumerate(machine.job.passes):
        if item.gap is None:
            # From the bed the plane is fixed, so that the changeover core can tell of an order.
            height = reaches[pass_index][1] + added
            if height > LARGEST_MM:
                return None
            item = evolve(item, gap=HeadAboveBed(Interval.exact(height)))
        passes.append(item)
    job = evolve(machine.job, passes=tuple(passes))
    return Machine(Heights(job), machine.precedence)


def _lost_to_tolerances(machine: Machine) -> float:
    """What the thickness and bow of sheets and the height of ink may take away together, in mm."""
    sheets = max(
        thickness_of(sheet).high - thickness_of(sheet).nominal + sheet.bow.high
        for sheet in machine.job.media
    )
    heights = machine.heights
    inks = (heights.ink(cover, cover).interval() for cover in heights.layout.all_covers())
    return sheets + max(ink.high - ink.nominal for ink in inks)
