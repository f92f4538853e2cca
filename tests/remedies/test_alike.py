"""Alike signs: a mistake at one of them and at all of them, and a document that lists them in
another order.

The jobs are those of tests/benchmarks/alike_signs.py, worked by hand: dots of 0.03 mm a layer, of
which us-ada-2010 (703.3.1: 0.025 to 0.037 in, 0.635 to 0.9398 mm) allows 22 to 31 layers; dots up
to 1.6002 mm wide.
"""

from __future__ import annotations

import json
import pickle

import jsonpatch
import pytest
from attrs import evolve
from benchmarks import alike_signs as bed
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from remedies.test_law import assert_law

import signrules
from signrules.remedies.alike_cases import Alike, by_number, in_short, leaves_of, with_leaves
from signrules.remedies.unlike_rows import candidate_changes
from signrules.reports.text_report import evaluation_text


def evaluated(mistake, sheets=1, signs=8, gaps="stated"):
    return signrules.evaluate(bed.job_with(mistake, sheets, signs, gaps=gaps))


def findings(result, rule):
    return [check for check in result.violations if check.rule == rule]


def changed_ids(result, remedy):
    """The ids of the passes or signs that a remedy changes."""
    document = signrules.job_to_dict(result.job)
    after = jsonpatch.apply_patch(document, [dict(one) for one in remedy.patch])
    rows = [
        (old, new)
        for table in ("passes", "signs")
        for old, new in zip(document[table], after[table], strict=True)
    ]
    return {old["id"] for old, new in rows if old != new}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("mistake", "rule", "summary", "table"),
    [
        (
            bed.low_dots_everywhere,
            "braille.dot-height",
            (
                "Print dots-0-0 in 22 layers instead of 18. The same at dots-0-1, dots-0-2,"
                " dots-0-3 and 4 more."
            ),
            "dots",
        ),
        (
            bed.wide_dots_everywhere,
            "braille.dot-diameter",
            (
                "Make the braille dot diameter of room-0-0 1.6 mm instead of 1.7 mm."
                " The same at room-0-1, room-0-2, room-0-3 and 4 more."
            ),
            "room",
        ),
    ],
)
def test_the_same_mistake_at_all_of_them_is_one_case(mistake, rule, summary, table):
    result = evaluated(mistake)
    found = findings(result, rule)
    assert len(found) == 8
    offered = result.reported_remedies
    assert offered.not_tried == ()
    for check in found:
        remedy = offered.of_checks[check][0]
        assert remedy.summary == summary
        assert changed_ids(result, remedy) == {f"{table}-0-{number}" for number in range(8)}
        assert check.remedies == offered.of_checks[check]
    for remedy in offered.of_checks[found[0]]:
        for check in found:
            assert_law(result.job, result, check, remedy)


def test_one_speaks_for_all_in_a_report():
    result = evaluated(bed.wide_dots_everywhere)
    checks = [
        check for check in result.to_dict()["checks"] if check["rule"] == "braille.dot-diameter"
    ]
    assert [bool(check["remedies"]) for check in checks] == [True] + [False] * 7
    assert [check.get("remedies_as") for check in checks] == [None] + ["signs.room-0-0"] * 7
    text = evaluation_text(result)
    assert text.count("Remedy: Make the braille dot diameter of room-0-0") == 1
    assert text.count("Remedy: as on signs.room-0-0.") == 7
    away = pickle.loads(pickle.dumps(result))
    assert away.to_dict() == result.to_dict()
    assert pickle.loads(pickle.dumps(away)).to_dict() == result.to_dict()


def test_what_was_asked_of_one_travels_for_all():
    result = evaluated(bed.wide_dots_everywhere)
    assert findings(result, "braille.dot-diameter")[3].remedies
    away = pickle.loads(pickle.dumps(result))
    assert [len(check.remedies) for check in findings(away, "braille.dot-diameter")] == [1] * 8


@pytest.mark.parametrize(
    ("mistake", "rule", "summary"),
    [
        (
            bed.low_dots,
            "braille.dot-height",
            (
                "Print dots-0-1 in 24 layers instead of 18, as dots-0-0, dots-0-2, dots-0-3 and 4"
                " more have it."
            ),
        ),
        (
            bed.wide_dots,
            "braille.dot-diameter",
            (
                "Make the braille dot diameter of room-0-1 1.55 mm instead of 1.7 mm,"
                " as room-0-0, room-0-2, room-0-3 and 4 more have it."
            ),
        ),
        (
            bed.small_gap,
            "clearance.margin",
            (
                "Set the gap of colour-0-1 to 1 mm over sheet-0 instead of 0 mm over sheet-0,"
                " as colour-0-0, colour-0-2, colour-0-3 and 4 more have it."
            ),
        ),
    ],
)
def test_of_one_that_is_unlike_its_likes_what_they_have_is_tried_first(mistake, rule, summary):
    result = evaluated(mistake)
    found = findings(result, rule)
    assert found
    for check in found:
        remedy = check.remedies[0]
        assert remedy.summary == summary
        assert len(changed_ids(result, remedy)) == 1
        assert_law(result.job, result, check, remedy)


