"""The main job, end to end, on an invented sign.

The gaps used here (1 mm over the plain gap for braille build-up, 0.5 mm for colour over dots, no
pass at the plain gap after the build-up) are common practice without a published source; the
dimensions are those of the 2010 ADA Standards, section 703.
"""

from __future__ import annotations

import pytest
from scenario import pass_of, sign_job

import signrules
from signrules import Level, Outcome


def evaluate(document):
    return signrules.evaluate(signrules.job_from_dict(document))


def the_check(result, rule, subject):
    found = [
        check for check in result.checks if check.rule == rule and check.subjects[0] == subject
    ]
    assert len(found) == 1, found
    return found[0]


def test_three_passes_are_sound_in_their_order():
    result = evaluate(sign_job())
    assert result.ok
    assert result.order == ("ground", "dots", "ink-on-dots")
    # The dots print both ways and 23 of their layers shorten the throw; that someone must look at.
    assert {(c.rule, c.subjects[0]) for c in result.violations} == {
        ("alignment.through", "passes.dots")
    }
    assert result.plan.optimal
    assert signrules.safe_order(result.job) == ("ground", "dots", "ink-on-dots")
    # Head plane 3 + 1.5 + 1 over 3 + 0.01 + 0.72; the dots leave 1.77 mm.
    assert the_check(result, "clearance.margin", "passes.dots").measured.low == pytest.approx(1.77)
    # From the build-up: 1.5 mm less the pass's own 10 um.
    assert the_check(
        result, "clearance.margin", "passes.ink-on-dots"
    ).measured.low == pytest.approx(1.49)


def test_the_steps_of_the_plan_are_in_the_report():
    steps = evaluate(sign_job()).to_dict()["plan"]["steps"]
    assert [step["kind"] for step in steps] == [
        *["align"] * 2, "load", "gap", "print", "gap", "print", "gap", "print", "unload",
    ]  # fmt: skip
    assert steps[0]["extra"] == pytest.approx(0.0)
    assert [step["head_plane"] for step in steps if step["kind"] == "gap"] == pytest.approx(
        [4.5, 5.5, 5.23]
    )
    assert [step["throw"] for step in steps if step["kind"] == "print"] == [
        [1.5, 1.5],
        [2.49, 2.49],
        [1.5, 2.22],
    ]


def test_ground_last_breaks_clearance_on_exactly_that_pass():
    result = evaluate(sign_job(sequence=["dots", "ink-on-dots", "ground"]))
    broken = [
        check for check in result.checks if check.rule.startswith("clearance") and check.holds_back
    ]
    assert {check.subjects for check in broken} == {("passes.ground",)}
    # Head at 4.5 mm, the highest stack 3 + 0.72 + 0.01 and the ground's own 0.01: 0.76 mm are left
    # of 1 mm.
    margin = the_check(result, "clearance.margin", "passes.ground")
    assert margin.outcome is Outcome.BROKEN
    assert margin.measured.low == pytest.approx(0.76)
    assert margin.margin == pytest.approx(-0.24)
    assert "0.24 mm" in margin.message
    assert not result.ok
    assert result.order == ("dots", "ink-on-dots", "ground")
    assert not result.order_is_safe
    with pytest.raises(signrules.NoSafeOrder) as caught:
        signrules.safe_order(result.job)
    assert caught.value.conflict.subjects == ("passes.ground",)


def test_a_ground_that_must_come_last_has_no_safe_order_and_the_conflict_says_why():
    document = sign_job()
    pass_of(document, "ground")["after"] = ["dots"]
    result = evaluate(document)
    assert result.plan is None
    assert result.order == ()
    assert not result.ok
    assert result.conflict.subjects == ("passes.ground", "passes.dots")
    assert result.conflict.proven
    assert "0.77 mm" in result.conflict.message  # the clearance of the ground, where 1 mm is needed
    assert "ground" in result.conflict.message
    assert "dots must come before ground" in result.conflict.message
    # What the declared order runs into is shown all the same.
    assert the_check(result, "clearance.margin", "passes.ground").outcome is Outcome.BROKEN
    assert the_check(result, "order.cycle", "job").outcome is Outcome.BROKEN


def test_dots_of_half_a_millimetre_clear_the_head_and_miss_the_standard():
    document = sign_job()
    pass_of(document, "dots")["layers"] = 25
    document["inks"][1]["layer"] = "20 um"
    result = evaluate(document)
    assert result.order_is_safe
    assert not result.ok
    height = the_check(result, "braille.dot-height", "signs.room")
    assert height.outcome is Outcome.BROKEN
    assert height.level is Level.STOP
    assert height.measured.low == pytest.approx(0.5)
    assert height.margin == pytest.approx(0.5 - 0.635)  # Table 703.3.1: 0.025 in
    assert "0.135 mm" in height.message
    assert "703.3.1" in str(height.source)


def two_sheets(y_of_the_second):
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "ground", "ink": "black", "media": "panel", "gap": {"extra": 0, "above": "media"}}
    ]
    document["media"][0] |= {"size": [100, 100], "at": [0, 0]}
    document["media"].append(
        {"id": "thick", "thickness": "6 mm", "size": [100, 100], "at": [200, y_of_the_second]}
    )
    return document


