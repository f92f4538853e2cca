"""Steps of a plan as records, and loads that go on too early."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.planner import plan_job


def planned(document):
    job = signrules.job_from_dict(document)
    return job, plan_job(Machine(Heights(job))).plan


def test_a_record_holds_the_height_of_the_head_where_there_is_one():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "flat", "ink": "black", "gap": {"head_above_bed": 7}},
        {"id": "tall", "ink": "clear", "gap": {"head_above_bed": 8}, "after": ["flat"]},
    ]
    _, plan = planned(document)
    heads = {(r["kind"], r["subject"]): r["head_mm"] for r in plan.records()}
    assert heads["print", "flat"] == pytest.approx(7)
    assert heads["print", "tall"] == pytest.approx(8)
    assert {head for (kind, _), head in heads.items() if kind in ("load", "unload")} == {None}


def test_a_record_holds_clearances_where_something_is_printed_and_not_where_a_gap_is_set():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": "flat", "ink": "black", "gap": {"extra": 1}}]
    _, plan = planned(document)
    clearances = {r["kind"]: r["least_clearance_mm"] for r in plan.records()}
    # 1.5 + 1 mm over the sheet, less the 0.01 mm of the pass itself.
    assert clearances.pop("print") == pytest.approx(2.49)
    assert clearances == dict.fromkeys(("align", "load", "gap", "unload"))


class Tampered:
    """A plan with other steps."""

    def __init__(self, plan, steps):
        self.plan, self.steps = plan, tuple(steps)

    def __getattr__(self, name):
        return getattr(self.plan, name)


def test_a_load_that_goes_on_before_a_pause_goes_on_for_nothing():
    document = sign_job(standards=[], signs=[])
    document["handling"] = [{"id": "wait", "does": "pause"}]
    document["passes"] = [
        {"id": "flat", "ink": "black", "gap": {"extra": 1}, "after": ["wait"]},
    ]
    job, plan = planned(document)
    assert signrules.audit(job, plan) == []
    steps = list(plan.steps)
    assert [step.kind for step in steps[:3]] == ["align", "handle", "load"]
    found = signrules.audit(job, Tampered(plan, [steps[0], steps[2], steps[1], *steps[3:]]))
    load = job.media[0].load
    assert f"load {load} goes on before wait, which needs none" in found
