"""Open gaps: between which heights a head plane can lie, which are tried, how planes are kept."""

from __future__ import annotations

from itertools import combinations

import pytest
from attrs import evolve
from benchmarks.cases import rows_of_signs
from drawn_beds import every_open_gap
from effort import effort, first_quick
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.model import Gap, Interval
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import KEEP
from signrules.planning import pipeline, planner
from signrules.planning.audit import audit
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.gaps.most_room import with_most_room
from signrules.planning.gaps.plane_reaches import SLACK_MM, fewest_planes, plane_reaches
from signrules.planning.order.attempts import Attempts
from signrules.planning.order.bounds import LeastLeft
from signrules.planning.order.canonical import canonical_machine
from signrules.planning.order.constructive import constructive_orders
from signrules.planning.order.step_search import StepSearch


def machine_of(document):
    return Machine(Heights(signrules.job_from_dict(document)))


def opened(document):
    """The sign with all its gaps left open."""
    for item in document["passes"]:
        item["gap"] = "auto"
    pass_of(document, "dots").pop("builds")
    return document


def with_reach(job, most):
    return evolve(job, printer=evolve(job.printer, max_throw=most))


def core_without_search(machine, budget=pipeline.BUDGET):
    """The conflict that a job has with the most room that open gaps can have; None where that
    leaves it an order.
    """
    stages = pipeline.Pipeline(machine, [], budget)
    stages._look_for_too_little_room()
    return stages.deadlock


# --- between which heights ------------------------------------------------------------------------


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 4)), min_size=1, max_size=6))
def test_fewest_planes_are_those_that_no_smaller_set_of_heights_serves(pairs):
    reaches = [(float(low), float(low + more)) for low, more in pairs]
    heights = range(15)
    fewest = next(
        count
        for count in range(1, len(reaches) + 1)
        for chosen in combinations(heights, count)
        if all(any(low <= height <= high for height in chosen) for low, high in reaches)
    )
    assert fewest_planes(reaches) == fewest


def test_no_reach_takes_no_plane():
    assert fewest_planes([]) == 0


def test_reaches_of_the_sign_by_hand():
    """3 mm sheet, base gap 1.5 mm, 1 mm to clear; flat ink 0.01 mm, clear 0.03 mm a layer; a throw
    of 4 mm at most.
    """
    document = opened(sign_job(standards=[], signs=[]))
    document["printer"]["max_throw"] = 4
    job = signrules.job_from_dict(document)
    machine = Machine(Heights(job))
    thick = [job.ink_of(item).layer.nominal * item.layers for item in job.passes]
    found = plane_reaches(machine)
    stated = {"ground": {"extra": 0}, "dots": {"head_above_bed": 1}}
    for name, gap in stated.items():
        pass_of(document, name)["gap"] = gap
    fixed = plane_reaches(machine_of(document))
    assert fixed[0] == (pytest.approx(3 + 1.5), pytest.approx(3 + 1.5))
    assert fixed[1] == (1, 1)
    assert [item.id for item in job.passes] == ["ground", "dots", "ink-on-dots"]
    sheet, least = job.media[0].thickness.nominal, job.printer.min_clearance
    # The ground lies nowhere near the dots in time: nothing must come before it, and its own ink
    # stands under the head.
    assert found[0][0] == pytest.approx(sheet + least + thick[0])
    # The colour on the dots stands on them in any order.
    assert found[2][0] == pytest.approx(sheet + least + thick[1] + thick[2])


def test_what_must_come_later_never_stands_below_a_gap_over_the_build_up():
    """Set 1.5 mm over 3 mm of sheet and what stands: for the ground that is nothing or the 0.01 mm
    of the free pass, since 0.72 mm of dots follow it. The free one is set 0.1 mm higher, over
    nothing or over the dots on the ground.
    """
    document = sign_job(standards=[], signs=[])
    over = {"extra": 0, "above": "build-up"}
    first, dots = document["passes"][:2]
    first |= {"gap": over}
    dots |= {"gap": {"extra": 1}, "after": ["ground"], "coverage": 1}
    del dots["builds"]
    free = {"id": "free", "ink": "black", "areas": [[150, 150, 9, 9]], "gap": over | {"extra": 0.1}}
    document["passes"] = [first, dots, free]
    found = plane_reaches(machine_of(document))
    assert found[0] == pytest.approx((4.5, 4.51))
    assert found[2] == pytest.approx((4.6, 4.6 + 0.01 + 0.72))


