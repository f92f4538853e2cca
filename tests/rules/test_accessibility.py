"""Each rule on dimensions at its limits, just outside them, and astride them."""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import PARTS, RULES, ada, job_of, judged, mm, outcomes

from signrules.model.quantities import Interval
from signrules.model.sign import Raised, Sign
from signrules.rules.accessibility import ACCESSIBILITY
from signrules.rules.checks import Level
from signrules.standards.dimension_tables import builtin_standards

THOU = 0.0254
TWO_NM = 2e-6
RULE_OF = {
    "mounting.lowest_tactile": "mounting.lowest",
    "mounting.highest_tactile": "mounting.highest",
    "surface.finish": "finish.glare",
    "surface.contrast": "contrast.reflectance",
    "surface.gloss": "finish.gloss",
    "surface.lighter_lrv": "contrast.lighter",
    "surface.polarity": "contrast.polarity",
    "scope.exempt": "scope.tactile",
    "scope.unbound": "scope.tactile",
}

# 2010 ADA Standards, section 703: clause, quantity, least and most in exact mm.
RANGES = [
    ("703.2.1", "raised.depth", 0.79375, None),
    ("703.2.5", "raised.height", 15.875, 50.8),
    ("703.2.7", "raised.spacing", 3.175, None),
    ("703.2.7", "raised.clear_space", 9.525, None),
    ("Table 703.3.1", "braille.dot_diameter", 1.4986, 1.6002),
    ("Table 703.3.1", "braille.dot_spacing", 2.286, 2.54),
    ("Table 703.3.1", "braille.cell_spacing", 6.1214, 7.62),
    ("Table 703.3.1", "braille.dot_height", 0.635, 0.9398),
    ("Table 703.3.1", "braille.line_spacing", 10.033, 10.16),
    ("703.3.2", "braille.clear_space", 9.525, None),
    ("703.4.1", "mounting.lowest_tactile", 1219.2, None),
    ("703.4.1", "mounting.highest_tactile", None, 1524.0),
    ("703.5.6", "visual.above_floor", 1016.0, None),
    ("703.6.1", "pictogram.field_height", 152.4, None),
]
# Clause, quantity, of what, least and most as plain numbers.
RATIOS = [
    ("703.2.6", "raised.stroke", "raised.height", None, 0.15),
    ("703.2.7", "raised.spacing", "raised.stroke", None, 4),
    ("703.2.8", "raised.line_spacing", "raised.height", 1.35, 1.70),
    ("703.5.7", "visual.stroke", "visual.height", 0.10, 0.30),
    ("703.5.8", "visual.spacing", "visual.height", 0.10, 0.35),
    ("703.5.9", "visual.line_spacing", "visual.height", 1.35, 1.70),
]
ENDS = [
    (clause, quantity, limit, sign)
    for clause, quantity, least, most in RANGES
    for limit, sign in ((least, -1), (most, 1))
    if limit is not None
]
RATIO_ENDS = [
    (clause, quantity, of, limit, sign)
    for clause, quantity, of, least, most in RATIOS
    for limit, sign in ((least, -1), (most, 1))
    if limit is not None
]


def rule_of(quantity: str) -> str:
    return RULE_OF.get(quantity, quantity.replace("_", "-"))


def sign_with(**quantities: object) -> Sign:
    """A sign that states some quantities, written section__field."""
    sections: dict[str, dict[str, object]] = {}
    for name, value in quantities.items():
        section, field = name.split("__")
        sections.setdefault(section, {})[field] = value
    return Sign(
        "room-214", **{section: PARTS[section](**values) for section, values in sections.items()}
    )


def check_of(clause: str, quantity: str, sign: Sign, unit: str = "mm"):
    """The one check of a quantity under a clause, in a unit."""
    room = evolve(sign, kind="permanent-room")
    checks = judged(job_of(room), ada(), rule=rule_of(quantity))
    (found,) = [
        check for check in checks if check.unit == unit and f", {clause}" in check.source.text
    ]
    return found


def stating(quantity: str, value: object) -> Sign:
    return sign_with(**{quantity.replace(".", "__"): value})


