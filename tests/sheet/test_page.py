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
from sheet.many_signs import many_signs
from sheet.pages import EXAMPLES, NBSP, example, of_class, seen, sheet_of, tree

import signrules
from signrules.cautions import CAUTIONS
from signrules.reports.unchecked_lines import lines_not_checked, not_checked
from signrules.sheet import page as page_module
from signrules.sheet.language import ENGLISH
from signrules.sheet.scene import round_down
from signrules.sheet.sheet_words import (
    clean_text,
    figure_text,
    sentence_text,
)
from signrules.sheet.ticks import steps_on_ink

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
        "Cautions",
        "Before the load",
        "Steps",
        "Where a box cannot be ticked:",
        "A strike, a sheet moved",
        "To review",
        "Not checked",
        "Alignments",
        "How to read the pictures",
        "What it takes",
    ]


def test_the_steps_are_those_of_the_plan_by_number():
    for name in NAMES:
        result, page = example(name)
        numbers = [seen(each) for each in of_class(tree(page), "no")]
        # Dots are measured before their load comes off, in a part of that step.
        parts = [number for number in numbers if number.endswith("a")]
        assert [number.rstrip("b") for number in numbers if number not in parts] == [
            str(n) for n in range(1, len(result.plan.steps) + 1)
        ]
        measured = bool(of_class(tree(page), "measuring"))
        assert len(parts) == measured
        assert numbers.index(parts[0]) == len(numbers) - 2 if parts else not measured
        titles = [
            text for level, text in headings(page) if level == 3 and text.startswith("Print ")
        ]
        assert titles == [f"Print {name}" for name in result.order]


def test_alignments_on_record_say_who_uses_them_and_which_are_void():
    job = sign_job(
        alignments=[
            {"extra": 0, "date": "2026-05-04"},
            {"extra": 2, "date": "2025-01-02"},
            {"extra": 3.5},
        ]
    )
    job["printer"]["head_work"] = "2026-01-01"
    before = section(sheet_of(job)[1], "Alignments")
    assert f"0{NBSP}mm 2026-05-04 ground" in before
    assert f"2{NBSP}mm 2025-01-02 void: the heads were worked on after it" in before
    assert f"3.5{NBSP}mm not stated no pass of this job" in before


def test_every_step_of_a_safe_plan_has_a_box_to_tick():
    result, page = example("clinic")
    root = tree(page)
    boxes = [each for each in root.iter("input") if each.get("id", "").startswith("step-")]
    assert [each.get("id") for each in boxes] == [
        f"step-{n}" for n in range(1, len(result.plan.steps) + 1)
    ]


def test_a_sequence_that_scrapes_is_shown_and_cannot_be_ticked():
    page = example("clinic-scrapes")[1]
    titles = [text for level, text in headings(page) if level <= 2]
    assert titles[1:3] == ["DO NOT PRINT", "Cautions"]
    assert "The head would hit." in section(page, "DO NOT PRINT")
    assert "Steps as they stand, DO NOT PRINT" in titles
    assert "Steps, DO NOT PRINT" in titles
    root = tree(page)
    assert not list(root.iter("input"))
    boxes = [seen(each) for each in of_class(root, "not")]
    assert len(boxes) == len(example("clinic-scrapes")[0].plan.steps)
    assert set(boxes) == {"DO NOT PRINT"}
    assert "0.786\u00a0mm too little" in section(page, "What is wrong")
    (ground,) = (each for each in of_class(root, "print") if "Print ground" in seen(each))
    assert "Look here." in seen(ground)


