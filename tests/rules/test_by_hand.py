"""Checks and what they say, on small jobs worked by hand.

Where no publication is named the source is geometry.
"""

from __future__ import annotations

import math

import attrs
import pytest
from attrs import evolve
from scenario import pass_of, sign_job

import signrules
from signrules import Outcome, Remedy, check, load_plugins
from signrules.model.quantities import Interval
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.rules.check_messages import check_message
from signrules.rules.engine import Facts
from signrules.rules.settings import Refused, settings_from
from signrules.rules.sound_drafts import demand_sound, is_sound_text
from signrules.standards.dimension_tables import builtin_standards, read_standard

approx = pytest.approx


def evaluate(document):
    return signrules.evaluate(signrules.job_from_dict(document))


def the_check(result, rule, subject):
    (found,) = [
        check for check in result.checks if check.rule == rule and check.subjects[0] == subject
    ]
    return found


@pytest.mark.parametrize("name", ["least", "most"])
def test_limits_that_are_no_numbers_are_refused(name):
    job = signrules.job_from_dict(sign_job())
    sound = evolve(check("a gap", measured=1, least=0, most=2, unit="mm"), **{name: 1.5})
    demand_sound(sound, job)
    for rubbish in (math.nan, math.inf, "1", True):
        with pytest.raises(ValueError, match=f"{name} .*finite number"):
            demand_sound(evolve(sound, **{name: rubbish}), job)


def test_a_circle_says_what_holds_each_pass_back():
    document = sign_job()
    pass_of(document, "ground")["after"] = ["ink-on-dots"]
    circle = the_check(evaluate(document), "order.cycle", "job")
    assert circle.outcome is Outcome.BROKEN
    assert circle.margin == -circle.measured.high
    assert circle.message.count("; ") == circle.measured.high - 1 >= 1
    assert circle.message.endswith(".")
    for name in ("ground", "ink-on-dots"):
        assert name in circle.message


def test_the_budget_of_locating_names_each_move_and_its_method():
    document = sign_job()
    document["handling"] = [
        {"id": "put-back", "does": "reload", "locates_by": "pins", "after": ["ground"]}
    ]
    pass_of(document, "dots")["after"] = ["put-back"]
    document["registration_tolerance"] = "0.05 mm"
    document["sequence"] = ["ground", "put-back", "dots", "ink-on-dots"]
    found = the_check(evaluate(document), "registration.budget", "passes.dots")
    assert "located by pins" in found.message
    assert found.measured.high == approx(0.1)


@pytest.mark.parametrize(
    ("tolerance", "outcome"), [("0.05 mm", "BROKEN"), ("0.1 mm", "UNASSESSED")]
)
def test_what_is_stated_of_the_locating_may_be_too_much_without_the_rest(tolerance, outcome):
    """Pins are good to 0.1 mm, and nothing is said of stops."""
    document = sign_job(registration_tolerance=tolerance)
    del document["printer"]["locating"]["stops"]
    document["handling"] = [
        {"id": by, "does": "reload", "locates_by": by, "after": ["ground"]}
        for by in ("pins", "stops")
    ]
    pass_of(document, "dots")["after"] = ["pins", "stops"]
    planned = evaluate(document)
    document["sequence"] = ["ground", "pins", "stops", "dots", "ink-on-dots"]
    judged = evaluate(document)
    assert the_check(judged, "registration.budget", "passes.dots").outcome.name == outcome
    assert planned.order_is_safe is judged.order_is_safe is (outcome == "UNASSESSED")


def test_one_way_passes_land_alike():
    """Without a stroke back there is nothing to land apart from."""
    document = sign_job()
    document["printer"]["landing_tolerance"] = "1 mm"
    document["alignments"] = [{"extra": 3}]
    two_way = evaluate(document)
    assert all(error > 0 for error in two_way.plan.timeline.landing_errors.values())
    assert [check for check in two_way.checks if "two-way landing error" in check.message]
    for item in document["passes"]:
        item["directions"] = 1
    one_way = evaluate(document)
    assert list(one_way.plan.timeline.landing_errors.values()) == [0.0, 0.0, 0.0]
    assert not [check for check in one_way.checks if "two-way landing error" in check.message]


