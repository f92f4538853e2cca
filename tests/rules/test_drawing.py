"""What is stated of a sign against the areas that its passes print."""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import ada, job_of, judged, mm

import signrules
from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Raised, Sign, Visual
from signrules.standards.tables import Row, Standard

DOTS = Pass("dots", "clear", areas=(Area(40, 30, 60, 8),), builds="room.braille")
LETTERS = Pass("letters", "clear", areas=(Area(40, 48, 100, 25),), builds="room.raised")
BRAILLE = Braille(
    cells="⠗⠕⠕⠍⠀⠼⠃⠁⠙",
    dot_diameter=mm(1.5),
    dot_spacing=mm(2.4),
    cell_spacing=mm(6.2),
)
SIGN = Sign("room", text=("ROOM 214",), braille=BRAILLE, raised=Raised(height=mm(25)))
CELLS = 2 * 2.4 + 1.5
"""From the foot of the lowest dot to the head of the highest, in mm: three rows of dots."""


def found(rule, sign, *passes, standards=()):
    return judged(job_of(sign, passes=passes), *standards, rule=f"drawing.{rule}")


def stating(sign=SIGN, **braille):
    return evolve(sign, braille=evolve(sign.braille, **braille))


def at(item, *areas, **changes):
    return evolve(item, areas=tuple(Area(*area) for area in areas), **changes)


def fitted(sign, *passes):
    result = signrules.evaluate(job_of(sign, passes=passes))
    return [check for check in result.checks if check.rule == "braille.fit"]


def outcomes(checks):
    return [check.outcome.value for check in checks]


# --- below the text: 2010 ADA Standards, 703.3.2 -------------------------------------------------


def below(sign, *passes):
    return found("braille-below", sign, *passes, standards=(ada(),))


def test_braille_below_its_text():
    (check,) = below(SIGN, DOTS, LETTERS)
    assert (check.outcome.value, check.level.value) == ("MET", "STOP")
    # The areas leave 48 - 38; with the dots at the very bottom of theirs it is 48 - (30 + CELLS).
    assert (check.measured.low, check.measured.high) == (10, pytest.approx(18 - CELLS))
    assert ", 703.3.2" in check.source.text
    assert check.subjects == ("signs.room", "passes.letters", "passes.dots")


def test_braille_above_its_text():
    (check,) = below(SIGN, at(DOTS, (40, 90, 60, 8)), LETTERS)
    assert (check.outcome.value, check.level.value) == ("BROKEN", "STOP")
    assert (check.measured.low, check.measured.high) == (48 - 98, pytest.approx(48 - 90 - CELLS))
    assert "Move the braille below the last line of text." in check.message
    assert "state its top" in check.message


def test_braille_beside_text_that_fills_its_area():
    beside = at(DOTS, (145, 55, 50, 8))
    assert outcomes(below(SIGN, beside, LETTERS)) == ["BROKEN"]
    # Text of unknown height may stand at the top of its area, and the dots at the bottom of theirs.
    (check,) = below(evolve(SIGN, raised=Raised()), beside, LETTERS)
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "STOP")
    assert "signs.room.braille.position" in check.message


@pytest.mark.parametrize("state", [{"position": "below"}, {"below_text": mm(10)}])
def test_where_the_drawing_does_not_tell_the_statement_is_believed(state):
    (check,) = below(stating(evolve(SIGN, raised=Raised()), **state), at(DOTS, (145, 55, 50, 8)), LETTERS)
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "REVIEW")
    assert "passes.letters, passes.dots" in check.missing


def test_what_is_stated_does_not_hide_what_is_drawn():
    wrong = stating(position="below", below_text=mm(10))
    assert outcomes(below(wrong, at(DOTS, (40, 90, 60, 8)), LETTERS)) == ["BROKEN"]


def test_braille_between_two_lines_is_not_below_the_whole_text():
    two = evolve(SIGN, text=("ROOM 214", "WEST"))
    lines = at(LETTERS, (40, 100, 100, 25), (40, 48, 100, 25))
    assert outcomes(below(two, at(DOTS, (40, 84, 60, 8)), lines)) == ["BROKEN"]
    assert outcomes(below(two, DOTS, lines)) == ["MET"]
    # One area around both lines says the same, since they fill it: 25 + 52 mm.
    spaced = evolve(two, raised=Raised(height=mm(25), line_spacing=mm(52)))
    assert outcomes(below(spaced, at(DOTS, (40, 84, 60, 8)), at(LETTERS, (40, 48, 100, 77)))) == ["BROKEN"]


