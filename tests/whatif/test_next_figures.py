"""Which figure to measure next: invented jobs with figures that are assumed, wide or not stated."""

from __future__ import annotations

import pytest

import signrules
from signrules import evaluate, job_from_dict, sample_job, what_to_measure
from signrules.documents.value_paths import with_number
from signrules.rules.checks import Level, Outcome


def job_with(**figures):
    document = sample_job()
    document["printer"] |= figures
    return job_from_dict(document)


def holding_back(job):
    return {
        (c.rule, c.subjects[0])
        for c in evaluate(job).checks
        if c.level is Level.STOP and c.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)
    }


def test_nothing_is_to_be_measured_where_everything_is_settled():
    assert what_to_measure([job_from_dict(sample_job())]) == ()


@pytest.mark.thorough
def test_an_assumed_figure_and_the_range_in_which_nothing_changes():
    job = job_with(base_gap={"is": "0.75 mm", "assumed": "as on another printer"})
    (found,) = what_to_measure([job])
    assert (found.path, found.why, found.value) == ("printer.base_gap", "doubtful", 0.75)
    # Just inside the range nothing is held back that was not before, and just beyond something is.
    gap = signrules.Interval.exact
    assert holding_back(with_number(job, found.path, gap(found.low + 0.002))) == set()
    assert holding_back(with_number(job, found.path, gap(found.low - 0.002))) != set()
    assert str(found).startswith("printer.base_gap = 0.75 mm (doubtful, ")


@pytest.mark.thorough
def test_a_tolerance_that_leaves_a_check_doubtful():
    # 2.1 to 3.9 mm under a head that stands at 4.3 mm: whether it hits is not known.
    document = sample_job()
    document["media"][0]["thickness"] = "3 mm +- 0.9 mm"
    document["passes"][0]["gap"] = {"head_above_bed": "4.3 mm"}
    job = job_from_dict(document)
    doubtful = {
        (c.rule, c.subjects[0])
        for c in evaluate(job).checks
        if c.outcome is Outcome.DOUBTFUL and c.level is Level.STOP
    }
    (found,) = what_to_measure([job])
    assert (found.path, found.why) == ("media.panel.thickness", "its tolerance")
    assert {verdict for _, verdict in found.verdicts} == doubtful


def test_what_is_not_stated_comes_first_where_it_settles_as_much():
    document = sample_job()
    del document["printer"]["swath"]
    unassessed = [
        c.missing for c in evaluate(job_from_dict(document)).unassessed if c.level is Level.STOP
    ]
    assert "printer.swath" in unassessed
    first, *_ = what_to_measure([job_from_dict(document)])
    assert (first.path, first.why, first.value) == ("printer.swath", "not stated", None)


@pytest.mark.slow
def test_verdicts_of_several_jobs_are_added_and_named():
    jobs = [job_with(base_gap={"is": "0.75 mm", "assumed": "x"}) for _ in range(2)]
    (alone,), (both,) = what_to_measure(jobs[:1]), what_to_measure(jobs)
    assert len(both.verdicts) == 2 * len(alone.verdicts)
    assert both.low == pytest.approx(alone.low)


@pytest.mark.slow
def test_the_range_holds_for_all_jobs_in_any_order():
    # The second job asks for more clearance, so its least base gap is larger: 0.8 + 0.01 - 0.05.
    document = sample_job()
    document["printer"] |= {
        "base_gap": {"is": "0.75 mm", "assumed": "x"},
        "min_clearance": "0.7 mm",
    }
    jobs = [job_with(base_gap={"is": "0.75 mm", "assumed": "x"}), job_from_dict(document)]
    alone = [what_to_measure([job])[0].low for job in jobs]
    for order in (jobs, jobs[::-1]):
        (both,) = what_to_measure(order)
        assert both.low == max(alone)


@pytest.mark.slow
def test_a_wide_tolerance_is_told_how_precise_is_precise_enough():
    document = sample_job()
    document["media"][0]["thickness"] = "3 mm +- 0.9 mm"
    document["passes"][0]["gap"] = {"head_above_bed": "4.3 mm"}
    (found,) = what_to_measure([job_from_dict(document)])
    off = min(found.value - found.low, found.high - found.value)
    document["media"][0]["thickness"] = f"3 mm +- {off - 0.002} mm"
    assert what_to_measure([job_from_dict(document)]) == ()


@pytest.mark.thorough
def test_an_assumed_locating_error_is_tried_over_its_usual_range():
    document = sample_job()
    document["printer"]["locating"] = {"pins": {"is": "0.1 mm", "assumed": "a guess"}}
    found = {one.path: one for one in what_to_measure([job_from_dict(document)])}
    assert found["printer.locating.pins"].why == "doubtful"
