"""What stands on the page, in which words, and for whom."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from itertools import pairwise
from types import SimpleNamespace

import pytest
from attrs import evolve
from scenario import pass_of, sign_job
from sheet.pages import EXAMPLES, NBSP, example, of_class, seen, sheet_of, tree

import signrules
from signrules.evaluation.cautions import CAUTIONS
from signrules.reports.text_report import not_checked
from signrules.sheet import page as page_module
from signrules.sheet.hands import steps_on_ink
from signrules.sheet.page import signs_to_measure
from signrules.sheet.scene import _round_down
from signrules.sheet.sheet_words import (
    clean_text,
    figure_text,
    listed_things,
    mm_text,
    sentence_text,
    span_text,
)

NAMES = ("clinic", "two-thicknesses", "clinic-scrapes")


def conflict_job():
    job = sign_job()
    pass_of(job, "ground")["after"] = ["dots"]
    return job


def headings(page):
    return [
        (int(each.tag[1]), seen(each))
        for each in tree(page).iter()
        if each.tag in ("h1", "h2", "h3", "h4")
    ]


def section(page, title):
    """The words of the section with a heading."""
    for each in tree(page).iter("section"):
        heading = each.find("h2")
        if heading is not None and seen(heading) == title:
            return seen(each)
    raise AssertionError(f"no section {title!r}")


def test_the_sections_come_in_the_order_of_the_work():
    titles = [text for level, text in headings(example("clinic")[1]) if level <= 2]
    assert titles == [
        "Harbour clinic, room 214",
        "To review",
        "Cautions",
        "Before the load",
        "How to read the pictures",
        "Steps",
        "Measured dots",
        "What it takes",
        "Not checked",
    ]


def test_the_steps_are_those_of_the_plan_by_number():
    for name in NAMES:
        result, page = example(name)
        numbers = [seen(each) for each in of_class(tree(page), "no") if each.get("scope") == "row"]
        assert numbers == [str(n) for n in range(1, len(result.plan.steps) + 1)]
        titles = [
            text for level, text in headings(page) if level == 3 and text.startswith("Print ")
        ]
        assert titles == [f"Print {name}" for name in result.order]


def test_the_clinic_tells_what_to_set_and_why():
    page = example("clinic")[1]
    before = section(page, "Before the load")
    # The extra, what it serves and its passes are worked by hand in docs/how-it-computes.md. Of the
    # spacers 0.3, 0.6, 1.3 and 2.1 mm none lies from 1.065 to 1.293; 1.3 mm over scrap that is
    # raised by 1.3 - 1.293 to 1.3 - 1.065 mm does.
    assert f"1.065{NBSP}mm over a bare sheet" in before
    assert f"from 1.065 to 1.293{NBSP}mm" in before
    assert (
        f"spacer of 1.3{NBSP}mm, the scrap raised by 0.007 to 0.235{NBSP}mm, best by 0.235{NBSP}mm"
        in before
    )
    assert f"; or a spacer of 1.065 to 1.293{NBSP}mm" in before
    assert f"used by dots (step{NBSP}6) and ink-on-dots (step{NBSP}8)" in before
    steps = section(page, "Steps")
    assert "Set the gap: no spacer, measured from the top of panel" in steps
    assert f"Set the gap: spacer of 1.3{NBSP}mm, measured from the top of panel" in steps
    assert f"Set the gap: spacer of 0.3{NBSP}mm, measured from the highest ink on panel" in steps
    # 0.75 mm of base gap and 1.3 mm of spacer.
    assert f"Gauge between the head and the top of panel: 2.05{NBSP}mm." in steps
    assert (
        f"Registers with ground (step{NBSP}4). Leave panel where it lies until ink-on-dots"
        f" (step{NBSP}8) is done." in steps
    )
    assert f"1.024 to 1.272{NBSP}mm (at least 0.5{NBSP}mm)" in steps
    assert f"Landing within 0.06{NBSP}mm at the first layer (at most 0.06{NBSP}mm)" in steps
    # The band: 50 + 30 - 40 to 50 + 38 + 40.
    assert f"Nothing but panel lies from y = 40 to 128{NBSP}mm of the bed." in steps


def test_alignments_on_record_say_who_uses_them_and_which_are_void():
    job = sign_job(
        alignments=[
            {"extra": 0, "date": "2026-05-04"},
            {"extra": 2, "date": "2025-01-02"},
            {"extra": 3.5},
        ]
    )
    job["printer"]["head_work"] = "2026-01-01"
    before = section(sheet_of(job)[1], "Before the load")
    assert f"0{NBSP}mm 2026-05-04 ground" in before
    assert f"2{NBSP}mm 2025-01-02 void: the heads were worked on after it" in before
    assert f"3.5{NBSP}mm not stated no pass of this job" in before


def test_dials_and_gaps_out_of_reach():
    job = sign_job()
    job["printer"]["gap"] = {"control": "dial", "max": "2 mm", "step": "0.25 mm"}
    steps = section(sheet_of(job)[1], "Steps")
    assert f"Set the gap: dial at 1{NBSP}mm, measured from the top of panel" in steps
    pass_of(job, "dots")["gap"]["extra"] = 1.1
    steps = section(sheet_of(job)[1], "Steps, DO NOT PRINT")
    assert f"1.1{NBSP}mm, which this printer's dial does not give" in steps


def test_a_spacer_for_an_alignment_that_none_of_the_shop_reaches():
    """Set over dots of 0.72 mm, crisp beside them: 0.06 x 6000 / 1600 = 0.225 mm to both sides
    serve.
    """
    job = sign_job(alignments=[{"extra": 0}, {"extra": 1}])
    job["printer"]["gap"]["spacers"] = []
    for name in ("dots", "ground"):
        pass_of(job, name)["directions"] = 1
    before = section(sheet_of(job)[1], "Before the load")
    assert f"does not reach that far: a spacer of 0.495 to 0.945{NBSP}mm would do" in before
    job["printer"]["gap"] = {"control": "dial", "max": "0.2 mm", "step": "0.1 mm"}
    before = section(sheet_of(job)[1], "Before the load")
    assert "does not reach that far: ask whoever stated this job" in before


def test_a_gap_of_the_same_height_over_another_sheet_is_not_said_to_need_nothing():
    # 3 mm over a sheet of 3 mm is the same height as 0 mm over one of 6 mm, and yet another place
    # of the dial.
    job = sign_job(standards=[], signs=[])
    job["printer"] |= {
        "gap": {"control": "dial", "max": "4 mm", "step": "1 mm"},
        "max_throw": "9 mm",
    }
    job["media"] = [
        {"id": id, "thickness": f"{thick} mm +- 0.1 mm", "size": [50, 50], "at": [at, 0]}
        for id, thick, at in (("thin", 3, 0), ("thick", 6, 100))
    ]
    job["passes"] = [
        {"id": f"on-{id}", "ink": "black", "media": id, "gap": {"extra": gap}, "directions": 1}
        for id, gap in (("thin", 3), ("thick", 0))
    ]
    result, page = sheet_of(job)
    assert result.timeline.gap_settings == 1
    steps = section(page, "Steps")
    assert f"Set the gap: dial at 3{NBSP}mm, measured from the top of thin" in steps
    again = steps.partition(f"Set the gap: dial at 0{NBSP}mm, measured from the top of thick")[2]
    assert again.startswith(
        f" Head plane 7.5{NBSP}mm above the bed (7.4 to 7.6{NBSP}mm) Same height as for the pass"
    )
    assert "set and gauge it over this surface all the same" in again


def test_every_step_of_a_safe_plan_has_a_box_to_tick():
    result, page = example("clinic")
    root = tree(page)
    boxes = [
        each for each in root.iter("input") if each.get("type") == "checkbox" and each.get("id")
    ]
    assert [each.get("id") for each in boxes] == [
        f"step-{n}" for n in range(1, len(result.plan.steps) + 1)
    ]


def test_a_sequence_that_scrapes_is_shown_and_cannot_be_ticked():
    page = example("clinic-scrapes")[1]
    titles = [text for level, text in headings(page) if level <= 2]
    assert titles[1:3] == ["DO NOT PRINT", "What is wrong"]
    assert "The head would hit." in section(page, "DO NOT PRINT")
    assert "Steps as they stand, DO NOT PRINT" in titles
    assert "Steps, DO NOT PRINT" in titles
    root = tree(page)
    assert not list(root.iter("input"))
    rows = [each for table in of_class(root, "steps") for each in table.iter("tr")]
    boxes = [seen(each.find("td")) for each in rows if each.find("td") is not None]
    assert boxes
    assert set(boxes) == {"DO NOT PRINT"}
    assert "0.786\u00a0mm too little" in section(page, "What is wrong")
    (ground,) = (each for each in rows if "Print ground" in seen(each))
    assert "Look here." in seen(ground)


def test_a_conflict_has_no_steps_at_all():
    result, page = sheet_of(conflict_job())
    assert result.conflict is not None
    stop = section(page, "DO NOT PRINT")
    assert "No order of the passes works." in stop
    for reason in result.conflict.reasons:
        assert sentence_text(reason) in stop
    root = tree(page)
    assert not of_class(root, "steps")
    assert not list(root.iter("input"))
    assert not of_class(root, "section")
    assert [text for level, text in headings(page) if level == 2] == [
        "DO NOT PRINT",
        "What is wrong",
        "Cautions",
        "Not checked",
    ]


@signrules.rule("shop.broken", each="job", source=signrules.shop_practice("a test"))
def broken(job):
    """A rule that fails.

    Why it matters: it shows what an incomplete evaluation looks like.
    A job that breaks it: every job.
    One that meets it: none.
    """
    raise RuntimeError("<b>out of paper</b>")
    yield


def test_an_evaluation_that_is_incomplete_has_no_steps_either():
    def signrules_rule_sets():
        return [signrules.RuleSet("shop", [broken])]

    shop = SimpleNamespace(
        __name__="shop", signrules_rule_sets=signrules.hookimpl(signrules_rule_sets)
    )
    plugins = signrules.load_plugins(objects=[shop])
    result = signrules.evaluate(signrules.job_from_dict(sign_job()), plugins=plugins)
    assert not result.complete
    page = signrules.run_sheet(result)
    stop = section(page, "DO NOT PRINT")
    assert "A rule failed." in stop
    assert "<b>out of paper</b>" in stop
    assert not of_class(tree(page), "steps")


def test_a_sign_that_would_fail_its_standard_has_steps_and_no_boxes():
    job = sign_job()
    job["signs"][0]["braille"]["dot_diameter"] = "3 mm"
    result, page = sheet_of(job)
    assert result.order_is_safe
    assert not result.ok
    root = tree(page)
    verdict = "DO NOT PRINT: the sign would fail its standard"
    assert seen(of_class(root, "verdict")[0]) == verdict
    assert "The sign would fail its standard." in section(page, "DO NOT PRINT")
    assert "the diameter of the dots" in section(page, "What is wrong")
    assert of_class(root, "steps")
    assert not list(root.iter("input"))


def test_what_is_to_review_stands_apart_from_what_is_wrong():
    result, page = sheet_of(sign_job(printer=sign_job()["printer"] | {"max_throw": "2 mm"}))
    assert result.ok
    count = len(result.violations)
    assert f"CHECKS PASS, {count} to review, " in seen(of_class(tree(page), "verdict")[0])
    assert "throw.reach" in section(page, "To review")


def test_cautions_are_those_of_the_text_report_with_their_signal_words():
    said = section(example("clinic")[1], "Cautions")
    for each in CAUTIONS:
        assert f"{each.signal} {each.about}. {each.says}" in said
    assert said.count("WARNING ") == 3


def test_waived_and_unassessed_are_listed():
    job = sign_job(alignments=[{"extra": 0}])
    job["waivers"] = [
        {
            "rule": "alignment.through",
            "subject": "passes.dots",
            "reason": "a plain sign",
            "by": "the night shift",
            "until": "2999-12-31",
        }
    ]
    page = sheet_of(job)[1]
    assert "Waived by the night shift until 2999-12-31: a plain sign" in section(page, "Waived")
    result, page = example("clinic")
    missing = section(page, "Not checked")
    assert result.unassessed
    for check in result.unassessed:
        assert sentence_text(not_checked(check)) in missing
    lines = list(of_class(tree(page), "unchecked")[0].iter("li"))
    assert result.verdict.endswith(f", {len(lines)} not checked")


def lettered(text, cells):
    """The sign with another text and its braille."""
    job = sign_job()
    job["signs"][0]["text"] = [text]
    job["signs"][0]["braille"]["cells"] = cells
    return job


def test_fields_for_measured_dots():
    page = example("clinic")[1]
    # Dots of the cells one by one: 4 + 3 + 3 + 3 (ROOM), 4 (number), 2 + 1 + 3 (214).
    assert f"room-214: measure 10{NBSP}dots of 23" in section(page, "Measured dots")
    # Table 703.3.1 of the 2010 ADA Standards: 0.025 to 0.037 in, at 25.4 mm.
    assert f"Each must be {0.025 * 25.4:g} to {0.037 * 25.4:g}{NBSP}mm" in section(
        page, "Measured dots"
    )
    fields = [
        each.get("aria-label")
        for each in tree(page).iter("input")
        if each.get("inputmode") == "decimal"
    ]
    assert fields == [f"height of dot {n} in mm, sign 1" for n in range(1, 11)]
    job = lettered("AB", "⠁⠃")
    job["signs"][0]["measured"] = {"dot_height": ["0.7 mm", "0.71 mm"]}
    told = section(sheet_of(job)[1], "Measured dots")
    assert f"measure 3{NBSP}dots of 3" in told
    assert f"Measured already: 0.7{NBSP}mm, 0.71{NBSP}mm." in told


def test_dots_without_a_limit_are_measured_all_the_same():
    # Nothing builds the dots and none were measured: their height is not assessed, and no range can
    # be told.
    document = lettered("AB", "⠁⠃")
    del pass_of(document, "dots")["builds"]
    told = section(sheet_of(document)[1], "Measured dots")
    assert f"measure 3{NBSP}dots of 3" in told
    assert "Each must be" not in told


def test_a_single_dot_and_none():
    assert f"measure 1{NBSP}dot of 1" in section(sheet_of(lettered("A", "⠁"))[1], "Measured dots")
    _, page = sheet_of(lettered("", "\u2800"))
    assert "Measured dots" not in [text for _, text in headings(page)]


def test_what_each_dot_must_be_where_only_one_end_is_set():
    # The least alone: Norwegian guidelines for signs, whose table is `no-signs`.
    job = sign_job(standards=["no-signs"])
    job["signs"][0]["braille"] |= {"dot_spacing": "2.5 mm", "cell_spacing": "6.1 mm"}
    job["signs"][0]["raised"]["depth"] = "1.1 mm"
    page = sheet_of(job)[1]
    assert f"Each must be at least 0.6{NBSP}mm (" in section(page, "Measured dots")
    result, _ = example("clinic")
    check = next(check for check in result.checks if check.rule == "braille.dot-height")
    (measuring,) = signs_to_measure(evolve(result, checks=(evolve(check, limit=(None, 0.9)),)))
    assert measuring.allowed.startswith(f"at most 0.9{NBSP}mm (")


def test_what_it_takes():
    takes = section(example("clinic")[1], "What it takes")
    # 200 x 200 mm and 60 x 8 mm of 0.01 mm colour; 60 x 8 mm of 24 x 0.033 mm at 30 %.
    assert f"Cured ink of blue {(40000 + 480) * 0.01 / 1000:.3f}{NBSP}mL" in takes
    assert f"Cured ink of clear {480 * 24 * 0.033 * 0.3 / 1000:.3f}{NBSP}mL" in takes
    assert f"Set-up 22{NBSP}minutes" in takes


def test_every_sheet_that_must_not_move_is_named():
    job = sign_job(standards=[], signs=[])
    job["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "at": [100 * n, 0]}
        for n, name in enumerate("pq")
    ]
    job["passes"] = [
        {"id": "first", "ink": "black", "media": "p"},
        {"id": "then", "ink": "black", "media": "q", "registers_to": ["first"], "after": ["first"]},
        {"id": "last", "ink": "black", "media": "q", "registers_to": ["then"], "after": ["then"]},
    ]
    steps = section(sheet_of(job)[1], "Steps")
    assert "Leave p and q where they lie until then (step" in steps
    assert "Leave q where it lies until last (step" in steps


def test_loads_and_handling_are_steps_of_their_own():
    job = sign_job(standards=[], signs=[])
    for item in job["passes"]:
        item.pop("builds", None)
    job["passes"].append({"id": "back", "ink": "black", "side": "back", "after": ["turn"]})
    job["handling"] = [
        {"id": "turn", "does": "flip", "locates_by": "pins", "after": ["ink-on-dots"]},
        {"id": "rest", "does": "pause", "after": ["dots"]},
    ]
    steps = section(sheet_of(job)[1], "Steps")
    assert "Turn over: turn" in steps
    assert f"Put back by pins within 0.1{NBSP}mm" in steps
    assert "Pause: rest" in steps
    assert "panel with its back up" in steps


def test_which_side_lies_up_is_said_where_it_is_not_the_front_alone():
    job = sign_job(standards=[], signs=[])
    for item in job["passes"]:
        item.pop("builds", None)
        item["after"] = ["turn"]
    job["media"][0]["up"] = "back"
    job["passes"].append({"id": "back", "ink": "black", "side": "back"})
    job["handling"] = [{"id": "turn", "does": "flip", "locates_by": "pins"}]
    result, page = sheet_of(job)
    assert result.order[:2] == ("back", "turn")
    steps = section(page, "Steps")
    assert "panel lies with its back up." in steps
    assert steps.index("panel with its back up") < steps.index("panel with its front up")
    assert "with its front up" not in section(sheet_of(sign_job())[1], "Steps")


STOPPED = "Machine stopped so that it cannot start?"
CURED = "fully cured?"


def ticks_by_step(page):
    """The boxes of each step with what they ask, by the step's heading, in the order of
    the page.
    """
    rows = {}
    for each in tree(page).iter("tr"):
        heading = each.find(".//h3")
        if heading is not None:
            rows[seen(heading)] = [
                seen(label) for label in each.iter("label") if label.get("class") != "tick"
            ]
    return rows


def asks(ticks, words):
    return any(words in text for text in ticks)


def test_whoever_lays_a_tool_or_a_hand_on_print_is_asked_first():
    job = sign_job(standards=[], signs=[], registration_tolerance="1 mm")
    del pass_of(job, "dots")["builds"]
    moves = ("reload", "flip", "release")
    job["passes"].append({"id": "back", "ink": "black", "side": "back", "after": list(moves)})
    job["handling"] = [
        {"id": does, "does": does, "after": ["ink-on-dots"]} for does in (*moves, "pause")
    ]
    printed = False
    seen_titles = set()
    for title, ticks in ticks_by_step(sheet_of(job)[1]).items():
        first = title.split(" ")[0]
        seen_titles.add(first)
        hands = first in ("Align", "Load", "Set", "Unload", "Take", "Turn", "Release")
        assert asks(ticks, STOPPED) == hands, title
        assert asks(ticks, CURED) == (first == "Align" or (hands and printed)), title
        if hands:
            assert ticks[0] == STOPPED
        printed = printed or first == "Print"
    assert seen_titles >= {
        "Align",
        "Load",
        "Set",
        "Print",
        "Take",
        "Turn",
        "Release",
        "Pause:",
        "Unload",
    }


def test_a_second_load_has_no_print_on_it_and_one_that_comes_back_has():
    job = sign_job(standards=[], signs=[])
    job["media"] = [{"id": name, "thickness": 3, "size": [50, 50], "load": name} for name in "pq"]
    job["passes"] = [
        {
            "id": f"{name}{n}",
            "ink": "black",
            "media": name,
            "gap": {"extra": gap},
            "registers_to": [],
        }
        for name, n, gap in (("p", 1, 0), ("q", 1, 1), ("p", 2, 0))
    ]
    job["sequence"] = ["p1", "q1", "p2"]
    result = signrules.evaluate(signrules.job_from_dict(job))
    kinds = [
        (step.kind, step.subject) for step in result.plan.steps if step.kind in ("load", "print")
    ]
    loads = [
        ("load", "p"),
        ("print", "p1"),
        ("load", "q"),
        ("print", "q1"),
        ("load", "p"),
        ("print", "p2"),
    ]
    assert kinds == loads
    on_ink = set(steps_on_ink(result.plan.steps))
    loaded = [
        number for number, step in enumerate(result.plan.steps, start=1) if step.kind == "load"
    ]
    gaps = [number for number, step in enumerate(result.plan.steps, start=1) if step.kind == "gap"]
    assert [number in on_ink for number in loaded] == [False, False, True]
    assert [number in on_ink for number in gaps] == [False, False, True]


def test_what_was_laid_to_set_a_gap_comes_off_the_bed_before_printing():
    job = sign_job()
    for control, words in (
        (job["printer"]["gap"], "Gauge and spacers off the bed again?"),
        (
            {"control": "dial", "max": "2 mm", "step": "0.25 mm"},
            "Gauge off the bed again? The dial sets this gap: no spacer is laid.",
        ),
    ):
        job["printer"]["gap"] = control
        rows = ticks_by_step(sheet_of(job)[1])
        gaps = [ticks for title, ticks in rows.items() if title.startswith("Set the gap")]
        assert len(gaps) == 3
        for ticks in gaps:
            assert ticks[-1] == words
            assert ticks[-2].startswith("Gauge between the head and")
        (scrap,) = [ticks for title, ticks in rows.items() if title.startswith("Align")]
        assert asks(scrap, "Gauge and spacers off the bed, nothing on it but the scrap")


def test_whoever_measures_dots_is_asked_too():
    root = tree(example("clinic")[1])
    (measuring,) = of_class(root, "measuring")
    boxes = [
        seen(label)
        for label in measuring.iter("label")
        if label.find("input").get("type") == "checkbox"
    ]
    assert boxes == [STOPPED, "Every print that hands or tools touch fully cured?"]


@pytest.mark.parametrize("most", [1, 1000])
def test_of_very_many_findings_it_is_said_how_many_are_left_out(monkeypatch, most):
    monkeypatch.setattr(page_module, "MOST_FINDINGS", most)
    document = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    document["signs"][0]["braille"] |= {"dot_diameter": "1.7 mm", "cell_spacing": "6 mm"}
    wrong, page = sheet_of(document)
    none_safe, _ = sheet_of(conflict_job())
    reasons = ("first", "second", "third")
    hopeless = signrules.run_sheet(
        evolve(none_safe, conflict=evolve(none_safe.conflict, reasons=reasons))
    )
    for shown, title, count in (
        (page, "What is wrong", len(wrong.violations)),
        (page, "Not checked", len(wrong.unassessed)),
        (hopeless, "DO NOT PRINT", len(reasons)),
    ):
        assert count > 1
        assert (f"And {count - 1} more." in section(shown, title)) == (most == 1), title


# --- numbers --------------------------------------------------------------------------------------


def numbers_job():
    """Thousands of mm, small fractions, negative numbers, a date."""
    job = sign_job(alignments=[{"extra": "-0.1234 mm", "date": "2026-03-09"}])
    job["printer"] |= {"bed": [3200, 12000], "base_gap": "1.4 mm +- 0.05 mm"}
    job["media"][0] |= {"size": [1500, 2500], "at": [1234.5, 6789.25], "bow": "1.25 mm"}
    pass_of(job, "dots")["areas"] = [[1100.5, 2000.125, 60, 8]]
    return job


@pytest.mark.parametrize("name", [*NAMES, "numbers", "conflict"])
def test_numbers_read_the_same_to_german_and_english_eyes(name):
    jobs = {"numbers": numbers_job, "conflict": conflict_job}
    page = sheet_of(jobs[name]())[1] if name in jobs else example(name)[1]
    text = seen(tree(page))
    assert not re.findall(r"\d,\d", text), "a comma within a number"
    assert not re.findall(r"\d[ \u00a0\u202f'’]\d{3}(?!\d)", text), "a mark between thousands"
    assert not re.findall(r"\d ?(?:mm|mL|minutes)\b", text), "a unit without its no-break space"
    assert len(re.findall(r"\d\u00a0(?:mm|mL|minutes)\b", text)) > 3
    assert not re.findall(r"(?<![\w.-])-\d", text), "a hyphen for a minus"
    assert not re.findall(r"\d{1,2}[./]\d{1,2}[./]\d{2,4}", text), "a date that is not ISO 8601"


def test_how_numbers_are_written():
    assert figure_text(1234567.5) == "1234567.5"
    assert figure_text(-0.28604) == "\u22120.286"
    assert figure_text(-0.00001) == "\u22120.00001"
    assert figure_text(-0.0000001) == "0"
    assert mm_text(0.75) == "0.75\u00a0mm"
    assert span_text(0.5, 0.5) == "0.5\u00a0mm"
    assert span_text(-0.1, 0.25) == "\u22120.1 to 0.25\u00a0mm"
    assert (
        sentence_text("it is -0.2 to 3 mm (-1) on a-2")
        == "it is \u22120.2 to 3\u00a0mm (\u22121) on a-2"
    )


# --- a screen reader, a paper, a wire -------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_made_for_a_screen_reader(name):
    root = tree(example(name)[1])
    assert root.get("lang") == "en"
    assert seen(root.find("head/title")).startswith("Run sheet: ")
    levels = [level for level, _ in headings(example(name)[1])]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(below <= above + 1 for above, below in pairwise(levels))
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    for svg in root.iter("svg"):
        if svg.get("aria-hidden") == "true":
            assert not svg.findall(".//text")
            continue
        assert svg.get("role") == "img"
        title, description = svg.find("title"), svg.find("desc")
        assert svg.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
        assert len(title.text) > 10
        assert len(description.text) > 40
    for table in root.iter("table"):
        assert all(cell.get("scope") in ("col", "row") for cell in table.iter("th"))
    labelled = {
        each
        for label in root.iter("label")
        for each in label.iter("input")
        if seen(label) or each.get("aria-label")
    }
    assert labelled == set(root.iter("input"))
    for each in root.iter():
        if "aria-labelledby" in each.attrib:
            assert set(each.get("aria-labelledby").split()) <= set(ids)


@pytest.mark.parametrize("name", NAMES)
def test_the_page_needs_nothing_from_outside(name):
    page = example(name)[1]
    root = tree(page)
    assert not [
        each
        for each in root.iter()
        if each.tag in ("script", "link", "img", "iframe", "object", "base", "a")
    ]
    for each in root.iter():
        assert not {"src", "href", "srcset", "data", "action", "style"} & set(each.attrib)
        assert not [key for key in each.attrib if key.startswith("on")]
    assert "://" not in page
    assert set(re.findall(r"url\((.)", page)) == {"#"}
    assert "@import" not in page
    used = set(re.findall(r"url\(#([\w-]+)\)", page))
    assert used == {each.get("id") for each in root.iter("pattern")}


@pytest.mark.slow
def test_the_same_job_gives_the_same_bytes_in_every_process():
    job = str(EXAMPLES / "two-thicknesses.toml")
    code = (
        "import sys, signrules; sys.stdout.reconfigure(encoding='utf-8');"
        f"sys.stdout.write(signrules.run_sheet(signrules.evaluate(signrules.read_job({job!r}))))"
    )
    pages = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert pages == {example("two-thicknesses")[1].encode()}


def test_names_that_run_from_right_to_left_are_isolated():
    assert clean_text("plain words 12") == "plain words 12"
    assert clean_text("\u05d0\u05d1 12") == "\u2068\u05d0\u05d1\u2069 12"
    assert clean_text("a\u202eb\u0007") == "a\ufffdb\ufffd"


def test_of_very_many_the_first_are_named():
    assert listed_things(["a"]) == "a"
    assert listed_things(["a", "b", "c"]) == "a, b and c"
    assert listed_things([f"p{n}" for n in range(5)], most=3) == "p0, p1, p2 and 2 more"


def test_of_very_many_sheets_on_the_bed_the_first_are_told():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": f"s{n}", "thickness": 3, "size": [20, 20], "at": [30 * (n % 10), 30 * (n // 10)]}
        for n in range(43)
    ]
    document["passes"] = [{"id": "ink", "ink": "black", "media": "s0", "gap": {"extra": 0}}]
    _, page = sheet_of(document)
    assert "3 sheets that are not listed here" in page


def test_a_picture_of_a_tall_stack_is_drawn_smaller_by_a_round_factor():
    # From memory: scales of drawings go by 1, 2 and 5; here also what lies between.
    assert [_round_down(value) for value in (0.031, 0.5, 7.0, 40.0)] == pytest.approx(
        [0.03, 0.5, 6.0, 40.0]
    )