@pytest.mark.parametrize(("clause", "quantity", "limit", "sign"), ENDS)
def test_a_limit_exactly_met_is_met(clause, quantity, limit, sign):
    check = check_of(clause, quantity, stating(quantity, mm(limit)))
    assert (check.outcome.value, check.level) == ("MET", Level.STOP)
    assert check.limit[0 if sign < 0 else 1] == limit
    assert check.source.kind == "standard"
    assert "2010 ADA Standards" in check.source.text


@pytest.mark.parametrize("by", [THOU, TWO_NM])
@pytest.mark.parametrize(("clause", "quantity", "limit", "sign"), ENDS)
def test_just_outside_a_limit_is_broken(clause, quantity, limit, sign, by):
    check = check_of(clause, quantity, stating(quantity, mm(limit + sign * by)))
    assert check.outcome.value == "BROKEN"
    assert check.margin == pytest.approx(-by, abs=1e-9)


@pytest.mark.parametrize(("clause", "quantity", "limit", "sign"), ENDS)
def test_a_tolerance_across_a_limit_is_doubtful(clause, quantity, limit, sign):
    check = check_of(
        clause, quantity, stating(quantity, Interval.between(limit - 0.01, limit + 0.01))
    )
    assert check.outcome.value == "DOUBTFUL"


@pytest.mark.parametrize("reference", [16.0, 25.0, 44.45])
@pytest.mark.parametrize(("clause", "quantity", "of", "limit", "sign"), RATIO_ENDS)
def test_a_share_is_met_at_its_end_and_broken_outside(clause, quantity, of, limit, sign, reference):
    unit = "strokes" if of == "raised.stroke" else "%"
    beyond = TWO_NM
    if unit == "strokes":
        reference, beyond = (
            reference / 10,
            2.5 * TWO_NM,
        )  # strokes are thin; a ratio has a guard of a millionth
    for value, expected in (
        (limit * reference, "MET"),
        (limit * reference + sign * 0.9e-6, "MET"),
        (limit * reference + sign * beyond, "BROKEN"),
        (limit * reference + sign * THOU, "BROKEN"),
    ):
        stated = {quantity.replace(".", "__"): mm(value), of.replace(".", "__"): mm(reference)}
        assert check_of(clause, quantity, sign_with(**stated), unit).outcome.value == expected, (
            value
        )


@pytest.mark.parametrize(("clause", "quantity", "of", "limit", "sign"), RATIO_ENDS)
def test_a_share_divides_intervals(clause, quantity, of, limit, sign):
    unit = "strokes" if of == "raised.stroke" else "%"
    scale = 1 if unit == "strokes" else 100
    stated = {
        quantity.replace(".", "__"): mm(limit * 20),
        of.replace(".", "__"): Interval(19, 20, 21),
    }
    check = check_of(clause, quantity, sign_with(**stated), unit)
    assert check.outcome.value == "DOUBTFUL"
    assert check.measured.low == pytest.approx(scale * limit * 20 / 21)
    assert check.measured.nominal == pytest.approx(scale * limit)
    assert check.measured.high == pytest.approx(scale * limit * 20 / 19)


@pytest.mark.parametrize(("clause", "quantity", "of", "limit", "sign"), RATIO_ENDS)
def test_a_share_needs_what_it_is_a_share_of(clause, quantity, of, limit, sign):
    checks = judged(job_of(stating(quantity, mm(5))), ada(), rule=rule_of(quantity))
    assert f"signs.room-214.{of}" in {check.missing for check in checks}
    nothing = sign_with(**{quantity.replace(".", "__"): mm(5), of.replace(".", "__"): mm(0)})
    checks = judged(job_of(nothing), ada(), rule=rule_of(quantity))
    assert f"signs.room-214.{of}" in {check.missing for check in checks}


def test_a_share_of_two_toleranced_lengths_takes_the_worst_of_both():
    sign = sign_with(raised__stroke=Interval(2, 3, 4), raised__height=Interval(20, 25, 40))
    (check,) = judged(job_of(sign), ada(), rule="raised.stroke")
    assert (check.measured.low, check.measured.nominal, check.measured.high) == pytest.approx(
        (5, 12, 20)
    )


