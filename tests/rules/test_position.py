"""Where braille lies: 2010 ADA Standards, 703.3.2, below the text that it repeats."""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm

from signrules.model.passes import Area, Pass
from signrules.model.sign import Braille, Raised, Sign


def position(sign: Sign, *passes: Pass):
    room = evolve(sign, kind="permanent-room")
    return judged(job_of(room, passes=passes), ada(), rule="braille.position")


@pytest.mark.parametrize(
    ("braille", "outcome"),
    [
        (Braille(position="below"), "MET"),
        (Braille(position="above"), "BROKEN"),
        (Braille(position="beside"), "BROKEN"),
        (Braille(below_text=mm(10)), "MET"),
        (Braille(below_text=mm(10), position="above"), "BROKEN"),
    ],
)
def test_what_the_sign_states_is_judged(braille, outcome):
    (check,) = position(Sign("door", braille=braille))
    assert (check.outcome.value, check.level.value) == (outcome, "STOP")
    assert ", 703.3.2" in check.source.text


def test_a_place_that_nothing_tells_is_not_assessed():
    (check,) = position(Sign("door", raised=Raised(), braille=Braille()))
    assert (check.outcome.value, check.missing) == ("UNASSESSED", "signs.door.braille.position")


def built(*parts: str) -> list[Pass]:
    return [
        Pass(part, "clear", areas=(Area(0, 0, 10, 10),), builds=(f"door.{part}",)) for part in parts
    ]


def test_where_passes_build_both_their_areas_tell():
    sign = Sign("door", raised=Raised(), braille=Braille())
    assert position(sign, *built("raised", "braille")) == []
    (check,) = position(sign, *built("braille"))
    assert check.outcome.value == "UNASSESSED"
    (check,) = position(
        Sign("door", braille=Braille(position="above")), *built("raised", "braille")
    )
    assert check.outcome.value == "BROKEN"


def test_a_sign_without_braille_has_no_place_for_it():
    assert position(Sign("door", raised=Raised())) == []
