"""Where a sign lies on its sheet and where its top points, as documents state it."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.model.passes import Area


def job_with(**sign):
    document = sign_job()
    document["signs"][0] |= sign
    return signrules.job_from_dict(document)


def faults_of(**sign):
    with pytest.raises(signrules.JobError) as caught:
        job_with(**sign)
    return [(fault.path, fault.found, fault.expected) for fault in caught.value.faults]


def test_a_sign_states_its_area_and_its_top():
    (sign,) = job_with(area=["1 cm", 20, 100, "80 mm"], top="left").signs
    assert (sign.area, sign.top) == (Area(10, 20, 100, 80), "left")
    (sign,) = job_with().signs
    assert (sign.area, sign.top) == (None, "far")


@pytest.mark.parametrize(
    ("area", "inside"),
    [
        ([0, 0, 200, 200], True),
        ([0, 0, 200.1, 200], False),
        ([150, 150, 50, 50.1], False),
        ([-0.1, 0, 50, 50], False),
    ],
)
def test_a_sign_lies_on_its_sheet(area, inside):
    if inside:
        assert job_with(area=area).signs[0].area == Area(*area)
        return
    ((path, _, expected),) = faults_of(area=area)
    assert (path, expected) == ("signs[0].area", "an area inside the sheet 'panel' of 200 x 200 mm")


def test_a_top_that_no_bed_has():
    ((path, found, expected),) = faults_of(top="up")
    assert (path, found) == ("signs[0].top", "'up'")
    assert all(side in expected for side in ("far", "near", "left", "right"))


@pytest.mark.parametrize("area", [[0, 0, 10], "all of it", [0, 0, 10, 0]])
def test_an_area_that_is_none(area):
    ((path, *_),) = faults_of(area=area)
    assert path.startswith("signs[0].area")


def test_a_pass_builds_visual_characters_and_nothing_that_signs_have_not():
    document = sign_job()
    document["passes"][0]["builds"] = "room.visual"
    assert signrules.job_from_dict(document).passes[0].builds == ("room.visual",)
    document["passes"][0]["builds"] = "room.border"
    with pytest.raises(signrules.JobError, match="braille or raised or visual"):
        signrules.job_from_dict(document)
