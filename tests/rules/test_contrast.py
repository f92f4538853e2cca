"""The formulas of contrast at published and computed values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standards.signs import job_of, judged

from signrules.model.sign import Sign, Surface
from signrules.rules.contrast import CONTRASTS, bowman_sapolinski, difference, michelson, weber
from signrules.standards.tables import read_standard

# Lighter, darker; difference in points, then Weber, Michelson and Bowman-Sapolinski in %, to one decimal.
# Weber and Michelson: CIE e-ILV 17-22-091; difference: BS 8300-2 annex B; the last: AS 1428.1 appendix B.
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


@pytest.mark.parametrize(("light", "dark", "points", "over_lighter", "over_sum", "australian"), VALUES)
def test_formulas_at_known_values(light, dark, points, over_lighter, over_sum, australian):
    for a, b in ((light, dark), (dark, light)):
        assert difference(a, b) == pytest.approx(points)
        assert weber(a, b) == pytest.approx(over_lighter, abs=0.05)
        assert michelson(a, b) == pytest.approx(over_sum, abs=0.05)
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
    share = weber(a, b) / 100
    assert michelson(a, b) == pytest.approx(100 * share / (2 - share), abs=1e-9)


# Under each formula a least of 30 for reflectances of 85 and 55, and one that only just lets them pass.
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
        'id = "x"\ntitle = "X"\npublisher = "P"\nunit = "mm"\n[[rows]]\nquantity = "surface.contrast"\n'
        f'formula = "{formula}"\nleast = "{least} {unit}"\nclause = "1"\nsource = "s"\nstanding = "read"\n'
    )
    sign = Sign("door", surface=Surface(character_lrv=85.0, background_lrv=55.0))
    (check,) = judged(job_of(sign), read_standard(text, "x.toml"), rule="contrast.reflectance")
    assert (check.outcome.value, check.unit) == (expected, unit)
    assert (formula in check.message) is (formula != "weber")