# Millimetres printed in section 703 of the 2010 ADA Standards that break its inch limits.
@pytest.mark.parametrize(
    ("clause", "quantity", "printed"),
    [
        ("Table 703.3.1", "braille.cell_spacing", 6.1),
        ("Table 703.3.1", "braille.dot_height", 0.6),
        ("Table 703.3.1", "braille.line_spacing", 10.0),
        ("Table 703.3.1", "braille.line_spacing", 10.2),
        ("703.2.5", "raised.height", 51.0),
        ("703.3.2", "braille.clear_space", 9.5),
        ("703.2.7", "raised.clear_space", 9.5),
        ("703.4.1", "mounting.highest_tactile", 1525.0),
        ("703.5.6", "visual.above_floor", 1015.0),
        ("703.6.1", "pictogram.field_height", 152.0),
    ],
)
def test_a_printed_millimetre_that_breaks_the_inches_says_so(clause, quantity, printed):
    check = check_of(clause, quantity, stating(quantity, mm(printed)))
    assert check.outcome.value == "BROKEN"
    assert f"The printed {printed:g} mm is rounded; the inch value governs." in check.message


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        ("braille.dot_height", 0.59),
        ("braille.cell_spacing", 6.09),
        ("raised.height", 51.1),
        ("raised.depth", 0.79),
    ],
)
def test_rounding_is_no_excuse_beyond_the_printed_millimetres(quantity, value):
    checks = judged(job_of(stating(quantity, mm(value))), ada(), rule=rule_of(quantity))
    assert outcomes(checks) == ["BROKEN"]
    assert "rounded" not in checks[0].message


@pytest.mark.parametrize(
    ("quantity", "allowed", "others"),
    [
        ("raised.case", ["upper"], ["lower", "mixed"]),
        (
            "raised.style",
            ["sans-serif"],
            ["serif", "italic", "oblique", "script", "decorative", "other"],
        ),
        (
            "visual.style",
            ["sans-serif", "serif"],
            ["italic", "oblique", "script", "decorative", "other"],
        ),
        ("surface.finish", ["matte", "eggshell"], ["gloss"]),
    ],
)
def test_a_choice_of_words(quantity, allowed, others):
    for word in (*allowed, *others):
        (check,) = judged(job_of(stating(quantity, word)), ada(), rule=rule_of(quantity))
        assert check.outcome.value == ("MET" if word in allowed else "BROKEN")
        assert (check.found, check.allowed, check.level) == (word, tuple(allowed), Level.STOP)


# The 70 % of appendix A4.30.5 of the 1991 guidelines.
@pytest.mark.parametrize(
    ("characters", "background", "expected"),
    [
        (85, 25.5, "MET"),
        (25.5, 85, "MET"),
        (85, 25.6, "BROKEN"),
        (50, 20, "BROKEN"),
        (0, 0, "BROKEN"),
        (0, 40, "MET"),
    ],
)
def test_contrast(characters, background, expected):
    sign = sign_with(surface__character_lrv=characters, surface__background_lrv=background)
    (check,) = judged(job_of(sign), ada(), rule="contrast.reflectance")
    assert (check.outcome.value, check.level, check.unit) == (expected, Level.REVIEW, "%")
    assert "1991" in check.source.text
    assert "advisory" in check.source.text
    assert "2010 ADA" not in check.source.text


def test_contrast_names_each_value_that_is_missing():
    checks = judged(job_of(sign_with(surface__finish="matte")), ada(), rule="contrast.reflectance")
    wanted = ["signs.room-214.surface.character_lrv", "signs.room-214.surface.background_lrv"]
    assert [check.missing for check in checks] == wanted
    assert {check.level for check in checks} == {Level.REVIEW}


