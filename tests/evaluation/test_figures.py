"""Verdicts that hang on a figure which is assumed, or not measured closely enough."""

from __future__ import annotations

import json

import pytest

import signrules
from signrules import evaluate, job_from_dict, sample_job
from signrules.reports.figure_lines import figure_lines


def job_with(**figures):
    document = sample_job()
    for key, figure in figures.items():
        document["printer"][key] = figure
    return job_from_dict(document)


def test_a_job_that_states_everything_has_no_figures_from_elsewhere():
    assert evaluate(job_from_dict(sample_job())).figures == ()


def test_a_verdict_hangs_on_an_assumed_figure():
    # Assumed to be 0.75 mm; what is usual reaches down to gaps that leave too little clearance.
    result = evaluate(job_with(base_gap={"is": "0.75 mm", "assumed": "as on another printer"}))
    (figure,) = result.figures
    assert figure.path == "printer.base_gap"
    assert ("clearance.margin", "passes.ground") in figure.hangs
    assert not result.settled
    (line,) = figure_lines(result)
    assert "assumed, as on another printer. Measure it: " in line
    assert "Not settled: " in signrules.evaluation_text(result)


def test_none_hangs_on_one_that_is_measured_closely_enough():
    job = job_with(base_gap={"is": "0.75 mm +- 0.01 mm", "measured": "2027-02-03"})
    result = evaluate(job)
    assert [figure.hangs for figure in result.figures] == [()]


@pytest.mark.parametrize(("off", "hangs"), [("0.01 mm", False), ("0.9 mm", True)])
def test_the_ends_of_what_was_measured_are_tried(off, hangs):
    # A least clearance of 0.5 mm is met by 0.5 mm and more over all passes: 0.04 mm are left.
    figure = {"is": f"0.5 mm +- {off}", "measured": "2027-02-03"}
    document = sample_job()
    document["printer"]["min_clearance"] = figure
    try:
        result = evaluate(job_from_dict(document))
    except signrules.JobError:
        pytest.fail("the nominal figure is one that a printer may have")
    (found,) = result.figures
    assert bool(found.hangs) is hangs


def test_figures_stand_in_the_report_as_data():
    result = evaluate(job_with(drop_speed={"is": "6 m/s", "data_sheet": "of the head"}))
    (figure,) = json.loads(json.dumps(result.to_dict()))["figures"]
    assert figure["path"] == "printer.drop_speed"
    assert (figure["value"], figure["unit"], figure["kind"]) == (6000, "mm/s", "data sheet")
    assert figure["origin"] == "data sheet, of the head"


@pytest.mark.thorough
def test_the_run_sheet_names_what_is_assumed():
    page = signrules.run_sheet(
        evaluate(job_with(base_gap={"is": "0.75 mm", "assumed": "as on another printer"}))
    )
    assert "Figures from elsewhere" in page
    assert "assumed, as on another printer" in page
    assert "Figures from elsewhere" not in signrules.run_sheet(
        evaluate(job_from_dict(sample_job()))
    )
