"""Which signs need raised characters and braille: 2010 ADA Standards, section 216."""

from __future__ import annotations

import pytest
from scenario import sign_job
from standards.signs import ada, job_of, judged

import signrules
from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Raised, Sign, Visual
from signrules.standards.dimension_tables import Row, Standard, amended_tables, builtin_standards

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
EXIT = "⠑⠭⠊⠞"
DOT = Interval.exact(1.55)


def scope(sign: Sign, *passes: Pass, rule: str = "scope.tactile"):
    return judged(job_of(sign, passes=passes), ada(), rule=rule)


def parts(checks):
    """What is asked for, and what is there instead where it is missing."""
    return {check.allowed[0]: check.found for check in checks if check.missing is None}


def builder(part: str) -> Pass:
    return Pass(part, "clear", areas=(Area(0, 0, 10, 10),), builds=(f"door.{part}",))


def exit_sign(**changes) -> Sign:
    stated = {
        "kind": "permanent-room",
        "text": ("EXIT",),
        "raised": Raised(),
        "braille": Braille(EXIT),
    }
    return Sign("door", **stated | changes)


def test_a_room_without_tactile_text_breaks_it_once_for_each_part():
    checks = scope(Sign("door", kind="permanent-room", visual=Visual()))
    assert parts(checks) == {"raised text": "missing", "braille cells": "missing"}
    for check in checks:
        assert (check.outcome.value, check.level.value, check.margin) == ("BROKEN", "STOP", -1)
        assert "216.2" in check.source.text
    text, cells = (check.message for check in checks)
    assert "is missing, raised text is required." in text
    assert "is missing, braille cells are required." in cells


def test_a_room_with_both_meets_it():
    checks = scope(exit_sign())
    assert [check.outcome.value for check in checks] == ["MET", "MET"]


@pytest.mark.parametrize(
    "braille",
    [
        None,
        Braille(),
        Braille(
            dot_diameter=DOT, dot_spacing=Interval.exact(2.4), cell_spacing=Interval.exact(6.2)
        ),
        Braille(cells=""),
        Braille(cells=" \n"),
        Braille(cells="⠀⠀"),
    ],
)
def test_sizes_and_blank_cells_are_no_braille(braille):
    raised, cells = scope(exit_sign(braille=braille))
    assert (raised.outcome.value, cells.outcome.value) == ("MET", "BROKEN")
    assert "sizes alone are no braille" in cells.message


@pytest.mark.parametrize("changes", [{"raised": None}, {"text": ()}, {"text": (" ",)}])
def test_raised_text_is_characters_that_say_something(changes):
    raised, cells = scope(exit_sign(**changes))
    assert (raised.outcome.value, cells.outcome.value) == ("BROKEN", "MET")
    assert ("signs.door.text" in raised.message) is ("text" in changes)


def test_a_pass_that_builds_the_letters_counts_and_their_sizes_are_asked_for():
    sign = exit_sign(raised=None)
    raised, cells, sizes = scope(sign, builder("raised"))
    assert (raised.outcome.value, cells.outcome.value) == ("MET", "MET")
    assert (sizes.outcome.value, sizes.level.value, sizes.missing) == (
        "UNASSESSED",
        "STOP",
        "signs.door.raised",
    )


def test_a_pass_that_builds_dots_is_no_braille_as_long_as_nobody_says_what_they_say():
    sign = exit_sign(braille=None)
    assert parts(scope(sign, builder("braille")))["braille cells"] == "missing"


@pytest.mark.parametrize("kind", ["directional", "permanent-room", None])
def test_dots_whose_cells_nobody_states_are_not_assessed(kind):
    (check,) = scope(exit_sign(kind=kind, braille=None), builder("braille"), rule="scope.unread")
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "STOP")
    assert check.missing == "signs.door.braille.cells"
    (check,) = scope(exit_sign(kind=kind), builder("braille"), rule="scope.unread")
    assert check.outcome.value == "MET"
    assert scope(exit_sign(kind=kind), rule="scope.unread") == []


@pytest.mark.parametrize(("kind", "clause"), FREE)
def test_other_kinds_need_none(kind, clause):
    (check,) = scope(Sign("door", kind=kind))
    assert check.outcome.value == "MET"
    assert clause in check.source.text


