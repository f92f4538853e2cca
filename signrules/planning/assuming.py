"""Jobs with open gaps as jobs with stated ones, for the changeover core to put in order or to find hopeless.

Of gaps that are merely assumed only the order is taken: gaps are then chosen anew, and the plan counts for what its
replay shows. Gaps with the most room that any order could give them say where no order can be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import islice

from attrs import evolve

from signrules.model.limits import LARGEST_MM
from signrules.model.passes import SIDES, Gap
from signrules.model.quantities import Interval
from signrules.physics.flatness import thickness_of
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.reaches import SLACK_MM, plane_reaches, sure_offsets


def assumed(machine: Machine, most: int) -> Iterator[Machine]:
    """The machine with a gap for each open one, in up to `most` ways.

    Each pass gets the largest of some offsets over the media at which its drops are sure to reach: the higher the head,
    the later the pass may come. First of all offsets that are the largest for any pass, then of the least of these
    alone (one setting may do for all), then of it and another one. A pass that clears its own stack at none of them is
    printed over the build-up.
    """
    offsets = _offsets(machine)
    largest = tuple(sorted({some[-1] for some in offsets.values() if some}))
    ways = dict.fromkeys((largest, largest[:1], *((largest[0], more) for more in largest[1:])))
    for chosen in islice(ways, most):
        gaps = {
            at: Gap(Interval.exact(max(set(chosen) & set(some), default=some[-1])))
            if some
            else _over_build_up(machine, at)
            for at, some in offsets.items()
        }
        yield _with_gaps(machine, gaps)


def with_most_room(machine: Machine) -> Machine | None:
    """The machine with each open gap as high as it can come to lie: where that has no order, neither has the job.

    All that tolerances could take away is given on top. None where a gap would be more than a job can state.
    """
    layout, media = machine.heights.layout, machine.job.media
    sheets = max(thickness_of(sheet).high - thickness_of(sheet).nominal + sheet.bow.high for sheet in media)
    stacks = {cover for sheet in media for side in SIDES for cover in layout.covers_on(sheet.id, side)}
    ink = max(form.high - form.nominal for form in (machine.heights.ink(cover, cover).interval() for cover in stacks))
    reaches = plane_reaches(machine)
    heights = {
        at: reaches[at][1] + sheets + ink + SLACK_MM for at, item in enumerate(machine.job.passes) if item.gap is None
    }
    if max(heights.values(), default=0.0) > LARGEST_MM:
        return None
    return _with_gaps(machine, {at: Gap(Interval.exact(height), "bed") for at, height in heights.items()})


def _offsets(machine: Machine) -> dict[int, list[float]]:
    """For each open gap the offsets over the media, ascending, that reach in any order and may clear its own stack."""
    found, reaches = dict[int, list[float]](), plane_reaches(machine)
    for at, item in enumerate(machine.job.passes):
        if item.gap is None:
            bare = machine.heights.head_plane(at, Gap(Interval.exact(0.0)), ()).height.nominal
            found[at] = [o for o in sure_offsets(machine, at) if bare + o >= reaches[at][0] - SLACK_MM]
    return found


def _over_build_up(machine: Machine, at: int) -> Gap:
    """The least offset over the build-up that clears a pass's own ink, or the largest there is."""
    heights, printer = machine.heights, machine.job.printer
    short = printer.min_clearance + heights.thickest(at) + heights.media[at].bow.high - printer.base_gap.low
    offsets = printer.gap.offsets()
    return Gap(Interval.exact(next((offset for offset in offsets if offset >= short), offsets[-1])), "build-up")


def _with_gaps(machine: Machine, gaps: Mapping[int, Gap]) -> Machine:
    passes = tuple(evolve(item, gap=gaps[at]) if at in gaps else item for at, item in enumerate(machine.job.passes))
    return Machine(Heights(evolve(machine.job, passes=passes)), machine.precedence)