@pytest.mark.slow
def test_what_mends_one_finding_is_offered_for_the_others_that_it_mends():
    # Dots of 1.8 mm strike wherever the head passes; with as many layers as their likes nothing is
    # in the way.
    result = evaluated(bed.high_dots)
    offered = result.reported_remedies
    layers = (
        "Print dots-0-1 in 24 layers instead of 60, as dots-0-0, dots-0-2, dots-0-3 and 4 more"
        " have it."
    )
    assert offered.of_conflict[0].summary == layers
    in_the_way = findings(result, "clearance.margin")
    assert len(in_the_way) > 4
    for check in in_the_way:
        assert offered.of_checks[check][0].summary == layers
        for remedy in offered.of_checks[check]:
            assert_law(result.job, result, check, remedy)


@pytest.mark.thorough
def test_a_conflict_of_alike_passes_is_resolved_at_all_of_them():
    result = evaluated(bed.small_gap_everywhere)
    assert result.conflict is not None
    remedy = result.conflict_remedies[0]
    assert changed_ids(result, remedy) == {f"colour-0-{number}" for number in range(8)}
    for each in result.conflict_remedies:
        assert_law(result.job, result, None, each)


@pytest.mark.slow
def test_mending_counts_what_is_done_alike_as_one_change():
    for mistake in (bed.wide_dots_everywhere, bed.low_dots_everywhere, bed.small_gap_everywhere):
        mended = signrules.mend(bed.job_with(mistake, 2, 4))
        assert mended.result.ok
        assert len(mended.changes) == 1
        assert mended.needed


def summaries(result):
    """Of each finding the remedies in words."""
    reported = result.reported_remedies
    found = {
        (check.rule, check.subjects[0]): [one.summary for one in some]
        for check, some in reported.of_checks.items()
    }
    return found, sorted(reported.not_tried)


ORDERS = settings(max_examples=effort(8), deadline=None)
EASY = (
    bed.low_dots,
    bed.low_dots_everywhere,
    bed.wide_dots,
    bed.wide_dots_everywhere,
    bed.small_gap,
)


@pytest.mark.thorough
@ORDERS
@given(st.data(), st.sampled_from(EASY))
def test_the_order_in_which_alike_signs_are_listed_makes_no_difference(data, mistake):
    document = bed.alike_signs(1, 4)
    mistake(document)
    expected = summaries(signrules.evaluate(signrules.job_from_dict(document)))
    assert expected[0]
    for table in ("signs", "passes"):
        document[table] = data.draw(st.permutations(document[table]))
    assert summaries(signrules.evaluate(signrules.job_from_dict(document))) == expected


def test_the_order_makes_no_difference_where_trials_are_few(monkeypatch):
    monkeypatch.setattr("signrules.remedies.finder.REPORT", 130)
    document = bed.alike_signs(1, 4)
    bed.low_dots(document)
    bed.wide_dots_everywhere(document)
    document["signs"][2]["braille"]["clear_space"] = "9 mm"
    expected = summaries(signrules.evaluate(signrules.job_from_dict(document)))
    assert expected[0]
    assert expected[1]
    for table in ("signs", "passes"):
        document[table].reverse()
    assert summaries(signrules.evaluate(signrules.job_from_dict(document))) == expected


def test_what_is_alike():
    document = bed.alike_signs(2, 3)
    job = signrules.job_from_dict(document)
    alike = Alike(job)
    assert len(alike.contents("signs")) == len(alike.contents("media")) == 1
    # Grounds, dots, colour.
    assert sorted(len(alike.with_content("passes", one)) for one in alike.contents("passes")) == [
        2,
        6,
        6,
    ]
    document["signs"][1]["text"] = ["ROOM 10"]
    assert len(Alike(signrules.job_from_dict(document)).contents("signs")) == 1
    document["signs"][1]["raised"]["stroke"] = 4
    assert len(Alike(signrules.job_from_dict(document)).contents("signs")) == 2


def test_what_they_say_is_never_taken_from_one_sign_to_another():
    # Two of four signs say something else in braille than in text; the likes of each say what
    # another text says.
    document = bed.alike_signs(1, 4)
    for sign in document["signs"][:3]:
        sign["text"], sign["braille"]["cells"] = ["ROOM 7"], "⠗⠕⠕⠍⠀⠼⠛"
    document["signs"][3]["braille"]["cells"] = "⠗⠕⠕⠍⠀⠼⠛"

    class Words:
        @signrules.hookimpl
        def signrules_translate_braille(self, text):
            return {"room 7": "⠗⠕⠕⠍⠀⠼⠛", "room 9": "⠗⠕⠕⠍⠀⠼⠊"}.get(text)

    plugins = signrules.load_plugins(objects=[Words()])
    result = signrules.evaluate(signrules.job_from_dict(document), plugins=plugins)
    (wrong,) = findings(result, "braille.numbers")
    assert wrong.remedies
    for remedy in wrong.remedies:
        assert changed_ids(result, remedy) == {"room-0-3"}
        assert signrules.apply_remedy(result.job, remedy).signs[3].braille.cells == "⠗⠕⠕⠍⠀⠼⠊"