@settings(max_examples=effort(60))
@given(jobs(max_passes=5, signs=False))
def test_planes_of_a_safe_plan_lie_within_their_reach_and_it_costs_no_less_than_the_least(job):
    machine = Machine(Heights(job))
    plan = planner.plan_job(machine).plan
    assume(plan is not None and not plan.judged)
    reaches = plane_reaches(machine)
    for at, printing in plan.timeline.printings.items():
        low, high = reaches[at]
        assert low - SLACK_MM <= printing.plane.height.nominal <= high + SLACK_MM
    assert plan.cost >= LeastLeft(machine, range(len(machine.items))).of_everything()


@pytest.mark.thorough
@settings(max_examples=effort(100))
@given(jobs(max_passes=5, signs=False))
def test_a_job_with_a_safe_order_has_one_with_the_most_room(job):
    machine = Machine(Heights(job))
    assume(any(item.gap is None for item in job.passes))
    assume(planner.plan_job(machine).plan is not None)
    assert core_without_search(machine) is None


# --- long jobs, and such as have no order ---------------------------------------------------------


@pytest.mark.parametrize("reach", first_quick(3, [6.0, 3.2, 2.6, 2.2]))
@pytest.mark.parametrize("seed", first_quick(1, [1, 2, 3]))
@pytest.mark.slow
def test_long_jobs_with_open_gaps_are_planned_within_one_setting_of_the_bound(seed, reach):
    job = with_reach(rows_of_signs(120, 6, seed, auto=True), reach)
    plan = planner.plan_job(Machine(Heights(job))).plan
    assert audit(job, plan) == []
    assert plan.cost[0] == 1
    assert plan.cost[1] <= plan.least[1] + job.printer.minutes.gap


@pytest.mark.thorough
@pytest.mark.parametrize("reach", [6.0, 2.6, 2.2])
def test_the_search_alone_confirms_the_bound_of_a_plan(reach):
    job = with_reach(rows_of_signs(24, 6, 2, auto=True), reach)
    machine = Machine(Heights(job))
    plan = planner.plan_job(machine).plan
    found = StepSearch(machine, thorough=False).cheapest(pipeline.BUDGET)
    assert found.order is not None
    assert plan.least <= found.bound
    assert plan.cost == found.bound


@pytest.mark.thorough
@settings(max_examples=effort(120))
@given(jobs(max_passes=5, signs=False))
def test_what_all_stages_come_to_is_what_the_search_finds_alone(job):
    assume(any(item.gap is None for item in job.passes))
    machine = Machine(Heights(job))
    outcome = planner.plan_job(machine)
    alone = StepSearch(machine).cheapest(100_000)
    assert alone.ended
    assert (outcome.plan is None) == (alone.order is None)
    if outcome.plan is None:
        assert outcome.conflict.proven
    elif not outcome.plan.judged:
        # Where gaps are left out that may matter for an alignment, the search by itself is no
        # proof.
        if OpenGaps(machine, thorough=True).are_all:
            assert outcome.plan.optimal
        assert outcome.plan.cost == alone.bound
        assert audit(job, outcome.plan) == []


def test_every_open_gap_is_one_that_the_printer_can_set_and_no_stated_one_is_touched():
    job = rows_of_signs(30, 6, 3, auto=True)
    stated = Gap(Interval.exact(0.5))
    job = with_reach(evolve(job, passes=(evolve(job.passes[0], gap=stated), *job.passes[1:])), 2.6)
    machine = Machine(Heights(job))
    choices = cheapest_gaps(machine, planner.plan_job(machine).plan.timeline.order)
    assert choices.keys() == set(range(1, 30))
    set_anew = [gap for gap in choices.values() if gap is not KEEP]
    assert set_anew
    assert set(set_anew) <= set(every_open_gap(job.printer))


def within_reach(document, at, printed):
    """The extras over the media that reach the surface of a pass, were nothing in the way."""
    machine = machine_of(document)
    gaps = OpenGaps(machine, thorough=True)
    over_media = gaps.fresh(at, machine.heights.standing(printed))[0]
    return [gap.extra.nominal for gap in gaps.settable(over_media, 99.0)]


