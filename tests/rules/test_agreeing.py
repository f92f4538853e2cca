"""What a sign states against itself and its sheet: sides, baselines, widths, sizes."""

from __future__ import annotations

import pytest
from attrs import evolve
from rules.drawn_signs import BRAILLE, DOTS, LETTERS, SIGN, at, found, outcomes, stating
from standards.signs import ada, mm

from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Mounting, Pictogram, Raised, Sign, Visual

# --- the side of the sheet -----------------------------------------------------------------------

BACK = evolve(DOTS, side="back")
WORDS = Pass("words", "black", areas=(Area(40, 48, 100, 25),), builds=("room.visual",))


def test_braille_on_the_side_of_its_raised_text():
    (check,) = found("side", SIGN, DOTS, LETTERS)
    assert (check.outcome.value, check.level.value) == ("MET", "STOP")


def test_braille_on_the_back_of_its_raised_text():
    (check,) = found("side", SIGN, BACK, LETTERS)
    assert (check.outcome.value, check.level.value) == ("BROKEN", "STOP")
    assert check.subjects == ("signs.room", "passes.dots", "passes.letters")
    assert "the braille is back, and its text is on the front." in check.message


def test_characters_that_are_read_by_eye_may_lie_behind_a_clear_sheet():
    (check,) = found("side", SIGN, BACK, WORDS)
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert "clear sheet" in check.message
    # Where there is raised text, it alone tells.
    assert outcomes(found("side", SIGN, BACK, WORDS, evolve(LETTERS, side="back"))) == ["MET"]


def test_a_sign_that_is_read_from_both_sides():
    behind = [evolve(each, id=f"{each.id}-b", side="back") for each in (DOTS, LETTERS)]
    assert outcomes(found("side", SIGN, DOTS, LETTERS, *behind)) == ["MET", "MET"]


def test_where_letters_are_glued_on_all_other_print_tells():
    ground = Pass("ground", "black")
    tops = Pass("tops", "black", areas=DOTS.areas, over=("dots",), side="back")
    (check,) = found("side", SIGN, BACK, tops, ground)
    assert (check.outcome.value, check.level.value) == ("BROKEN", "REVIEW")
    assert "and the other print of the sheet is on the front." in check.message
    assert check.subjects == ("signs.room", "passes.dots", "passes.ground")
    assert outcomes(found("side", SIGN, DOTS, ground)) == ["MET"]


def test_sides_need_braille_and_something_else():
    assert found("side", SIGN, DOTS) == found("side", SIGN, LETTERS, WORDS) == []


# --- baselines -----------------------------------------------------------------------------------

# Letters of 25 mm fill an area from 48 to 73 mm, so their baseline is at 48 mm. Dots lie from 30 to
# 38 mm and take 2 x 2.4 + 1.5 = 6.3 mm, so the foot of a cell lies from 30 to 31.7 mm, and the
# centre of its lowest dots up to 0.75 mm higher: 15.55 to 18 mm.


def hung(low, high, sign=SIGN):
    return evolve(sign, mounting=Mounting(lowest_tactile=low, highest_tactile=high))


@pytest.mark.parametrize(
    ("span", "outcome"),
    [
        (18, "MET"),
        (15.55, "MET"),
        (14.6, "MET"),
        (14.5, "BROKEN"),
        (19, "MET"),
        (19.1, "BROKEN"),
        (0, "BROKEN"),
    ],
)
def test_the_stated_baselines_are_as_far_apart_as_the_drawn_ones(span, outcome):
    (check,) = found("baselines", hung(mm(1300), mm(1300 + span)), DOTS, LETTERS)
    assert (check.outcome.value, check.level.value) == (outcome, "REVIEW")


def test_both_numbers_are_told():
    (check,) = found("baselines", hung(mm(1300), mm(1500)), DOTS, LETTERS)
    assert "is 200 mm (text and braille take 15.55 to 18 mm)" in check.message
    assert check.subjects == ("signs.room", "passes.letters", "passes.dots")