def test_limits_read_as_the_standard_writes_them_with_millimetres():
    job = job_of(
        sign_with(
            braille__dot_diameter=mm(1.7),
            raised__depth=mm(0.5),
            raised__height=mm(25),
            raised__stroke=mm(4),
            raised__spacing=mm(20),
        )
    )
    messages = {check.rule + check.unit: check.message for check in judged(job, ada())}
    assert (
        "must be 0.059 in to 0.063 in (1.4986 to 1.6002 mm)" in messages["braille.dot-diametermm"]
    )
    assert "must be at least 1/32 in (0.79375 mm)" in messages["raised.depthmm"]
    assert (
        "is 16 % (must be at most 15 % of the raised height): 1 % too much"
        in messages["raised.stroke%"]
    )
    assert "With the raised height at 25 mm, that is at most 3.75 mm." in messages["raised.stroke%"]
    assert (
        "is 5 strokes (must be at most 4 strokes): 1 stroke too much"
        in messages["raised.spacingstrokes"]
    )


def test_second_hand_rows_say_so_in_the_source_and_read_ones_do_not():
    sign = sign_with(raised__height=mm(25), braille__dot_spacing=mm(2.4))
    (raised,) = judged(job_of(sign), ada(), rule="raised.height")
    (braille,) = judged(job_of(sign), ada(), rule="braille.dot-spacing")
    assert "second hand" in raised.source.text
    assert "second hand" not in braille.source.text


@pytest.mark.parametrize("section", PARTS)
def test_a_missing_field_of_a_section_that_is_there_is_named(section):
    # Heights above the floor are those of what is tactile, so there they need something that is.
    parts = {section: PARTS[section]()}
    if section == "mounting":
        parts["raised"] = PARTS["raised"]()
    found = judged(job_of(Sign("room-214", **parts)), ada())
    others = ("scope.", "raised.", "tables.") if section == "mounting" else ("scope.",)
    checks = [check for check in found if not check.rule.startswith(others)]
    assert checks
    assert set(outcomes(checks)) == {"UNASSESSED"}
    assert all(check.missing.startswith(f"signs.room-214.{section}.") for check in checks)
    fields = {"surface.character_lrv", "surface.background_lrv"} if section == "surface" else set()
    computed = {"surface.contrast", "surface.polarity", "surface.lighter_lrv", "braille.capitals"}
    rows = {row.quantity for row in ada().rows if row.quantity.startswith(section)} - computed
    missing = {check.missing.removeprefix("signs.room-214.") for check in checks}
    assert missing - {"braille.cells"} == rows | fields


def test_a_section_that_is_not_there_is_not_judged():
    (check,) = judged(job_of(Sign("room-214")), ada())
    assert (check.rule, check.missing) == ("scope.tactile", "signs.room-214.kind")


def test_raised_characters_are_not_held_against_rules_on_visual_ones():
    sign = sign_with(raised__height=mm(25), raised__stroke=mm(1))
    assert {check.rule.split(".")[0] for check in judged(job_of(sign), ada())} == {
        "raised",
        "scope",
        "drawing",
    }


def test_without_standards_there_are_no_checks_and_under_two_there_are_twice_as_many():
    sign = sign_with(braille__dot_spacing=mm(2.4), raised__height=mm(25), visual__height=mm(25))
    other = evolve(ada(), id="copy", title="A copy")

    def by_standard(*standards):
        found = judged(job_of(sign), *standards)
        return [check for check in found if check.source.kind == "standard"]

    assert by_standard() == []
    once, twice = by_standard(ada()), by_standard(ada(), other)
    assert len(twice) == 2 * len(once) > 0
    assert any(check.source.text.startswith("A copy, Table 703.3.1") for check in twice)


def test_rule_sets_hold_rules_of_their_own_name_and_every_row_has_a_rule():
    assert [rules.name for rules in ACCESSIBILITY] == [
        "braille",
        "raised",
        "mounting",
        "visual",
        "pictogram",
        "finish",
        "contrast",
        "scope",
        "drawing",
    ]
    assert all(
        rule.name.startswith(f"{rules.name}.") for rules in ACCESSIBILITY for rule in rules.rules
    )
    # What a dome can be is geometry and what measured dots let expect has no limit: neither is in a
    # table, nor are the rules on words and on cells that nobody states. RULES leaves out the rules
    # on what the cells say.
    everywhere = {row.quantity for standard in builtin_standards() for row in standard.rows} - {
        "braille.capitals"
    }
    tableless = {"braille.dome", "braille.measured-spread", "raised.measured-spread"}
    tableless |= {"scope.kind", "scope.unread", "finish.word", "braille.text-clearance"}
    tableless |= {"raised.text"}
    tableless |= {name for name in RULES if name.startswith("drawing.")}
    assert {rule_of(quantity) for quantity in everywhere} == set(RULES) - tableless