@pytest.mark.parametrize("order", [["near", "far"], ["far", "near"]])
@pytest.mark.parametrize("directions", [1, 2])
def test_the_worst_landing_of_those_before_counts(order, directions):
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {
            "id": name,
            "ink": "black",
            "areas": [[x, 0, 20, 20]],
            "gap": {"extra": gap},
            "directions": ways,
        }
        for name, x, gap, ways in [
            ("near", 0, 0, directions),
            ("far", 40, 0.5, 2),
            ("last", 80, 0, 2),
        ]
    ]
    document["printer"]["landing_tolerance"] = "1 mm"
    document["sequence"] = [*order, "last"]
    document["alignments"] = [{"extra": 0.1}]
    # `far` throws 0.4 mm more than the alignment was made for, the others 0.1 mm less: 2 x 800 x
    # distance / 6000 each; a pass that prints one way lands where it should.
    found = the_check(evaluate(document), "registration.total", "passes.last")
    assert found.measured.high == approx(2 * 800 * (0.4 + 0.1) / 6000)


@pytest.mark.parametrize("order", [["one-way", "two-way"], ["two-way", "one-way"]])
def test_a_landing_that_is_not_known_is_not_hidden_by_one_that_is(order):
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {
            "id": name,
            "ink": "black",
            "areas": [[x, 0, 20, 20]],
            "gap": {"extra": 0},
            "directions": ways,
        }
        for name, x, ways in [("one-way", 0, 1), ("two-way", 40, 2), ("last", 80, 1)]
    ]
    document["sequence"] = [*order, "last"]
    del document["printer"]["landing_tolerance"]
    assert (
        the_check(evaluate(document), "registration.total", "passes.last").missing
        == "printer.landing_tolerance"
    )


def test_which_rules_decide_whether_an_order_is_safe():
    """Strikes, too little room, what is out of order, sheets moved between passes, throws too far;
    nothing else.
    """
    assert evaluate(sign_job()).ok
    assert {one.rule.name for one in load_plugins().rules if one.rule.decides} == {
        *(f"clearance.{name}" for name in ("strike", "margin")),
        *(f"order.{name}" for name in ("cycle", "sequence", "side")),
        *(f"registration.{name}" for name in ("frame", "budget", "growth")),
        "throw.reach",
    }


@pytest.mark.parametrize("minutes", [None, 0.0, 2.5])
def test_a_remedy_says_the_minutes_that_it_takes(minutes):
    assert Remedy("wait", (), minutes).to_dict()["setup_minutes"] == minutes


def test_of_several_things_unsaid_the_bed_comes_first():
    document = sign_job()
    document["printer"]["moving_bed"] = {}
    found = the_check(evaluate(document), "hold.slip", "media.panel")
    assert found.missing == "printer.moving_bed.acceleration"


def test_what_comes_too_late_is_told_with_where_it_belongs_and_the_rest_without():
    document = sign_job()
    document["sequence"] = ["ground", "ink-on-dots", "dots"]
    result = evaluate(document)
    late = the_check(result, "order.sequence", "passes.ink-on-dots")
    assert late.outcome is Outcome.BROKEN
    assert late.measured.nominal == 1
    assert "Put it after dots." in late.message
    met = the_check(result, "order.sequence", "passes.dots")
    assert met.outcome is Outcome.MET
    assert "Put it" not in met.message


def test_of_two_sheets_whose_hold_is_not_said_the_earlier_one_is_named():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": m, "thickness": 3, "size": [90, 90], "at": [x, 0]} for m, x in [("a", 0), ("b", 100)]
    ]
    document["passes"] = [
        {"id": "first", "ink": "black", "media": "a", "gap": {"extra": 0}},
        {
            "id": "then",
            "ink": "black",
            "media": "b",
            "gap": {"extra": 0},
            "registers_to": ["first"],
        },
    ]
    found = the_check(evaluate(document), "registration.frame", "passes.then")
    assert found.missing == "media.a.hold"


def test_a_throw_too_far_stops_the_job_only_where_the_planner_may_choose():
    document = sign_job()
    document["printer"]["max_throw"] = "1 mm"
    document["sequence"] = ["ground", "dots", "ink-on-dots"]
    stated = the_check(evaluate(document), "throw.reach", "passes.ground")
    pass_of(document, "ground")["gap"] = "auto"
    chosen = the_check(evaluate(document), "throw.reach", "passes.ground")
    assert (stated.outcome, stated.level) == (Outcome.BROKEN, signrules.Level.REVIEW)
    assert (chosen.outcome, chosen.level) == (Outcome.BROKEN, signrules.Level.STOP)


