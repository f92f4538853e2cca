"""The audit: nothing to find in what the planner makes, and each planted fault found."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules import Gap, Interval
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.planning.audit.claims import planes_agree
from signrules.planning.planner import plan_job


@settings(max_examples=effort(90))
@given(jobs(max_passes=5, signs=False, sides=("front", "back")))
def test_plans_pass(job):
    plan = plan_job(Machine(Heights(job))).plan
    if plan is not None:
        assert signrules.audit(job, plan) == []


@settings(max_examples=effort(50))
@given(jobs(max_passes=5, signs=False, sides=("front", "back"), sequence=True))
def test_the_numbers_of_judged_sequences_are_confirmed(job):
    plan = plan_job(Machine(Heights(job))).plan
    assert signrules.audit(job, plan) == []


def test_a_stack_may_be_longer_than_any_figure_of_a_job():
    clinic = Path(__file__).parents[2] / "docs" / "examples" / "clinic-scrapes.toml"
    document = tomllib.loads(clinic.read_text("utf-8"))
    # The longest layer that a job may state, 24 times, and a sequence, so that there is a plan.
    next(ink for ink in document["inks"] if ink["id"] == "clear")["layer"] = "1000000 mm"
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert result.faults == ()


def planned(**changes):
    document = sign_job(**changes)
    document["handling"] = [
        {"id": "put-back", "does": "reload", "locates_by": "pins", "after": ["ground"]}
    ]
    pass_of(document, "dots")["after"] = ["put-back"]
    job = signrules.job_from_dict(document)
    return job, plan_job(Machine(Heights(job))).plan


class Tampered:
    """A plan with other steps."""

    def __init__(self, plan, steps):
        self.plan, self.steps = plan, tuple(steps)

    def __getattr__(self, name):
        return getattr(self.plan, name)


def without(kind, nth=0):
    def change(steps):
        at = [n for n, step in enumerate(steps) if step.kind == kind][nth]
        return steps[:at] + steps[at + 1 :]

    return change


def swapped(first, second):
    def change(steps):
        at = {step.subject: n for n, step in enumerate(steps) if step.subject}
        steps = list(steps)
        steps[at[first]], steps[at[second]] = steps[at[second]], steps[at[first]]
        return steps

    return change


def with_extra(kind, extra, nth=0):
    def change(steps):
        at = [n for n, step in enumerate(steps) if step.kind == kind][nth]
        return [evolve(step, extra=extra) if n == at else step for n, step in enumerate(steps)]

    return change


def with_clearance(of):
    def change(steps):
        def wrong(step):
            if step.kind != "print":
                return step
            return evolve(
                step, printing=evolve(step.printing, clearance=of(step.printing.clearance))
            )

        return [wrong(step) for step in steps]

    return change


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (without("align"), "no alignment serves"),
        (without("load"), "while load None lies there"),
        (without("unload"), "left on the bed"),
        (without("print"), "never done"),
        (without("handle"), "never done"),
        (without("gap"), "before any gap is set"),
        (without("gap", 1), "not as the plan says"),
        (swapped("ground", "ink-on-dots"), "is done before dots"),
        (swapped("put-back", "ground"), "is done before ground"),
        (with_extra("gap", 0.5), "not that of its head plane"),
        (with_extra("align", 9.0, 1), "no alignment serves"),
        (with_clearance(lambda clearance: Interval.exact(2.0)), "the clearance is"),
        (with_clearance(lambda c: Interval(c.low, c.nominal, c.high + 0.1)), "the clearance is"),
        (with_clearance(lambda c: Interval(c.low - 0.1, c.nominal, c.high)), "the clearance is"),
        (lambda steps: [*steps, steps[-2]], "is done twice"),
        (lambda steps: [steps[2], *steps], "goes on while"),
        (lambda steps: [*steps, evolve(steps[0], kind="dance")], "no step of kind dance"),
        (lambda steps: [*steps, evolve(steps[0], kind="weigh")], "no step of kind weigh"),
        (lambda steps: [*steps[2:], *steps[:2]], "after a load has gone on"),
    ],
)
def test_planted_faults_are_found(change, said):
    job, plan = planned()
    assert signrules.audit(job, plan) == []
    found = signrules.audit(job, Tampered(plan, change(list(plan.steps))))
    assert any(said in finding for finding in found), found


def test_an_order_that_strikes_is_found():
    job, plan = planned()
    machine = plan.timeline.machine
    struck = replay_items(machine, [1, 2, 3, 0], {})
    found = signrules.audit(job, evolve(plan, timeline=struck))
    assert any("the head would clear by only 0.76" in finding for finding in found)
    assert any("ground" in finding and "done before" in finding for finding in found)


def test_an_open_gap_that_cannot_be_set_is_found():
    document = sign_job()
    del pass_of(document, "ground")["gap"]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    odd = replay_items(plan.timeline.machine, plan.timeline.order, {0: Gap(Interval.exact(0.33))})
    assert any(
        "cannot set 0.33 mm" in finding
        for finding in signrules.audit(job, evolve(plan, timeline=odd))
    )


def test_half_a_minute_too_much_is_found():
    job, plan = planned()
    loads, minutes = plan.cost
    found = signrules.audit(job, evolve(plan, cost=(loads, minutes + 0.5)))
    assert any("the cost is" in finding for finding in found)


def test_a_wrong_cost_is_found():
    job, plan = planned()
    assert any(
        "the cost is" in finding for finding in signrules.audit(job, evolve(plan, cost=(2, 1.0)))
    )


def test_a_plan_that_fails_its_audit_is_a_fault(monkeypatch):
    job, _ = planned()
    monkeypatch.setattr("signrules.evaluation.live.audit", lambda job, plan: ["something is off"])
    result = signrules.evaluate(job)
    assert not result.complete
    assert result.order == ()
    assert signrules.evaluate(job, audited=False).ok


def altered(kind, **fields):
    def change(steps):
        at = next(n for n, step in enumerate(steps) if step.kind == kind)
        return [evolve(step, **fields) if n == at else step for n, step in enumerate(steps)]

    return change


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (altered("gap", printing=None), "ground: the plan does not give its numbers"),
        (altered("gap", extra=None), "a gap step does not say how much above what"),
        (altered("gap", above="moon"), "a gap step does not say how much above what"),
        (altered("gap", media="moon"), "the gap step before ground is not that of its head plane"),
        (altered("align", extra=float("nan")), "an alignment is made at nan, which is no length"),
        (altered("load", subject="moon"), "moon is no load of the job"),
        (altered("unload", subject=["1"]), "load ['1'] comes off, and 1 lies there"),
        (altered("print", subject=["dots"]), "['dots'] is no pass of the job"),
        (
            altered("print", media="panel"),
            "a step of kind print says what is none of its matter: media",
        ),
        (altered("handle", subject="dots"), "dots is no handling of the job"),
        (altered("print", subject="put-back"), "put-back is no pass of the job"),
    ],
)
def test_steps_that_do_not_fit_their_kind_are_found(change, said):
    job, plan = planned()
    assert said in signrules.audit(job, Tampered(plan, change(list(plan.steps))))


def test_a_head_plane_that_was_kept_too_long_is_found():
    # 1.5 + 1 - 48 x 0.03 = 1.06 mm are left, and 0.96 mm after 10 layers of 0.01 mm more; 1 mm must
    # be.
    document = sign_job(standards=[], signs=[])
    gap = {"extra": 1, "above": "build-up"}
    document["passes"] = [
        {"id": "tall", "ink": "clear", "layers": 48, "gap": gap},
        {"id": "over", "ink": "black", "layers": 10, "over": ["tall"], "gap": gap},
    ]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert signrules.audit(job, plan) == []
    found = signrules.audit(job, Tampered(plan, without("gap", 1)(plan.steps)))
    assert "over: its head plane was kept though it leaves too little clearance" in found


def test_the_wrong_side_up_is_found():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "front", "ink": "black", "gap": {"extra": 0}},
        {"id": "back", "ink": "black", "side": "back", "gap": {"extra": 0}, "after": ["over"]},
    ]
    document["handling"] = [
        {"id": "over", "does": "flip", "locates_by": "pins", "after": ["front"]}
    ]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert signrules.audit(job, plan) == []
    found = signrules.audit(job, Tampered(plan, without("handle")(plan.steps)))
    assert "back prints on the back, and the front lies up" in found
    found = signrules.audit(job, Tampered(plan, swapped("front", "over")(plan.steps)))
    assert "front prints on the front, and the back lies up" in found


def test_passes_that_register_across_loads_that_came_off_are_found():
    """Nothing puts the panel back where it lay, once the plate has been on the bed."""
    document = sign_job(standards=[], signs=[])
    document["media"].append(document["media"][0] | {"id": "plate", "load": "2"})
    document["passes"] = [
        {"id": name, "ink": "black", "media": media, "gap": {"extra": 0}, "registers_to": []}
        for name, media in (("first", "panel"), ("other", "plate"), ("second", "panel"))
    ]
    pass_of(document, "other")["after"] = ["first"]
    pass_of(document, "second")["after"] = ["other"]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert plan.loads == 3
    assert signrules.audit(job, plan) == []
    pass_of(document, "second")["registers_to"] = ["first"]
    found = signrules.audit(signrules.job_from_dict(document), plan)
    assert "second does not register with first: the sheet has been moved" in found


@pytest.mark.parametrize("moves", [((),), ((0,),), ((0, 1, 2),), (0,), ()])
def test_moves_that_are_none_are_found(moves):
    """Of what is put back in this plan, the place and the move are said, and nothing else."""
    job, plan = planned()
    assert len(plan.timeline.moves) == 1
    found = signrules.audit(job, evolve(plan, timeline=evolve(plan.timeline, moves=moves)))
    assert "the moves are not those of the steps" in found


def test_a_throw_beyond_the_reach_is_found():
    document = sign_job()
    del pass_of(document, "ground")["gap"]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    # 1.5 mm from the plate and 3 mm more; the drops reach 4 mm.
    far = replay_items(plan.timeline.machine, plan.timeline.order, {0: Gap(Interval.exact(3.0))})
    found = signrules.audit(job, evolve(plan, timeline=far))
    assert "ground: the throw of 4.500000 mm is more than the drops reach" in found


def test_a_sheet_that_nothing_holds_is_found():
    job, plan = planned()
    loose = evolve(job, media=(evolve(job.media[0], hold="none"),))
    found = signrules.audit(loose, plan)
    assert "ink-on-dots does not register with dots: nothing holds the sheet" in found


def test_a_sheet_that_nothing_holds_is_found_where_nothing_moves_it_either():
    job = signrules.job_from_dict(sign_job())
    plan = plan_job(Machine(Heights(job))).plan
    assert signrules.audit(job, plan) == []
    loose = evolve(job, media=(evolve(job.media[0], hold="none"),))
    found = signrules.audit(loose, plan)
    assert "ink-on-dots does not register with dots: nothing holds the sheet" in found


def test_a_plane_agrees_where_its_gap_its_sheet_and_all_its_unknowns_do():
    _, plan = planned()
    plane = plan.timeline.printings[0].plane
    assert planes_agree(evolve(plane), plane)
    for other in (
        None,
        evolve(plane, media="moon"),
        evolve(plane, gap=evolve(plane.gap, extra=Interval.exact(7.0))),
        evolve(plane, forms=()),
        evolve(plane, forms=plane.forms * 2),
        evolve(plane, forms=tuple(form + form for form in plane.forms)),
        evolve(plane, forms=list(plane.forms)),
    ):
        assert not planes_agree(other, plane)


def test_a_sheet_that_was_put_back_too_loosely_is_found_whatever_moved_it_before():
    """A reload that nothing bridges comes first; what counts since is the error of the
    pins alone.
    """
    document = sign_job()
    document["handling"] = [
        {"id": "fetched", "does": "reload"},
        {"id": "put-back", "does": "reload", "locates_by": "pins", "after": ["ground"]},
    ]
    pass_of(document, "ground")["after"] = ["fetched"]
    pass_of(document, "dots")["after"] = ["put-back"]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert signrules.audit(job, plan) == []
    found = signrules.audit(evolve(job, registration_tolerance=0.001), plan)
    assert "dots does not register with ground: the sheet has been moved" in found


def test_a_plane_over_the_bed_stays_for_all_sheets():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": m, "thickness": 3, "size": [50, 50], "at": [60 * n, 0]} for n, m in enumerate("ab")
    ]
    gap = {"head_above_bed": 6}
    document["passes"] = [{"id": f"p{m}", "ink": "black", "media": m, "gap": gap} for m in "ab"]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert [step.kind for step in plan.steps if step.kind in ("gap", "print")] == [
        "gap",
        "print",
        "print",
    ]
    assert signrules.audit(job, plan) == []


def test_a_gap_that_stands_already_is_not_set_in_other_words():
    """Over a bare sheet 1.5 mm over the build-up is 1.5 mm over the sheet; the second pass scrapes
    at any gap.

    The sequence is judged all the same. Drops reach 1.5 + 1.5 = 3 mm, so the second pass, left
    open, would best have the plane that stands: over the first ink the head would lie 0.01 mm
    higher.
    """
    document = sign_job(standards=[], signs=[], sequence=["first", "tall"])
    document["printer"]["max_throw"] = "3 mm"
    gap = {"extra": 1.5, "above": "build-up"}
    document["passes"] = [
        {"id": "first", "ink": "black", "areas": [[0, 0, 50, 50]], "gap": gap},
        {"id": "tall", "ink": "clear", "areas": [[100, 0, 50, 50]], "layers": 120},
    ]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert [step.kind for step in plan.timeline.steps] == [
        "load",
        "gap",
        "print",
        "print",
        "unload",
    ]
    assert signrules.audit(job, plan) == []
