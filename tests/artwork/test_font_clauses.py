"""What fonts can be used for: limits are those of the 2010 ADA Standards, worked by hand here."""

from __future__ import annotations

import pytest

from signrules.artwork.drawing import FontMeasures
from signrules.artwork.font_clauses import font_uses
from signrules.reports.font_report import font_text, font_to_dict, sizes_text
from signrules.standards.dimension_tables import builtin_standards

ADA = next(standard for standard in builtin_standards() if standard.id == "us-ada-2010")
SANS = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False, slanted=False)


def uses_of(**changes):
    from attrs import evolve

    return {use.section: use for use in font_uses(evolve(SANS, **changes), [ADA])}


def outcome(use, quantity):
    [clause] = [each for each in use.clauses if each.row.quantity == quantity]
    return clause.outcome


def test_sizes_are_those_of_the_height_of_capitals():
    """703.2.5: 5/8 in to 2 in; with capitals of 0.7 em that is an em of 22.679 mm to 72.571 mm."""
    raised = uses_of()["raised"]
    assert raised.possible
    assert (raised.least, raised.most) == pytest.approx((15.875 / 0.7, 50.8 / 0.7))
    visual = uses_of()["visual"]
    # 703.5.5: 5/8 in at least, for letters read from nearby.
    assert (visual.least, visual.most) == (pytest.approx(15.875 / 0.7), None)


@pytest.mark.parametrize(
    ("changes", "quantity", "raised", "visual"),
    [
        ({"stroke_share": 0.15}, "stroke", "met", "met"),
        ({"stroke_share": 0.16}, "stroke", "not met", "met"),
        ({"stroke_share": 0.09}, "stroke", "met", "not met"),
        ({"stroke_share": 0.31}, "stroke", "not met", "not met"),
        ({"width_share": 0.54}, "width", "not met", "not met"),
        ({"width_share": 1.1}, "width", "met", "met"),
        ({"width_share": 1.11}, "width", "not met", "not met"),
        ({"width_share": None}, "width", "not known", "not known"),
        ({"serif": True}, "style", "not met", "met"),
        ({"slanted": True}, "style", "not met", "not met"),
        ({"flourish": "script"}, "style", "not met", "not met"),
        ({"serif": None}, "style", "not known", "not known"),
    ],
)
def test_clauses(changes, quantity, raised, visual):
    uses = uses_of(**changes)
    for section, expected in (("raised", raised), ("visual", visual)):
        assert outcome(uses[section], f"{section}.{quantity}") == expected
        assert uses[section].possible == (expected != "not met")


def test_a_font_without_letters_is_not_known():
    uses = font_uses(FontMeasures("Invented Arrows"), [ADA])
    assert {clause.outcome for use in uses for clause in use.clauses} == {"not known"}
    assert all((use.least, use.most) == (None, None) for use in uses)


def test_the_report_says_sizes_in_both_units():
    text = font_text(SANS, font_uses(SANS, [ADA]))
    assert "us-ada-2010, raised characters: can be met at sizes from 22.68 mm (64.3 pt)" in text
    assert "raised.stroke at most 15 % of raised.height (703.2.6): met, 13.0 %" in text
    assert "authority having jurisdiction" in text
    bold = uses_of(stroke_share=0.2)
    assert "raised characters: cannot be met" in font_text(SANS, tuple(bold.values()))


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (None, None, "at any size"),
        (25.4, None, "at sizes from 25.40 mm (72.0 pt) on"),
        (None, 25.4, "at sizes up to 25.40 mm (72.0 pt)"),
    ],
)
def test_sizes_in_words(least, most, words):
    assert sizes_text(least, most) == words


def test_plain_data_has_every_clause():
    data = font_to_dict(SANS, font_uses(SANS, [ADA]))
    assert data["font"]["stroke_share"] == 0.13
    rows = {clause["quantity"] for use in data["uses"] for clause in use["clauses"]}
    assert {"raised.stroke", "raised.height", "visual.width", "visual.style"} <= rows


def test_sizes_that_exclude_each_other_cannot_be_met():
    """An invented table: letters up to 10 mm whose strokes are at least 3 mm."""
    from signrules.standards.dimension_tables import read_standard

    rows = "".join(
        f'''[[rows]]
quantity = "raised.{name}"
{end} = "{limit}"
clause = "1"
source = "invented"
standing = "from memory"
'''
        for name, end, limit in (("height", "most", "10 mm"), ("stroke", "least", "3 mm"))
    )
    head = 'id = "house"\ntitle = "House"\npublisher = "nobody"\nunit = "mm"\n'
    [use] = font_uses(SANS, [read_standard(head + rows, "house.toml")])
    assert not use.possible
    # By hand: 3 mm over 13 % of capitals of 0.7 em, and 10 mm over 0.7 em.
    assert (use.least, use.most) == pytest.approx((3 / 0.13 / 0.7, 10 / 0.7))
