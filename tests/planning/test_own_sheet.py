"""A plane is set over the sheet that is printed on where that costs nothing."""

from __future__ import annotations

from collections import Counter

import pytest
from attrs import evolve
from benchmarks.beds import ganged_bed, relisted
from drawn_beds import NOT_SHRUNK, drawn_beds, machine_of, planned
from effort import effort
from hypothesis import given, settings

import signrules
from signrules.model import Gap, Interval, Job
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.planning.gaps.own_sheet import over_own_sheet
from signrules.planning.order.step_trouble import trouble_of_steps
from signrules.planning.plan import Plan

LISTINGS = ("sheet by sheet", "kind by kind", "shuffled")


def findings(job: Job) -> Counter[tuple[str, str]]:
    found = signrules.evaluate(job).violations
    return Counter((check.rule, check.outcome.value) for check in found)


@pytest.mark.parametrize("control", ["spacers", "dial"])
@pytest.mark.parametrize("passes", [2, 3])
@pytest.mark.parametrize("sheets", [2, 3])
def test_the_listing_changes_no_finding_on_alike_sheets(sheets, passes, control):
    """Over another sheet both thicknesses stand in the throw: 0.15 mm each make what serves over
    the own sheet doubtful.
    """
    bed = ganged_bed(sheets, passes, stated=False, tolerance=0.15, control=control, dial_steps=30)
    found = [findings(relisted(bed, listed, seed=3)) for listed in LISTINGS]
    assert found[1:] == found[:-1]
    assert ("alignment.served", "DOUBTFUL") not in found[0]


def foreign(machine: Machine, plan: Plan) -> list[int]:
    """The passes whose plane was set over another sheet than their own."""
    printings = plan.timeline.printings.items()
    sheets = machine.heights.media
    return [at for at, printing in printings if printing.plane.media != sheets[at].id]


def level_with_own(machine: Machine, plan: Plan, at: int) -> list[float]:
    """The extras over the bare sheet of a pass that give the height of its plane."""
    printer = machine.job.printer
    height = plan.timeline.printings[at].plane.height.nominal
    bare = machine.heights.media[at].thickness.nominal + printer.base_gap.nominal
    return [extra for extra in printer.gap.extras() if abs(bare + extra - height) < 1e-6]


def choices_of(machine: Machine, plan: Plan) -> dict[int, Gap | None]:
    """What was set for each pass with an open gap; None where the plane was kept."""
    found: dict[int, Gap | None] = {}
    before = None
    for at, printing in plan.timeline.printings.items():
        is_kept = before is not None and printing.plane.is_as(before)
        if machine.job.passes[at].gap is None:
            found[at] = None if is_kept else printing.plane.gap
        before = printing.plane
    return found


@pytest.mark.thorough
@settings(max_examples=effort(10), phases=NOT_SHRUNK)
@given(drawn_beds(stated=False, most=20))
def test_what_is_kept_from_another_sheet_could_not_be_set_safely(job):
    plan = planned(job).plan
    if plan is None:
        return
    machine = machine_of(job)
    choices = choices_of(machine, plan)
    for at in foreign(machine, plan):
        for extra in level_with_own(machine, plan, at):
            other = {**choices, at: Gap(Interval.exact(extra), "media")}
            timeline = replay_items(machine, plan.timeline.order, other)
            assert trouble_of_steps(machine, timeline)


def two_sheets(tolerance: float) -> Machine:
    """Two passes on a sheet of sure thickness and one on a sheet beside it."""
    bed = ganged_bed(2, 2, stated=False, tolerance=tolerance)
    first, second = bed.media
    sure = evolve(first, thickness=Interval.exact(first.thickness.nominal))
    return machine_of(evolve(bed, media=(sure, second), passes=bed.passes[:3]))


def highest_extra(machine: Machine) -> dict[int, Gap | None]:
    """The most extra set for the first pass; the other two keep it."""
    extra = max(machine.job.printer.gap.extras())
    return {0: Gap(Interval.exact(extra), "media"), 1: None, 2: None}


def own_sheets(machine: Machine, choices: dict[int, Gap | None]) -> dict[int, Gap | None]:
    order = (0, 1, 2)
    timeline = replay_items(machine, order, choices)
    return dict(over_own_sheet(machine, order, choices, timeline))


def test_a_plane_that_is_kept_is_set_over_the_own_sheet():
    machine = two_sheets(0.15)
    choices = highest_extra(machine)
    assert own_sheets(machine, choices) == {**choices, 2: choices[0]}


def test_a_plane_is_kept_where_over_the_own_sheet_it_might_come_too_near_to_the_other_one():
    # On the sure sheet stand dots. The plane over that sheet is as sure; set over the second one,
    # which may be 0.15 mm thinner, it may lie lower over the dots.
    machine = two_sheets(0.15)
    choices = highest_extra(machine)
    kept, own = (
        replay_items(machine, (0, 1, 2), {**choices, 2: last}).printings[2].clearance.low
        for last in (None, choices[0])
    )
    assert own == pytest.approx(kept - 0.15)
    between = evolve(machine.job.printer, min_clearance=(own + kept) / 2)
    assert own_sheets(machine_of(evolve(machine.job, printer=between)), choices) == choices