# The figures that the documentation of the rules gives: what breaks each, and what meets it.
@pytest.mark.parametrize(
    ("rule", "breaks", "meets"),
    [
        ("braille.dot-diameter", {"braille__dot_diameter": 1.7}, {"braille__dot_diameter": 1.55}),
        ("braille.dot-spacing", {"braille__dot_spacing": 2.2}, {"braille__dot_spacing": 2.4}),
        ("braille.cell-spacing", {"braille__cell_spacing": 6.1}, {"braille__cell_spacing": 6.2}),
        ("braille.line-spacing", {"braille__line_spacing": 10}, {"braille__line_spacing": 10.1}),
        ("braille.clear-space", {"braille__clear_space": 9.5}, {"braille__clear_space": 10}),
        ("raised.height", {"raised__height": 15}, {"raised__height": 25}),
        ("raised.clear-space", {"raised__clear_space": 9.5}, {"raised__clear_space": 10}),
        (
            "raised.stroke",
            {"raised__stroke": 4, "raised__height": 25},
            {"raised__stroke": 3, "raised__height": 25},
        ),
        (
            "raised.spacing",
            {"raised__spacing": 3, "raised__stroke": 3},
            {"raised__spacing": 4, "raised__stroke": 3},
        ),
        (
            "raised.line-spacing",
            {"raised__line_spacing": 30, "raised__height": 25},
            {"raised__line_spacing": 37.5, "raised__height": 25},
        ),
        (
            "raised.width",
            {"raised__width": 12, "raised__height": 25},
            {"raised__width": 20, "raised__height": 25},
        ),
        (
            "visual.width",
            {"visual__width": 8, "visual__height": 16},
            {"visual__width": 12, "visual__height": 16},
        ),
        ("mounting.lowest", {"mounting__lowest_tactile": 1200}, {"mounting__lowest_tactile": 1300}),
        (
            "mounting.highest",
            {"mounting__highest_tactile": 1525},
            {"mounting__highest_tactile": 1390},
        ),
        (
            "visual.height",
            {"visual__height": 16, "visual__above_floor": 1500, "visual__viewing_distance": 3000},
            {"visual__height": 30, "visual__above_floor": 1500, "visual__viewing_distance": 3000},
        ),
        (
            "visual.stroke",
            {"visual__stroke": 1, "visual__height": 16},
            {"visual__stroke": 2.4, "visual__height": 16},
        ),
        (
            "visual.spacing",
            {"visual__spacing": 1, "visual__height": 16},
            {"visual__spacing": 2.4, "visual__height": 16},
        ),
        (
            "visual.line-spacing",
            {"visual__line_spacing": 20, "visual__height": 16},
            {"visual__line_spacing": 24, "visual__height": 16},
        ),
        ("visual.above-floor", {"visual__above_floor": 1015}, {"visual__above_floor": 1400}),
        (
            "pictogram.field-height",
            {"pictogram__field_height": 150},
            {"pictogram__field_height": 160},
        ),
    ],
)
def test_the_documented_examples_hold(rule, breaks, meets):
    broken, met = (
        judged(
            job_of(sign_with(**{name: mm(value) for name, value in values.items()})),
            ada(),
            rule=rule,
        )
        for values in (breaks, meets)
    )
    assert "BROKEN" in outcomes(broken)
    assert set(outcomes(met)) == {"MET"}


def test_a_share_of_what_may_be_nothing_says_so_and_not_that_it_is_not_stated():
    sign = Sign("door", raised=Raised(height=Interval(0, 10, 20), width=mm(10)))
    (check,) = judged(job_of(sign), ada(), rule="raised.width")
    assert (check.outcome.value, check.missing) == ("UNASSESSED", "signs.door.raised.height")
    assert check.message.endswith("cannot be assessed: the raised height that is stated may be 0.")