def test_names_in_order_and_in_short():
    names = ["room-10", "room-9", "a", "room-9b", "room"]
    assert sorted(names, key=by_number) == ["a", "room", "room-9", "room-9b", "room-10"]
    assert in_short(["a", "b", "c"]) == "a, b, c"
    assert in_short(["a", "b", "c", "d", "e"]) == "a, b, c and 2 more"


def test_a_change_is_repeated_only_where_the_same_stands():
    job = signrules.job_from_dict(bed.alike_signs(1, 2))
    one, other = job.signs
    text = json.dumps(signrules.job_to_dict(job)).replace('"stroke": 3.0', '"stroke": 4.0', 1)
    moved = signrules.job_from_dict(json.loads(text)).signs[0]
    leaves = dict(leaves_of(one, moved))
    assert list(leaves) == [("raised", "stroke")]
    assert with_leaves(other, leaves).raised.stroke.nominal == 4
    assert with_leaves(moved, leaves) is None
    assert with_leaves(evolve(one, raised=None), leaves) is None


class House:
    """A plugin whose rule allows one sign with dots of a width that the standard allows, and no
    more.
    """

    def __init__(self):
        def narrow(job):
            """A house rule.

            Why it matters: a test.
            A job that breaks it: two signs with narrow dots.
            One that meets it: one.
            """
            narrow = [sign for sign in job.signs if sign.braille.dot_diameter.high < 1.65]
            yield signrules.check(
                "signs with narrow dots", measured=len(narrow), most=1, unit="signs"
            )

        stop, source = signrules.Level.STOP, signrules.shop_practice("none")
        self.rule = signrules.rule("ourshop.narrow", each="job", level=stop, source=source)(narrow)

    @signrules.hookimpl
    def signrules_rule_sets(self):
        return [signrules.RuleSet("ourshop", (self.rule,))]


def test_where_all_at_once_does_not_do_each_is_tried_by_itself():
    plugins = signrules.load_plugins(objects=[House()])
    result = signrules.evaluate(bed.job_with(bed.wide_dots_everywhere, 1, 3), plugins=plugins)
    for check in findings(result, "braille.dot-diameter"):
        (remedy,) = result.reported_remedies.of_checks[check]
        assert changed_ids(result, remedy) == {check.subjects[0].removeprefix("signs.")}
        assert "The same at" not in remedy.summary


def with_gaps(**gaps):
    """A sound bed of which some passes have other gaps."""
    document = bed.alike_signs(1, 4)
    for item in document["passes"]:
        if item["id"].replace("-", "_") in gaps:
            item["gap"] = gaps[item["id"].replace("-", "_")]
    return signrules.evaluate(signrules.job_from_dict(document))


def slips(result, path):
    """What is tried first for a pass."""
    check = next(
        check
        for check in result.checks
        if check.rule == "clearance.margin" and check.subjects[0] == path
    )
    return [
        change.summary
        for change in candidate_changes(check, result, Alike(result.job))
        if " as colour-0-" in change.summary
    ]


def test_a_gap_that_its_likes_state_or_leave_open():
    others = {f"colour_0_{number}": "auto" for number in (0, 2, 3)}
    assert slips(with_gaps(**others), "passes.colour-0-1") == [
        "Let the planner choose the gap of colour-0-1 instead of 1 mm over sheet-0,"
        " as colour-0-0, colour-0-2, colour-0-3 have it."
    ]
    assert slips(with_gaps(colour_0_1="auto"), "passes.colour-0-1") == [
        "Set the gap of colour-0-1 to 1 mm over sheet-0 instead of the one that the planner chose,"
        " as colour-0-0, colour-0-2, colour-0-3 have it."
    ]
    assert slips(with_gaps(colour_0_1={"extra": 0, "above": "build-up"}), "passes.colour-0-1") == [
        "Set the gap of colour-0-1 to 1 mm over sheet-0 instead of 0 mm over the build-up on"
        " sheet-0, as colour-0-0, colour-0-2, colour-0-3 have it."
    ]
    # Two of each kind: neither is unlike the rest.
    assert slips(with_gaps(colour_0_1="auto", colour_0_2="auto"), "passes.colour-0-1") == []


@pytest.mark.parametrize(
    ("field", "value", "rule", "words"),
    [
        (
            "finish",
            "gloss",
            "finish.glare",
            "Make the surface finish of room-0-1 matte instead of gloss, as ",
        ),
        (
            "background_lrv",
            60,
            "contrast.reflectance",
            "Make the surface background light reflectance value of room-0-1 8 instead of 60, as ",
        ),
    ],
)
def test_a_word_or_a_share_that_its_likes_have(field, value, rule, words):
    document = bed.alike_signs(1, 4)
    document["signs"][1]["surface"][field] = value
    result = signrules.evaluate(signrules.job_from_dict(document))
    (check,) = findings(result, rule)
    assert check.remedies[0].summary.startswith(words)
    assert_law(result.job, result, check, check.remedies[0])
