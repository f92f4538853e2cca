"""Jobs that need the same set-up: they have one plan, and their order is found on kinds."""

from __future__ import annotations

import random
from itertools import permutations

import pytest
from attrs import evolve
from drawn_days import TODAY, days, flat_job, least_of_all_orders
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import sign_job

from signrules import Area, Job, job_from_dict, order_of_jobs
from signrules.many_jobs.least_setup import matched_pairs
from signrules.many_jobs.setup_kinds import setup_kind
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.planner import plan_job


def kind_of(job: Job) -> str:
    return setup_kind(Machine(Heights(job)))


def planned(job: Job):
    """What the search for an order reads of a plan."""
    outcome = plan_job(Machine(Heights(job)))
    if outcome.plan is None:
        return None
    timeline = outcome.plan.timeline
    printed = [at for at in timeline.order if at in timeline.printings]
    heights = [timeline.printings[at].plane.height.nominal for at in printed]
    cost, least = outcome.plan.cost, outcome.plan.least
    return timeline.order, cost, least, timeline.new_alignments, heights


def renamed(job: Job) -> Job:
    """The same job with other names for its passes and sheets."""
    media = {sheet.id: f"sheet-{number}" for number, sheet in enumerate(job.media)}
    items = {item.id: f"step-{number}" for number, item in enumerate(job.items)}

    def named(ids):
        return None if ids is None else tuple(items[id] for id in ids)

    passes = [
        evolve(
            item,
            id=items[item.id],
            media=None if item.media is None else media[item.media],
            over=named(item.over),
            after=named(item.after),
            registers_to=named(item.registers_to),
        )
        for item in job.passes
    ]
    return evolve(
        job,
        name="renamed",
        media=tuple(evolve(sheet, id=media[sheet.id]) for sheet in job.media),
        passes=tuple(passes),
        sequence=named(job.sequence),
    )


def squeezed(job: Job, share: float) -> Job:
    """All areas nearer to the corner of their sheet, and less of them: what lies on what stays."""

    def moved(area: Area) -> Area:
        return Area(area.x * share, area.y, area.width * share, area.height)

    passes = (
        evolve(item, areas=None if item.areas is None else tuple(map(moved, item.areas)))
        for item in job.passes
    )
    return evolve(job, passes=tuple(passes))


@pytest.mark.thorough
@given(day=days(2), share=st.floats(0.8, 0.99))
@settings(max_examples=effort(80))
def test_what_differs_in_names_and_places_along_x_has_one_plan(day, share):
    for job in day:
        other = renamed(job)
        assert kind_of(other) == kind_of(job)
        assert planned(other) == planned(job)
        try:
            less = squeezed(other, share)
        except ValueError:
            continue
        if kind_of(less) == kind_of(job):
            assert planned(less) == planned(job)


@given(day=days(4))
@settings(max_examples=effort(80))
def test_jobs_of_one_kind_have_one_plan(day):
    plans = {}
    for job in day:
        plans.setdefault(kind_of(job), planned(job))
        assert plans[kind_of(job)] == planned(job)


def areas_at(x: float, y: float) -> list[list[float]]:
    return [[x, y, 20, 20]]


def test_where_ink_lies_makes_no_difference_and_what_it_lies_on_does():
    def two(first, second):
        job = flat_job(0, 0.5)
        job["passes"][0]["areas"], job["passes"][1]["areas"] = first, second
        return kind_of(job_from_dict(job))

    apart = two(areas_at(10, 10), areas_at(60, 10))
    assert two(areas_at(20, 30), areas_at(50, 30)) == apart
    assert two(areas_at(10, 10), areas_at(20, 10)) != apart
    # The head passes over the one while it prints the other; so far apart along y it does not.
    assert two(areas_at(10, 10), areas_at(60, 160)) != apart


@pytest.mark.parametrize(
    "changes",
    [
        {"registration_tolerance": "0.2 mm"},
        {"alignments": [{"extra": "0.3 mm"}]},
        {"passes": flat_job(0, 0.6)["passes"]},
        {"passes": [{**one, "layers": 2} for one in flat_job(0, 0.5)["passes"]]},
    ],
)
def test_what_makes_a_difference_to_plans(changes):
    assert kind_of(job_from_dict(flat_job(0, 0.5, **changes))) != kind_of(
        job_from_dict(flat_job(0, 0.5))
    )


def test_signs_and_names_make_none():
    named = sign_job(name="another name")
    named["signs"][0]["text"] = ["ANOTHER TEXT"]
    assert kind_of(job_from_dict(named)) == kind_of(job_from_dict(sign_job()))


# --- the order on kinds ---------------------------------------------------------------------------


@st.composite
def alike_days(draw: st.DrawFn) -> list[Job]:
    """Up to five jobs of up to two kinds, each with a name of its own."""
    some = draw(days(2))
    chosen = draw(st.lists(st.sampled_from(some), min_size=1, max_size=5))
    return [evolve(job, name=f"job {number}") for number, job in enumerate(chosen)]


@pytest.mark.thorough
@given(day=alike_days())
@settings(max_examples=effort(40))
def test_alike_jobs_stand_as_the_cheapest_of_all_orders_puts_them(day):
    # Expected: every permutation of the jobs, each job evaluated in full in its place.
    sequence = order_of_jobs(day, today=TODAY)
    assert sequence.setup.cost == pytest.approx(least_of_all_orders(day))
    assert sequence.optimal
    kinds = [kind_of(day[number]) for number in sequence.order]
    for kind in set(kinds):
        own = [at for at, of in zip(sequence.order, kinds, strict=True) if of == kind]
        assert own == sorted(own)


@pytest.mark.thorough
def test_hundreds_of_alike_jobs_are_proven():
    # By hand: the first kind begins at 0 and ends at 1 mm, the second keeps 1 mm all along. So the
    # second come last, and each needs no setting; of the first each needs both but for none kept.
    documents = [flat_job(1), flat_job(0, 1)] * 150
    sequence = order_of_jobs(documents, today=TODAY)
    assert sequence.optimal
    assert sequence.setup.loads == 300
    assert sequence.setup.gap_settings == 2 * 150
    assert sequence.setup.alignments == 2


def most_pairs(followers, totals):
    """The same by trying: each job by itself, each with each other job that may follow it."""
    kinds = [kind for kind, total in enumerate(totals) for _ in range(total)]
    best = 0
    for order in permutations(range(len(kinds))):
        pairs = zip(range(len(kinds)), order, strict=True)
        count = sum(one != other and kinds[other] in followers[kinds[one]] for one, other in pairs)
        best = max(best, count)
    return best


@pytest.mark.parametrize("seed", range(effort(40)))
def test_pairs_of_jobs_are_matched_on_kinds(seed):
    chance = random.Random(seed)
    totals = [chance.randint(1, 3) for _ in range(chance.randint(1, 3))]
    followers = [
        [
            later
            for later in range(len(totals))
            if chance.random() < 0.5 and (later != earlier or totals[earlier] > 1)
        ]
        for earlier in range(len(totals))
    ]
    assert matched_pairs(followers, totals) == most_pairs(followers, totals)