@pytest.mark.parametrize(("y", "struck"), [(0, True), (139, True), (140, False), (300, False)])
def test_a_thick_neighbour_is_struck_within_the_band_and_not_beyond_the_length_of_the_head(
    y, struck
):
    result = evaluate(two_sheets(y))
    if struck:
        # The head at 4.5 mm meets a top at 6 mm, wherever it lies along the carriage's travel.
        assert the_check(result, "clearance.strike", "passes.ground").measured.low == pytest.approx(
            -1.5
        )
        assert result.conflict.subjects == ("passes.ground",)
    else:
        assert result.ok
        assert the_check(result, "clearance.strike", "passes.ground").measured.low == pytest.approx(
            1.49
        )


def test_a_thick_neighbour_on_another_load_is_not_there():
    document = two_sheets(0)
    document["media"][1]["load"] = "2"
    assert evaluate(document).ok


@pytest.mark.parametrize(
    ("reference", "neighbour", "expected"),
    [
        (
            "media",
            False,
            (1.49, 1.49),
        ),  # the thickness stands in the head plane and in the surface, and cancels
        ("bed", False, (1.19, 1.79)),  # it stands in the surface alone
        (
            "media",
            True,
            (0.9, 1.49),
        ),  # two sheets are two unknowns: 1.5 - 0.3 - 0.3 over the other one's bare top
    ],
)
def test_a_tolerance_cancels_where_it_stands_on_both_sides(reference, neighbour, expected):
    document = sign_job(standards=[], signs=[])
    document["media"][0] |= {"thickness": "3 mm +- 0.3 mm", "size": [100, 100], "at": [0, 0]}
    gap = {"extra": 0, "above": "media"} if reference == "media" else {"head_above_bed": 4.5}
    document["passes"] = [
        {
            "id": "ground",
            "ink": "black",
            "media": "panel",
            "gap": gap,
        }
    ]
    if neighbour:
        document["media"].append(document["media"][0] | {"id": "other", "at": [200, 0]})
    measured = the_check(evaluate(document), "clearance.margin", "passes.ground").measured
    assert (measured.low, measured.high) == pytest.approx(expected)


def reloaded(locating, **printer):
    document = sign_job()
    document["handling"] = [{"id": "put-back", "does": "reload", "after": ["ground"], **locating}]
    pass_of(document, "dots")["after"] = ["put-back"]
    document["printer"] |= printer
    return evaluate(document)


def test_a_reload_between_passes_that_register_breaks_the_frame():
    result = reloaded({})
    frame = the_check(result, "registration.frame", "passes.dots")
    assert frame.outcome is Outcome.BROKEN
    assert frame.subjects == ("passes.dots", "passes.ground")
    assert "put-back" in frame.message
    assert result.conflict.subjects == ("passes.ground", "passes.dots", "handling.put-back")


def test_pins_within_tolerance_bridge_the_reload():
    result = reloaded({"locates_by": "pins"})
    assert result.ok
    assert result.order == ("ground", "put-back", "dots", "ink-on-dots")
    assert the_check(result, "registration.frame", "passes.dots").outcome is Outcome.MET
    budget = the_check(result, "registration.budget", "passes.dots")
    assert (budget.outcome, budget.measured.high) == (Outcome.MET, pytest.approx(0.1))
    assert result.plan.loads == 2


def test_stops_beyond_tolerance_do_not():
    result = reloaded({"locates_by": "stops"})
    assert result.plan is None
    budget = the_check(result, "registration.budget", "passes.dots")
    assert (budget.outcome, budget.margin) == (Outcome.BROKEN, pytest.approx(-0.35))


def test_a_method_whose_error_the_printer_does_not_state_is_unassessed():
    result = reloaded({"locates_by": "camera"})
    assert (
        the_check(result, "registration.budget", "passes.dots").missing == "printer.locating.camera"
    )
    assert result.order == ("ground", "put-back", "dots", "ink-on-dots")


@pytest.mark.parametrize("does", ["flip", "release"])
def test_a_flip_and_a_release_of_the_hold_break_the_frame_too(does):
    document = sign_job()
    document["handling"] = [{"id": "handled", "does": does, "after": ["ground"]}]
    pass_of(document, "dots")["after"] = ["handled"]
    result = evaluate(document)
    assert result.plan is None
    assert the_check(result, "registration.frame", "passes.dots").outcome is Outcome.BROKEN


def test_a_pause_moves_nothing():
    document = sign_job()
    document["handling"] = [{"id": "wait", "does": "pause", "after": ["ground"]}]
    pass_of(document, "dots")["after"] = ["wait"]
    assert evaluate(document).order == ("ground", "wait", "dots", "ink-on-dots")


def test_a_sheet_that_nothing_holds_cannot_register():
    document = sign_job()
    document["media"][0]["hold"] = "none"
    result = evaluate(document)
    assert the_check(result, "registration.frame", "passes.dots").outcome is Outcome.BROKEN
    assert result.plan is None
    pass_of(document, "ground")["registers_to"] = []
    document["passes"] = document["passes"][:1]
    document["signs"] = []
    assert evaluate(document).ok


