"""The case of raised characters: 2010 ADA Standards, 703.2.2, asks for capitals."""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm

from signrules.model.sign import Raised, Sign, Visual

SIGN = Sign("door", kind="permanent-room", raised=Raised(height=mm(20)))


def found(text, case=None, **changes):
    sign = evolve(SIGN, text=tuple(text), raised=Raised(height=mm(20), case=case), **changes)
    checks = judged(job_of(sign), ada(), rule="raised.case")
    return [(check.outcome.value, check.level.value) for check in checks]


@pytest.mark.parametrize(
    ("text", "case", "expected"),
    [
        (["LIBRARY"], None, [("MET", "STOP")]),
        (["LIBRARY"], "upper", [("MET", "STOP")]),
        (["Library"], None, [("BROKEN", "STOP")]),
        (["Library"], "upper", [("BROKEN", "STOP")]),
        (["Library"], "mixed", [("BROKEN", "STOP")]),
        (["LIBRARY", "west"], "upper", [("BROKEN", "STOP")]),
        (["214"], "upper", [("MET", "STOP")]),
        (["214"], None, []),
        (["ß"], None, [("UNASSESSED", "STOP")]),
        ([], None, [("UNASSESSED", "STOP")]),
        (["STRAßE"], None, [("MET", "STOP")]),
        (["LIBRARY"], "mixed", [("BROKEN", "STOP")]),
        (["LIBRARY"], "lower", [("BROKEN", "STOP"), ("BROKEN", "REVIEW")]),
    ],
)
def test_the_text_is_written_as_it_is_raised(text, case, expected):
    assert found(text, case) == expected


def test_beside_visual_characters_one_line_in_capitals_is_enough():
    visual = Visual(height=mm(16))
    assert found(["LIBRARY", "open daily"], "upper", visual=visual) == [("MET", "STOP")]
    assert found(["LIBRARY", "open daily"], visual=visual) == [("UNASSESSED", "STOP")]
    assert found(["Library", "Open daily"], "upper", visual=visual) == [("BROKEN", "STOP")]


def test_where_no_standard_decides_a_difference_is_for_review():
    sign = evolve(SIGN, text=("Library",), raised=Raised(case="upper"))
    checks = judged(job_of(sign), rule="raised.case")
    assert [(check.outcome.value, check.level.value) for check in checks] == [("BROKEN", "REVIEW")]