def test_a_raised_border_below_the_braille_is_no_text():
    bordered = at(LETTERS, (40, 48, 100, 25), (10, 10, 180, 2))
    (check,) = below(SIGN, DOTS, bordered)
    assert check.outcome.value == "UNASSESSED"
    assert outcomes(below(SIGN, at(DOTS, (40, 90, 60, 8)), bordered)) == ["BROKEN"]
    # Where nobody says how tall letters are, the strip may hold some, and so may any other area.
    assert outcomes(below(evolve(SIGN, raised=Raised()), DOTS, bordered)) == ["UNASSESSED"]


@pytest.mark.parametrize("left_out", ["dots", "letters"])
def test_a_pass_over_the_whole_sheet_does_not_tell(left_out):
    passes = [evolve(each, areas=None) if each.id == left_out else each for each in (DOTS, LETTERS)]
    (check,) = below(SIGN, *passes)
    assert (check.outcome.value, check.level.value, check.missing) == (
        "UNASSESSED",
        "STOP",
        f"passes.{left_out}.areas",
    )


def test_what_is_not_built_on_one_side_is_not_compared():
    assert below(SIGN, DOTS) == below(SIGN, LETTERS) == []
    assert below(SIGN, DOTS, evolve(LETTERS, side="back")) == []


def test_only_standards_that_want_it_below_judge_the_drawing():
    above = at(DOTS, (40, 90, 60, 8))
    assert found("braille-below", SIGN, above, LETTERS) == []
    either = Row("braille.position", "1", "X", "read", words=("below", "beside"))
    beside = Standard("x", "X", "X", "mm", (either,))
    assert found("braille-below", SIGN, above, LETTERS, standards=(beside,)) == []
    advised = Row("braille.position", "1", "X", "read", words=("below",), level="REVIEW", note="In lifts ask.")
    (check,) = found(
        "braille-below",
        SIGN,
        above,
        LETTERS,
        standards=(Standard("x", "X", "X", "mm", (advised,)),),
    )
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert check.message.endswith("In lifts ask.")


def test_each_side_of_the_sheet_is_judged():
    behind = [evolve(each, id=f"{each.id}-behind", side="back") for each in (at(DOTS, (40, 90, 60, 8)), LETTERS)]
    assert outcomes(below(SIGN, DOTS, LETTERS, *behind)) == ["MET", "BROKEN"]


@pytest.mark.parametrize(
    ("top", "dots", "letters"),
    [
        ("far", (40, 30, 60, 8), (40, 48, 100, 25)),
        ("near", (40, 90, 60, 8), (40, 48, 100, 25)),
        ("left", (90, 40, 8, 60), (48, 40, 25, 100)),
        ("right", (30, 40, 8, 60), (48, 40, 25, 100)),
    ],
)
def test_a_sign_that_lies_turned(top, dots, letters):
    tops = {"far", "near"} if top in ("far", "near") else {"left", "right"}
    (other,) = tops - {top}
    assert outcomes(below(evolve(SIGN, top=top), at(DOTS, dots), at(LETTERS, letters))) == ["MET"]
    assert outcomes(below(evolve(SIGN, top=other), at(DOTS, dots), at(LETTERS, letters))) == ["BROKEN"]


# --- the stated place ----------------------------------------------------------------------------

ABOVE, BESIDE = at(DOTS, (40, 90, 60, 8)), at(DOTS, (145, 55, 50, 8))


@pytest.mark.parametrize(
    ("dots", "agrees"),
    [
        (DOTS, {"below"}),
        (ABOVE, {"above"}),
        (BESIDE, {"beside"}),
        (at(DOTS, (145, 30, 50, 43)), {"below", "beside"}),
    ],
)
@pytest.mark.parametrize("place", ["below", "above", "beside"])
def test_the_stated_place_is_that_of_the_drawing(place, dots, agrees):
    (check,) = found("position", stating(position=place), dots, LETTERS)
    assert (check.outcome.value, check.level.value) == (
        "MET" if place in agrees else "BROKEN",
        "REVIEW",
    )


