"""Sheets that are loaded back up; and that it decides nothing which side is called the front."""

from __future__ import annotations

import pytest
from attrs import evolve
from drawn_beds import machine_of, planned
from effort import effort
from hypothesis import event, given, settings
from hypothesis import strategies as st
from reference import BruteForce
from scenario import sign_job
from strategies import jobs

import signrules
from signrules.job_graphs import clearance_precedence
from signrules.model import Handling, Job, Pass, Spacers
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, Precedence
from signrules.physics.replaying import replay_items
from signrules.planning.conflict.finding import conflict_of_many
from signrules.planning.order.facing import front_up
from signrules.planning.planner import Outcome

BOTH = ("front", "back")
OTHER = {"front": "back", "back": "front"}
few_spacers = st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=2, unique=True).map(
    lambda found: Spacers(tuple(found))
)


@st.composite
def turned_jobs(draw: st.DrawFn, *, stated: bool, passes: int) -> Job:
    """Jobs on both sides of one or two sheets, of which each may be turned over once or twice."""
    job = draw(
        jobs(
            stated_gaps_only=stated,
            max_passes=passes,
            max_media=2,
            signs=False,
            handling=False,
            sides=BOTH,
        )
    )
    job = evolve(job, printer=evolve(job.printer, gap=draw(few_spacers)))
    flips = []
    for sheet in job.media:
        for number in range(draw(st.integers(0, 2))):
            how = draw(st.sampled_from(["pins", None]))
            flips.append(Handling(f"{sheet.id}-flip-{number}", "flip", sheet.id, how))
    if draw(st.booleans()):
        job = evolve(
            job,
            printer=evolve(job.printer, min_clearance=0.1, base_gap=signrules.Interval.exact(2.5)),
        )
    return evolve(job, handling=tuple(flips))


def called_otherwise(job: Job, sheets: set[str]) -> Job:
    """The same job with the front of some sheets called their back, and their back their front."""

    def renamed(item: Pass) -> Pass:
        return evolve(item, side=OTHER[item.side]) if job.media_of(item).id in sheets else item

    media = (evolve(m, up=OTHER[m.up]) if m.id in sheets else m for m in job.media)
    return evolve(job, media=tuple(media), passes=tuple(map(renamed, job.passes)))


def some_sheets(data: st.DataObject, job: Job) -> set[str]:
    return data.draw(st.sets(st.sampled_from([sheet.id for sheet in job.media]), min_size=1))


# --- which side is called the front ---------------------------------------------------------------


def verdict(outcome: Outcome) -> tuple[object, ...]:
    if outcome.plan is None:
        assert outcome.conflict is not None
        event("a conflict")
        return outcome.conflict.subjects, outcome.conflict.proven
    event("a plan")
    return outcome.plan.order, outcome.plan.cost, outcome.plan.least, outcome.plan.optimal


@pytest.mark.thorough
@settings(max_examples=effort(80))
@given(turned_jobs(stated=True, passes=6), st.data())
def test_the_names_of_the_sides_change_no_plan_with_stated_gaps(job, data):
    other = called_otherwise(job, some_sheets(data, job))
    assert verdict(planned(other)) == verdict(planned(job))


@settings(max_examples=effort(50))
@given(turned_jobs(stated=False, passes=4), st.data())
def test_the_names_of_the_sides_change_no_plan_with_open_gaps(job, data):
    other = called_otherwise(job, some_sheets(data, job))
    assert verdict(planned(other)) == verdict(planned(job))


@pytest.mark.thorough
@settings(max_examples=effort(60))
@given(
    jobs(max_passes=4, sides=BOTH, physics=True) | jobs(max_passes=4, sides=BOTH, sequence=True),
    st.data(),
)
def test_the_names_of_the_sides_change_no_finding(job, data):
    other = called_otherwise(job, some_sheets(data, job))
    one, two = signrules.evaluate(job), signrules.evaluate(other)
    assert not one.faults
    assert not two.faults

    def findings(result):
        return [
            (check.rule, check.subjects, check.outcome, check.level, check.measured, check.limit)
            for check in result.checks
        ]

    assert findings(two) == findings(one)
    assert (two.order, two.quantities) == (one.order, one.quantities)


# --- against the brute force ----------------------------------------------------------------------


