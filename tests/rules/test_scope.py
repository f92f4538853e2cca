"""Which signs need raised characters and braille: 2010 ADA Standards, section 216."""

from __future__ import annotations

import pytest
from standards.signs import ada, job_of, judged

from signrules.model.passes import Area, Pass
from signrules.model.sign import Braille, Raised, Sign, Visual
from signrules.standards.tables import Row, Standard, builtin_standards

FREE = [
    ("directional", "216.3"),
    ("informational", "216.3"),
    ("directory", "216.1"),
    ("menu", "216.1"),
    ("seat", "216.1"),
    ("occupant-name", "216.1"),
    ("address", "216.1"),
    ("company-name", "216.1"),
    ("temporary", "216.1"),
]


def scope(sign: Sign, *passes: Pass):
    return judged(job_of(sign, passes=passes), ada(), rule="scope.tactile")


def test_a_room_without_tactile_text_breaks_it():
    (check,) = scope(Sign("door", kind="permanent-room", visual=Visual()))
    assert (check.outcome.value, check.level.value, check.margin) == ("BROKEN", "STOP", -1)
    assert (check.found, check.allowed) == ("none", ("raised characters and braille",))
    assert "216.2" in check.source.text


def test_a_room_with_both_meets_it():
    (check,) = scope(Sign("door", kind="permanent-room", raised=Raised(), braille=Braille()))
    assert (check.outcome.value, check.missing) == ("MET", None)


@pytest.mark.parametrize(("there", "missing"), [("raised", "braille"), ("braille", "raised")])
def test_a_section_that_is_not_stated_is_no_proof(there, missing):
    part = {"raised": Raised(), "braille": Braille()}[there]
    (check,) = scope(Sign("door", kind="permanent-room", **{there: part}))
    assert (check.outcome.value, check.missing) == ("UNASSESSED", f"signs.door.{missing}")


def test_passes_that_build_the_text_count_as_its_section():
    area = (Area(0, 0, 10, 10),)
    passes = [Pass(part, "clear", areas=area, builds=f"door.{part}") for part in ("raised", "braille")]
    (check,) = scope(Sign("door", kind="permanent-room"), *passes)
    assert check.outcome.value == "MET"


@pytest.mark.parametrize(("kind", "clause"), FREE)
def test_other_kinds_need_none(kind, clause):
    (check,) = scope(Sign("door", kind=kind))
    assert check.outcome.value == "MET"
    assert clause in check.source.text


@pytest.mark.parametrize("kind", [None, "poetry"])
def test_a_kind_that_is_not_known_is_not_assessed(kind):
    (check,) = scope(Sign("door", kind=kind))
    assert (check.outcome.value, check.missing) == ("UNASSESSED", "signs.door.kind")
    reason = "the job does not state signs.door.kind" if kind is None else "does not speak of signs of kind poetry"
    assert reason in check.message


def test_a_table_that_says_nothing_of_scope_judges_none():
    (australia,) = (one for one in builtin_standards() if one.id == "au-aba")
    assert judged(job_of(Sign("door", kind="permanent-room")), australia, rule="scope.tactile") == []


def test_a_table_may_name_its_kinds_in_several_rows():
    rows = (
        Row("scope.tactile", "1", "X", "read", words=("permanent-room",)),
        Row("scope.tactile", "2", "X", "read", words=("exit",), level="REVIEW"),
        Row("scope.exempt", "3", "X", "read", words=("menu",)),
    )
    table = Standard("x", "X", "X", "mm", rows)

    def told(kind):
        (check,) = judged(job_of(Sign("door", kind=kind)), table, rule="scope.tactile")
        return check.outcome.value, check.level.value, check.source.text

    assert told("permanent-room") == ("BROKEN", "STOP", "X, 1")
    assert told("exit") == ("BROKEN", "REVIEW", "X, 2")
    assert told("menu") == ("MET", "STOP", "X, 3")
    assert told("seat") == ("UNASSESSED", "STOP", "X, 1")
