"""Signs that a trial let pass, or stopped, without ground.

Clauses are those of the 2010 ADA Standards, as in docs/standards.md.
"""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve
from rules.drawn_signs import DOTS, LETTERS, SIGN, at
from scenario import sign_job
from standards.signs import ada, job_of, judged, mm

import signrules
from signrules.model import Braille, Mounting, Raised, Sign, Visual
from signrules.model.sign import Surface

ROOM = evolve(SIGN, kind="permanent-room")


def stops(document: dict[str, Any]) -> set[tuple[str, str]]:
    """The checks of level STOP that are not met, by rule and outcome."""
    found = signrules.evaluate(signrules.job_from_dict(document)).checks
    return {
        (check.rule, check.outcome.value)
        for check in found
        if check.level.value == "STOP" and check.outcome.value != "MET"
    }


@pytest.mark.parametrize("below", [41.7, 42.7])
def test_letters_that_touch_the_braille_or_lie_over_it_have_no_clear_space(below):
    # 703.3.2: letters fill 48 to 73 mm, and dots of 6.3 mm begin at 41.7 mm or higher.
    dots = at(DOTS, (40, below, 60, 6.3))
    checks = judged(job_of(ROOM, passes=(dots, LETTERS)), ada(), rule="drawing.clear-space")
    assert ("BROKEN", "STOP") in {(one.outcome.value, one.level.value) for one in checks}


@pytest.mark.parametrize("section", ["raised", "visual", "braille"])
def test_the_spacing_of_one_line_is_worth_no_more_than_a_note(section):
    # 703.2.8 and 703.5.9: 135 to 170 % of the height, between lines of text.
    part = {
        "raised": Raised(height=mm(25), line_spacing=mm(100)),
        "visual": Visual(height=mm(25), line_spacing=mm(100)),
        "braille": Braille(cells="⠑⠭⠊⠞", line_spacing=mm(30)),
    }[section]
    for text, level in ((("EXIT",), "NOTE"), (("EXIT", "STAIR"), "STOP")):
        if section == "braille" and len(text) > 1:
            part = evolve(part, cells="⠑⠭⠊⠞\n⠎⠞⠁⠊⠗")
        sign = Sign("door", text=text, **{section: part})
        (check,) = judged(job_of(sign), ada(), rule=f"{section}.line-spacing")
        assert (check.outcome.value, check.level.value) == ("BROKEN", level)


def test_a_flat_sign_is_not_asked_how_high_its_tactile_characters_are():
    hung = Mounting(centre=mm(1500))
    flat = Sign("door", kind="informational", text=("STAIR",), visual=Visual(), mounting=hung)
    found = judged(job_of(flat), ada())
    assert not [check for check in found if check.rule.startswith("mounting.")]
    tactile = evolve(flat, kind="permanent-room", raised=Raised())
    missing = {check.missing for check in judged(job_of(tactile), ada())}
    assert "signs.door.mounting.lowest_tactile" in missing


def test_a_control_of_a_lift_needs_no_section_of_which_no_row_binds_it():
    # 703.4.1 lets the controls of a car go.
    control = Sign("door", kind="car-control", text=("4",), raised=Raised(), surface=Surface())
    for sign, asked in ((control, False), (evolve(control, kind="permanent-room"), True)):
        job = evolve(job_of(sign), standards=("us-ada-2010",))
        missing = {check.missing for check in signrules.evaluate(job).checks}
        assert ("signs.door.mounting" in missing) is asked


def shared_pass(layers: int) -> dict[str, Any]:
    """Two signs of stated heights whose dots one pass builds; where each lies is left out."""
    document = sign_job()
    (sign,) = document["signs"]
    sign["braille"]["dot_height"] = "0.8 mm"
    other = {**sign, "id": "other"}
    document["signs"] = [sign, other]
    dots = next(one for one in document["passes"] if one["id"] == "dots")
    dots |= {"layers": layers, "builds": ["room.braille", "other.braille"]}
    return document


def test_what_is_stated_of_dots_does_not_stand_for_dots_that_nobody_can_find():
    # Five layers of 0.03 mm are 0.15 mm: table 703.3.1 asks for 0.025 in (0.635 mm).
    assert ("braille.dot-height", "UNASSESSED") in stops(shared_pass(5))


def test_a_pass_with_no_area_on_a_sign_that_it_is_said_to_build_stops():
    document = shared_pass(24)
    for number, sign in enumerate(document["signs"]):
        sign["area"] = [10 + 95 * number, 10, 90, 150]
    found = stops(document)
    assert ("drawing.place", "BROKEN") in found
    assert not signrules.evaluate(signrules.job_from_dict(document)).faults
