"""Figures whose unit was most likely left out. Usual sizes are those that the model declares."""

from __future__ import annotations

import pytest
from standards.signs import job_of, judged, mm

from signrules.model.sign import Braille, Mounting, Raised, Sign, Surface


def units(**parts):
    (check,) = judged(job_of(Sign("door", **parts)), rule="drawing.units")
    return check


def test_inches_without_a_unit_are_told_once():
    check = units(
        braille=Braille(cell_spacing=mm(0.25)),
        raised=Raised(height=mm(0.625), stroke=mm(3)),
        mounting=Mounting(lowest_tactile=mm(48)),
    )
    assert (check.outcome.value, check.level.value, check.measured.nominal) == (
        "BROKEN",
        "REVIEW",
        3,
    )
    assert "braille.cell_spacing is 0.25 mm, raised.height is 0.625 mm and" in check.message
    assert "mounting.lowest_tactile is 48 mm: if inches were meant, write the unit." in (
        check.message
    )


@pytest.mark.parametrize(
    "part",
    [
        # Usual as they are; unusual, and in inches too; without a usual size.
        {"raised": Raised(height=mm(16))},
        {"mounting": Mounting(lowest_tactile=mm(10))},
        {"raised": Raised(height=mm(500))},
        {"surface": Surface(character_lrv=80, background_lrv=0.5)},
        {"surface": Surface(character_lrv=0, background_lrv=0)},
        {"surface": Surface(character_lrv=0.8)},
        {},
    ],
)
def test_what_is_usual_or_unusual_in_inches_too_is_let_pass(part):
    assert units(**part).outcome.value == "MET"


def test_reflectances_as_shares():
    check = units(surface=Surface(character_lrv=0.8, background_lrv=0.07))
    assert "surface.character_lrv is 0.8 and surface.background_lrv is 0.07: these go from 0" in (
        check.message
    )


def test_many_figures_are_named_in_part():
    raised = Raised(
        height=mm(1), width=mm(0.8), line_spacing=mm(1.5), stroke=mm(0.12), spacing=mm(0.2)
    )
    assert "and 1 more: if inches were meant" in units(raised=raised).message
