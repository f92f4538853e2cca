"""Unlikely figures are named with the slip that they look like, those of ordinary shops are not."""

from __future__ import annotations

import copy
from fractions import Fraction

import jsonpatch
import pytest
from rules.shops import SHOPS, shop_job
from scenario import sign_job

import signrules
from signrules import Interval, JobError, Outcome, sample_job
from signrules.catalogue.materials import builtin_materials, builtin_printers
from signrules.documents.document_changes import changed
from signrules.documents.measures import MEASURES
from signrules.model import Job
from signrules.model.declared import classes_within, declared_fields, document_key
from signrules.rules.figures_together import figures_together
from signrules.rules.stated_figures import stated_figures, usual_range
from signrules.rules.unusual_figures import figures_unusual, guesses_of

RULES = ("figures.unusual", "figures.together")

# --- every figure has a usual range ---------------------------------------------------------------

PLACE = "a place on the bed or on the sheet, which may be anywhere on it"
WITHOUT_USUAL = {
    "Media.at": PLACE,
    "Media.located_at": PLACE,
    "Sign.area": PLACE,
    "Braille.area": PLACE,
    "Raised.area": PLACE,
    "Visual.area": PLACE,
    "Pass.areas": PLACE,
    "ArtworkSource.page": "the number of a page, which may be any",
    "Pass.directions": "one of two numbers, both usual",
}
NUMBERS = {
    *("number", "share", "whole number", "length", "toleranced length", "speed", "expansion"),
    *("lengths by name", "area", *MEASURES),
}


def test_every_figure_has_a_usual_range_or_a_reason_to_have_none():
    lacking = set()
    for cls in (Job, *classes_within(Job)):
        for name, declared in declared_fields(cls).items():
            kind = declared.kind if declared.element is None else declared.element.kind
            if kind in NUMBERS and usual_range(declared) is None:
                lacking.add(f"{cls.__name__}.{document_key(cls, name)}")
    assert lacking == set(WITHOUT_USUAL)


def test_usual_ranges_lie_in_the_possible_ones():
    for cls in (Job, *classes_within(Job)):
        for declared in declared_fields(cls).values():
            inner = declared if declared.element is None else declared.element
            if inner.usual is not None and inner.least is not None and inner.most is not None:
                assert inner.least <= inner.usual[0] < inner.usual[1] <= inner.most


def test_the_catalogue_is_usual():
    sheet = declared_fields(next(c for c in classes_within(Job) if c.__name__ == "Media"))
    for material in builtin_materials():
        for name in ("density", "heat_capacity"):
            value, (least, most) = getattr(material, name), sheet[name].usual
            assert value is None or least <= value <= most
        least, most = sheet["expansion"].usual
        assert material.expansion is None or least <= material.expansion.low
        assert material.expansion is None or material.expansion.high <= most


# --- thirty slips ---------------------------------------------------------------------------------


def bad(document):
    """The findings of both rules; the guess of each stands in its message."""
    job = signrules.job_from_dict(document)
    drafts = (*figures_unusual(job), *figures_together(job))
    return [one for one in drafts if one.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)]