@pytest.mark.parametrize(
    ("text", "sound"),
    [
        ("one line", True),
        ("two\nlines", False),
        ("x" * 100_000, False),
        (b"bytes", False),
        (7, False),
    ],
)
def test_texts_are_one_line_and_not_endless(text, sound):
    assert is_sound_text(text) is sound


def test_a_subject_is_there_or_is_not():
    job = signrules.job_from_dict(sign_job())
    sound = check("a gap", measured=1, least=0, unit="mm")
    for path in ("passes.dots", "passes.dots.layers", "printer.base_gap", "media.panel", "job"):
        demand_sound(evolve(sound, others=(path,)), job)
    for path in ("passes.absent", "media.absent.bow", ""):
        with pytest.raises(ValueError, match="others"):
            demand_sound(evolve(sound, others=(path,)), job)


def facts_of(document):
    job = signrules.job_from_dict(document)
    machine = Machine(Heights(job))
    return Facts(job, replay_items(machine, machine.declared_order(), {}), (), ordered=True)


def test_pairs_are_looked_at_once_and_things_found_by_their_ids():
    facts = facts_of(sign_job(handling=[{"id": "wait", "does": "pause"}]))
    pairs = [(one.id, other.id) for _, (one, other) in facts.subjects("pair")]
    assert pairs == [("ground", "dots"), ("ground", "ink-on-dots"), ("dots", "ink-on-dots")]
    assert list(facts.subjects("media")) == [("media.panel", facts.job.media[0])]
    assert facts.handling["wait"].does == "pause"
    assert facts.passes["dots"] is facts.job.passes[1]
    assert facts.signs["room"] is facts.job.signs[0]


def test_facts_of_other_tables_are_not_the_same():
    facts = facts_of(sign_job())
    assert facts.equals(facts.copied())
    more = facts.copied()
    more.standards = builtin_standards()
    assert not facts.equals(more)
    assert not more.equals(facts)


def test_a_rule_can_be_a_key():
    rules = [one.rule for one in load_plugins().rules]
    assert len({*rules}) == len(rules)


def test_every_setting_that_is_unknown_is_told():
    @attrs.frozen
    class Limits:
        most: float = signrules.setting(1.0, doc="The most.", unit="mm")

    with pytest.raises(Refused) as refused:
        settings_from(Limits, {"mots": 2, "least": 3, "most": 4})
    assert [fault.path for fault in refused.value.faults] == ["mots", "least"]


def test_no_minutes_are_never_minus_none():
    assert str(Remedy("wait", (), -0.0).to_dict()["setup_minutes"]) == "0.0"


def test_a_measured_range_without_an_end_or_upside_down_is_refused():
    job = signrules.job_from_dict(sign_job())
    sound = check("a gap", measured=1, least=0, unit="mm")
    for low, high in ((0.0, math.inf), (-math.inf, 0.0), (1.0, -1.0)):
        endless = object.__new__(Interval)
        for name, value in (("low", low), ("nominal", 0.0), ("high", high)):
            object.__setattr__(endless, name, value)
        with pytest.raises(ValueError, match="measured"):
            demand_sound(evolve(sound, measured=endless), job)


@pytest.mark.parametrize(
    ("measured", "said"),
    [
        (
            Interval(0.5, 0.7, 0.8),
            "it holds at one end of the tolerance and misses by 0.135 mm at the other",
        ),
        (
            Interval(0.7, 0.8, 1.1),
            "it holds at one end of the tolerance and misses by 0.16 mm at the other",
        ),
        (
            Interval(0.5, 0.7, 1.1),
            "it holds only between the ends of the tolerance and misses by 0.16 mm at the worse",
        ),
    ],
)
def test_what_holds_at_one_end_or_only_between(measured, said):
    draft = check("the height", measured=measured, least=0.635, most=0.94, unit="mm")
    assert said in check_message("signs.a", draft)


