"""Ganged beds: a plan costs no more than the orders that a shop would try, however the document
lists the passes.

No cost is written down here. What a plan must not exceed comes from orders that are made without
any search, replayed with their cheapest gaps and passed by the audit.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from benchmarks.beds import (
    CONSTRUCTIVE,
    best_constructive,
    constructive_plan,
    ganged_bed,
    kind_by_kind,
    relisted,
)
from effort import first_quick
from reference import BruteForce

from signrules.model import Handling, Job, Pass
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.audit import audit
from signrules.planning.plan import Plan
from signrules.planning.planner import plan_job

LISTINGS = ("sheet by sheet", "kind by kind", "shuffled")
TWO = (3.0, 4.0)

STATED = [
    ganged_bed(1, 8),
    ganged_bed(2, 4),
    ganged_bed(2, 8),
    ganged_bed(4, 5),
    ganged_bed(6, 4),
    ganged_bed(4, 6),
    ganged_bed(4, 8),
    ganged_bed(12, 6),
    ganged_bed(6, 4, colour_over="media"),
    ganged_bed(4, 8, colour_over="media"),
    ganged_bed(4, 8, control="dial", dial_steps=500),
    ganged_bed(4, 6, control="none"),
    ganged_bed(4, 6, columns=1),
    ganged_bed(4, 6, columns=4),
    ganged_bed(4, 6, tolerance=0.0),
    ganged_bed(4, 6, tolerance=0.3),
    ganged_bed(3, 6, ordered=False),
]
MIXED = [
    ganged_bed(4, 6, thicknesses=TWO),
    ganged_bed(4, 6, thicknesses=TWO, control="none"),
    ganged_bed(4, 4, thicknesses=TWO, apart=True),
    ganged_bed(4, (4, 6)),
    ganged_bed(4, (4, 5, 6, 8)),
    ganged_bed(3, (4, 6, 8), thicknesses=TWO),
]
TURNED = [
    ganged_bed(2, 4, flips=1),
    ganged_bed(4, 4, flips=2),
    ganged_bed(3, 6, flips=1, colour_over="media"),
    ganged_bed(4, 4, flips=1, thicknesses=TWO),
]
OPEN = [
    ganged_bed(3, 4, stated=False),
    ganged_bed(4, 4, stated=False, records=(0.0,)),
    ganged_bed(2, 8, stated=False, landing=0.3, records=(0.0,)),
    ganged_bed(3, 6, stated=False),
    ganged_bed(5, 5, stated=False),
    ganged_bed(3, 4, stated=False, control="dial"),
    ganged_bed(3, 4, stated=False, control="dial", throw=2.4),
    ganged_bed(2, 8, stated=False, control="dial", records=(0.0,)),
    ganged_bed(3, 4, stated=False, thicknesses=TWO, throw=2.6),
    ganged_bed(2, 4, stated=False, thicknesses=TWO, control="dial", dial_steps=10, throw=2.7),
    ganged_bed(1, 8, stated=False, control="dial", ordered=False),
    ganged_bed(1, 8, stated=False, control="dial", dial_steps=500, ordered=False),
    ganged_bed(2, 4, stated=False, flips=1),
    ganged_bed(4, 4, stated=False, records=(0.0,), one_way=True),
    ganged_bed(5, 5, stated=False, records=(0.0,), one_way=True),
    ganged_bed(3, 6, stated=False, records=(0.0,), one_way=True, control="dial"),
]
COARSE = {"stated": False, "control": "dial", "dial_steps": 2}
"""Open gaps with three extras, so that a brute force ends."""
TINY = [
    ganged_bed(2, 2, **COARSE),
    ganged_bed(2, 2, **COARSE, thicknesses=TWO, throw=3.6),
    ganged_bed(2, 2, **COARSE, thicknesses=(3.0, 3.5), apart=True, columns=1, records=(0.0,)),
    ganged_bed(2, 2, **COARSE, landing=0.3, records=(0.0,), ordered=False),
    ganged_bed(1, 3, **COARSE, ordered=False),
    ganged_bed(1, 3, stated=False, records=(0.0,)),
    ganged_bed(1, 2, **COARSE, flips=1),
    ganged_bed(2, 2, flips=1),
    ganged_bed(2, 3, ordered=False),
    ganged_bed(3, 2, thicknesses=TWO),
]
ALL = [*STATED, *MIXED, *TURNED, *OPEN]


def named(job: Job) -> str:
    """What tells a bed from the others."""
    printer = job.printer
    kinds = {sheet.thickness.nominal for sheet in job.media}
    gaps = "open" if job.passes[0].gap is None else "stated"
    words = [
        f"{len(job.media)}x{len(job.passes)}",
        gaps,
        f"{len(kinds)} thick",
        f"{len(printer.gap.extras())} steps",
    ]
    return "-".join([*words, f"{len(job.handling)} flips"])


def planned(job: Job) -> Plan:
    """The plan of a bed, of which the audit must have nothing to say."""
    plan = plan_job(Machine(Heights(job))).plan
    assert plan is not None, "no order was found"
    assert audit(job, plan) == []
    return plan


@pytest.mark.parametrize("job", [*STATED, *MIXED, *TURNED], ids=named)
def test_the_order_kind_by_kind_is_safe(job):
    """So that the floor of what follows is not an empty one."""
    assert constructive_plan(job, kind_by_kind(job)) is not None


def test_an_order_that_scrapes_is_no_floor():
    """Dots of the first sheet stand in the way of the ground of the next: by sheet, the bed
    scrapes.
    """
    job = ganged_bed(4, 6)
    assert constructive_plan(job, CONSTRUCTIVE["sheet by sheet"](job)) is None


@pytest.mark.parametrize("job", first_quick(15, [*ALL[::3], *ALL[1::3], *ALL[2::3]]), ids=named)
def test_no_dearer_than_a_constructive_order(job):
    """Nor may the bound be higher: what any safe order costs at the least, one that is there costs
    as well.
    """
    plan, floor = planned(job), best_constructive(job)
    assert floor is not None
    assert plan.cost <= floor
    assert plan.least is not None
    assert plan.least <= plan.cost
    assert plan.optimal == (plan.least == plan.cost)


@pytest.mark.slow
@pytest.mark.parametrize("job", ALL, ids=named)
def test_the_listing_does_not_change_the_cost(job):
    costs = {listed: planned(relisted(job, listed, seed=1)).cost for listed in LISTINGS}
    assert len(set(costs.values())) == 1, costs


def renamed(job: Job) -> Job:
    """The same job under other names, which come in the opposite order."""
    parts = [*job.media, *job.inks, *job.items]
    names = {part.id: f"n{len(parts) - at:04}" for at, part in enumerate(parts)}

    def others(some: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(names[name] for name in some)

    def item_named(item: Pass | Handling) -> Pass | Handling:
        item = evolve(item, id=names[item.id], media=names[item.media], after=others(item.after))
        return (
            evolve(item, ink=names[item.ink], over=others(item.over))
            if isinstance(item, Pass)
            else item
        )

    return evolve(
        job,
        media=tuple(evolve(sheet, id=names[sheet.id]) for sheet in job.media),
        inks=tuple(evolve(ink, id=names[ink.id]) for ink in job.inks),
        passes=tuple(map(item_named, job.passes)),
        handling=tuple(map(item_named, job.handling)),
    )


@pytest.mark.parametrize("job", [STATED[5], MIXED[4], TURNED[1], OPEN[1]], ids=named)
def test_names_do_not_change_the_plan(job):
    plan, other = planned(job), planned(renamed(job))
    assert other.cost == plan.cost
    assert other.timeline.order == plan.timeline.order


def alone_and_ganged(sheets: int, passes: int, *, stated: bool) -> tuple[Plan, Plan]:
    """Plans of one sheet and of many alike, over no two of which the head ever passes together."""

    def bed(count: int) -> Job:
        return ganged_bed(
            count, passes, apart=True, columns=1, colour_over="media", stated=stated, tolerance=0.0
        )

    return planned(bed(1)), planned(bed(sheets))


@pytest.mark.parametrize(("sheets", "passes"), [(2, 8), (4, 6), (8, 4)])
def test_alike_sheets_that_do_not_meet_cost_what_one_costs(sheets, passes):
    """With gaps over the media: leave the others out of a plan, or print each pass on all of them
    in turn.
    """
    one, many = alone_and_ganged(sheets, passes, stated=True)
    assert many.cost == one.cost


@pytest.mark.parametrize(("sheets", "passes"), [(2, 6), (4, 4)])
def test_with_open_gaps_they_cost_no_more(sheets, passes):
    """Each pass on all of them in turn, at one plane.

    They may cost less: one can use a plane set over another.
    """
    one, many = alone_and_ganged(sheets, passes, stated=False)
    assert many.cost <= one.cost


@pytest.mark.slow
@pytest.mark.parametrize("job", TINY, ids=named)
def test_tiny_beds_cost_what_a_brute_force_finds(job):
    """Every order with every gap tried (tests/reference.py)."""
    plan = planned(job)
    assert plan.optimal
    assert plan.cost == BruteForce(job).run()


@pytest.mark.parametrize("stated", [True, False], ids=["stated", "open"])
def test_a_mistake_in_one_gap_leaves_no_order(stated):
    """Dots that state no extra strike their own ink, in any order and on any bed."""
    outcome = plan_job(Machine(Heights(ganged_bed(2, 4, stated=stated, mistake="gap"))))
    assert outcome.plan is None
    assert outcome.conflict is not None
    assert outcome.conflict.proven
    assert outcome.conflict.subjects == ("passes.s01-dots",)
