"""A pass that builds features of several signs is judged sign by sign, as passes of their own are.

The law: signs alike in their passes, printed a pass a sign or all in one pass, get the same
verdicts on signs. What a sign's own area does not tell is not judged.
"""

from __future__ import annotations

import copy
from typing import Any

import pytest
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import sign_job

import signrules
from signrules.model import Area
from signrules.model.built_areas import areas_building, unstated_place

OF_SIGNS = ("braille.", "raised.", "drawing.", "accessibility.", "scope.")
WIDTH = 60
"""Each sign takes a column of the sheet, in mm."""


def door(number: int, layers: int, dots: list[float], letters: list[float]) -> dict[str, Any]:
    left = 10 + WIDTH * number
    move = lambda area: [area[0] + left, *area[1:]]  # noqa: E731
    return {
        "sign": {
            "id": f"door-{number}",
            "media": "panel",
            "kind": "permanent-room",
            "text": ["EXIT"],
            "area": [left, 10, WIDTH - 2, 120],
            "braille": {
                "cells": "⠑⠭⠊⠞",
                "dot_diameter": "1.55 mm",
                "dot_spacing": "2.4 mm",
                "cell_spacing": "6.2 mm",
                "clear_space": "10 mm",
                "area": move(dots),
            },
            "raised": {"height": "20 mm", "stroke": "2.6 mm", "area": move(letters)},
        },
        "dots": move(dots),
        "letters": move(letters),
        "layers": layers,
    }


def printed(doors: list[dict[str, Any]], how: str) -> dict[str, Any]:
    """The doors printed a pass a sign, a pass a feature, or all in one pass."""
    document = sign_job()
    document["media"][0]["size"] = [10 + WIDTH * len(doors) + 10, 200]
    document["signs"] = [copy.deepcopy(each["sign"]) for each in doors]
    layers = doors[0]["layers"]
    common = {"ink": "clear", "coverage": 0.3, "layers": layers}
    passes = [
        {**common, "id": f"{feature}-{number}", "areas": [each[key]], "builds": f"{id}.{feature}"}
        for number, each in enumerate(doors)
        for id in [each["sign"]["id"]]
        for key, feature in (("dots", "braille"), ("letters", "raised"))
    ]
    if how == "a pass a feature":
        passes = [
            joined(feature, [one for one in passes if one["builds"].endswith(feature)])
            for feature in ("braille", "raised")
        ]
    if how == "one pass":
        passes = [joined("all", passes)]
    document["passes"] = passes
    return document


def joined(id: str, passes: list[dict[str, Any]]) -> dict[str, Any]:
    areas = [area for one in passes for area in one["areas"]]
    return {**passes[0], "id": id, "areas": areas, "builds": [one["builds"] for one in passes]}


def verdicts(document: dict[str, Any]) -> set[tuple[Any, ...]]:
    """What is said of signs, without the names of passes."""
    found = signrules.evaluate(signrules.job_from_dict(document)).checks
    return {
        (check.rule, check.subjects[0], check.outcome, check.level, check.measured, check.limit)
        for check in found
        if check.rule.startswith(OF_SIGNS) and check.subjects[0].startswith("signs.")
    }


offsets = st.integers(0, 12).map(float)
boxes = st.tuples(offsets, st.integers(20, 90).map(float))


@st.composite
def several_doors(draw: st.DrawFn) -> list[dict[str, Any]]:
    layers = draw(st.sampled_from([12, 22, 24, 40]))
    found = []
    for number in range(draw(st.integers(1, 4))):
        x, y = draw(boxes)
        letters = [draw(offsets), y + draw(st.sampled_from([8.0, 9.0, 20.0])), 40.0, 21.0]
        found.append(door(number, layers, [x, y, 25.0, 7.0], letters))
    return found


@settings(max_examples=effort(60))
@given(several_doors())
def test_signs_are_judged_alike_however_many_a_pass_builds(doors):
    apart = verdicts(printed(doors, "a pass a sign"))
    assert apart
    for how in ("a pass a feature", "one pass"):
        assert verdicts(printed(doors, how)) == apart


DOORS = [door(number, 24, [5.0, 30.0, 25.0, 7.0], [5.0, 45.0, 40.0, 21.0]) for number in range(3)]