def agrees_with_brute_force(job: Job) -> None:
    plan = planned(job).plan
    expected = BruteForce(job).run()
    event("an order" if expected else "none")
    assert (plan is None) == (expected is None)
    if plan is None or expected is None:
        return
    weight = plan.setup_minutes
    if weight is None:
        weight = plan.timeline.gap_settings + len(plan.timeline.new_alignments)
    assert plan.optimal
    assert (plan.loads, pytest.approx(weight, abs=1e-6)) == expected


@pytest.mark.thorough
@settings(max_examples=effort(80))
@given(turned_jobs(stated=True, passes=4))
def test_stated_gaps_cost_what_the_brute_force_finds(job):
    agrees_with_brute_force(job)


@pytest.mark.thorough
@settings(max_examples=effort(30))
@given(turned_jobs(stated=False, passes=3))
def test_open_gaps_cost_what_the_brute_force_finds(job):
    agrees_with_brute_force(job)


# --- by hand --------------------------------------------------------------------------------------


def back_first(**sheet) -> Job:
    """Ten layers of 30 um on the back of 3 mm that lie back up, turned over, 10 um on the front."""
    document = sign_job(standards=[], signs=[])
    panel = {"id": "panel", "thickness": 3, "size": [100, 100], "hold": "vacuum", "up": "back"}
    document["media"] = [panel | sheet]
    document["printer"] |= {"base_gap": 0.75, "min_clearance": 0.2}
    document["inks"] = [{"id": "clear", "layer": 0.03}, {"id": "black", "layer": 0.01}]
    document["passes"] = [
        {"id": "front", "ink": "black", "gap": {"extra": 0.5}},
        {"id": "back", "ink": "clear", "side": "back", "layers": 10, "gap": {"extra": 0.5}},
    ]
    document["handling"] = [{"id": "turn", "does": "flip", "locates_by": "pins"}]
    return signrules.job_from_dict(document)


def test_the_back_is_printed_first_and_then_lifts_the_sheet():
    result = signrules.evaluate(back_first())
    assert result.ok
    assert result.order == ("back", "turn", "front")
    assert result.plan.loads == 2
    back, front = (result.timeline.printings[at] for at in (1, 0))
    assert (back.side_up, front.side_up) == ("back", "front")
    # 3 + 0.75 + 0.5 mm of head plane, less 3.3 mm of sheet and ink, all of it known.
    assert (back.clearance.low, back.clearance.high) == pytest.approx((0.95, 0.95))
    # The 0.3 mm underneath lift the sheet by anything up to 0.3 mm; over it stand 0.01 mm.
    assert (front.clearance.low, front.clearance.high) == pytest.approx((0.94, 1.24))
    assert signrules.audit(result.job, result.plan) == []


def test_a_sheet_loaded_front_up_and_turned_twice_takes_a_load_more():
    """What loading it back up spares: the back needs a flip before it and one after it."""
    job = back_first(up="front")
    front, back = job.passes
    after_back = Handling("again", "flip", locates_by="pins", after=("back",))
    passes = (evolve(front, after=("again",)), back)
    turned_twice = evolve(job, passes=passes, handling=(*job.handling, after_back))
    plan = planned(turned_twice).plan
    assert plan.order == ("turn", "back", "again", "front")
    assert plan.loads == 3


def test_put_on_again_a_sheet_lies_as_it_lay_when_it_came_off():
    """Back of a, another load, then a again: its front is up, since it had been turned over."""
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "load": name, "hold": "vacuum", "up": up}
        for name, up in (("a", "back"), ("b", "front"))
    ]
    document["passes"] = [
        {"id": "a-back", "ink": "black", "media": "a", "side": "back", "gap": {"extra": 0}},
        {"id": "b-front", "ink": "black", "media": "b", "gap": {"extra": 0}},
        {"id": "a-front", "ink": "black", "media": "a", "gap": {"extra": 0}},
    ]
    document["handling"] = [{"id": "turn", "does": "flip", "media": "a"}]
    document["sequence"] = ["a-back", "turn", "b-front", "a-front"]
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert result.order_is_safe
    loads = [step for step in result.plan.steps if step.kind == "load"]
    told = [(step.subject, step.back_up, step.again) for step in loads]
    assert told == [("a", ("a",), False), ("b", (), False), ("a", (), True)]
    steps = [step for step in result.to_dict()["plan"]["steps"] if step["kind"] == "load"]
    assert steps == [
        {"kind": "load", "subject": "a", "back_up": ["a"]},
        {"kind": "load", "subject": "b"},
        {"kind": "load", "subject": "a", "again": True},
    ]