def test_what_a_drop_reaches():
    document = opened(sign_job(standards=[], signs=[]))
    printer = machine_of(document).job.printer
    extras = printer.gap.extras()
    document["printer"]["max_throw"] = printer.base_gap.high + extras[1]
    assert within_reach(document, 0, ()) == list(extras[:2])
    assert within_reach(document, 2, (1,)) == list(
        extras[:2]
    )  # Between the dots lies the bare sheet.
    pass_of(document, "dots")["coverage"] = 1
    # On a whole layer of 0.72 mm the head may be as much higher.
    higher = [extra for extra in extras if extra <= extras[1] + 0.72]
    assert within_reach(document, 2, (1,)) == higher != list(extras[:2])


def test_hopeless_jobs_with_open_gaps_are_explained_at_any_size():
    """A thin pass at a low stated gap, declared to come after stacks that it cannot clear."""
    job = rows_of_signs(80, 6, 1, auto=True)
    after = tuple(item.id for item in job.passes[:40])
    low = evolve(
        job.passes[0],
        id="low",
        ink="flat",
        layers=1,
        gap=Gap(Interval.exact(0.0)),
        over=(),
        after=after,
    )
    job = evolve(job, passes=(*job.passes, low))
    conflict = planner.plan_job(Machine(Heights(job))).conflict
    assert conflict.proven
    assert len(conflict.subjects) == 2
    assert "passes.low" in conflict.subjects
    other = next(name.removeprefix("passes.") for name in conflict.subjects if name != "passes.low")
    kept = tuple(item for item in job.passes if item.id in (other, "low"))
    for item in kept:  # Either of the two alone can be printed.
        alone = evolve(job, passes=(evolve(item, over=(), after=()),))
        assert planner.plan_job(Machine(Heights(alone))).plan is not None


def test_a_short_hopeless_job_is_told_without_a_search(monkeypatch):
    """Twenty passes, and a low one that must come last; the search would take all that
    it may open.
    """
    job = rows_of_signs(20, 6, 1, auto=True)
    after = tuple(item.id for item in job.passes)
    low = evolve(
        job.passes[0],
        id="low",
        ink="flat",
        layers=60,
        gap=Gap(Interval.exact(0.0)),
        over=(),
        after=after,
    )
    machine = Machine(Heights(evolve(job, passes=(*job.passes, low))))
    assert core_without_search(machine).items == 1 << 20
    monkeypatch.setattr(pipeline.Pipeline, "_search_with", None)
    assert planner.plan_job(machine).conflict.subjects == ("passes.low",)


@pytest.mark.parametrize(("bow", "hopeless"), [(0.0, False), (0.5, False)])
def test_tolerances_do_not_make_a_job_hopeless_that_only_lacks_room_at_its_nominal_values(
    bow, hopeless
):
    """What a search would find unsafe at the bad ends is left to it; the quick proof gives them on
    top.
    """
    document = opened(sign_job(standards=[], signs=[]))
    document["printer"]["max_throw"] = 2.3
    document["media"][0]["bow"] = bow
    assert (core_without_search(machine_of(document)) is not None) is hopeless


def test_the_most_room_is_above_every_plane_that_can_be_set():
    machine = machine_of(opened(sign_job(standards=[], signs=[])))
    roomy = with_most_room(machine)
    for at, item in enumerate(roomy.job.passes):
        assert item.gap.above == "bed"
        everything = {*range(machine.pass_count)} - {at, *machine.followers[at]}
        for gap in every_open_gap(machine.job.printer):
            plane = machine.heights.head_plane(at, gap, everything)
            assert plane.height.high < item.gap.stated.low


def test_more_room_than_a_job_can_state_proves_nothing():
    """A sheet as thick as a length may be: planes lie above it, and the job is judged
    all the same.
    """
    document = opened(sign_job(standards=[], signs=[]))
    document["media"][0]["thickness"] = 1_000_000
    machine = machine_of(document)
    assert with_most_room(machine) is None
    assert core_without_search(machine) is None
    assert signrules.evaluate(machine.job, budget=20).plan is not None