def relief_of(document: dict[str, Any], sign: str) -> list[tuple[Any, ...]]:
    found = signrules.evaluate(signrules.job_from_dict(document)).checks
    return [
        (check.outcome, check.missing, check.measured)
        for check in found
        if check.rule == "braille.dot-height" and check.subjects[0] == f"signs.{sign}"
    ]


def test_ground_beneath_one_of_the_signs_is_its_own_affair():
    # 24 layers of 30 um are 0.72 mm over the bare sheet; over a patch of ink of 0.12 mm that the
    # dots stand beside and the face does not, 0.84 mm.
    document = printed(DOORS, "one pass")
    patch = {"id": "patch", "ink": "clear", "layers": 4, "areas": [[75, 30, 25, 7]]}
    document["passes"].insert(0, patch)
    document["passes"][1]["coverage"] = 1.0
    (_, _, plain), *_ = relief_of(document, "door-0")
    (_, _, raised), *_ = relief_of(document, "door-1")
    assert plain.nominal == pytest.approx(0.72)
    assert raised.nominal == pytest.approx(0.84)


@pytest.mark.parametrize(
    ("how", "left_out", "asked_for"),
    [
        ("a pass a feature", ("braille", "area"), None),
        ("a pass a feature", ("area",), None),
        ("one pass", ("braille", "area"), "signs.door-1.braille.area"),
    ],
)
def test_what_would_tell_where_a_feature_lies_is_asked_for(how, left_out, asked_for):
    document = printed(DOORS, how)
    section = document["signs"][1]
    for name in left_out[:-1]:
        section = section[name]
    del section[left_out[-1]]
    outcomes = {(outcome.value, missing) for outcome, missing, _ in relief_of(document, "door-1")}
    expected = ("MET", None) if asked_for is None else ("UNASSESSED", asked_for)
    assert outcomes == {expected}
    assert {outcome.value for outcome, _, _ in relief_of(document, "door-2")} == {"MET"}


def test_a_sign_on_which_none_of_the_areas_lies():
    document = printed(DOORS, "a pass a feature")
    document["passes"][0]["areas"].pop(1)
    ((outcome, missing, _),) = relief_of(document, "door-1")
    assert (outcome.value, missing) == ("UNASSESSED", "signs.door-1.braille.dot_height")
    result = signrules.evaluate(signrules.job_from_dict(document))
    said = "no area of braille prints its braille"
    (found,) = (check for check in result.violations if said in check.message)
    assert found.subjects == ("signs.door-1", "passes.braille")


def test_which_areas_build_a_feature():
    job = signrules.job_from_dict(printed(DOORS, "one pass"))
    (all_at_once,) = job.passes
    assert areas_building(job, all_at_once, "door-1.braille") == (Area(75, 30, 25, 7),)
    assert areas_building(job, all_at_once, "door-1.raised") == (Area(75, 45, 40, 21),)
    assert unstated_place(job, all_at_once, "door-1.raised") is None
    document = printed(DOORS, "one pass")
    del document["passes"][0]["areas"]
    job = signrules.job_from_dict(document)
    assert unstated_place(job, job.passes[0], "door-1.raised") == "passes.all.areas"


@pytest.mark.parametrize(
    ("builds", "path", "found"),
    [
        (["door-0.braille", "door-9.braille"], "passes[0].builds[1]", "'door-9'"),
        (["door-0.braille", "door-0.braille"], "passes[0].builds[1]", "'door-0.braille' again"),
        (["door-0.braille", 7], "passes[0].builds[1]", "7"),
        (7, "passes[0].builds", "7"),
    ],
)
def test_a_fault_in_the_list_names_its_place(builds, path, found):
    document = printed(DOORS, "one pass")
    document["passes"][0]["builds"] = builds
    with pytest.raises(signrules.JobError) as caught:
        signrules.job_from_dict(document)
    (fault,) = caught.value.faults
    assert (fault.path, fault.found) == (path, found)


def test_one_feature_is_written_as_a_text_and_several_as_a_list():
    document = printed(DOORS, "a pass a feature")
    document["passes"][1]["builds"] = document["passes"][1]["builds"][:1]
    written = signrules.job_to_dict(signrules.job_from_dict(document))
    assert written["passes"][0]["builds"] == [f"door-{number}.braille" for number in range(3)]
    assert written["passes"][1]["builds"] == "door-0.raised"
