"""The rules of the house: just inside, on and just outside each limit, with settings changed and
fields left out.
"""

from __future__ import annotations

import pytest
import signrules_house_rules.plugin as plugin
from signrules_house_rules.rules import HARBOUR

from signrules import evaluate, job_from_dict, load_plugins, sample_job, shop_from_dict

PLUGINS = load_plugins(objects=[plugin])


def outcomes(name, document=None, **settings):
    """Subject to outcome, for one rule of the house on the sample job or a changed one."""
    rules = {"harbour": {name: {"settings": settings}}} if settings else {}
    shop = shop_from_dict({"signrules": 1, "rules": rules})
    result = evaluate(job_from_dict(document or sample_job()), plugins=PLUGINS, shop=shop)
    assert result.faults == ()
    return {c.subjects[0]: c.outcome.value for c in result.checks if c.rule == f"harbour.{name}"}


def with_pass(name, **changes):
    document = sample_job()
    (item,) = [each for each in document["passes"] if each["id"] == name]
    item |= changes
    return document


def gap(extra):
    return {"extra": extra, "above": "media"}


@pytest.mark.parametrize(
    ("extra", "outcome"),
    [
        ("0.299 mm", "BROKEN"),
        ("0.3 mm", "MET"),
        ("1.5 mm", "MET"),
        ("1.501 mm", "BROKEN"),
        ("1.4 .. 1.6 mm", "DOUBTFUL"),
    ],
)
def test_a_spacer_on_the_rack(extra, outcome):
    assert outcomes("spacer", with_pass("dots", gap=gap(extra)))["passes.dots"] == outcome


def test_no_spacer_and_a_gap_that_the_planner_chooses_need_no_rack():
    document = with_pass("dots", gap="auto")
    assert set(outcomes("spacer", document)) == {"passes.letters", "passes.ink-on-dots"}


def test_a_thicker_rack_in_the_shop_file():
    document = with_pass("dots", gap=gap("2 mm"))
    assert outcomes("spacer", document)["passes.dots"] == "BROKEN"
    assert outcomes("spacer", document, thickest="2 mm")["passes.dots"] == "MET"


@pytest.mark.parametrize(
    ("temperature", "outcome"), [(34.9, "MET"), (35, "MET"), (35.1, "BROKEN"), (None, "UNASSESSED")]
)
def test_warm_extruded_sheet(temperature, outcome):
    document = (
        with_pass("dots")
        if temperature is None
        else with_pass("dots", sheet_temperature=temperature)
    )
    document["media"][0]["sheet_type"] = "extruded-acrylic"
    assert outcomes("warm-extruded", document)["passes.dots"] == outcome


def test_cast_sheet_may_be_warm_and_a_sheet_that_does_not_say_is_not_assessed():
    document = with_pass("dots", sheet_temperature=45)
    assert outcomes("warm-extruded", document) == {}
    del document["media"][0]["sheet_type"]
    assert set(outcomes("warm-extruded", document).values()) == {"UNASSESSED"}
    document["media"][0]["material"] = "polycarbonate"
    assert outcomes("warm-extruded", document) == {}


@pytest.mark.parametrize(
    ("size", "met"),
    [((119.9, 320), 1), ((120, 320), 2), ((520, 320), 2), ((520.1, 320), 1), ((320, 119.9), 1)],
)
def test_sheets_that_fit_the_pins(size, met):
    document = sample_job()
    document["media"][0] |= {"size": list(size), "at": [20, 20]}
    document["passes"] = [each for each in document["passes"] if each["id"] == "ground"]
    document["handling"] = document["signs"] = []
    found = [
        c.outcome.value
        for c in evaluate(job_from_dict(document), plugins=PLUGINS).checks
        if c.rule == "harbour.sheet-size"
    ]
    assert found.count("MET") == met
    assert len(found) == 2


def cooled(layers, *, pause_after):
    document = with_pass("dots", layers=layers)
    document["handling"].append({"id": "cool", "does": "pause", "after": [pause_after]})
    with_colour = next(each for each in document["passes"] if each["id"] == "ink-on-dots")
    with_colour["after"] = ["cool"]
    return document


def test_a_pause_after_a_thick_build_up():
    assert outcomes("cool-down", with_pass("dots", layers=28)) == {}
    assert outcomes("cool-down", with_pass("dots", layers=29)) == {"passes.ink-on-dots": "BROKEN"}
    assert outcomes("cool-down", cooled(29, pause_after="dots")) == {"passes.ink-on-dots": "MET"}
    assert outcomes("cool-down", with_pass("dots", layers=29), layers=30) == {}


def test_without_the_pause_no_order_is_safe():
    job = job_from_dict(with_pass("dots", layers=29))
    assert evaluate(job).order_is_safe
    assert not evaluate(job, plugins=PLUGINS).order_is_safe


@pytest.mark.parametrize(
    ("extra", "directions", "outcome"), [(1.3, 2, None), (1.4, 2, "BROKEN"), (1.4, 1, "MET")]
)
def test_colour_that_flies_far(extra, directions, outcome):
    # The throw of the ground is the base gap of 0.75 mm and the extra: 2.05 or 2.15 mm, against 2.1
    # mm.
    document = with_pass("ground", gap=gap(extra), directions=directions)
    assert outcomes("one-way-colour", document).get("passes.ground") == outcome


def test_an_ink_without_a_role_is_not_assessed():
    document = sample_job()
    del document["inks"][0]["role"]
    assert outcomes("one-way-colour", document)["passes.ground"] == "UNASSESSED"


def test_bed_loads():
    assert outcomes("bed-loads") == {"job": "MET"}  # the sample job's sheet comes off once
    assert outcomes("bed-loads", most=1) == {"job": "BROKEN"}


@pytest.mark.parametrize(
    ("language", "outcome"), [("en", "MET"), ("cy", "MET"), ("fr", "BROKEN"), ("EN", "BROKEN")]
)
def test_a_language_that_somebody_reads(language, outcome):
    document = sample_job()
    document["signs"][0]["braille"]["language"] = language
    assert outcomes("proofreader", document) == {"signs.room-214": outcome}
    assert outcomes("proofreader", document, languages=[language]) == {"signs.room-214": "MET"}


def test_each_rule_says_that_it_is_invented():
    assert len(HARBOUR.rules) == 7
    for each in HARBOUR.rules:
        assert str(each.source).startswith("shop practice: ")
        assert "invented" in str(each.source)