@pytest.mark.parametrize(
    ("dots", "said"),
    [
        (DOTS, "The areas have it 10 to 11.7 mm below the text."),
        (ABOVE, "The areas have it 17 to 18.7 mm above the text."),
        (BESIDE, "The areas have it at the height of the text."),
    ],
)
def test_a_place_that_is_wrong_is_told_with_the_drawn_gap(dots, said):
    place = "above" if dots is DOTS else "below"
    (check,) = found("position", stating(position=place), dots, LETTERS)
    assert said in check.message


def test_a_place_that_is_not_stated_or_not_drawn():
    assert found("position", SIGN, DOTS, LETTERS) == found("position", Sign("room"), DOTS, LETTERS) == []
    assert found("position", stating(position="below"), DOTS) == []
    (check,) = found("position", stating(position="below"), DOTS, evolve(LETTERS, areas=None))
    assert (check.outcome.value, check.missing) == ("UNASSESSED", "passes.letters.areas")


# --- the stated gap ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gap", "outcome"),
    [
        (mm(10), "MET"),
        (mm(18 - CELLS), "MET"),
        (mm(9.95), "MET"),  # Rounded to a tenth.
        (mm(9.94), "BROKEN"),
        (mm(18 - CELLS + 0.05), "MET"),
        (mm(18 - CELLS + 0.06), "BROKEN"),
        (Interval(8, 9, 10), "MET"),
        (Interval(8, 9, 9.94), "BROKEN"),
        (Interval(11, 13, 15), "MET"),
        (Interval(12, 13, 14), "BROKEN"),
    ],
)
def test_the_stated_gap_is_one_that_the_areas_leave(gap, outcome):
    (check,) = found("text-gap", stating(below_text=gap), DOTS, LETTERS)
    assert (check.outcome.value, check.level.value) == (outcome, "REVIEW")


def test_a_gap_that_disagrees_is_told_with_both_numbers():
    (check,) = found("text-gap", stating(below_text=mm(14)), DOTS, LETTERS)
    assert "is 14 mm (the areas leave 10 to 11.7 mm): 2.25 mm too much" in check.message
    (check,) = found("text-gap", stating(below_text=mm(9)), DOTS, LETTERS)
    assert "is 9 mm (the areas leave 10 to 11.7 mm): 0.95 mm too little" in check.message


def test_an_area_larger_than_its_letters_leaves_room_for_the_gap():
    # Letters of 25 mm may stand anywhere in an area of 40 mm, up to 15 mm from its foot.
    roomy = at(LETTERS, (40, 48, 100, 40))
    assert outcomes(found("text-gap", stating(below_text=mm(24)), DOTS, roomy)) == ["MET"]
    assert outcomes(found("text-gap", stating(below_text=mm(28)), DOTS, roomy)) == ["BROKEN"]
    assert outcomes(found("text-gap", stating(below_text=mm(9)), DOTS, roomy)) == ["BROKEN"]


def test_a_shop_sets_how_much_rounding_may_do():
    document = signrules.job_to_dict(job_of(stating(below_text=mm(14)), passes=(DOTS, LETTERS)))
    shop = {
        "signrules": 1,
        "rules": {"drawing": {"text-gap": {"settings": {"rounding": "2.5 mm"}}}},
    }
    result = signrules.evaluate(signrules.job_from_dict(document), shop=signrules.shop_from_dict(shop))
    assert outcomes([each for each in result.checks if each.rule == "drawing.text-gap"]) == ["MET"]


def test_a_gap_that_is_not_stated_or_not_drawn():
    assert found("text-gap", SIGN, DOTS, LETTERS) == found("text-gap", Sign("room"), DOTS, LETTERS) == []
    assert found("text-gap", stating(below_text=mm(10)), LETTERS) == []
    (check,) = found("text-gap", stating(below_text=mm(10)), evolve(DOTS, areas=None), LETTERS)
    assert check.missing == "passes.dots.areas"


# --- heights -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height", "areas", "outcome"),
    [
        (mm(25), [(40, 48, 100, 25)], "MET"),
        (mm(25), [(40, 48, 100, 24.96)], "MET"),
        (mm(25), [(40, 48, 100, 24.9)], "BROKEN"),
        (mm(16), [(40, 48, 100, 25)], "MET"),
        (Interval(24, 25, 26), [(40, 48, 100, 25)], "DOUBTFUL"),
        (mm(25), [(40, 48, 100, 12.5), (40, 60.5, 100, 12.5)], "MET"),
        (mm(25), [(40, 48, 100, 12.5), (40, 70, 100, 12.5)], "BROKEN"),
    ],
)
def test_letters_go_into_their_areas(height, areas, outcome):
    (check,) = found("raised-height", evolve(SIGN, raised=Raised(height=height)), at(LETTERS, *areas))
    assert (check.outcome.value, check.level.value) == (outcome, "REVIEW")