def test_exit_doors_are_tactile_and_the_row_says_that_it_is_from_memory():
    checks = scope(Sign("door", kind="exit-door"))
    assert parts(checks) == {"raised text": "missing", "braille cells": "missing"}
    assert {check.level.value for check in checks} == {"STOP"}
    assert all("216.4.1 (from memory: " in check.source.text for check in checks)


@pytest.mark.parametrize("kind", [None, "poetry"])
def test_without_a_kind_that_is_known_nothing_is_assessed_and_nothing_settled(kind):
    (check,) = scope(exit_sign(kind=kind))
    assert (check.outcome.value, check.level.value, check.missing) == (
        "UNASSESSED",
        "STOP",
        "signs.door.kind",
    )
    reason = (
        "the job does not state signs.door.kind"
        if kind is None
        else "knows no kind of sign 'poetry'"
    )
    assert reason in check.message


@pytest.mark.parametrize(
    ("kind", "near"),
    [
        ("permenent-room", "permanent-room"),
        ("Permanent-room", "permanent-room"),
        ("permanent-room ", "permanent-room"),
        ("restroom", "permanent-room"),
        ("Bathroom", "permanent-room"),
        ("exit door", "exit-door"),
        ("directionnal", "directional"),
    ],
)
def test_a_kind_that_no_table_knows_is_for_review_and_the_nearest_is_named(kind, near):
    (check,) = scope(exit_sign(kind=kind), rule="scope.kind")
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert f"The nearest is '{near}'" in check.message
    assert "which no table of the job knows" in check.message
    assert check.allowed == (near,)


KNOWN_KINDS = ["permanent-room", "exit-door", "car-control", *(kind for kind, _ in FREE)]


def test_where_nothing_is_near_all_that_is_known_is_named():
    (check,) = scope(exit_sign(kind="zzz"), rule="scope.kind")
    assert "known are 'address', 'car-control', 'company-name'" in check.message
    assert set(check.allowed) == {
        "permanent-room",
        "exit-door",
        "car-control",
        *(kind for kind, _ in FREE),
    }


@pytest.mark.parametrize(
    "kind", ["permanent-room", "exit-door", "car-control", *(kind for kind, _ in FREE)]
)
def test_a_kind_that_is_known_meets_it(kind):
    (check,) = scope(exit_sign(kind=kind), rule="scope.kind")
    assert check.outcome.value == "MET"


def test_of_a_kind_that_is_not_stated_no_word_can_be_wrong():
    assert scope(exit_sign(kind=None), rule="scope.kind") == []


@pytest.mark.parametrize("kind", ["permanent-room", "exit-door", "directional", "poetry", None])
def test_under_tables_that_say_nothing_of_kinds_what_a_sign_lacks_is_not_assessed(kind):
    (norway,) = (one for one in builtin_standards() if one.id == "no-signs")
    for lacking in ({"braille": None}, {"raised": None}, {"text": ()}):
        job = job_of(exit_sign(kind=kind, **lacking))
        (check,) = judged(job, norway, rule="scope.tactile")
        assert (check.outcome.value, check.level.value) == ("UNASSESSED", "STOP")
        assert check.missing == "signs.door.kind"
        assert "no-signs says nothing of kinds of sign" in check.message
        # One table of the job that speaks of kinds is enough.
        checks = judged(job, norway, ada(), rule="scope.tactile")
        assert all("no-signs" not in check.message for check in checks)
    assert judged(job_of(exit_sign(kind=kind)), norway, rule="scope.tactile") == []


def test_under_tables_that_say_nothing_of_kinds_a_slip_is_named_by_those_that_do():
    (norway,) = (one for one in builtin_standards() if one.id == "no-signs")
    (check,) = judged(job_of(Sign("door", kind="permenent-room")), norway, rule="scope.kind")
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert check.allowed == ("permanent-room",)
    (check,) = judged(job_of(Sign("door", kind="menu")), norway, rule="scope.kind")
    assert check.outcome.value == "MET"


