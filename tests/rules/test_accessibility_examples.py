"""The figures in the documentation of rules whose rows stand in other tables than the federal one
of 2010.
"""

from __future__ import annotations

import pytest
from standards.signs import job_of, judged, mm

from signrules.model.sign import Braille, Measured, Mounting, Pictogram, Raised, Sign, Surface
from signrules.standards.dimension_tables import builtin_standards

TABLES = {standard.id: standard for standard in builtin_standards()}


@pytest.mark.parametrize(
    ("standard", "rule", "breaks", "meets"),
    [
        (
            "us-ada-2010",
            "braille.shape",
            {"braille": Braille(shape="flat")},
            {"braille": Braille(shape="domed")},
        ),
        (
            "us-ada-2010",
            "braille.grade",
            {"braille": Braille(grade="uncontracted")},
            {"braille": Braille(grade="contracted")},
        ),
        (
            "au-aba",
            "braille.dome-radius",
            {"braille": Braille(dome_radius=mm(0.83))},
            {"braille": Braille(dome_radius=mm(0.78))},
        ),
        (
            "us-ca-cbc-11b",
            "braille.below-text",
            {"braille": Braille(below_text=mm(14))},
            {"braille": Braille(below_text=mm(10))},
        ),
        (
            "au-aba",
            "braille.spread",
            {"measured": Measured(dot_height=(0.70, 0.75))},
            {"measured": Measured(dot_height=(0.700, 0.705))},
        ),
        (
            "au-ncc-s15",
            "raised.word-spacing",
            {"raised": Raised(word_spacing=mm(8))},
            {"raised": Raised(word_spacing=mm(12))},
        ),
        (
            "no-signs",
            "mounting.centre",
            {"mounting": Mounting(centre=mm(1400))},
            {"mounting": Mounting(centre=mm(1500))},
        ),
        (
            "no-signs",
            "pictogram.field-width",
            {"pictogram": Pictogram(field_width=mm(140))},
            {"pictogram": Pictogram(field_width=mm(160))},
        ),
        (
            "dk-tibs",
            "finish.gloss",
            {"surface": Surface(gloss=60.0)},
            {"surface": Surface(gloss=25.0)},
        ),
    ],
)
def test_the_documented_examples_hold(standard, rule, breaks, meets):
    for sections, expected in ((breaks, "BROKEN"), (meets, "MET")):
        (check,) = judged(job_of(Sign("door", **sections)), TABLES[standard], rule=rule)
        assert (check.outcome.value, check.level.value == "REVIEW") == (
            expected,
            rule == "braille.below-text",
        )


def test_the_spread_of_measured_dots_is_a_share_of_their_mean():
    sign = Sign("door", measured=Measured(dot_height=(0.70, 0.75)))
    (check,) = judged(job_of(sign), TABLES["au-aba"], rule="braille.spread")
    assert check.measured.nominal == pytest.approx(100 * 0.05 / 0.725)
    assert check.unit == "%"


@pytest.mark.parametrize("heights", [(), (0.7,), (0.0, 0.0)])
def test_one_dot_or_none_has_no_spread(heights):
    sign = Sign("door", measured=Measured(dot_height=heights))
    assert judged(job_of(sign), TABLES["au-aba"], rule="braille.spread") == []


# The dome of a plain cap: radius (height squared + half the base squared) / (2 x height), in mm.
@pytest.mark.parametrize(
    ("base", "height", "expected"),
    [
        (1.5, 0.60, "MET"),
        (1.5, 0.70, "BROKEN"),
        (1.6, 0.60, "BROKEN"),
        (1.6, 0.70, "MET"),
        (1.55, 0.70, "MET"),
    ],
)
def test_not_every_base_and_height_within_their_ranges_make_an_allowed_dome(base, height, expected):
    radius = (height**2 + (base / 2) ** 2) / (2 * height)
    sign = Sign(
        "door",
        braille=Braille(dome_radius=mm(radius), dot_diameter=mm(base), dot_height=mm(height)),
    )
    (dome,) = judged(job_of(sign), TABLES["au-aba"], rule="braille.dome-radius")
    (width,) = judged(job_of(sign), TABLES["au-aba"], rule="braille.dot-diameter")
    (tall,) = judged(job_of(sign), TABLES["au-aba"], rule="braille.dot-height")
    assert (dome.outcome.value, width.outcome.value, tall.outcome.value) == (expected, "MET", "MET")
