"""Figures in place of plain numbers: what was stated beside the value is kept as its ends."""

from __future__ import annotations

import pytest

from signrules import JobError, job_from_dict, job_to_dict, sample_job
from signrules.documents.figures import split_figures
from signrules.model.job import Job


def job_with(table, key, figure):
    document = sample_job()
    holder = document if table is None else document[table]
    holder[key] = figure
    return job_from_dict(document)


@pytest.mark.parametrize("sign", ["+-", "+/-", "±"])
def test_a_number_without_unit_keeps_its_tolerance_as_ends(sign):
    job = job_with(None, "temperature", {"is": f"22.5 {sign} 2", "assumed": "a warm shop"})
    assert job.temperature == 22.5
    origin = job.origins["temperature"]
    assert (origin.low, origin.high, origin.unit) == (20.5, 24.5, "")
    assert job_from_dict(job_to_dict(job)).origins == job.origins


def test_a_length_without_tolerance_keeps_what_was_stated_beside_it_in_mm():
    # By hand: 2 in +- 1/4 in are 44.45 and 57.15 mm.
    job = job_with("printer", "max_throw", {"is": "2 in +- 1/4 in", "data_sheet": "of the head"})
    assert job.printer.max_throw == 50.8
    origin = job.origins["printer.max_throw"]
    assert (origin.low, origin.high) == (pytest.approx(44.45), pytest.approx(57.15))
    assert origin.unit == "mm"


@pytest.mark.parametrize("written", ["22 +- x", "nan +- 1", "22 +- inf", "22 +- 1 +- 1", "22"])
def test_a_text_that_is_no_number_with_a_tolerance_stays_what_it_is(written):
    with pytest.raises(JobError) as caught:
        job_with(None, "temperature", {"is": written})
    (fault,) = caught.value.faults
    assert (fault.path, fault.found) == ("temperature", repr(written))


@pytest.mark.parametrize("key", ["measured", "readings", "data_sheet", "assumed", "from"])
def test_each_key_of_a_figure_is_missed_without_its_value(key):
    document = sample_job()
    document["temperature"] = {key: 3}
    figures = split_figures(document, Job)
    assert [fault.path for fault in figures.faults] == ["temperature.is"]


def test_figures_stand_in_rows_of_tables_and_in_tables_by_name():
    document = sample_job()
    document["printer"]["locating"] = {"pins": {"is": "0.1 mm", "data_sheet": "of the pins"}}
    name = document["passes"][0]["id"]
    document["passes"][0]["layers"] = {"is": 3, "assumed": "as last time"}
    job = job_from_dict(document)
    assert dict(job.printer.locating) == {"pins": 0.1}
    assert job.passes[0].layers == 3
    assert job_from_dict(job_to_dict(job)).origins == job.origins
    assert job.origins["printer.locating.pins"].text == "data sheet, of the pins"
    assert job.origins[f"passes.{name}.layers"].text == "assumed, as last time"
