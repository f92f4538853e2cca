"""Heights of characters and places of signs, as stated and as drawn."""

from __future__ import annotations

import pytest
from attrs import evolve
from rules.drawn_signs import DOTS, LETTERS, SIGN, SILENT, at, fitted, found, outcomes, stating
from standards.signs import job_of, judged, mm

from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Raised, Sign, Visual

# --- heights -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height", "areas", "outcome"),
    [
        (mm(25), [(40, 48, 100, 25)], "MET"),
        (mm(25), [(40, 48, 100, 24.96)], "MET"),
        (mm(25), [(40, 48, 100, 24.9)], "BROKEN"),
        (mm(16), [(40, 48, 100, 25)], "MET"),
        (Interval(24, 25, 26), [(40, 48, 100, 25)], "MET"),
        (Interval(24, 26, 28), [(40, 48, 100, 25)], "MET"),
        (Interval(25.2, 26, 26.8), [(40, 48, 100, 25)], "BROKEN"),
        (mm(25), [(40, 48, 100, 12.5), (40, 60.5, 100, 12.5)], "MET"),
        (mm(25), [(40, 48, 100, 12.5), (40, 70, 100, 12.5)], "BROKEN"),
    ],
)
def test_letters_go_into_their_areas(height, areas, outcome):
    sign = evolve(SIGN, raised=Raised(height=height))
    (check,) = found("raised-height", sign, at(LETTERS, *areas))
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


SPACED = Raised(height=mm(25), line_spacing=mm(37))


@pytest.mark.parametrize(("room", "broken"), [(62, False), (61, True)])
def test_all_lines_go_into_the_areas(room, broken):
    # From the foot of the second line to the head of the first: 37 + 25 mm.
    sign = Sign("room", text=("ROOM 214", "", "West"), raised=SPACED)
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
    sign = Sign("room", text=("ROOM 214", "West"), raised=SPACED)
    assert len(found("raised-height", sign, at(LETTERS, (40, 48, 100, 61)))) == 2
    assert len(found("raised-height", evolve(sign, **change), at(LETTERS, (40, 48, 100, 61)))) == 1


def test_visual_characters_go_into_their_areas():
    sign = Sign("room", text=("ROOM 214",), visual=Visual(height=mm(30)))
    words = Pass("words", "black", builds=("room.visual",), areas=(Area(40, 48, 100, 25),))
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

    assert fit("right") == ["MET", "MET"]
    assert fit("far") == ["BROKEN", "MET"]


def test_heights_that_are_not_stated_or_not_drawn():
    assert found("raised-height", Sign("room"), LETTERS) == found("raised-height", SIGN, DOTS) == []
    assert found("raised-height", SILENT, LETTERS) == []


# --- places --------------------------------------------------------------------------------------

EAST = (at(DOTS, (110, 30, 60, 8)), at(LETTERS, (110, 48, 80, 25)))


def other(item):
    """The same for another sign."""
    return evolve(
        item, id=f"{item.id}-b", builds=tuple(each.replace("room", "b") for each in item.builds)
    )


WEST = (at(DOTS, (10, 30, 60, 8)), at(LETTERS, (10, 48, 80, 25)))
A, B = SIGN, evolve(SIGN, id="b")


def places(signs, *passes):
    return judged(job_of(*signs, passes=passes), rule="drawing.place")


def test_signs_beside_each_other():
    checks = places((A, B), *WEST, *map(other, EAST))
    assert [check.subjects[0] for check in checks] == ["signs.room", "signs.b"]
    assert outcomes(checks) == ["MET", "MET"]
    assert [check.measured.nominal for check in checks] == [20, 20]


def test_dots_that_are_printed_among_the_letters_of_another_sign():
    # The dots of the two signs have been exchanged; no area lies on another.
    checks = places((A, B), EAST[0], WEST[1], other(WEST[0]), other(EAST[1]))
    assert outcomes(checks) == ["BROKEN", "BROKEN"]
    assert {check.level.value for check in checks} == {"STOP"}
    # From x = 20 to 60 and y = 30 to 73 mm of the other: worked out in `places` above.
    assert "its braille is drawn on b ('ROOM 214'). Check which sign" in checks[0].message


def test_a_sign_that_only_reaches_over_the_next_one_is_for_review():
    # Its letters reach 5 mm into those of the next sign, and all of it lies nearest to its own.
    wide = (WEST[0], at(LETTERS, (10, 48, 105, 25)))
    checks = places((A, B), *wide, *map(other, EAST))
    assert {check.level.value for check in checks} == {"REVIEW"}
    assert "what is built of it overlaps b ('ROOM 214') by 5 mm. Check" in checks[0].message


def test_braille_in_the_area_of_another_sign_stops():
    # The sign states where it lies, and its dots are drawn where the other states to lie.
    first, second = evolve(A, area=Area(0, 0, 100, 200)), evolve(B, area=Area(100, 0, 100, 200))
    checks = places((first, second), EAST[0], WEST[1])
    stops = [check for check in checks if check.level.value == "STOP"]
    assert {check.outcome.value for check in stops} == {"BROKEN"}
    assert "reach over the edge of the sign by" in stops[0].message
    assert "its braille is drawn on b" in stops[0].message


def test_signs_above_each_other():
    high = (at(DOTS, (10, 90, 60, 8)), at(LETTERS, (10, 108, 80, 25)))
    (check, _) = places((A, B), *WEST, *map(other, high))
    assert (check.outcome.value, check.measured.nominal) == ("MET", 17)


def test_the_nearest_of_several_signs_stands_for_all():
    third = evolve(SIGN, id="c")
    far = at(DOTS, (10, 150, 20, 8), id="dots-c", builds=("c.braille",))
    first = places((A, B, third), *WEST, *map(other, EAST), far)[0]
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