MEANT = [
    # path, what was typed, what was meant as the finding says it
    ("media.panel.thickness", "30 mm", "3 mm"),
    ("media.panel.thickness", "3 m", "3 mm"),
    ("media.panel.thickness", "0.125 mm", "0.125 in"),
    ("media.panel.thickness", "10 in", "10 mm"),
    ("printer.drop_speed", "6 mm/s", "6 m/s"),
    ("printer.drop_speed", "6 m/min", "6 m/s"),
    ("printer.drop_speed", "60 m/s", "6000 mm/s"),
    ("printer.carriage_speed", "48 m/s", "48 m/min"),
    ("printer.carriage_speed", "30 mm/s", "30 in/s"),
    ("printer.base_gap", "7.5 mm", "0.75 mm"),
    ("printer.base_gap", "0.06 mm", "60 mil"),
    ("printer.max_throw", "30 mm", "3 mm"),
    ("printer.resolution", 60, "600 dpi"),
    ("printer.head_length", "40 in", "40 mm"),
    ("printer.minutes.alignment", 720, "720 s"),
    ("printer.drop_density", "1.05 kg/m3", "1.05 g/cm3"),
    ("printer.moving_bed.acceleration", "3 mm/s2", "3 m/s2"),
    ("printer.absorbed_dose", "0.02 J/m2", "0.02 J/cm2"),
    ("printer.locating.pins", "10 mm", "1 mm"),
    ("inks.blue.layer", "10 mm", "10 um"),
    ("inks.clear.layer", "1.2 um", "1.2 mil"),
    ("inks.clear.layer", "330 um", "0.033 mm"),
    ("passes.dots.layers", 220, "22"),
    ("passes.dots.coverage", 0.003, "0.3"),
    ("media.panel.vacuum_pressure", "5 Pa", "5 kPa"),
    ("temperature", 72, "72 degrees Fahrenheit"),
    ("signs.room-214.surface.character_lrv", 0.82, "82 LRV"),
    ("signs.room-214.braille.dot_spacing", "24 mm", "2.4 mm"),
    ("signs.room-214.raised.height", "1 mm", "1 in"),
    ("signs.room-214.mounting.lowest_tactile", "54 mm", "54 in"),
]


@pytest.mark.parametrize(("path", "typed", "meant"), MEANT)
def test_a_slip_is_named_with_what_was_meant(path, typed, meant):
    (found,) = [one for one in bad(changed(sample_job(), {path: typed})) if path in one.others]
    assert meant in found.advice.removeprefix("Is ").removesuffix(" meant?").split(" or ")
    assert found.source.kind == "common practice, no published source"
    assert "usually" in found.limit_text


TOGETHER = [
    # Figures that are each likely, and are not so together: digits and swapped figures.
    ({"printer.base_gap": "5 mm"}, "the farthest throw"),
    ({"printer.min_clearance": "1.5 mm"}, "what must stay free"),
    ({"printer.landing_tolerance": "0.5 mm", "printer.resolution": 2880}, "in dots"),
    ({"printer.carriage_speed": "3 m/s", "printer.drop_speed": "2 m/s"}, "that of the drops"),
    ({"printer.drop_volume": "4 pL", "printer.satellite_volume": "14 pL"}, "the main drop"),
    ({"printer.swath": "40 mm", "printer.head_length": "36 mm"}, "the head that prints"),
    ({"printer.swath": "1 mm", "printer.swath_passes": 32}, "the advance after a swath stroke"),
    ({"printer.overrun": "6 mm"}, "takes up its speed"),
    ({"inks.clear.layer": "90 um", "printer.drop_volume": "2 pL"}, "in drops"),
    ({"media.panel.bow": "5.9 mm", "media.panel.size": ["200 mm", "200 mm"]}, "the size"),
    ({"media.panel.bow": "2 mm", "media.panel.material": "glass"}, "the size"),
    ({"signs.room-214.visual.height": "4.5 mm", "signs.room-214.visual.stroke": "30 mm"}, "height"),
]


@pytest.mark.parametrize(("changes", "said"), TOGETHER)
def test_figures_that_do_not_go_together_are_named(changes, said):
    document = sample_job()
    if "media.panel.size" in changes:
        for item in document["passes"]:
            item.pop("areas", None)
        document["signs"][0].pop("area")
    found = bad(changed(document, changes))
    assert any(said in one.what for one in found)
    assert all(one.advice and one.source is not None for one in found)


IMPOSSIBLE = [
    ({"passes.dots.coverage": 30}, "passes[1].coverage"),
    ({"media.panel.size": ["240 um", "320 um"]}, "passes"),
    ({"media.panel.thickness": "3"}, "media[0].thickness"),
    ({"printer.drop_speed": 6}, "printer.drop_speed"),
    ({"media.panel.thickness": "3,0 mm"}, "media[0].thickness"),
]