def test_letters_that_are_too_tall_are_told_with_both_numbers():
    (check,) = found("raised-height", SIGN, at(LETTERS, (40, 48, 100, 20)))
    assert "is 25 mm (the areas leave 20 mm): 4.95 mm too much" in check.message


@pytest.mark.parametrize(
    ("text", "case", "judged"),
    [
        (("ROOM",), None, True),
        (("room",), "upper", True),
        (("214",), None, True),
        ((), None, True),
        (("room", "West"), None, True),
        (("room",), None, False),
        (("ROOM",), "lower", False),
    ],
)
def test_text_without_capitals_may_be_lower(text, case, judged):
    sign = Sign("room", text=text, raised=Raised(height=mm(25), case=case))
    checks = found("raised-height", sign, at(LETTERS, (40, 48, 100, 18)))
    assert outcomes(checks) == (["BROKEN"] if judged else [])


@pytest.mark.parametrize(("room", "broken"), [(62, False), (61, True)])
def test_all_lines_go_into_the_areas(room, broken):
    # From the foot of the second line to the head of the first: 37 + 25 mm.
    sign = Sign("room", text=("ROOM 214", "", "West"), raised=Raised(height=mm(25), line_spacing=mm(37)))
    one, several = found("raised-height", sign, at(LETTERS, (40, 48, 100, room)))
    assert (one.outcome.value, several.outcome.value) == ("MET", "BROKEN" if broken else "MET")
    assert "of 2 lines of raised characters is 62 mm" in several.message


@pytest.mark.parametrize(
    "change",
    [
        {"text": ("ROOM 214",)},
        {"raised": Raised(height=mm(25))},
        {"text": ("room", "West")},
        {"visual": Visual()},
    ],
)
def test_lines_whose_height_cannot_be_told_are_not_judged(change):
    sign = Sign("room", text=("ROOM 214", "West"), raised=Raised(height=mm(25), line_spacing=mm(37)))
    assert len(found("raised-height", sign, at(LETTERS, (40, 48, 100, 61)))) == 2
    assert len(found("raised-height", evolve(sign, **change), at(LETTERS, (40, 48, 100, 61)))) == 1


def test_visual_characters_go_into_their_areas():
    sign = Sign("room", text=("ROOM 214",), visual=Visual(height=mm(30)))
    words = Pass("words", "black", builds="room.visual", areas=(Area(40, 48, 100, 25),))
    assert outcomes(found("visual-height", sign, words)) == ["BROKEN"]
    assert outcomes(found("visual-height", sign, at(words, (40, 48, 100, 30)))) == ["MET"]
    # Letters that are left open in a ground, or printed somewhere on the sheet.
    assert outcomes(found("visual-height", sign, evolve(words, areas=None))) == ["MET"]


def test_letters_of_a_sign_that_lies_on_its_side():
    sign = evolve(SIGN, top="left")
    assert outcomes(found("raised-height", sign, at(LETTERS, (40, 48, 25, 100)))) == ["MET"]
    assert outcomes(found("raised-height", sign, at(LETTERS, (40, 48, 100, 24)))) == ["MET"]
    assert outcomes(found("raised-height", sign, at(LETTERS, (40, 48, 24, 100)))) == ["BROKEN"]


def test_cells_of_a_sign_that_lies_on_its_side():
    def fit(top):
        sign = evolve(stating(clear_space=mm(10)), top=top)
        return outcomes(fitted(sign, at(DOTS, (40, 30, 8, 60))))

    assert fit("right") == ["MET", "MET", "MET"]
    assert fit("far") == ["BROKEN", "MET", "MET"]


def test_heights_that_are_not_stated_or_not_drawn():
    assert found("raised-height", Sign("room"), LETTERS) == found("raised-height", SIGN, DOTS) == []
    assert found("raised-height", evolve(SIGN, raised=Raised()), LETTERS) == []


# --- places --------------------------------------------------------------------------------------

EAST = (at(DOTS, (110, 30, 60, 8)), at(LETTERS, (110, 48, 80, 25)))


def other(item):
    """The same for another sign."""
    return evolve(item, id=f"{item.id}-b", builds=item.builds.replace("room", "b"))