def test_a_conflict_has_no_steps_at_all():
    result, page = sheet_of(conflict_job())
    assert result.conflict is not None
    stop = section(page, "DO NOT PRINT")
    assert "No order of the passes works." in stop
    for reason in result.conflict.reasons:
        assert sentence_text(reason) in stop
    root = tree(page)
    assert not of_class(root, "block")
    assert not list(root.iter("input"))
    assert not of_class(root, "section")
    assert [text for level, text in headings(page) if level == 2] == [
        "DO NOT PRINT",
        "Cautions",
        "What is wrong",
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
    assert not of_class(tree(page), "block")


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
    assert of_class(root, "block")
    assert not list(root.iter("input"))


def test_what_is_to_review_says_where_and_what_to_do():
    root = tree(example("clinic")[1])
    (looked,) = of_class(root, "looked-at")
    assert seen(looked) == "To review: step 6. Not checked: see the report."
    (finding,) = of_class(root, "finding")
    # The landing error that the rule finds is 0.149 mm at most, of 0.06 mm.
    assert seen(finding) == (
        f"Ask before printing. Last layers may land 0.15{NBSP}mm apart (0.06 allowed). Answer"
    )
    (looked,) = of_class(tree(sheet_of(many_signs(30))[1]), "looked-at")
    assert seen(looked).startswith("To review: step 8, step 10 and the report.")


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
    assert len(result.unassessed) == 3
    for check in result.unassessed:
        assert sentence_text(not_checked(check)) in missing


def test_what_many_signs_lack_alike_is_one_line():
    result, page = sheet_of(many_signs(30))
    lines = list(lines_not_checked(result.unassessed, result.job))
    assert len(result.unassessed) == 150
    assert "150 not checked" in result.verdict
    shown = [seen(each) for each in of_class(tree(page), "unchecked")[0].iter("li")]
    assert shown == [sentence_text(line) for line in lines]
    assert len(lines) < 15
    assert any(
        "on 30 signs (door-01 to door-30): signs.*.braille.grade is not stated" in each
        for each in shown
    )


def test_what_it_takes():
    takes = section(example("clinic")[1], "What it takes")
    # 200 x 200 mm and 60 x 8 mm of 0.01 mm colour; 60 x 8 mm of 24 x 0.033 mm at 30 %.
    assert f"Cured ink: blue {(40000 + 480) * 0.01 / 1000:.3f}{NBSP}mL" in takes
    assert f"Cured ink: clear {480 * 24 * 0.033 * 0.3 / 1000:.3f}{NBSP}mL" in takes
    assert f"Set-up 22{NBSP}minutes" in takes


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
    root = tree(page)
    for words in root.iter("text"):
        # Each of a picture stands by itself: numbers of a ruler are not one number.
        words.tail = ";"
    text = seen(root)
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
    assert ENGLISH.mm(0.75) == "0.75\u00a0mm"
    assert ENGLISH.span(0.5, 0.5) == "0.5\u00a0mm"
    assert ENGLISH.span(-0.1, 0.25) == "\u22120.1 to 0.25\u00a0mm"
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
    labelled = {each for label in root.iter("label") for each in label.iter("input") if seen(label)}
    labelled |= {each for each in root.iter("input") if each.get("aria-label")}
    assert labelled == set(root.iter("input"))
    for each in root.iter():
        if "aria-labelledby" in each.attrib:
            assert set(each.get("aria-labelledby").split()) <= set(ids)


@pytest.mark.parametrize("name", NAMES)
def test_the_page_needs_nothing_from_outside(name):
    page = example(name)[1]
    root = tree(page)
    assert not [
        each for each in root.iter() if each.tag in ("link", "img", "iframe", "object", "base", "a")
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
    assert ENGLISH.listed(["a"]) == "a"
    assert ENGLISH.listed(["a", "b", "c"]) == "a, b and c"
    assert ENGLISH.listed([f"p{n}" for n in range(5)], most=3) == "p0, p1, p2 and 2 more"


def test_a_picture_of_a_tall_stack_is_drawn_smaller_by_a_round_factor():
    # From memory: scales of drawings go by 1, 2 and 5; here also what lies between.
    assert [round_down(value) for value in (0.031, 0.5, 7.0, 40.0)] == pytest.approx(
        [0.03, 0.5, 6.0, 40.0]
    )
