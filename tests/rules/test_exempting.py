"""Visual characters that are the raised ones: 2010 ADA Standards, 703.5, exception."""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm

from signrules.model.sign import Braille, Raised, Sign, Surface, Visual
from signrules.standards.dimension_tables import TableError, amended_tables, builtin_standards
from signrules.standards.table_reading import standard_from

CBC = amended_tables(builtin_standards())["us-ca-cbc-11b"]
# Characters of 25 mm that are read from 4 m: 5/8 in and 1/8 in for each foot beyond 72 in are 44
# mm.
SIGN = Sign(
    "room",
    text=("ROOM 214",),
    braille=Braille("⠗⠕⠕⠍"),
    raised=Raised(height=mm(25), stroke=mm(2)),
    visual=Visual(
        height=mm(25), stroke=mm(2), spacing=mm(1), viewing_distance=mm(4000), above_floor=mm(1400)
    ),
)


def visual(sign, *standards, rule="height"):
    return judged(job_of(sign), *standards or (ada(),), rule=f"visual.{rule}")


def test_characters_that_are_raised_need_not_be_as_tall_as_others():
    (check,) = visual(SIGN)
    assert (check.outcome.value, check.level.value) == ("MET", "STOP")
    assert check.source.text == f"{ada().title}, 703.5, exception"
    assert check.message == (
        "signs.room: the height of the visual characters is exempt, as that of raised characters "
        "with braille."
    )


@pytest.mark.parametrize("rule", ["width", "spacing", "line-spacing", "style", "above-floor"])
def test_each_rule_on_their_form_and_place_leaves_them_alone(rule):
    assert [check.outcome.value for check in visual(SIGN, rule=rule)] == ["MET"]


@pytest.mark.parametrize(
    "changes",
    [
        {"raised": Raised(height=mm(30), stroke=mm(2))},
        {"raised": Raised(height=mm(25), stroke=mm(3))},
        {"raised": Raised()},
        {"raised": None},
        {"braille": None},
        {"braille": Braille()},
    ],
)
def test_other_characters_are_held_to_the_distance(changes):
    (check,) = visual(evolve(SIGN, **changes))
    assert check.outcome.value == "BROKEN"
    told = "need not meet this (703.5, exception)" in check.message
    assert told is (changes.get("raised", SIGN.raised) is not None)


def test_a_stroke_that_only_one_states_tells_nothing():
    plain = evolve(SIGN, raised=Raised(height=mm(25)))
    assert [check.outcome.value for check in visual(plain)] == ["MET"]


def test_finish_and_lightness_bind_all_characters():
    """703.5.1 is not among the clauses of the exception."""
    glossy = evolve(SIGN, surface=Surface("gloss", 50.0, 50.0))
    for rule in ("finish.glare", "contrast.polarity"):
        (check,) = judged(job_of(glossy), ada(), rule=rule)
        assert check.outcome.value == "BROKEN"


def test_california_holds_strokes_to_its_own_clause():
    """11B-703.5, exception: all but 11B-703.5.7, at least 10 %; 2 mm of 25 mm are 8 %."""
    assert [check.outcome.value for check in visual(SIGN, CBC, rule="stroke")] == ["BROKEN"]
    assert [check.outcome.value for check in visual(SIGN, CBC)] == ["MET"]


def test_tables_exempt_visual_characters_alone():
    head = 'id = "x"\ntitle = "X"\npublisher = "nobody"\nunit = "mm"\n[[rows]]\nleast = "1 mm"\n'
    row = 'clause = "1"\nsource = "invented"\nstanding = "read"\nexempt_if_raised = "2"\n'
    table = standard_from(f'{head}{row}quantity = "visual.stroke"\n', "x.toml")
    assert table.rows[0].exempt_if_raised == "2"
    with pytest.raises(TableError, match="expected it for visual characters"):
        standard_from(f'{head}{row}quantity = "raised.stroke"\n', "x.toml")