@pytest.mark.parametrize(("changes", "where"), IMPOSSIBLE)
def test_a_slip_that_no_job_can_hold_is_an_error(changes, where):
    with pytest.raises(JobError) as caught:
        signrules.job_from_dict(changed(sample_job(), changes))
    assert where in str(caught.value)


# --- thirty shops ---------------------------------------------------------------------------------


def test_there_are_thirty_shops_and_slips():
    assert len(SHOPS) >= 30
    assert len(MEANT) >= 30


@pytest.mark.parametrize("name", SHOPS)
def test_an_ordinary_shop_is_not_nagged(name):
    assert [(one.what, one.measured) for one in bad(shop_job(name))] == []


def test_printers_of_the_catalogue_are_not_nagged():
    for name in builtin_printers():
        job = sign_job(printer={"use": name})
        assert [(one.what, one.measured) for one in bad(job)] == []


# --- how a finding reads --------------------------------------------------------------------------


def test_what_a_finding_says():
    job = signrules.job_from_dict(changed(sample_job(), {"media.panel.thickness": "30 mm"}))
    (found,) = [one for one in signrules.evaluate(job).violations if one.rule in RULES]
    assert found.message == (
        "job: media.panel.thickness is 30 mm (usually 0.2 to 25 mm): 5 mm too much."
        " Is 3 mm or 30 mil meant?"
    )
    assert found.subjects == ("job", "media.panel.thickness")


