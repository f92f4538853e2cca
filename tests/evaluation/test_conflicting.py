"""A conflict that is kept for a changed job is one that the planner finds too."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve
from benchmarks import alike_signs as bed
from effort import effort
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from strategies import jobs

import signrules
from signrules import Interval
from signrules.evaluation.kept_conflict import still_in_conflict
from signrules.evaluation.live import trials_of
from signrules.model import Gap

SLOW = settings(max_examples=effort(60), deadline=None, suppress_health_check=list(HealthCheck))


def with_pass(job: signrules.Job, id: str, **changes: Any) -> signrules.Job:
    return evolve(
        job, passes=tuple(evolve(one, **changes) if one.id == id else one for one in job.passes)
    )


@pytest.mark.thorough
@SLOW
@given(jobs(max_passes=4), st.data())
def test_it_is_a_conflict_when_it_is_looked_for_afresh(job, data):
    conflict = signrules.evaluate(job).conflict
    assume(conflict is not None)
    item = data.draw(st.sampled_from(job.passes))
    gap = data.draw(
        st.sampled_from(
            [item.gap, None, Gap(Interval.exact(2.0)), Gap(Interval.exact(1.0), "build-up")]
        )
    )
    layers = data.draw(st.integers(1, 60))
    changed = with_pass(job, item.id, gap=gap, layers=layers)
    if still_in_conflict(conflict, job, changed):
        assert signrules.evaluate(changed).conflict is not None


def test_by_hand():
    # The colour over the dots of one sign scrapes them: dots-0-1 and colour-0-1 cannot follow each
    # other.
    job = bed.job_with(bed.small_gap, 1, 4)
    result = signrules.evaluate(job)
    assert result.conflict.subjects == ("passes.dots-0-1", "passes.colour-0-1")

    def stays(changed: signrules.Job) -> bool:
        return still_in_conflict(result.conflict, job, changed)

    assert stays(with_pass(job, "dots-0-2", layers=30))
    assert stays(evolve(with_pass(job, "colour-0-3", gap=None), name="another", standards=()))
    assert not stays(with_pass(job, "dots-0-1", layers=1))
    assert not stays(with_pass(job, "dots-0-2", after=("dots-0-1",)))
    assert not stays(with_pass(job, "ground-0", side="back"))
    assert not stays(evolve(job, printer=evolve(job.printer, min_clearance=0.5)))
    assert not stays(evolve(job, passes=job.passes[:-2]))
    assert not still_in_conflict(evolve(result.conflict, proven=False), job, job)
    assert not still_in_conflict(None, job, job)
    open_gap = with_pass(job, "colour-0-1", gap=None)
    assert not still_in_conflict(result.conflict, open_gap, open_gap)


def test_handling_may_be_a_way_out():
    document = bed.alike_signs(1, 2)
    bed.small_gap(document)
    document["handling"] = [
        {"id": "again", "does": "reload", "media": "sheet-0", "locates_by": "pins"}
    ]
    job = signrules.job_from_dict(document)
    conflict = signrules.evaluate(job).conflict
    assert conflict is not None
    assert not still_in_conflict(conflict, job, job)


def test_a_trial_that_stays_in_conflict_opens_no_state():
    job = bed.job_with(bed.small_gap, 1, 4, gaps="stated")
    result = signrules.evaluate(job)
    trials = trials_of(result, 1000)
    trial = trials.evaluated(with_pass(job, "dots-0-2", layers=30))
    fresh = signrules.evaluate(trial.job)
    assert trial.states == 0
    assert trial.conflict == result.conflict == fresh.conflict
    assert trial.checks == fresh.checks
