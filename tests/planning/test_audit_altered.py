"""The audit trusts nothing: whatever is altered in a plan, it finds."""

from __future__ import annotations

import random

from altering import Altering
from effort import effort
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import jobs

import signrules
from signrules.model import Job
from signrules.model.passes import REFERENCES, SIDES
from signrules.physics.heights import HeadPlane, Heights
from signrules.physics.machine import Machine
from signrules.physics.timeline import Timeline
from signrules.planning.plan import Plan
from signrules.planning.planner import plan_job

LEFT_ALONE = {
    (Timeline, "machine"): "the job, indexed, and what plugins ask for, which the job does not say",
    (HeadPlane, "known"): "a cache of what was asked of a plane; the audit has planes of its own",
    (HeadPlane, "throws"): "a cache, as above",
    (HeadPlane, "_lower"): "a cache, as above",
}
"""The fields of a plan that are no claims, each with its reason."""

KINDS = ("print", "gap", "align", "load", "unload", "handle")


def altering(job: Job) -> Altering:
    names = [
        REFERENCES,
        SIDES,
        KINDS,
        [item.id for item in job.items],
        [sheet.id for sheet in job.media],
        [sheet.load for sheet in job.media],
        [name for name, _ in job.printer.locating],
    ]
    return Altering(names, LEFT_ALONE)


def planned(job: Job) -> Plan | None:
    return plan_job(Machine(Heights(job))).plan


def cannot_be_known(plan: Plan, altered: Plan) -> bool:
    """Whether the least cost is altered to one that it might have: only a search could tell."""
    if plan.judged or plan.optimal or altered.least == plan.least:
        return False
    match altered.least:
        case (int(loads), int() | float() as minutes):
            return loads >= 0 and minutes >= 0 and (loads, minutes) <= plan.cost
    return False


def missed(job: Job, plan: Plan, alterations) -> list[str]:
    """Where something was altered and the audit has found nothing."""
    found = []
    for where, build in alterations:
        altered = build()
        if signrules.audit(job, altered) == [] and not cannot_be_known(plan, altered):
            found.append(where)
    return found


several = jobs(max_passes=4, max_media=2, signs=False, sides=("front", "back"))
sequences = jobs(max_passes=3, max_media=2, signs=False, sides=("front", "back"), sequence=True)


@settings(max_examples=effort(60))
@given(several | sequences, st.integers(0, 10_000))
def test_whatever_is_altered_is_found(job, seed):
    plan = planned(job)
    assume(plan is not None)
    assert signrules.audit(job, plan) == []
    everything = list(altering(job).within(plan))
    some = random.Random(seed).sample(everything, min(len(everything), effort(150)))
    assert missed(job, plan, some) == []