def test_alike_figures_of_many_sheets_are_one_finding():
    document = sign_job()
    sheet = document["media"][0]
    document["printer"]["bed"] = ["3 m", "3 m"]
    document["media"] = [
        copy.deepcopy(sheet)
        | {"id": f"s{at}", "at": [210 * (at % 8), 210 * (at // 8)]}
        | {"thickness": "30 mm"}
        for at in range(40)
    ]
    document["passes"] = [{"id": "ground", "ink": "black", "media": "s0"}]
    document["signs"] = []
    (found,) = bad(document)
    assert found.what == "media.s0.thickness and 39 more like it"
    assert found.others == tuple(f"media.s{at}.thickness" for at in range(40))


def test_a_tolerance_that_reaches_out_of_the_usual_is_no_slip_of_the_figure():
    (found,) = bad(changed(sample_job(), {"media.panel.thickness": "24 mm +- 2 mm"}))
    assert found.outcome is Outcome.DOUBTFUL
    assert found.advice == "Look at its tolerance once more."


def test_where_no_slip_brings_a_figure_back_the_finding_says_to_look_again():
    (found,) = bad(changed(sample_job(), {"passes.dots.layers": 5000}))
    assert found.advice == "Look at the figure and its unit once more."


def test_what_is_left_to_its_default_is_not_judged():
    figures = stated_figures(signrules.job_from_dict(sign_job()))
    for where in ("temperature", "passes.*.coverage", "passes.*.layers"):
        assert (where in figures.usual) == (where != "temperature")
    assert "media.*.bow" not in figures.usual


def test_a_figure_that_is_right_is_waived_by_its_path_and_no_other_with_it():
    waiver = {"rule": "figures.unusual", "reason": "it is so", "by": "an invented foreman"}
    document = changed(sample_job(), {"media.panel.thickness": "30 mm", "printer.resolution": 60})
    document["waivers"] = [waiver | {"subject": "media.panel.thickness"}]
    found = [
        one
        for one in signrules.evaluate(signrules.job_from_dict(document)).checks
        if one.rule == "figures.unusual" and one.outcome is Outcome.BROKEN
    ]
    assert {one.subjects[1]: one.waiver is not None for one in found} == {
        "media.panel.thickness": True,
        "printer.resolution": False,
    }


# --- guesses --------------------------------------------------------------------------------------


def guessed(changes):
    (figure,) = stated_figures(signrules.job_from_dict(changed(sample_job(), changes))).unlikely
    return [(one.text, one.value) for one in guesses_of(figure)]


def test_a_guess_keeps_the_wider_tolerance():
    # A digit that slipped says nothing of the tolerance: that stays as it was stated.
    by_digit = guessed({"media.panel.thickness": "30 mm +- 0.2 mm"})
    assert by_digit[0] == ("3 mm", Interval(2.8, 3.0, 3.2))
    # A tolerance of 1 mm does not fit an ink: it was written in the wrong unit too.
    by_unit = guessed({"inks.clear.layer": "33 mm +- 1 mm"})
    assert by_unit == [("33 um", Interval(0.032, 0.033, 0.034))]


def test_a_guess_is_exact():
    inch = Fraction(254, 10)
    assert guessed({"printer.base_gap": "0.06 mm"}) == [
        ("0.6 mm", Interval.exact(0.6)),
        ("60 mil", Interval.exact(float(Fraction(6, 100) * inch))),
    ]
    (_, warm), _ = guessed({"temperature": 68})
    assert warm.nominal == 20.0  # 68 degrees Fahrenheit, by (68 - 32) x 5 / 9.


def test_a_number_that_nobody_types_is_no_slip_of_its_unit():
    # 33 mm are 1.299 212 6 in: who writes 33 mm has not meant so many mm for inches.
    assert all("1.299" not in text for text, _ in guessed({"media.panel.thickness": "33 mm"}))


# --- remedies -------------------------------------------------------------------------------------


def remedied(changes, path):
    """The jobs after the remedies that a patch of another package makes."""
    job = signrules.job_from_dict(changed(sample_job(), changes))
    (check,) = [one for one in signrules.evaluate(job).violations if path in one.subjects]
    return [
        (
            one.summary,
            jsonpatch.apply_patch(signrules.job_to_dict(job), [dict(op) for op in one.patch]),
        )
        for one in check.remedies
    ]


def test_a_remedy_states_what_the_slip_would_have_been():
    first, second = remedied({"media.panel.thickness": "30 mm"}, "media.panel.thickness")
    assert first[0] == ("If 3 mm is meant, state 3 mm for media.panel.thickness instead of 30 mm.")
    assert first[1]["media"][0]["thickness"] == 3
    assert second[0].startswith("If 30 mil is meant, state 0.762 mm for")


@pytest.mark.parametrize(
    ("path", "typed", "value"),
    [
        ("printer.locating.pins", "10 mm", 1.0),
        ("alignments[0].extra", "30 mm", 3.0),
        ("temperature", 68, 20.0),
        ("passes.dots.layers", 220, 22),
        ("printer.minutes.load", 240, 4.0),
        ("signs.room-214.surface.character_lrv", 0.82, 82.0),
    ],
)
def test_a_remedy_changes_the_figure_where_it_stands(path, typed, value):
    (_, document), *_ = remedied({path: typed}, path)
    expected = signrules.job_from_dict(changed(sample_job(), {path: value}))
    assert signrules.job_from_dict(document) == expected


def test_figures_of_one_list_in_a_wrong_unit_are_changed_together():
    spacers = {"printer.gap.spacers": ["4 in", "7 in", "3 in"]}
    job = signrules.job_from_dict(changed(sample_job(), spacers))
    found = [one for one in signrules.evaluate(job).violations if one.rule == "figures.unusual"]
    assert len(found) == 3
    patches = [[dict(op) for op in one.remedies[0].patch] for one in found]
    gaps = [
        jsonpatch.apply_patch(signrules.job_to_dict(job), patch)["printer"]["gap"]["spacers"]
        for patch in patches
    ]
    assert gaps == [[4.0, 7.0, 3.0]] * 3
