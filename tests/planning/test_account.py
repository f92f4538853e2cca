"""The account of a plan: why each item stands where it stands."""

from __future__ import annotations

from effort import effort
from hypothesis import given, settings
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.plan import Plan
from signrules.planning.planner import replay_order
from signrules.planning.setup_cost import Costs


def places(document):
    result = signrules.evaluate(signrules.job_from_dict(document))
    return {place.item: (place.kind, place.text) for place in signrules.account(result.plan)}


def test_an_edge_a_clearance_a_dearer_order_and_the_declared_one():
    document = sign_job()
    document["passes"].append(
        {"id": "frame", "ink": "black", "areas": [[0, 0, 5, 5]], "gap": {"extra": 1}}
    )
    document["passes"].append(
        {"id": "mark", "ink": "black", "areas": [[0, 190, 5, 5]], "gap": {"extra": 1}}
    )
    found = places(document)
    assert list(found) == ["ground", "dots", "frame", "mark", "ink-on-dots"]
    assert found["ground"][0] == "first"
    assert found["dots"] == (
        "unsafe",
        "ahead of ground, the head would clear by only 0.77 mm (1 mm needed) when ground is"
        " printed",
    )
    assert found["frame"][0] == "declared"
    assert found["ink-on-dots"] == (
        "dearer",
        "ahead of mark it would take 2 minutes of set-up more",
    )
    pass_of(document, "dots")["after"] = ["ground"]
    assert places(document)["dots"] == ("edge", "dots is declared to come after ground")


@settings(max_examples=effort(60))
@given(jobs(max_passes=4, signs=False))
def test_every_item_has_its_place_and_a_proven_plan_is_never_dearer_than_its_neighbours(job):
    plan = signrules.evaluate(job).plan
    if plan is None:
        return
    found = signrules.account(plan)
    assert [place.item for place in found] == list(plan.order)
    assert not plan.optimal or "cheaper" not in {place.kind for place in found}


def test_a_sheet_turned_over_or_moved_too_early():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "one", "ink": "black", "gap": {"extra": 0}},
        {"id": "two", "ink": "black", "gap": {"extra": 0}, "registers_to": ["one"]},
        {"id": "back", "ink": "black", "side": "back", "gap": {"extra": 0}, "registers_to": []},
    ]
    document["handling"] = [{"id": "over", "does": "flip"}]
    found = places(document)
    assert list(found) == ["one", "two", "over", "back"]
    assert found["over"] == ("unsafe", "ahead of two, two would print on the back of its sheet")
    assert found["back"] == ("unsafe", "ahead of over, back would print on the front of its sheet")


def test_a_sheet_taken_away_too_early():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "one", "ink": "black", "gap": {"extra": 0}},
        {"id": "two", "ink": "black", "gap": {"extra": 0}, "registers_to": ["one"]},
    ]
    document["handling"] = [{"id": "out", "does": "reload", "after": ["one"]}]
    found = places(document)
    assert list(found) == ["one", "two", "out"]
    assert found["out"] == (
        "unsafe",
        "ahead of two, two would no longer register: the sheet is moved before it",
    )


def planned_as(job, order):
    """A plan of that order, as if the search had found nothing better."""
    machine = Machine(Heights(job))
    order = tuple(machine.index[name] for name in order)
    timeline = replay_order(machine, order)
    costs = Costs.of(job.printer.minutes)
    return Plan(timeline, costs.of_timeline(timeline), (1, 0.0), False, costs.stated)


def four_passes():
    """Passes p0 to p3 apart from each other, gaps of 1, 0, 1 and 1 mm: two settings at
    the least.
    """
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": f"p{n}", "ink": "black", "areas": [[0, 50 * n, 5, 5]], "gap": {"extra": extra}}
        for n, extra in enumerate((1, 0, 1, 1))
    ]
    return signrules.job_from_dict(document)


def test_an_order_that_is_not_the_best_says_what_would_be_cheaper():
    """1, 0, 1, 1 mm are three settings; with p1 ahead of p0 (0, 1, 1, 1 mm) two, at 2
    minutes each.
    """
    found = signrules.account(planned_as(four_passes(), ["p0", "p1", "p2", "p3"]))
    assert (found[1].kind, found[1].text) == (
        "cheaper",
        "ahead of p0 it would take 2 minutes of set-up less",
    )


def test_what_costs_the_same_says_whether_it_is_as_declared():
    found = signrules.account(planned_as(four_passes(), ["p1", "p0", "p3", "p2"]))
    assert [placing.kind for placing in found] == ["first", "dearer", "declared", "same"]
    assert found[3].text == "ahead of p3 it would cost the same"