def test_tolerances_of_heights_above_the_floor_are_given_room():
    wide = Interval(1310, 1320, 1330)
    assert outcomes(found("baselines", hung(mm(1300), wide), DOTS, LETTERS)) == ["MET"]


def test_cells_whose_last_dots_stand_high():
    # One row of dots, 1.5 mm: its foot lies from 30 to 36.5 mm, and the foot of the cell two rows
    # of 2.4 mm lower or more, so the baselines are 11.5 - 0.75 mm apart or more, and at most 22.8.
    high = stating(cells="⠁⠉")
    for span, outcome in ((9.8, "MET"), (9.7, "BROKEN"), (23.8, "MET"), (23.9, "BROKEN")):
        (check,) = found("baselines", hung(mm(1300), mm(1300 + span), high), DOTS, LETTERS)
        assert check.outcome.value == outcome


def test_several_lines_of_text():
    two = evolve(SIGN, text=("ROOM 214", "WEST"), raised=Raised(height=mm(25), line_spacing=mm(37)))
    lines = at(LETTERS, (40, 48, 100, 62))
    for span, outcome in ((55, "MET"), (18, "BROKEN"), (56.1, "BROKEN")):
        (check,) = found("baselines", hung(mm(1300), mm(1300 + span), two), DOTS, lines)
        assert check.outcome.value == outcome


def test_letters_that_are_glued_on_above_the_braille():
    below = stating(position="below", below_text=mm(10))
    # The gap, and the cells down to the centre of their lowest dots: 10 + 6.3 - 0.75 mm.
    for span, outcome in ((90, "MET"), (14.6, "MET"), (14.5, "BROKEN")):
        (check,) = found("baselines", hung(mm(1300), mm(1300 + span), below), DOTS)
        assert check.outcome.value == outcome


@pytest.mark.parametrize(
    "sign",
    [
        SIGN,
        evolve(SIGN, mounting=Mounting(lowest_tactile=mm(1300))),
        hung(mm(1300), mm(1300), evolve(SIGN, braille=None)),
        hung(mm(1300), mm(1300), stating(cell_spacing=None)),
    ],
)
def test_baselines_that_cannot_be_told_are_not_judged(sign):
    assert found("baselines", sign, DOTS, LETTERS) == []


def test_braille_that_is_not_drawn_below_has_no_baselines_to_compare():
    above = at(DOTS, (40, 90, 60, 8))
    assert found("baselines", hung(mm(1300), mm(1300)), above, LETTERS) == []


# --- the width of letters ------------------------------------------------------------------------

# R, O, O, M, 2, 1, 4: an O of 20 mm is no round one beside a height of 25 mm (80 %). R 60 % of it,
# M 90 %, 2 and 4 50 %, 1 a stroke of 3 mm: 12 + 20 + 20 + 18 + 10 + 3 + 10, and six gaps of 4 mm,
# are 117 mm.
SPACED = Raised(height=mm(25), width=mm(20), stroke=mm(3), spacing=mm(4), case="upper")
WIDE = evolve(SIGN, raised=SPACED)


@pytest.mark.parametrize(
    ("width", "outcome"), [(130, "MET"), (117, "MET"), (116.96, "MET"), (116.9, "BROKEN")]
)
def test_letters_are_no_narrower_than_in_narrow_typefaces(width, outcome):
    (check,) = found("raised-width", WIDE, at(LETTERS, (40, 48, width, 25)))
    assert (check.outcome.value, check.level.value) == (outcome, "REVIEW")
    assert check.measured.nominal == pytest.approx(117)


def test_letters_beside_a_round_o_may_be_narrower():
    round_o = evolve(WIDE, raised=evolve(SPACED, width=mm(22)))
    (check,) = found("raised-width", round_o, LETTERS)
    # 70 % of the shares: 22 * (0.42 + 1 + 1 + 0.63 + 0.35 + 0.35) + 3 + 24.
    assert check.measured.nominal == pytest.approx(109.5)