WEST = (at(DOTS, (10, 30, 60, 8)), at(LETTERS, (10, 48, 80, 25)))
A, B = SIGN, evolve(SIGN, id="b")


def places(signs, *passes):
    return judged(job_of(*signs, passes=passes), rule="drawing.place")


def test_signs_beside_each_other():
    checks = places((A, B), *WEST, *map(other, EAST))
    assert [(check.subjects[0], check.outcome.value, check.measured.nominal) for check in checks] == [
        ("signs.room", "MET", 20),
        ("signs.b", "MET", 20),
    ]


def test_dots_that_are_printed_among_the_letters_of_another_sign():
    # The dots of the two signs have been exchanged; no area lies on another.
    checks = places((A, B), EAST[0], WEST[1], other(WEST[0]), other(EAST[1]))
    assert outcomes(checks) == ["BROKEN", "BROKEN"]
    assert {check.level.value for check in checks} == {"REVIEW"}
    assert "It lies on b. Check which sign each pass builds" in checks[0].message


def test_signs_above_each_other():
    high = (at(DOTS, (10, 90, 60, 8)), at(LETTERS, (10, 108, 80, 25)))
    (check, _) = places((A, B), *WEST, *map(other, high))
    assert (check.outcome.value, check.measured.nominal) == ("MET", 17)


def test_the_nearest_of_several_signs_stands_for_all():
    third = evolve(SIGN, id="c")
    far = [evolve(at(each, (10, 150, 20, 8)), id=f"{each.id}-c", builds="c.braille") for each in WEST[:1]]
    first = places((A, B, third), *WEST, *map(other, EAST), *far)[0]
    assert first.subjects == ("signs.room", "signs.b")


@pytest.mark.parametrize(
    ("area", "by", "outcome"),
    [
        ((0, 20, 100, 70), 10, "MET"),
        ((10, 30, 80, 43), 0, "MET"),
        ((10, 30.05, 80, 43), -0.05, "MET"),
        ((10, 30.06, 80, 43), -0.06, "BROKEN"),
        ((0, 20, 50, 70), -20, "BROKEN"),
    ],
)
def test_parts_lie_on_their_sign(area, by, outcome):
    dots, letters = places((evolve(A, area=Area(*area)),), *WEST)
    assert dots.measured.nominal == pytest.approx(by)
    assert dots.outcome.value == outcome
    assert letters.subjects == ("signs.room", "passes.letters")


def test_areas_that_signs_state_do_not_overlap():
    apart = (evolve(A, area=Area(0, 0, 100, 200)), evolve(B, area=Area(100, 0, 100, 200)))
    assert set(outcomes(places(apart, *WEST, *map(other, EAST)))) == {"MET"}
    # What is built of the one lies within the area of the other, which no pass builds.
    (check, _) = places((A, evolve(B, area=Area(80, 0, 100, 200))), *WEST)
    assert (check.outcome.value, check.measured.nominal) == ("BROKEN", -10)


def test_places_on_other_sheets_and_sides_are_not_compared():
    assert places((A,), *WEST) == places((Sign("room"), Sign("b")), *WEST) == []
    behind = [evolve(other(each), side="back") for each in WEST]
    assert places((A, B), *WEST, *behind) == []
    # The area counts for the front where parts are on both sides, else for the side that has any.
    stated = evolve(A, area=Area(0, 0, 50, 50))
    back = [evolve(each, side="back") for each in WEST]
    assert outcomes(places((stated,), *back)) == ["BROKEN", "BROKEN"]
    assert outcomes(places((stated,), back[0], WEST[1])) == ["BROKEN"]


def test_a_pass_over_the_whole_sheet_tells_no_place():
    whole = evolve(LETTERS, areas=None)
    (check,) = places((A, B), whole, *map(other, EAST))
    assert check.subjects == ("signs.room",)
    assert (check.outcome.value, check.missing) == ("UNASSESSED", "passes.letters.areas")
    (check,) = places((evolve(A, area=Area(0, 0, 100, 100)),), whole)
    assert check.missing == "passes.letters.areas"


def test_the_clear_space_ends_at_the_edge_of_the_sign():
    sign = evolve(stating(clear_space=mm(10)), area=Area(0, 25, 200, 100))
    edge = fitted(sign, DOTS)[-1]
    assert "to the edge of the sign" in edge.message
    assert (edge.outcome.value, edge.measured.nominal) == ("BROKEN", 5)
