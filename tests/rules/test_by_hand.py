"""Checks and what they say, on small jobs worked by hand. Where no publication is named the source is geometry."""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from scenario import pass_of, sign_job

import signrules
from signrules import Outcome, Remedy, check, load_plugins
from signrules.rules.soundness import demand_sound

approx = pytest.approx


def evaluate(document):
    return signrules.evaluate(signrules.job_from_dict(document))


def the_check(result, rule, subject):
    (found,) = [check for check in result.checks if check.rule == rule and check.subjects[0] == subject]
    return found


@pytest.mark.parametrize("name", ["least", "most"])
def test_limits_that_are_no_numbers_are_refused(name):
    job = signrules.job_from_dict(sign_job())
    sound = evolve(check("a gap", measured=1, least=0, most=2), **{name: 1.5})
    demand_sound(sound, job)
    for rubbish in (math.nan, math.inf, "1", True):
        with pytest.raises(ValueError, match=f"{name} .*finite number"):
            demand_sound(evolve(sound, **{name: rubbish}), job)


def test_a_circle_says_what_holds_each_pass_back():
    document = sign_job()
    pass_of(document, "ground")["after"] = ["ink-on-dots"]
    circle = the_check(evaluate(document), "order.cycle", "job")
    assert circle.outcome is Outcome.BROKEN
    assert circle.message.count("; ") == circle.measured.high - 1 >= 1
    assert circle.message.endswith(".")
    for name in ("ground", "ink-on-dots"):
        assert name in circle.message


def test_the_budget_of_locating_names_each_move_and_its_method():
    document = sign_job()
    document["handling"] = [{"id": "put-back", "does": "reload", "locates_by": "pins", "after": ["ground"]}]
    pass_of(document, "dots")["after"] = ["put-back"]
    document["registration_tolerance"] = "0.05 mm"
    document["sequence"] = ["ground", "put-back", "dots", "ink-on-dots"]
    found = the_check(evaluate(document), "registration.budget", "passes.dots")
    assert "located by pins" in found.message
    assert found.measured.high == approx(0.1)


def test_one_way_passes_land_alike():
    """Without a stroke back there is nothing to land apart from."""
    document = sign_job()
    document["printer"]["landing_tolerance"] = "1 mm"
    document["alignments"] = [{"offset": 3}]
    two_way = evaluate(document).plan.timeline.landing_errors
    assert all(error > 0 for error in two_way.values())
    for item in document["passes"]:
        item["directions"] = 1
    assert list(evaluate(document).plan.timeline.landing_errors.values()) == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("order", [["near", "far"], ["far", "near"]])
@pytest.mark.parametrize("directions", [1, 2])
def test_the_worst_landing_of_those_before_counts(order, directions):
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": name, "ink": "black", "areas": [[x, 0, 20, 20]], "gap": {"offset": gap}, "directions": ways}
        for name, x, gap, ways in [("near", 0, 0, directions), ("far", 40, 0.5, 2), ("last", 80, 0, 2)]
    ]
    document["printer"]["landing_tolerance"] = "1 mm"
    document["sequence"] = [*order, "last"]
    document["alignments"] = [{"offset": 0.1}]
    # `far` throws 0.4 mm more than the alignment was made for, the others 0.1 mm less: 2 x 800 x distance / 6000 each;
    # a pass that prints one way lands where it should.
    found = the_check(evaluate(document), "registration.total", "passes.last")
    assert found.measured.high == approx(2 * 800 * (0.4 + 0.1) / 6000)


def test_the_rules_that_decide_whether_an_order_is_safe():
    """Strikes, too little room, what is out of order, sheets moved between passes, throws too far; nothing else."""
    assert {one.rule.name for one in load_plugins().rules if one.rule.decides} == {
        *(f"clearance.{name}" for name in ("strike", "margin")),
        *(f"order.{name}" for name in ("cycle", "sequence", "side")),
        *(f"registration.{name}" for name in ("frame", "budget", "growth", "total")),
        "throw.reach",
    }


@pytest.mark.parametrize("minutes", [None, 0.0, 2.5])
def test_a_remedy_says_the_minutes_that_it_takes(minutes):
    assert Remedy("wait", (), minutes).to_dict()["setup_minutes"] == minutes


def test_of_several_things_unsaid_the_bed_comes_first():
    document = sign_job()
    document["printer"]["moving_bed"] = {}
    found = the_check(evaluate(document), "hold.slip", "media.panel")
    assert found.missing == "printer.moving_bed.acceleration"
