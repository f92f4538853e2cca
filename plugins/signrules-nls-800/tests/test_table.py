"""The table, held to the numbers as the published page gives them, typed here a second time."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from signrules_nls_800 import plugin

from signrules import evaluate, job_from_dict, load_plugins, sample_job, together

PUBLISHED = {
    "braille.dot_height": ("3.2.1", "0.019", "0.48"),
    "braille.dot_diameter": ("3.2.2", "0.057", "1.44"),
    "braille.dot_spacing": ("3.2.3.1", "0.092", "2.340"),
    "braille.cell_spacing": ("3.2.3.2", "0.245", "6.2"),
    "braille.line_spacing": ("3.2.4", "0.400", "10"),
}
"""Clause, inches and the millimetres printed beside them: Specification 800 on the braille
authority's page, read.
"""


@pytest.fixture
def table(loaded_plugins):
    return loaded_plugins.standards["us-nls-800"]


def test_every_published_dimension_is_there_and_no_other(table):
    assert {row.quantity for row in table.rows} == set(PUBLISHED)


@pytest.mark.parametrize(("quantity", "published"), PUBLISHED.items())
def test_a_row_says_what_the_page_says(table, quantity, published):
    clause, inches, millimetres = published
    (row,) = table.rows_for(quantity)
    exact = Decimal(inches) * Decimal(
        "25.4"
    )  # 1 in = 25.4 mm exactly (international yard and pound, 1959).
    assert (row.clause, row.standing) == (clause, "read")
    for bound in (row.least, row.most):
        assert Decimal(bound.value.numerator) / Decimal(bound.value.denominator) == exact
        assert Decimal(str(float(bound.printed))) == Decimal(millimetres)


def test_the_printed_millimetres_are_not_the_inches(table):
    """1.44 mm is not 0.057 in and 10 mm is not 0.400 in, so a millimetre design misses
    the inches.
    """
    off = {row.quantity: float(abs(row.least.value - row.least.printed)) for row in table.rows}
    assert off["braille.dot_diameter"] == pytest.approx(0.0078)
    assert off["braille.line_spacing"] == pytest.approx(0.16)


def test_a_sign_cannot_keep_both_this_and_the_standard_of_signs(table):
    both = together([table, "us-ada-2010"])
    assert {common.quantity for common in both.conflicts} == {
        "braille.dot_height",
        "braille.dot_diameter",
    }


def test_all_of_it_is_for_a_person_to_look_at(table):
    assert {row.level for row in table.rows} == {"REVIEW"}


def card(**braille):
    """The sample job as a card that is judged by this table alone."""
    job = sample_job()
    job["standards"] = ["us-nls-800"]
    job["signs"][0]["braille"] |= braille
    return job_from_dict(job)


PAPER = {
    "dot_diameter": "0.057 in",
    "dot_spacing": "0.092 in",
    "cell_spacing": "0.245 in",
    "line_spacing": "0.400 in",
}


def outcomes(plugins, job):
    checks = evaluate(job, plugins=plugins).checks
    named = {"dot-diameter", "dot-spacing", "cell-spacing", "line-spacing", "dot-height"}
    found = {
        c.rule.removeprefix("braille."): c.outcome.value
        for c in checks
        if c.rule.startswith("braille.")
    }
    return {name: found[name] for name in sorted(named & set(found))}


def test_a_card_that_keeps_to_it(loaded_plugins):
    # The dots of the sample job are 0.7 mm high: built for a sign, too high for paper.
    assert outcomes(loaded_plugins, card(**PAPER)) == {
        "cell-spacing": "MET",
        "dot-diameter": "MET",
        "dot-height": "BROKEN",
        "dot-spacing": "MET",
        "line-spacing": "MET",
    }


@pytest.mark.parametrize("key", sorted(PAPER))
def test_the_printed_millimetres_miss_it(loaded_plugins, key):
    job = card(**PAPER | {key: f"{PUBLISHED[f'braille.{key}'][2]} mm"})
    assert outcomes(loaded_plugins, job)[key.replace("_", "-")] == "BROKEN"


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(sorted(PAPER)), st.integers(-3, 3))
def test_a_thousandth_of_an_inch_beside_it_misses_it(key, thousandths):
    inches = Decimal(PUBLISHED[f"braille.{key}"][1]) + Decimal(thousandths) / 1000
    job = card(**PAPER | {key: f"{inches} in"})
    plugins = load_plugins(objects=[plugin])
    assert outcomes(plugins, job)[key.replace("_", "-")] == (
        "MET" if thousandths == 0 else "BROKEN"
    )


def test_the_report_says_that_it_is_not_for_signs(loaded_plugins):
    checks = evaluate(card(**PAPER), plugins=loaded_plugins).checks
    (height,) = [check for check in checks if check.rule == "braille.dot-height"]
    assert "not for signs" in str(height.source)
    assert "3.2.1" in str(height.source)
    assert height.level.value == "REVIEW"


def test_it_is_found_by_its_entry_point():
    found = [
        each for each in load_plugins(entry_points=True).loaded if each.name == "signrules-nls-800"
    ]
    if not found:
        pytest.skip("signrules-nls-800 is not installed in this environment")
    assert found[0].adds == ("standard us-nls-800",)
    assert found[0].api == "1.0"


def test_the_hook_keeps_its_laws(check_hooks):
    check_hooks()