def test_what_holds_says_the_limit_and_nothing_of_too_much():
    draft = check("the height", measured=0.7, least=0.635, most=0.94, unit="mm")
    assert (
        check_message("signs.a", draft)
        == "signs.a: the height is 0.7 mm (must be 0.635 to 0.94 mm)."
    )
    above = check("the height", measured=0.7, above=0.635, unit="mm")
    assert (
        check_message("signs.a", above)
        == "signs.a: the height is 0.7 mm (must be more than 0.635 mm)."
    )


@pytest.mark.parametrize(
    ("gap", "tool"),
    [
        ({"control": "spacers", "spacers": [0.4, 1]}, "spacer"),
        ({"control": "dial", "step": 0.2, "max": 2}, "step of the dial"),
    ],
)
def test_a_gap_that_cannot_be_set_names_what_sets_it(gap, tool):
    document = sign_job()
    document["printer"]["gap"] = gap
    pass_of(document, "ground")["gap"] = {"extra": 0.3}
    assert (
        f"to the nearest {tool} is 0.1"
        in the_check(evaluate(document), "gap.settable", "passes.ground").message
    )


def test_a_sheet_is_held_against_all_of_the_acceleration():
    document = sign_job()
    document["printer"]["moving_bed"] = {"acceleration": "60 m/s2"}
    document["media"][0] |= {
        "material": "acrylic",
        "friction": 0.3,
        "vacuum_pressure": "5 kPa",
        "vacuum_share": 0.1,
    }
    slip = the_check(evaluate(document), "hold.slip", "media.panel")
    assert slip.limit[0] == approx(60)
    assert slip.unit == "m/s2"


def test_drops_that_never_fall_are_slowed_by_nothing_and_miss_nothing():
    """A head below the surface is told by other rules."""
    document = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    document["printer"].pop("drop_volume", None)
    document["printer"]["drop_density"] = "1.1 g/cm3"
    document["passes"][0] |= {"gap": {"head_above_bed": 1}}
    result = evaluate(document)
    assert [
        c for c in result.checks if c.rule == "throw.slowing" and c.subjects[0] == "passes.ground"
    ] == []
    assert the_check(result, "throw.slowing", "passes.dots").missing == "printer.drop_volume"


def test_braille_without_cells_is_asked_for_in_each_grade_that_a_standard_wants():
    document = sign_job(standards=["us-ada-2010", "dk-tibs"])
    for key in ("cells", "grade"):
        document["signs"][0]["braille"].pop(key, None)
    absent = [c for c in evaluate(document).checks if c.rule == "braille.text"]
    assert [c.missing for c in absent] == ["signs.room.braille.cells"] * 2
    assert "the contracted braille" in absent[0].message
    assert "the uncontracted braille" in absent[1].message


def test_each_pass_of_raised_characters_that_says_not_where_it_prints_is_named():
    document = sign_job()
    document["signs"][0]["braille"]["clear_space"] = "10 mm"
    pass_of(document, "dots")["areas"] = [[20, 20, 40, 10]]
    raised = {"ink": "clear", "gap": {"extra": 1}, "builds": "room.raised"}
    document["passes"] += [{"id": name} | raised for name in ("letters", "more-letters")]
    absent = {c.missing for c in evaluate(document).checks if c.rule == "braille.fit"}
    assert {"passes.letters.areas", "passes.more-letters.areas"} <= absent


def test_each_grade_that_standards_ask_for_wants_a_translator():
    """The ADA Standards ask for contracted braille (703.3), an invented house rule for
    uncontracted.
    """
    head = 'id = "house"\ntitle = "A house rule"\npublisher = "nobody"\nunit = "mm"\n'
    row = (
        'quantity = "braille.grade"\nwords = ["uncontracted"]\nclause = "1"\nsource ='
        ' "invented"\nstanding = "read"\n'
    )
    table = read_standard(f"{head}[[rows]]\n{row}", "house.toml")

    class House:
        @signrules.hookimpl
        def signrules_standards(self):
            return [table]

    document = sign_job(standards=["us-ada-2010", "house"])
    document["signs"][0]["braille"]["cells"] = "⠗⠕⠕⠍ ⠼⠊"
    result = signrules.evaluate(
        signrules.job_from_dict(document), plugins=signrules.load_plugins(objects=[House()])
    )
    lacking = [check.missing for check in result.checks if check.rule == "braille.text"]
    assert [one.split(" to ")[1].split()[0] for one in lacking] == ["contracted", "uncontracted"]