def test_an_unsaid_hold_is_unassessed_and_forbids_nothing():
    document = sign_job()
    del document["media"][0]["hold"]
    result = evaluate(document)
    assert the_check(result, "registration.frame", "passes.dots").missing == "media.panel.hold"
    assert result.order_is_safe


def test_a_back_pass_needs_a_flip_and_lies_on_what_was_printed():
    document = sign_job(standards=[])
    document["passes"].append(
        {"id": "reverse", "ink": "black", "side": "back", "gap": {"extra": 0.5}}
    )
    assert evaluate(document).plan is None
    document["handling"] = [{"id": "turn-over", "does": "flip"}]
    result = evaluate(document)
    assert result.order == ("ground", "dots", "ink-on-dots", "turn-over", "reverse")
    # The dots underneath may lift the sheet anywhere by up to 0.74 mm: 2 - 0.01 - 0.74.
    clearance = the_check(result, "clearance.margin", "passes.reverse").measured
    assert (clearance.low, clearance.high) == pytest.approx((1.25, 1.99))
    assert result.plan.loads == 2


def test_unknown_standards_are_the_jobs_fault():
    with pytest.raises(signrules.JobError, match=r"standards\[0\].*us-ada-2010"):
        evaluate(sign_job(standards=["us-ada-2011"]))


def test_a_gap_of_the_same_height_over_another_sheet_is_set_all_the_same_and_costs_nothing():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {
            "id": "a",
            "thickness": "3 mm +- 0.4 mm",
            "size": [100, 100],
            "at": [0, 0],
            "hold": "vacuum",
        },
        {"id": "b", "thickness": "3 mm", "size": [100, 100], "at": [0, 300], "hold": "vacuum"},
    ]
    document["passes"] = [
        {"id": f"on-{m}", "ink": "black", "media": m, "gap": {"extra": 0}} for m in "ab"
    ]
    result = evaluate(document)
    gaps = [step for step in result.plan.steps if step.kind == "gap"]
    assert [step.media for step in gaps] == ["a", "b"]
    assert result.plan.timeline.gap_settings == 1
    # Left to the planner, the second pass may take the plane as it stands, and then the tolerance
    # of the first counts.
    for item in document["passes"]:
        item["gap"] = "auto"
    kept = evaluate(document)
    clearance = the_check(kept, "clearance.margin", "passes.on-b").measured
    assert kept.ok
    assert clearance.low >= 1.0


def test_a_sequence_is_not_safe_where_an_open_gap_finds_nothing_within_reach():
    document = sign_job(standards=[], signs=[], sequence=["dots", "flat"])
    document["printer"] |= {"max_throw": 1.6, "gap": {"control": "spacers", "spacers": [2]}}
    document["passes"] = [
        {
            "id": "dots",
            "ink": "clear",
            "layers": 30,
            "areas": [[0, 0, 50, 50]],
            "gap": {"extra": 2},
        },
        {"id": "flat", "ink": "black", "areas": [[60, 0, 50, 50]]},
    ]
    judged = evaluate(document)
    assert not judged.ok
    assert not judged.order_is_safe
    del document["sequence"]
    assert evaluate(document).order == ("flat", "dots")


def test_of_orders_that_cost_the_same_the_declared_one_is_taken():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": f"m{n}", "thickness": 3, "size": [50, 50], "at": [100 * n, 0], "hold": "vacuum"}
        for n in range(3)
    ]
    gaps = ["auto", {"extra": 1}, {"extra": 0}]
    document["passes"] = [
        {"id": f"p{n}", "ink": "black", "media": f"m{n}", "gap": gap} for n, gap in enumerate(gaps)
    ]
    assert evaluate(document).order == ("p0", "p1", "p2")


def test_a_long_sequence_of_open_gaps_is_judged_without_running_away():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": f"p{n}", "ink": "clear", "areas": [[10 * n, 0, 10, 50]], "layers": n % 5 + 1}
        for n in range(18)
    ]
    document["sequence"] = [f"p{n}" for n in range(18)]
    result = evaluate(document)
    assert result.ok
    assert result.plan.timeline.gap_settings == 1


@pytest.mark.parametrize("area", [[0, 0, 1e-9, 10], [5, 5, 1e-7, 1e-7]])
def test_areas_without_points_are_refused(area):
    document = sign_job()
    pass_of(document, "dots")["areas"] = [area]
    with pytest.raises(signrules.JobError, match=r"passes\[1\]\.areas\[0\]"):
        evaluate(document)


def test_a_pass_builds_no_sign_on_another_sheet():
    document = sign_job()
    document["media"].append({"id": "other", "thickness": 3, "size": [50, 50], "at": [300, 300]})
    for item in document["passes"]:
        item["media"] = "other" if item["id"] == "dots" else "panel"
    with pytest.raises(signrules.JobError, match=r"passes\[1\]\.builds"):
        evaluate(document)
