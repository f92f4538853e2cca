"""What is asked of a thick sheet beside the band of a pass, which the head could hit."""

from __future__ import annotations

import tomllib

import pytest
from scenario import pass_of
from sheet.pages import EXAMPLES, of_class, tree
from sheet.test_blocks import of_kind, steps_of


def two_thicknesses():
    return tomllib.loads((EXAMPLES / "two-thicknesses.toml").read_text("utf-8"))


def thick_beside(**passes):
    """The three sheets of an example, one thick, with passes altered or added."""
    document = two_thicknesses()
    document["passes"] += passes.get("more", [])
    for name, fields in passes.get("altered", {}).items():
        pass_of(document, name).update(fields)
    return [
        block
        for block in of_kind(steps_of(document), "gap")
        if any(row.name.startswith("name-") for row in block.prints)
    ]


def asked_of_plaque(blocks):
    return [
        (tick.label, tick.otherwise)
        for block in blocks
        for tick in block.first
        if tick.label.startswith("plaque ")
    ]


def plan_of(block):
    """The plan of the first pass of a step."""
    return tree(f"<!DOCTYPE html>{block.prints[0].plan}")


def test_a_sheet_that_was_taken_off_is_not_drawn():
    ground, letters = thick_beside()
    assert ground.first[0].short == "stopped"
    # Of three sheets the plaque is gone, from the step on at which it comes off.
    for block in (ground, letters):
        swatches = of_class(plan_of(block), "swatch-box")
        sheets = [each for each in of_class(plan_of(block), "sheet") if each not in swatches]
        assert len(sheets) == 2
        assert not of_class(plan_of(block), "high")


def test_a_thick_sheet_beside_the_band_comes_off_first():
    # The head is 3.75 mm above the bed and the plaque 6 mm high, 10 mm beside the band; its one
    # pass is done. The same question is asked once.
    assert asked_of_plaque(thick_beside()) == [
        (
            "plaque is off the bed: it stands too high, and where the head parks is not known",
            "stop the machine and take it off",
        )
    ]


@pytest.mark.thorough
def test_a_thick_sheet_beside_the_band_that_is_still_to_be_printed_goes_back_on():
    rows = thick_beside(altered={"plaque-colour": {"after": ["name-letters"]}})
    ((_, otherwise),) = asked_of_plaque(rows)
    # The next pass over its place is that of the panel beside it.
    assert otherwise.startswith(
        "stop the machine and take it off; it goes back on for panel-colour ("
    )


def test_a_thick_sheet_that_must_not_move_stays_beside_the_band():
    more = {"id": "plaque-letters", "ink": "green", "media": "plaque", "after": ["name-letters"]}
    rows = thick_beside(
        altered={"name-ground": {"after": ["plaque-colour"]}},
        more=[more | {"registers_to": ["plaque-colour"]}],
    )
    # It is asked at each setting: the head comes near it again.
    asked = (
        "plaque stays, and the head keeps off it, parking too: it stands too high",
        "do not print, ask whoever stated this job",
    )
    assert asked_of_plaque(rows) == [asked, asked]
    assert len(of_class(plan_of(rows[0]), "high")) > 0


def test_a_sheet_that_was_taken_off_is_asked_for_when_it_goes_back_on():
    document = two_thicknesses()
    pass_of(document, "plaque-colour")["after"] = ["name-letters"]
    again = [
        (block.prints[0].name, tick.label)
        for block in of_kind(steps_of(document), "gap")
        for tick in block.first
        if "again" in tick.label
    ]
    assert again == [("panel-colour", "plaque is on the bed again, corner at x 300, y 50")]