@pytest.mark.parametrize("kind", ["directional", "informational"])
@pytest.mark.parametrize("built", [True, False])
def test_raised_characters_are_repeated_in_braille_though_the_sign_needs_none(kind, built):
    """2010 ADA Standards, 703.2: raised characters are duplicated in braille."""
    passes = (builder("raised"),) if built else ()
    sign = exit_sign(kind=kind, braille=None, raised=None if built else Raised())
    (check,) = scope(sign, *passes, rule="scope.repeated")
    assert (check.outcome.value, check.level.value, check.found) == ("BROKEN", "STOP", "missing")
    assert "703.2" in check.source.text
    assert "signs.door.braille.cells" in check.message
    (check,) = scope(exit_sign(kind=kind), rule="scope.repeated")
    assert check.outcome.value == "MET"
    assert scope(exit_sign(kind=kind, raised=None), rule="scope.repeated") == []


@pytest.mark.parametrize("kind", ["occupant-name", "address", "company-name", "temporary"])
def test_what_216_1_exempts_from_the_whole_section_needs_no_braille_beside_raised_characters(kind):
    assert scope(exit_sign(kind=kind, braille=None), rule="scope.repeated") == []


def test_a_room_without_braille_hears_so_once():
    sign = exit_sign(braille=None)
    assert scope(sign, rule="scope.repeated") == []
    assert parts(scope(sign))["braille cells"] == "missing"


def test_the_california_table_takes_over_that_raised_characters_are_repeated():
    tables = amended_tables(builtin_standards())
    sign = exit_sign(kind="directional", braille=None)
    (check,) = judged(job_of(sign), tables["us-ca-cbc-11b"], rule="scope.repeated")
    assert check.source.text.startswith("2010 ADA Standards for Accessible Design, 703.2")
    assert judged(job_of(sign), tables["us-adaag-1991"], rule="scope.repeated") == []


def test_a_table_may_name_its_kinds_in_several_rows():
    rows = (
        Row("scope.tactile", "1", "X", "read", words=("permanent-room",)),
        Row("scope.tactile", "2", "X", "read", words=("exit",), level="REVIEW"),
        Row("scope.exempt", "3", "X", "read", words=("menu",)),
    )
    table = Standard("x", "X", "X", "mm", rows)

    def told(kind):
        checks = judged(job_of(Sign("door", kind=kind)), table, rule="scope.tactile")
        return {(check.outcome.value, check.level.value, check.source.text) for check in checks}

    assert told("permanent-room") == {("BROKEN", "STOP", "X, 1")}
    assert told("exit") == {("BROKEN", "REVIEW", "X, 2")}
    assert told("menu") == {("MET", "STOP", "X, 3")}
    assert told("seat") == {("UNASSESSED", "STOP", "X, 1")}


def test_a_kind_that_another_table_of_the_job_knows_is_known():
    table = Standard(
        "x", "X", "X", "mm", (Row("scope.tactile", "1", "X", "read", words=("lift",)),)
    )
    (check,) = judged(job_of(Sign("door", kind="menu")), table, ada(), rule="scope.kind")
    assert check.outcome.value == "MET"


@pytest.mark.parametrize(
    ("material", "near"),
    [("acrilic", "acrylic"), ("Acrylic", "acrylic"), ("polycarb", "polycarbonate")],
)
def test_a_material_that_no_table_knows_is_for_review(material, near):
    document = sign_job()
    document["media"][0]["material"] = material
    result = signrules.evaluate(signrules.job_from_dict(document))
    (check,) = (check for check in result.checks if check.rule == "material.known")
    assert (check.outcome.value, check.level.value, check.allowed) == ("BROKEN", "REVIEW", (near,))
    assert (
        f"is '{material}', which no table of materials knows. The nearest is '{near}'"
        in check.message
    )
    assert result.ok


@pytest.mark.parametrize(("material", "expected"), [("acrylic", ["MET"]), (None, [])])
def test_a_material_that_is_known_or_not_stated(material, expected):
    document = sign_job()
    document["media"][0] |= {} if material is None else {"material": material}
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert [
        check.outcome.value for check in result.checks if check.rule == "material.known"
    ] == expected