@pytest.mark.parametrize(("letter", "same"), [("É", "E"), ("Ø", "I"), ("Ж", "I"), ("I", "1")])
def test_letters_with_accents_are_as_wide_as_without_and_unknown_ones_take_a_stroke(letter, same):
    def width(text):
        return found("raised-width", evolve(WIDE, text=(text,)), LETTERS)[0].measured.nominal

    assert width(f"A{letter}") == pytest.approx(width(f"A{same}"))


def test_letters_of_unknown_width_are_taken_to_be_strokes():
    plain = evolve(WIDE, raised=evolve(SPACED, width=None))
    (check,) = found("raised-width", plain, LETTERS)
    # Seven strokes and six gaps.
    assert check.measured.nominal == pytest.approx(45)


def test_the_longest_line_counts_unless_some_lines_are_not_raised():
    two = evolve(WIDE, text=("ROOM 214", "II"))
    assert found("raised-width", two, LETTERS)[0].measured.nominal == pytest.approx(117)
    mixed = evolve(two, visual=Visual())
    # Two strokes and a gap.
    assert found("raised-width", mixed, LETTERS)[0].measured.nominal == pytest.approx(10)


def test_widths_that_are_not_stated_or_not_drawn():
    assert found("raised-width", SIGN, LETTERS) == found("raised-width", WIDE, DOTS) == []
    assert found("raised-width", evolve(WIDE, text=()), LETTERS) == []


# --- what is larger than the sheet, which is 200 mm square ---------------------------------------


def sheet(sign, *passes):
    return [check for check in found("sheet", sign, *passes) if check.outcome.value == "BROKEN"]


@pytest.mark.parametrize("name", ["field_width", "field_height"])
def test_a_pictogram_that_is_larger_than_its_sheet(name):
    def broken(size):
        return sheet(Sign("room", pictogram=Pictogram(**{name: mm(size)})), DOTS)

    assert broken(200) == broken(200.04) == []
    (check,) = broken(250)
    along = name.removeprefix("field_")
    assert f"the {along} of the sheet is 200 mm" in check.message
    assert check.level.value == "REVIEW"


def test_parts_that_stand_below_each_other_go_onto_the_sheet_together():
    braille = evolve(BRAILLE, below_text=mm(10), position="below")

    def broken(field, table=True, **changes):
        sign = evolve(
            SIGN,
            kind="permanent-room",
            braille=braille,
            pictogram=Pictogram(field_height=mm(field)),
        )
        checks = found("sheet", evolve(sign, **changes), standards=(ada(),) if table else ())
        return [check for check in checks if check.outcome.value == "BROKEN"]

    # Text of 25 mm, a gap of 10 mm, dots of 6.3 mm: 41.3 mm, and a sheet of 200 mm.
    assert broken(158.7) == []
    (check,) = broken(158.8)
    assert "raised text, its braille and the field of its pictogram together is 200.1" in (
        check.message
    )
    assert check.level.value == "REVIEW"
    # Where no table asks for the text below the field, it may stand beside it.
    assert broken(158.8, table=False) == broken(158.8, kind="informational") == []


def test_the_area_of_a_sign_is_what_counts_and_how_it_lies():
    field = Sign("room", pictogram=Pictogram(mm(160), mm(80)), area=Area(0, 0, 100, 170))
    assert sheet(field, DOTS) == []
    assert len(sheet(evolve(field, top="left"), DOTS)) == 1


def test_letters_that_are_glued_on_go_onto_the_sheet_too():
    assert sheet(evolve(WIDE, raised=evolve(SPACED, width=mm(90))), DOTS) != []
    assert sheet(evolve(WIDE, raised=evolve(SPACED, height=mm(201))), DOTS) != []
    assert sheet(WIDE, DOTS) == []


def test_braille_that_is_longer_than_the_sheet():
    # 40 cells, 6.2 mm apart: more than 241 mm.
    assert len(sheet(stating(cells="⠗" * 40), DOTS)) == 1
    assert sheet(stating(cells=None), DOTS) == []
