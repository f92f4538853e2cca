"""The order of text and braille, and the gap between them, as stated and as drawn."""

from __future__ import annotations

import pytest
from attrs import evolve
from rules.drawn_signs import CELLS, DOTS, LETTERS, SIGN, SILENT, at, found, outcomes, stating
from standards.signs import ada, job_of, mm

import signrules
from signrules.model.quantities import Interval
from signrules.model.sign import Raised, Sign
from signrules.standards.dimension_tables import Row, Standard

ABOVE, BESIDE = at(DOTS, (40, 90, 60, 8)), at(DOTS, (145, 55, 50, 8))
BETWEEN = at(DOTS, (40, 84, 60, 8))

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
    (check,) = below(SIGN, ABOVE, LETTERS)
    assert (check.outcome.value, check.level.value) == ("BROKEN", "STOP")
    assert (check.measured.low, check.measured.high) == (48 - 98, pytest.approx(48 - 90 - CELLS))
    assert "Move the braille below the last line of text." in check.message
    assert "state its top" in check.message


def test_braille_beside_text_that_fills_its_area():
    assert outcomes(below(SIGN, BESIDE, LETTERS)) == ["BROKEN"]
    # Text of unknown height may stand at the top of its area, and the dots at the bottom of theirs.
    (check,) = below(SILENT, BESIDE, LETTERS)
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "STOP")
    assert "signs.room.braille.position" in check.message


@pytest.mark.parametrize("state", [{"position": "below"}, {"below_text": mm(10)}])
def test_where_the_drawing_does_not_tell_the_statement_is_believed(state):
    (check,) = below(stating(SILENT, **state), BESIDE, LETTERS)
    assert (check.outcome.value, check.level.value) == ("UNASSESSED", "REVIEW")
    assert check.missing == "signs.room.braille.position"
    assert "the place that the sign states is believed" in check.told


def test_what_is_stated_does_not_hide_what_is_drawn():
    wrong = stating(position="below", below_text=mm(10))
    assert outcomes(below(wrong, ABOVE, LETTERS)) == ["BROKEN"]


def test_braille_between_two_lines_is_not_below_the_whole_text():
    two = evolve(SIGN, text=("ROOM 214", "WEST"))
    lines = at(LETTERS, (40, 100, 100, 25), (40, 48, 100, 25))
    assert outcomes(below(two, BETWEEN, lines)) == ["BROKEN"]
    assert outcomes(below(two, DOTS, lines)) == ["MET"]
    # One area around both lines says the same, since they fill it: 25 + 52 mm.
    spaced = evolve(two, raised=Raised(height=mm(25), line_spacing=mm(52)))
    assert outcomes(below(spaced, BETWEEN, at(LETTERS, (40, 48, 100, 77)))) == ["BROKEN"]


def test_a_raised_border_below_the_braille_is_no_text():
    bordered = at(LETTERS, (40, 48, 100, 25), (10, 10, 180, 2))
    (check,) = below(SIGN, DOTS, bordered)
    assert check.outcome.value == "UNASSESSED"
    assert outcomes(below(SIGN, ABOVE, bordered)) == ["BROKEN"]
    # Where nobody says how tall letters are, the strip may hold some, and so may any other area.
    assert outcomes(below(SILENT, DOTS, bordered)) == ["UNASSESSED"]


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
    assert found("braille-below", SIGN, ABOVE, LETTERS) == []
    either = Row("braille.position", "1", "X", "read", words=("below", "beside"))
    beside = Standard("x", "X", "X", "mm", (either,))
    assert found("braille-below", SIGN, ABOVE, LETTERS, standards=(beside,)) == []
    said = {"words": ("below",), "level": "REVIEW", "note": "In lifts ask."}
    advised = Standard("x", "X", "X", "mm", (Row("braille.position", "1", "X", "read", **said),))
    (check,) = found("braille-below", SIGN, ABOVE, LETTERS, standards=(advised,))
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert check.message.endswith("In lifts ask.")


def test_each_side_of_the_sheet_is_judged():
    behind = [evolve(each, id=f"{each.id}-b", side="back") for each in (ABOVE, LETTERS)]
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
    passes = (at(DOTS, dots), at(LETTERS, letters))
    assert outcomes(below(evolve(SIGN, top=top), *passes)) == ["MET"]
    assert outcomes(below(evolve(SIGN, top=other), *passes)) == ["BROKEN"]


# --- the stated place ----------------------------------------------------------------------------


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


def test_a_place_is_stated_and_drawn_and_none_is_required():
    (check,) = found("position", stating(position="below"), ABOVE, LETTERS)
    assert "is below, and it is drawn above." in check.message
    assert "required" not in check.message


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
    assert found("position", SIGN, DOTS, LETTERS) == []
    assert found("position", Sign("room"), DOTS, LETTERS) == []
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
    job = signrules.job_from_dict(document)
    checks = signrules.evaluate(job, shop=signrules.shop_from_dict(shop)).checks
    assert outcomes([each for each in checks if each.rule == "drawing.text-gap"]) == ["MET"]


def test_a_gap_that_is_not_stated_or_not_drawn():
    assert found("text-gap", SIGN, DOTS, LETTERS) == []
    assert found("text-gap", Sign("room"), DOTS, LETTERS) == []
    assert found("text-gap", stating(below_text=mm(10)), LETTERS) == []
    (check,) = found("text-gap", stating(below_text=mm(10)), evolve(DOTS, areas=None), LETTERS)
    assert check.missing == "passes.dots.areas"
