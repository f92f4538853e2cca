"""Dot height and raised depth: measured, declared, or predicted from the passes; and the relief
itself.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from standards.signs import BLACK, CLEAR, DOTS, PRINTER, ada, job_of, judged, mm, outcomes

from signrules.model.job import Job
from signrules.model.media import Ink, Media
from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Measured, Raised, Sign
from signrules.physics.heights import Heights
from signrules.physics.relief import feature_relief

DOT = Pass("dots", "clear", areas=DOTS, layers=24, coverage=0.3, builds=("room-214.braille",))
LETTERS = Pass(
    "letters", "clear", areas=(Area(20, 60, 100, 30),), layers=28, builds=("room-214.raised",)
)
FLOOD = Pass("flood", "clear", layers=3)
SIGN = Sign("room-214", braille=Braille(), raised=None)
PLAIN = Ink("plain", Interval.exact(0.030), "clear")


def of(*passes: Pass, builders: tuple[int, ...] = (0,)) -> Interval | None:
    return feature_relief(
        Heights(job_of(SIGN, passes=passes, inks=(CLEAR, BLACK, PLAIN))), builders
    )


def about(low: float, nominal: float, high: float):
    return pytest.approx((low, nominal, high), abs=1e-9)


def ends(value: Interval | None) -> tuple[float, float, float]:
    assert value is not None
    return (value.low, value.nominal, value.high)


def dots(sign: Sign, *passes: Pass):
    return judged(
        job_of(sign, passes=passes, inks=(CLEAR, BLACK, PLAIN)), ada(), rule="braille.dot-height"
    )


# --- relief ---------------------------------------------------------------------------------------


def test_dots_of_24_layers():
    assert ends(of(DOT)) == about(0.648, 0.720, 0.792)


def test_a_flood_under_both_cancels():
    assert ends(of(DOT, FLOOD)) == about(0.648, 0.720, 0.792)
    assert ends(of(evolve(DOT, coverage=1.0), FLOOD)) == about(0.648, 0.720, 0.792)


@pytest.mark.parametrize("coverage", [0.3, 1.0])
def test_ink_that_stands_in_dot_and_face_has_one_tolerance(coverage):
    """The clear of the flood is the clear of the dots: the difference holds 24 layers of it, not 27
    and 3.
    """
    value = of(evolve(DOT, coverage=coverage), evolve(FLOOD, areas=(Area(30, 20, 90, 30),)))
    assert ends(value) == about(0.648, 0.720, 0.792)


def test_a_flood_around_the_dots_only_lowers_the_relief():
    full = evolve(DOT, coverage=1.0)
    around = (
        Area(30, 20, 10, 28),
        Area(100, 20, 10, 28),
        Area(40, 20, 60, 10),
        Area(40, 38, 60, 10),
    )
    value = of(full, evolve(FLOOD, areas=around))
    assert ends(value) == about(21 * 0.027, 21 * 0.030, 21 * 0.033)


def test_a_flood_on_one_side_makes_the_face_uncertain():
    full = evolve(DOT, coverage=1.0)
    value = of(full, evolve(FLOOD, areas=(Area(100, 20, 10, 28),)))
    assert ends(value) == about(21 * 0.027, 24 * 0.030, 24 * 0.033)


def test_what_touches_at_a_corner_or_lies_apart_is_no_face():
    full = evolve(DOT, coverage=1.0)
    for area in (Area(100, 38, 20, 20), Area(120, 100, 20, 20)):
        assert ends(of(full, evolve(FLOOD, areas=(area,)))) == about(0.648, 0.720, 0.792)


def test_colour_over_dots_and_face_cancels():
    colour = Pass("colour", "black", areas=(Area(30, 20, 90, 30),), layers=2)
    assert ends(of(DOT, colour)) == about(0.648, 0.720, 0.792)
    assert ends(of(evolve(DOT, coverage=1.0), colour)) == about(0.648, 0.720, 0.792)


def test_colour_on_the_dots_alone_raises_them():
    colour = Pass("colour", "black", areas=DOTS, layers=2, over=(DOT.id,))
    assert ends(of(DOT, evolve(colour, coverage=0.3))) == about(0.668, 0.740, 0.812)
    assert ends(of(evolve(DOT, coverage=1.0), colour)) == about(0.668, 0.740, 0.812)
    assert ends(of(DOT, colour)) == about(0.648, 0.720, 0.792)


def test_partial_ink_beside_letters_may_or_may_not_be_the_face():
    letters = evolve(LETTERS, areas=(Area(20, 60, 100, 30),))
    tint = Pass("tint", "black", layers=5, coverage=0.5, areas=(Area(0, 50, 200, 10),))
    assert ends(of(letters, tint)) == about(28 * 0.027 - 0.05, 28 * 0.030, 28 * 0.033)


def test_partial_ink_all_over_may_leave_the_face_bare():
    tint = Pass("tint", "black", layers=5, coverage=0.5)
    assert ends(of(LETTERS, tint)) == about(28 * 0.027, 28 * 0.030 + 0.05, 28 * 0.033 + 0.05)


def test_two_passes_that_build_one_feature_add_up():
    first, second = evolve(DOT, id="a", layers=10), evolve(DOT, id="b", layers=14, ink="plain")
    assert ends(of(first, second, builders=(0, 1))) == about(0.27 + 0.42, 0.72, 0.33 + 0.42)
    first, second = evolve(first, coverage=1.0), evolve(second, coverage=1.0)
    assert ends(of(first, second, builders=(0, 1))) == about(0.27 + 0.42, 0.72, 0.33 + 0.42)


def test_a_feature_over_the_whole_sheet_has_no_face():
    assert of(evolve(DOT, areas=None, coverage=1.0)) is None
    assert ends(of(evolve(DOT, areas=None))) == about(0.648, 0.720, 0.792)


def test_relief_of_a_recess_is_negative():
    full = evolve(DOT, coverage=1.0, layers=1)
    around = (
        Area(30, 20, 10, 28),
        Area(100, 20, 10, 28),
        Area(40, 20, 60, 10),
        Area(40, 38, 60, 10),
    )
    assert ends(of(full, evolve(FLOOD, areas=around))) == about(-0.066, -0.060, -0.054)


def test_the_other_side_and_another_sheet_do_not_count():
    sheets = (Media("panel", mm(3), (200, 200)), Media("other", mm(3), (200, 200), at=(200, 0)))
    dot = evolve(DOT, media="panel", coverage=1.0)
    elsewhere = (
        Pass("back", "black", media="panel", side="back", layers=9),
        Pass("next", "black", media="other", layers=9),
    )
    sign = evolve(SIGN, media="panel")
    heights = Heights(Job(PRINTER, sheets, (CLEAR, BLACK), (dot, *elsewhere), signs=(sign,)))
    assert ends(feature_relief(heights, (0,))) == about(0.648, 0.720, 0.792)


rectangles = st.builds(
    lambda x, y, width, height: Area(x * 20, y * 20, width * 20, height * 20),
    st.integers(0, 6),
    st.integers(0, 6),
    st.integers(1, 3),
    st.integers(1, 3),
)
other_passes = st.lists(
    st.tuples(
        rectangles,
        st.integers(1, 5),
        st.sampled_from([0.4, 1.0]),
        st.sampled_from(["clear", "black", "plain"]),
    ),
    max_size=4,
)


@given(feature=rectangles, coverage=st.sampled_from([0.4, 1.0]), others=other_passes)
def test_relief_agrees_with_a_count_on_a_grid(feature, coverage, others):
    """Against a plain count of nominal ink cell by cell, on areas that lie on a grid of 20 mm."""
    built = evolve(DOT, areas=(feature,), coverage=coverage, ink="plain")
    passes = [built] + [
        Pass(f"p{number}", ink, areas=(area,), layers=layers, coverage=share)
        for number, (area, layers, share, ink) in enumerate(others)
    ]
    thick = {"clear": 0.030, "black": 0.010, "plain": 0.030}

    def height(x: int, y: int, *, full: bool) -> float:
        return sum(
            item.layers * thick[item.ink]
            for item in passes
            if (item.coverage >= 1 or not full)
            and any(
                a.x <= x * 20 < a.x + a.width and a.y <= y * 20 < a.y + a.height for a in item.areas
            )
        )

    def inside(x: int, y: int) -> bool:
        return (
            feature.x <= x * 20 < feature.x + feature.width
            and feature.y <= y * 20 < feature.y + feature.height
        )

    cells = [(x, y) for x in range(10) for y in range(10)]
    within = [cell for cell in cells if inside(*cell)]
    top = max(height(*cell, full=False) for cell in within)
    if coverage < 1:
        expected = top - min(height(*cell, full=True) for cell in within)
        assert of(*passes).nominal == pytest.approx(expected, abs=1e-9)
        return
    near = {(x + dx, y + dy) for x, y in within for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))}
    touched = {cover_at(passes, cell) for cell in near & set(cells) if not inside(*cell)}
    faces = [
        height(*cell, full=full)
        for cell in cells
        if not inside(*cell)
        for full in (True, False)
        if cover_at(passes, cell) in touched
    ]
    value = of(*passes)
    assert value.nominal == pytest.approx(top - min(faces), abs=1e-9)
    assert value.low <= top - max(faces) + 1e-9


def cover_at(passes: list[Pass], cell: tuple[int, int]) -> tuple[int, ...]:
    x, y = cell[0] * 20, cell[1] * 20
    return tuple(
        at
        for at, item in enumerate(passes)
        if any(a.x <= x < a.x + a.width and a.y <= y < a.y + a.height for a in item.areas or ())
    )


# --- the rules ------------------------------------------------------------------------------------


def test_predicted_dots_are_judged_at_both_ends():
    (check,) = dots(SIGN, DOT)
    assert (check.outcome.value, check.subjects) == ("MET", ("signs.room-214", "passes.dots"))
    assert ends(check.measured) == about(0.648, 0.720, 0.792)
    assert check.limit == (0.635, 0.9398)
    assert (
        "the predicted dot height is 0.648 to 0.792 mm (must be 0.025 in to 0.037 in"
        in check.message
    )


def test_half_a_millimetre_is_too_low_and_the_advice_says_how_many_layers():
    job = job_of(
        SIGN, passes=(evolve(DOT, ink="half", layers=20),), inks=(Ink("half", mm(0.025)), BLACK)
    )
    (check,) = judged(job, ada(), rule="braille.dot-height")
    assert check.outcome.value == "BROKEN"
    assert check.margin == pytest.approx(-0.135)
    assert "0.135 mm too little" in check.message
    assert "About 6 more layers in dots would bring it within." in check.message


@pytest.mark.parametrize(
    ("layers", "advice"), [(18, "6 more layers"), (23, "1 more layer "), (29, "1 fewer layer ")]
)
def test_the_layers_advised_are_enough_and_no_more_than_needed(layers, advice):
    (check,) = dots(SIGN, evolve(DOT, layers=layers))
    assert check.outcome.value in ("BROKEN", "DOUBTFUL")
    assert f"About {advice}" in check.message
    change = int(advice.split()[0]) * (1 if "more" in advice else -1)
    assert outcomes(dots(SIGN, evolve(DOT, layers=layers + change))) == ["MET"]
    assert outcomes(
        dots(SIGN, evolve(DOT, layers=layers + change - (1 if change > 0 else -1)))
    ) != ["MET"]


def test_a_spread_that_no_number_of_layers_brings_within():
    wide = Ink("wide", Interval(0.020, 0.030, 0.040))
    job = job_of(SIGN, passes=(evolve(DOT, ink="wide"),), inks=(wide, BLACK))
    (check,) = judged(job, ada(), rule="braille.dot-height")
    assert check.outcome.value == "DOUBTFUL"
    assert "No number of layers in dots alone brings all of it within" in check.message
    assert "0.48 mm" in check.message


def test_a_spread_of_dots_that_may_stand_on_letters_names_the_letters():
    """The areas of letters reach over those of dots at a corner."""
    [area] = DOT.areas
    over = evolve(area, x=area.x + area.width - 5, y=area.y + area.height - 5)
    letters = evolve(LETTERS, areas=(over,))
    job = job_of(SIGN, passes=(letters, DOT))
    (check,) = judged(job, ada(), rule="braille.dot-height")
    assert check.outcome.value == "DOUBTFUL"
    assert "Areas of passes.letters overlap those of dots" in check.message
    apart = evolve(LETTERS, areas=(evolve(area, y=area.y + area.height + 50),))
    (check,) = judged(job_of(SIGN, passes=(apart, DOT)), ada(), rule="braille.dot-height")
    assert check.outcome.value == "MET"


def test_what_passes_build_is_judged_whatever_is_declared_and_the_difference_is_for_review():
    sign = Sign("room-214", braille=Braille(dot_height=mm(0.75)))
    differs, built = dots(sign, evolve(DOT, layers=8))
    assert (built.outcome.value, built.level.value) == ("BROKEN", "STOP")
    assert "the predicted dot height is 0.216 to 0.264 mm" in built.message
    assert (differs.outcome.value, differs.level.value) == ("BROKEN", "REVIEW")
    assert differs.measured.nominal == pytest.approx(0.75 - 0.264)
    assert "says 0.75 mm, and the passes build 0.216 to 0.264 mm" in differs.message
    assert differs.subjects == ("signs.room-214", "passes.dots")


@pytest.mark.parametrize(
    ("declared", "outcome"),
    [(0.648, "MET"), (0.72, "MET"), (0.792, "MET"), (0.64, "BROKEN"), (0.80, "BROKEN")],
)
def test_a_declared_height_within_the_tolerance_of_the_built_one_agrees(declared, outcome):
    sign = Sign("room-214", braille=Braille(dot_height=mm(declared)))
    differs, built = dots(sign, DOT)
    assert (differs.outcome.value, built.outcome.value) == (outcome, "MET")


def test_a_declared_depth_that_passes_do_not_build_is_for_review():
    sign = Sign("room-214", raised=Raised(depth=mm(0.84)))
    job = job_of(sign, passes=(evolve(LETTERS, layers=10),))
    differs, built = judged(job, ada(), rule="raised.depth")
    assert (differs.outcome.value, differs.level.value) == ("BROKEN", "REVIEW")
    assert (built.outcome.value, built.level.value) == ("BROKEN", "STOP")


def test_a_declared_height_counts_where_no_pass_builds_the_dots_or_nothing_tells_what_it_builds():
    sign = Sign("room-214", braille=Braille(dot_height=mm(0.7)))
    for passes in ((), (evolve(DOT, areas=None, coverage=1.0),)):
        (check,) = dots(sign, *passes)
        assert check.outcome.value == "MET"
        assert "the declared dot height is 0.7 mm" in check.message


def test_measured_values_take_the_place_of_everything_and_each_is_judged_once():
    sign = Sign(
        "room-214",
        braille=Braille(dot_height=mm(0.7)),
        measured=Measured(dot_height=(0.68, 0.6, 0.68, 0.95)),
    )
    checks = dots(sign, DOT)
    assert [check.measured.nominal for check in checks] == [0.68, 0.6, 0.95]
    assert outcomes(checks) == ["MET", "BROKEN", "BROKEN"]
    assert all("the measured dot height" in check.message for check in checks)
    assert "The printed 0.6 mm is rounded; the inch value governs." in checks[1].message
    assert "0.035 mm too little" in checks[1].message
    assert "more layers" in checks[1].message
    assert "fewer layers" in checks[2].message


def test_a_feature_is_judged_for_its_relief_even_without_its_section():
    bare = Sign("room-214")
    assert outcomes(dots(bare, DOT)) == ["MET"]
    assert outcomes(dots(evolve(bare, measured=Measured(dot_height=(0.7,))))) == ["MET"]
    checks = judged(job_of(bare, passes=(DOT,)), ada())
    assert {check.rule for check in checks} == {
        "braille.dot-height",
        "braille.dome",
        "scope.tactile",
        "scope.unread",
    }
    (dome,) = judged(job_of(bare, passes=(DOT,)), rule="braille.dome")
    assert dome.missing == "signs.room-214.braille.dot_diameter"
    assert dots(bare) == []
    other = evolve(DOT, builds=("room-9.braille",))
    job = job_of(bare, Sign("room-9"), passes=(other,))
    assert [check.subjects[0] for check in judged(job, ada(), rule="braille.dot-height")] == [
        "signs.room-9"
    ]


def test_what_builds_no_dots_leaves_them_unassessed():
    (check,) = dots(SIGN)
    assert (check.outcome.value, check.missing) == (
        "UNASSESSED",
        "signs.room-214.braille.dot_height",
    )


def test_a_feature_without_a_face_beside_it_is_unassessed():
    (check,) = dots(SIGN, evolve(DOT, areas=None, coverage=1.0))
    assert (check.outcome.value, check.missing) == (
        "UNASSESSED",
        "signs.room-214.braille.dot_height",
    )
    assert "no face lies beside it: dots cover the whole sheet" in check.message


def test_passes_on_both_sides_of_a_sheet_are_judged_apart():
    front, back = DOT, evolve(DOT, id="back", side="back", layers=10)
    checks = dots(SIGN, front, back)
    assert outcomes(checks) == ["MET", "BROKEN"]
    assert [check.subjects[1:] for check in checks] == [("passes.dots",), ("passes.back",)]


@pytest.mark.parametrize(("layers", "expected"), [(20, "BROKEN"), (28, "DOUBTFUL"), (30, "MET")])
def test_raised_characters_by_their_layers(layers, expected):
    sign = Sign("room-214", raised=Raised())
    job = job_of(sign, passes=(evolve(LETTERS, layers=layers),))
    (check,) = judged(job, ada(), rule="raised.depth")
    assert check.outcome.value == expected
    assert "the predicted relief of the raised characters" in check.message
    assert "must be at least 1/32 in (0.79375 mm)" in check.message


def test_raised_depth_measured_declared_missing():
    measured = Sign("room-214", raised=Raised(depth=mm(1)), measured=Measured(depth=(0.79,)))
    (check,) = judged(job_of(measured), ada(), rule="raised.depth")
    assert (check.outcome.value, check.measured.nominal) == ("BROKEN", 0.79)
    (check,) = judged(
        job_of(Sign("room-214", raised=Raised(depth=mm(1)))), ada(), rule="raised.depth"
    )
    assert "the declared relief" in check.message
    (check,) = judged(job_of(Sign("room-214", raised=Raised())), ada(), rule="raised.depth")
    assert check.missing == "signs.room-214.raised.depth"


@pytest.mark.parametrize(
    ("rule", "built", "layer", "breaks", "meets"),
    [
        ("braille.dot-height", DOT, 0.031, 16, None),
        ("braille.dot-height", DOT, 0.030, None, 26),
        ("raised.depth", LETTERS, 0.030, 20, 28),
    ],
)
def test_the_documented_examples_hold(rule, built, layer, breaks, meets):
    for layers, expected in ((breaks, "BROKEN"), (meets, "MET")):
        if layers is not None:
            passes = (evolve(built, ink="ink", layers=layers),)
            job = job_of(Sign("room-214"), passes=passes, inks=(Ink("ink", mm(layer)), BLACK))
            assert outcomes(judged(job, ada(), rule=rule)) == [expected]
