"""The account of a plan: why each item stands where it stands."""

from __future__ import annotations

from hypothesis import given, settings
from scenario import pass_of, sign_job
from strategies import jobs

import signrules


def places(document):
    result = signrules.evaluate(signrules.job_from_dict(document))
    return {place.item: (place.kind, place.text) for place in signrules.account(result.plan)}


def test_an_edge_a_clearance_a_saving_and_the_declared_order():
    document = sign_job()
    document["passes"].append({"id": "frame", "ink": "black", "areas": [[0, 0, 5, 5]], "gap": {"offset": 1}})
    document["passes"].append({"id": "mark", "ink": "black", "areas": [[0, 190, 5, 5]], "gap": {"offset": 1}})
    found = places(document)
    assert list(found) == ["ground", "dots", "frame", "mark", "ink-on-dots"]
    assert found["ground"][0] == "first"
    assert found["dots"] == ("unsafe", "ahead of ground, ground would be left 0.770 mm of the 1 mm that it needs")
    assert found["frame"][0] == "declared"
    assert found["ink-on-dots"] == ("saving", "ahead of mark it would take +2 minutes of set-up")
    pass_of(document, "dots")["after"] = ["ground"]
    assert places(document)["dots"] == ("edge", "dots is declared to come after ground")


@settings(max_examples=60)
@given(jobs(max_passes=4, signs=False))
def test_every_item_has_its_place_and_a_proven_plan_is_never_dearer_than_its_neighbours(job):
    plan = signrules.evaluate(job).plan
    if plan is None:
        return
    found = signrules.account(plan)
    assert [place.item for place in found] == list(plan.order)
    if plan.optimal:
        assert not [place for place in found if place.kind == "saving" and " -" in place.text]


def test_a_sheet_turned_over_or_moved_too_early():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "one", "ink": "black", "gap": {"offset": 0}},
        {"id": "two", "ink": "black", "gap": {"offset": 0}, "registers_to": ["one"]},
        {"id": "back", "ink": "black", "side": "back", "gap": {"offset": 0}, "registers_to": []},
    ]
    document["handling"] = [{"id": "over", "does": "flip"}]
    found = places(document)
    assert list(found) == ["one", "two", "over", "back"]
    assert found["over"] == ("unsafe", "ahead of two, two would meet the back of its sheet")
    assert found["back"] == ("unsafe", "ahead of over, back would meet the front of its sheet")


def test_a_sheet_taken_away_too_early():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "one", "ink": "black", "gap": {"offset": 0}},
        {"id": "two", "ink": "black", "gap": {"offset": 0}, "registers_to": ["one"]},
    ]
    document["handling"] = [{"id": "out", "does": "reload", "after": ["one"]}]
    found = places(document)
    assert list(found) == ["one", "two", "out"]
    assert found["out"] == ("unsafe", "ahead of two, two would no longer register: the sheet is moved before it")
