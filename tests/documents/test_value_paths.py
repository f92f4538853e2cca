"""Numbers of a job by their path."""

from __future__ import annotations

import pytest

from signrules import Interval, job_from_dict, sample_job
from signrules.documents.fields import is_unknown
from signrules.documents.value_paths import number_at, with_number
from signrules.errors import PathError


def sample():
    document = sample_job()
    document["printer"]["locating"] = {"pins": "0.1 mm"}
    document["printer"].pop("landing_tolerance", None)
    document["printer"].pop("max_throw", None)
    return job_from_dict(document)


def test_numbers_are_read_and_put_by_id_index_and_name():
    job = sample()
    name = job.passes[0].id
    assert number_at(job, f"passes.{name}.layers") == job.passes[0].layers
    assert number_at(job, "passes[0].layers") == job.passes[0].layers
    assert number_at(job, "printer.locating.pins") == 0.1
    changed = with_number(job, "printer.locating.pins", 0.2)
    assert changed.printer.locating == (("pins", 0.2),)
    more = with_number(job, "media[0].thickness", Interval.exact(7))
    assert more.media[0].thickness == Interval.exact(7)
    assert more.passes == job.passes


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("printer.max_throw", "nothing, for the job does not state it"),
        ("name", "expected a number or a length"),
        ("printer.locating.stops", "expected 'pins'"),
        ("passes[99].layers", "expected '"),
        ("temperature.low", "expected nothing further"),
        ("media[0].thickness.low", "expected nothing further"),
        ("media[0].size[2]", "expected a number below 2 in brackets"),
        ("printer.bedd", "bed"),
    ],
)
def test_a_path_to_no_number_says_what_is_there(path, words):
    with pytest.raises(PathError) as caught:
        number_at(sample(), path)
    assert str(caught.value).startswith(f"{path}: found ")
    assert words in str(caught.value)


def test_what_has_a_rule_of_its_own_where_it_is_left_out_is_not_unknown():
    job = sample()
    assert job.printer.landing_tolerance is None
    assert not is_unknown(job, ("printer", "landing_tolerance"))
    assert job.printer.max_throw is None
    assert is_unknown(job, ("printer", "max_throw"))
    assert not is_unknown(job, ("printer", "locating", "pins"))
    assert is_unknown(job, ("printer", "locating", "stops"))
    assert not is_unknown(job, ("passes", 0, "layers"))
