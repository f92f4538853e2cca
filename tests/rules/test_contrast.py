"""The formulas of contrast at published and computed values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standards.signs import ada, job_of, judged

from signrules.model.sign import Sign, Surface
from signrules.rules.contrast import (
    CONTRASTS,
    bowman_sapolinski,
    michelson_contrast,
    point_difference,
    weber_contrast,
)
from signrules.standards.dimension_tables import Row, Standard, builtin_standards, read_standard
from signrules.standards.written_numbers import read_number

# Lighter, darker; difference in points, then Weber, Michelson and Bowman-Sapolinski in %, to one
# decimal. Weber and Michelson: CIE e-ILV 17-22-091; difference: BS 8300-2 annex B; the last: AS
# 1428.1 appendix B.
VALUES = [
    (85, 5, 80, 94.1, 88.9, 87.0),
    (85, 15, 70, 82.4, 70.0, 70.0),
    (85, 25.5, 59.5, 70.0, 53.8, 54.9),
    (70, 21, 49, 70.0, 53.8, 52.8),
    (45, 13.5, 31.5, 70.0, 53.8, 47.2),
    (40, 10, 30, 75.0, 60.0, 50.0),
    (50, 20, 30, 60.0, 42.9, 39.5),
    (85, 55, 30, 35.3, 21.4, 22.7),
]
REFLECTANCES = st.floats(0, 100)


@pytest.mark.parametrize(
    ("light", "dark", "points", "over_lighter", "over_sum", "australian"), VALUES
)
def test_formulas_at_known_values(light, dark, points, over_lighter, over_sum, australian):
    for a, b in ((light, dark), (dark, light)):
        assert point_difference(a, b) == pytest.approx(points)
        assert weber_contrast(a, b) == pytest.approx(over_lighter, abs=0.05)
        assert michelson_contrast(a, b) == pytest.approx(over_sum, abs=0.05)
        assert bowman_sapolinski(a, b) == pytest.approx(australian, abs=0.05)


@pytest.mark.parametrize("formula", CONTRASTS)
@given(a=REFLECTANCES, b=REFLECTANCES)
def test_a_contrast_lies_from_nothing_to_a_hundred_and_has_no_direction(formula, a, b):
    value = CONTRASTS[formula](a, b)
    assert 0 <= value <= 100 + 1e-9
    assert value == CONTRASTS[formula](b, a)
    assert CONTRASTS[formula](a, a) == 0


@given(a=REFLECTANCES, b=REFLECTANCES)
def test_one_formula_follows_from_another(a, b):
    share = weber_contrast(a, b) / 100
    assert michelson_contrast(a, b) == pytest.approx(100 * share / (2 - share), abs=1e-9)


# Under each formula a least of 30 for reflectances of 85 and 55, and one that only just lets them
# pass.
@pytest.mark.parametrize(
    ("formula", "unit", "least", "expected"),
    [
        ("weber", "%", 30, "MET"),
        ("michelson", "%", 30, "BROKEN"),
        ("bowman-sapolinski", "%", 30, "BROKEN"),
        ("difference", "points", 30, "MET"),
        ("difference", "points", 31, "BROKEN"),
        ("michelson", "%", 21, "MET"),
        ("bowman-sapolinski", "%", 22, "MET"),
    ],
)
def test_a_row_is_judged_by_the_formula_that_it_names(formula, unit, least, expected):
    text = (
        'id = "x"\ntitle = "X"\npublisher = "P"\nunit = "mm"\n[[rows]]\nquantity ='
        f' "surface.contrast"\nformula = "{formula}"\nleast = "{least} {unit}"\nclause ='
        ' "1"\nsource = "s"\nstanding = "read"\n'
    )
    sign = Sign("door", surface=Surface(character_lrv=85.0, background_lrv=55.0))
    (check,) = judged(job_of(sign), read_standard(text, "x.toml"), rule="contrast.reflectance")
    assert (check.outcome.value, check.unit) == (expected, unit)
    assert (formula in check.message) is (formula != "weber")


# Reflectances of 5 on 1: a share of 80 %, and both are black. 45: a trade association's report on
# proposals for A117.1.
@pytest.mark.parametrize(
    ("characters", "background", "expected"),
    [
        (5, 1, "BROKEN"),
        (1, 5, "BROKEN"),
        (44.9, 1, "BROKEN"),
        (45, 1, "MET"),
        (1, 45, "MET"),
        (82, 8, "MET"),
    ],
)
@pytest.mark.parametrize("table", ["us-ada-2010", "us-adaag-1991"])
def test_two_dark_surfaces_are_for_review_whatever_their_share(
    table, characters, background, expected
):
    (standard,) = (one for one in builtin_standards() if one.id == table)
    sign = Sign("door", surface=Surface(character_lrv=characters, background_lrv=background))
    (check,) = judged(job_of(sign), standard, rule="contrast.lighter")
    assert (check.outcome.value, check.level.value, check.unit) == (expected, "REVIEW", "LRV")
    assert "proposal" in check.source.text
    assert "second hand" in check.source.text


def contrast_table(formula: str, least: str, *more: Row) -> Standard:
    row = Row("surface.contrast", "1", "X", "read", least=read_number(least), formula=formula)
    return Standard("x", "X", "X", "mm", (row, *more))


def test_a_share_without_a_least_of_its_own_is_held_to_that_of_the_built_in_tables():
    sign = Sign("door", surface=Surface(character_lrv=5, background_lrv=1))
    (check,) = judged(job_of(sign), contrast_table("weber", "60 %"), rule="contrast.lighter")
    assert (check.outcome.value, check.limit) == ("BROKEN", (45.0, None))
    own = Row("surface.lighter_lrv", "2", "X", "read", least=read_number("4 LRV"))
    (check,) = judged(job_of(sign), contrast_table("weber", "60 %", own), rule="contrast.lighter")
    assert (check.outcome.value, check.source.text) == ("MET", "X, 2")
    for formula, least in (
        ("michelson", "40 %"),
        ("difference", "30 points"),
        ("bowman-sapolinski", "30 %"),
    ):
        assert judged(job_of(sign), contrast_table(formula, least), rule="contrast.lighter") == []


@pytest.mark.parametrize(
    ("characters", "background", "found"),
    [
        (82, 8, "light on dark"),
        (8, 82, "dark on light"),
        (50, 50, "the same"),
        (50.1, 50, "light on dark"),
    ],
)
def test_characters_are_light_on_dark_or_dark_on_light(characters, background, found):
    sign = Sign("door", surface=Surface(character_lrv=characters, background_lrv=background))
    (check,) = judged(job_of(sign), ada(), rule="contrast.polarity")
    assert (check.found, check.level.value) == (found, "STOP")
    assert check.outcome.value == ("BROKEN" if found == "the same" else "MET")
    assert ", 703.5.1" in check.source.text


@pytest.mark.parametrize("rule", ["contrast.polarity", "contrast.lighter"])
def test_a_reflectance_that_is_not_stated_is_named(rule):
    checks = judged(job_of(Sign("door", surface=Surface(character_lrv=82))), ada(), rule=rule)
    assert [check.missing for check in checks] == ["signs.door.surface.background_lrv"]
    assert judged(job_of(Sign("door")), ada(), rule=rule) == []