def findings_where_loads_say(**changes):
    """What the audit finds in a plan whose load steps say something else."""
    result = signrules.evaluate(back_first())
    timeline = result.plan.timeline
    steps = tuple(evolve(s, **changes) if s.kind == "load" else s for s in timeline.steps)
    altered = evolve(result.plan, timeline=evolve(timeline, steps=steps))
    return signrules.audit(result.job, altered)


@pytest.mark.parametrize("back_up", [(), None, ("other",), ["panel"], ("panel", "panel")])
def test_the_audit_finds_a_load_that_goes_on_the_wrong_way_up(back_up):
    findings = findings_where_loads_say(back_up=back_up)
    assert any("goes on with the back of" in finding for finding in findings)


@pytest.mark.parametrize("again", [True, None, 0])
def test_the_audit_finds_a_first_load_that_is_said_to_be_another(again):
    findings = findings_where_loads_say(again=again)
    assert any("goes on for the first time" in finding for finding in findings)


def test_what_must_clear_a_neighbour_minds_the_side_that_it_shows():
    """Dots of 0.6 mm on the back of b, which lies back up: a, beside it, must be printed first."""
    document = sign_job(standards=[], signs=[])
    document["printer"] |= {"base_gap": 0.75, "min_clearance": 0.2}
    document["inks"] = [{"id": "clear", "layer": 0.03}, {"id": "black", "layer": 0.01}]
    document["media"] = [
        {"id": "a", "thickness": 3, "size": [50, 50], "hold": "vacuum"},
        {
            "id": "b",
            "thickness": 3,
            "size": [50, 50],
            "at": [60, 0],
            "hold": "vacuum",
            "up": "back",
        },
    ]
    document["passes"] = [
        {
            "id": "dots",
            "ink": "clear",
            "media": "b",
            "side": "back",
            "layers": 20,
            "gap": {"extra": 1},
        },
        {"id": "flat", "ink": "black", "media": "a", "gap": {"extra": 0}},
    ]
    job = signrules.job_from_dict(document)
    edges = [(edge.before, edge.then) for edge in clearance_precedence(machine_of(job))]
    assert edges == [(1, 0)]
    assert planned(job).plan.order == ("flat", "dots")


def test_of_very_many_that_are_stuck_a_conflict_names_the_sides_of_the_job():
    """0.6 mm of ink under a head 0.75 mm over the side that lies up: 0.15 mm are left of 0.2 mm."""
    document = sign_job(standards=[], signs=[])
    document["printer"] |= {"base_gap": 0.75, "min_clearance": 0.2}
    document["inks"] = [{"id": "clear", "layer": 0.03}]
    document["media"] = [{"id": "panel", "thickness": 3, "size": [50, 50], "up": "back"}]
    document["passes"] = [
        {
            "id": name,
            "ink": "clear",
            "side": "back",
            "layers": 20,
            "gap": {"extra": 0},
            "areas": [area],
        }
        for name, area in (("left", [0, 0, 20, 50]), ("right", [30, 0, 20, 50]))
    ]
    machine = machine_of(signrules.job_from_dict(document))
    conflict = conflict_of_many(machine, [0, 1], 100)
    assert conflict.subjects == ("passes.left",)
    assert "left comes too near if it is printed first" in conflict.message
    assert "the head would clear by only 0.15 mm" in conflict.message


def test_looked_at_front_up_a_job_keeps_its_order_and_what_rules_add():
    job = back_first()
    brought = Machine(Heights(job), (Precedence(2, 0, "ourshop", "a rule of the house"),))
    seen = front_up(brought)
    assert [item.id for item in seen.items] == ["front", "back", "turn"]
    assert [item.side for item in seen.job.passes] == ["back", "front"]
    assert seen.precedence == brought.precedence
    assert front_up(seen) is seen


def test_a_replay_starts_with_the_sides_as_loaded():
    machine = machine_of(back_first())
    assert replay_items(machine, (1, 2, 0), {}).steps[0].back_up == ("panel",)
    assert machine.back_up_after(()) == {"panel"}
    assert machine.back_up_after((1, 2)) == set()
