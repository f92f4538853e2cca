"""Rows that bind some signs and not others.

Sources: 2010 ADA Standards, 216.1, exceptions 1 and 3 (signs that section 216 does not bind), 216.2
with 703.6.1 (pictograms that designate a room), 703.2.5, 703.3.2 and 703.4.1, exceptions.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm

from signrules.model.sign import Braille, Mounting, Pictogram, Raised, Sign, Surface, Visual

UNBOUND = [
    "directory",
    "menu",
    "seat",
    "occupant-name",
    "address",
    "company-name",
    "temporary",
]
# Each part breaks section 703 where it binds: 12 mm is less than 5/8 in, and gloss is no finish.
SMALL = Sign(
    "door",
    raised=Raised(height=mm(12), case="mixed"),
    visual=Visual(height=mm(12), above_floor=mm(900), viewing_distance=mm(1000)),
    surface=Surface("gloss", 50, 50),
)


def broken(sign: Sign) -> set[str]:
    found = judged(job_of(sign), ada())
    return {check.rule for check in found if check.outcome == "BROKEN"}


@pytest.mark.parametrize("kind", UNBOUND)
def test_a_kind_that_section_216_exempts_is_held_to_no_dimension(kind):
    checks = judged(job_of(evolve(SMALL, kind=kind)), ada())
    assert [(check.rule, check.outcome) for check in checks if check.missing] == []
    assert broken(evolve(SMALL, kind=kind)) == set()


@pytest.mark.parametrize("kind", ["permanent-room", "informational", None, "zzz"])
def test_every_other_kind_is_held_to_them(kind):
    found = broken(evolve(SMALL, kind=kind))
    assert {"raised.height", "raised.case", "finish.glare", "contrast.polarity"} <= found


@pytest.mark.parametrize(
    ("kind", "expected"), [("permanent-room", True), ("informational", False), (None, True)]
)
def test_the_field_of_a_pictogram_binds_one_that_designates_a_room(kind, expected):
    sign = Sign("door", kind=kind, pictogram=Pictogram(mm(100)))
    assert ("pictogram.field-height" in broken(sign)) is expected


def test_a_pictogram_alone_needs_no_visual_characters():
    sign = Sign("door", kind="informational", pictogram=Pictogram(mm(100)))
    checks = judged(job_of(sign), ada(), rule="tables.section")
    lacking = {check.missing for check in checks if check.missing}
    assert "signs.door.visual" not in lacking


# 1/2 in is 12.7 mm, 5/8 in 15.875 mm.
@pytest.mark.parametrize(
    ("height", "repeats", "expected"),
    [(12.7, "raised", False), (12.6, "raised", True), (12.7, None, True)],
)
def test_raised_characters_may_be_half_an_inch_beside_visual_ones(height, repeats, expected):
    visual = Visual(height=mm(40), repeats=repeats)
    sign = Sign("door", kind="permanent-room", raised=Raised(height=mm(height)), visual=visual)
    assert ("raised.height" in broken(sign)) is expected


def test_visual_characters_that_repeat_are_not_let_off_as_the_raised_ones():
    # Strokes of 40 % break 703.5.7; the exception of 703.5 lets off the raised characters alone.
    same = {"height": mm(20), "stroke": mm(8)}
    braille = Braille("⠑⠭⠊⠞")
    sign = Sign("door", raised=Raised(**same), visual=Visual(**same), braille=braille)
    assert "visual.stroke" not in broken(sign)
    repeated = evolve(sign, visual=Visual(**same, repeats="raised"))
    assert "visual.stroke" in broken(repeated)


# 3/16 in is 4.7625 mm.
@pytest.mark.parametrize(
    ("kind", "space", "expected"),
    [
        ("car-control", 4.8, set()),
        ("car-control", 4.7, {"braille.clear-space"}),
        ("permanent-room", 4.8, {"braille.clear-space", "braille.position", "mounting.lowest"}),
    ],
)
def test_controls_in_a_lift_may_stand_closer_beside_and_at_any_height(kind, space, expected):
    braille = Braille("⠌⠕⠏", clear_space=mm(space), position="beside")
    hung = Mounting(lowest_tactile=mm(900), highest_tactile=mm(950))
    sign = Sign("door", kind=kind, braille=braille, mounting=hung)
    rules = {"braille.clear-space", "braille.position", "mounting.lowest", "mounting.highest"}
    assert broken(sign) & rules == expected
