"""The dots to measure, and the step to enter for readings of a test pattern."""

from __future__ import annotations

import math
import re

from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scenario import pass_of, sign_job
from sheet.many_signs import many_signs
from sheet.pages import NBSP, example, of_class, seen, sheet_of, tree
from sheet.test_page import headings

import signrules
from signrules.sheet.dots_form import signs_to_measure
from signrules.sheet.language import ENGLISH
from signrules.sheet.step_table import FURTHEST_STEP, steps_by_sum, steps_to_enter

NUMBER = r"[\N{MINUS SIGN}]?\d+(?:\.\d+)?"


def lettered(text, cells):
    """The sign with another text and its braille."""
    job = sign_job()
    job["signs"][0]["text"] = [text]
    job["signs"][0]["braille"]["cells"] = cells
    return job


def measured(page):
    """What the page says of measuring dots."""
    return " ".join(seen(each) for each in of_class(tree(page), "measuring"))


def told(job):
    return measured(sheet_of(job)[1])


def test_fields_for_measured_dots():
    page = example("clinic")[1]
    # Dots of the cells one by one: 4 + 3 + 3 + 3 (ROOM), 4 (number), 2 + 1 + 3 (214).
    assert "room-214 10 of 23" in measured(page)
    # Table 703.3.1 of the 2010 ADA Standards: 0.025 to 0.037 in, at 25.4 mm.
    # That is 0.635 to 0.9398 mm: on paper to a hundredth, rounded inwards.
    low, high = math.ceil(0.025 * 2540) / 100, math.floor(0.037 * 2540) / 100
    allowed = f"Each {low:g} to {high:g}{NBSP}mm"
    assert allowed in measured(page)
    fields = [
        each.get("aria-label")
        for each in tree(page).iter("input")
        if each.get("id", "").startswith("dot-")
    ]
    assert "Face to top: both ends of each line, the rest between." in measured(page)
    assert "Outside: leave it, ask" in measured(page)
    assert fields == [f"height of dot {n} in mm, sign 1" for n in range(1, 11)]
    job = lettered("AB", "⠁⠃")
    job["signs"][0]["measured"] = {"dot_height": ["0.7 mm", "0.71 mm"]}
    assert "room 3 of 3" in told(job)
    assert f"measured already: 0.7{NBSP}mm, 0.71{NBSP}mm" in told(job)


def test_many_signs_share_one_table_and_one_range():
    page = sheet_of(many_signs(30))[1]
    (table,) = of_class(tree(page), "dots")
    rows = [seen(row.find("th")) for row in table.iter("tr")]
    assert rows == [f"door-{n:02} 10 of 19" for n in range(1, 31)]
    assert measured(page).count("Each 0.64 to") == 1


def test_dots_without_a_limit_are_measured_all_the_same():
    # Nothing builds the dots and none were measured: their height is not assessed, and no range can
    # be told.
    document = lettered("AB", "⠁⠃")
    del pass_of(document, "dots")["builds"]
    assert "room 3 of 3" in told(document)
    assert "Each" not in told(document)


def test_a_single_dot_and_none():
    assert "room 1 of 1" in told(lettered("A", "⠁"))
    _, page = sheet_of(lettered("", "\u2800"))
    assert "Measure dots" not in [text for _, text in headings(page)]


def test_a_sign_on_a_sheet_that_is_never_loaded_is_not_measured():
    result, _ = example("clinic")
    (sign,) = result.job.signs
    (sheet,) = result.job.media
    spare = evolve(sheet, id="spare", load="2")
    passes = tuple(evolve(item, media=sheet.id, builds=()) for item in result.job.passes)
    elsewhere = evolve(sign, media="spare")
    assert [form.sign for form in signs_to_measure(result, ENGLISH)] == [sign.id]
    job = evolve(result.job, media=(sheet, spare), passes=passes, signs=(elsewhere,))
    assert list(signs_to_measure(evolve(result, job=job), ENGLISH)) == []


def test_what_each_dot_must_be_where_only_one_end_is_set():
    # The least alone: Norwegian guidelines for signs, whose table is `no-signs`.
    job = sign_job(standards=["no-signs"])
    job["signs"][0]["braille"] |= {"dot_spacing": "2.5 mm", "cell_spacing": "6.1 mm"}
    job["signs"][0]["raised"]["depth"] = "1.1 mm"
    assert f"Each at least 0.6{NBSP}mm (" in told(job)
    result, _ = example("clinic")
    check = next(check for check in result.checks if check.rule == "braille.dot-height")
    altered = evolve(result, checks=(evolve(check, limit=(None, 0.9)),))
    (measuring,) = signs_to_measure(altered, ENGLISH)
    assert measuring.allowed.startswith(f"at most 0.9{NBSP}mm (")


def numbers_in(text):
    """The numbers of a text, in their order."""
    return [float(word.replace("\N{MINUS SIGN}", "-")) for word in re.findall(NUMBER, text)]


def entry_of(total):
    """The steps of all ranges of the printed table that a sum lies in."""
    steps = set()
    for sums, step in steps_to_enter(ENGLISH):
        low, high = numbers_in(sums)
        if low <= total <= high:
            steps |= set(map(int, numbers_in(step)))
    return steps


@given(st.lists(st.integers(-2 * FURTHEST_STEP, 2 * FURTHEST_STEP), min_size=1, max_size=6))
def test_the_printed_table_gives_the_step_that_the_library_gives(halves):
    # Readings in half steps, whose lowest and highest add up to halves too.
    readings = [half / 2 for half in halves]
    total = min(readings) + max(readings)
    reading = signrules.read_alignment(
        enumerate(readings),
        step_mm=0.05,
        reading_uncertainty=0.5,
        carriage_speed=800,
        drop_speed=6000,
    )
    assert reading.step in entry_of(total)


def test_between_two_steps_the_table_names_both():
    assert entry_of(4) == {2}
    assert entry_of(-3) == {-2, -1}
    assert entry_of(0) == {0}
    # Readings of 1.5 and 2 add up to 3.5, half of which is nearer to 2.
    assert entry_of(3.5) == {2}


def test_the_table_of_the_page_and_that_of_its_script_agree():
    by_sum = steps_by_sum(ENGLISH)
    for half in range(-4 * FURTHEST_STEP - 1, 4 * FURTHEST_STEP + 2):
        assert set(numbers_in(by_sum[f"{half / 2:g}"])) == entry_of(half / 2)
    assert by_sum["5"] == "2 or 3"