def test_a_throw_that_no_gap_shortens_is_said():
    document = opened(sign_job(standards=[], signs=[]))
    document["printer"]["max_throw"] = 1
    conflict = planner.plan_job(machine_of(document)).conflict
    assert "fly farther than the 1 mm that they can" in conflict.message
    assert "inf" not in conflict.message


# --- what comes of it -----------------------------------------------------------------------------


def test_a_load_that_must_go_on_twice_is_no_conflict():
    """Sheet a, sheet b, sheet a again, by declaration; nothing registers, so that a may come off in
    between.
    """
    document = opened(sign_job(standards=[], signs=[]))
    document["media"] = [
        {"id": m, "thickness": 3, "size": [200, 200], "at": [50, 50], "hold": "vacuum", "load": m}
        for m in "ab"
    ]
    document["passes"] = [
        {"id": "first", "ink": "black", "media": "a", "gap": "auto", "registers_to": []},
        {
            "id": "second",
            "ink": "black",
            "media": "b",
            "gap": "auto",
            "registers_to": [],
            "after": ["first"],
        },
        {
            "id": "third",
            "ink": "black",
            "media": "a",
            "gap": "auto",
            "registers_to": [],
            "after": ["second"],
        },
    ]
    outcome = planner.plan_job(machine_of(document))
    assert outcome.conflict is None
    assert outcome.plan.loads == 3


def test_no_search_is_begun_that_would_end_before_its_first_order(monkeypatch):
    job = with_reach(rows_of_signs(24, 6, 2, auto=True), 2.2)
    monkeypatch.setattr(pipeline.Pipeline, "_search_with", None)
    plan = planner.plan_job(Machine(Heights(job)), budget=100).plan
    assert not plan.optimal
    assert audit(job, plan) == []


def test_where_neither_a_plan_nor_a_proof_is_found_that_is_said():
    """1.2 mm of ink within 2.2 mm of throw needs a gap to the hundredth, which only the search can
    rule out.
    """
    job = rows_of_signs(14, 6, 1, auto=True)
    first = job.passes[0]
    tall = evolve(first, id="tall", ink="clear", layers=40)
    area = first.areas[0]
    wide = evolve(
        first,
        id="wide",
        ink="flat",
        layers=1,
        after=("tall",),
        areas=(area, evolve(area, x=area.x + 70)),
    )
    job = with_reach(evolve(job, passes=(*job.passes, tall, wide)), 2.2)
    outcome = planner.plan_job(Machine(Heights(job)), budget=300)
    assert outcome.plan is None
    assert not outcome.conflict.proven
    assert "not every order was ruled out" in outcome.conflict.message


def only_for_a_search():
    """Six passes on one sheet with one gap to set: over the media, or over what stands."""
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["printer"] |= {"base_gap": 1, "min_clearance": 0.03, "max_throw": 2}
    document["printer"]["gap"] = {"control": "spacers", "spacers": []}
    document["inks"] = [{"id": "thick", "layer": 0.03}, {"id": "thin", "layer": 0.02}]
    fields = {
        "a": {"ink": "thick", "layers": 34, "areas": [[0, 30, 15, 15]]},
        "b": {"layers": 23, "areas": [[30, 0, 10, 10]], "gap": {"extra": 1.95}},
        "c": {"layers": 6, "after": ["a"]},
        "d": {"layers": 23, "gap": {"extra": 2.91}, "coverage": 0.75},
        "e": {"layers": 20, "coverage": 0.3},
        "f": {},
    }
    passes = (
        {"id": name, "ink": "thin", "gap": "auto", "registers_to": []} | more
        for name, more in fields.items()
    )
    document["passes"] = list(passes)
    return machine_of(document)


@pytest.mark.thorough
def test_an_order_that_no_rule_gives_is_found_by_the_search():
    machine = only_for_a_search()
    view = canonical_machine(machine)
    attempts = Attempts(view.machine)
    assert all(attempts.of_order(order) is None for order in constructive_orders(view.machine))
    outcome = planner.plan_job(machine, budget=1)
    assert outcome.plan is None
    assert not outcome.conflict.proven
    plan = planner.plan_job(machine).plan
    assert plan.optimal
    assert audit(machine.job, plan) == []
    assert plan.cost == StepSearch(machine).cheapest(100_000).bound
