"""The page as a browser shows it, prints it, and as axe-core judges it."""

from __future__ import annotations

import json
import math

import pytest
from drawn_orders import judged_order
from estimating.test_work_order import RATES
from sheet.pages import (
    ask,
    axe_findings,
    example,
    needs_axe,
    needs_browser,
    printed,
    sheet_of,
)
from sheet.test_order_page import SOUND, judged, thin_dots
from sheet.test_page import conflict_job
from sheet.test_section import two_sided

from signrules import NotEvaluated, work_order_page
from signrules.work_order_files import JudgedOrder

NAMES = ("clinic", "two-thicknesses", "clinic-scrapes", "conflict", "two-sided")
WIDTHS = {"A4": 794, "Letter": 816, "a telephone": 360}
"""In px of 1/96 in: 210 mm and 8.5 in."""

pytestmark = [pytest.mark.slow, needs_browser]


def page_of(name):
    jobs = {"conflict": conflict_job, "two-sided": two_sided}
    return sheet_of(jobs[name]()) if name in jobs else example(name)


@pytest.mark.parametrize("width", WIDTHS.values(), ids=WIDTHS)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_overflows_and_no_words_lie_on_each_other(name, width, tmp_path):
    script = """
    window.addEventListener('load', () => {
      const root = document.documentElement, out = [], crossed = [];
      for (const svg of document.querySelectorAll('svg[role=img]')) {
        const frame = svg.getBoundingClientRect();
        const texts = [...svg.querySelectorAll('text')]
          .map(e => [e.textContent, e.getBoundingClientRect()]);
        for (const [text, box] of texts)
          if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1
              || box.bottom > frame.bottom + 1) out.push([svg.id, text]);
        texts.forEach(([a, p], i) => texts.slice(i + 1).forEach(([b, q]) => {
          const x = Math.min(p.right, q.right) - Math.max(p.left, q.left);
          const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
          if (x > 1 && y > 2.5) crossed.push([svg.id, a, b]);
        }));
      }
      tell(JSON.stringify({wide: root.scrollWidth, room: root.clientWidth, out, crossed}));
    });
    """
    told = json.loads(ask(page_of(name)[1], tmp_path, script, width))
    assert told["out"] == []
    assert told["crossed"] == []
    assert told["wide"] <= told["room"]


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("name", NAMES)
def test_it_prints_on_whole_sheets(name, size, tmp_path):
    result, page = page_of(name)
    sheets = printed(page, tmp_path, size)
    prints = 0 if result.plan is None else len(result.order)
    # What comes before and after the steps takes two sheets at the most, and two print steps go on
    # one.
    assert 1 <= len(sheets) <= 2 + math.ceil(prints / 2) + 1
    for number, text in enumerate(sheets, start=1):
        assert len(text.split()) > 20, "a sheet with next to nothing on it"
        assert f"page {number} of {len(sheets)}" in " ".join(text.split())


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_clinic_takes_three_sheets_or_four(size, tmp_path):
    # One for what comes first; two for the print steps, each with its gap; the dots to measure and
    # the rest, which go over to a fourth where sheets are short. A print step takes about 75 mm
    # with its pictures, its gap 15 mm, and a sheet has 250 mm.
    sheets = printed(example("clinic")[1], tmp_path, size)
    assert len(sheets) in (3, 4)
    together = " ".join(" ".join(sheets).split())
    assert "Cautions" in sheets[0]
    in_order = [
        "Load bed load 1",
        "Print ground",
        "Print dots",
        "Print ink-on-dots",
        "Measured dots",
    ]
    places = [together.index(each) for each in in_order]
    assert places == sorted(places)
    assert "Measured dots" in sheets[-1] or "Measured dots" in sheets[-2]
    # The heading row comes again on each sheet with steps, with the job and its verdict.
    verdict = example("clinic")[0].verdict
    for text in sheets[:-1]:
        assert f"Harbour clinic, room 214: {verdict}" in " ".join(text.split())


def test_an_unsafe_sequence_says_so_on_every_sheet(tmp_path):
    sheets = printed(example("clinic-scrapes")[1], tmp_path, "A4")
    assert len(sheets) > 1
    assert all("DO NOT PRINT: the head would hit" in " ".join(text.split()) for text in sheets)


LOOKED_AT = {"document-title", "html-has-lang", "heading-order", "color-contrast", "svg-img-alt"}
"""What axe must have looked at: one that judged nothing is not taken for a page without fault."""


@needs_axe
@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing(name, tmp_path):
    result, page = page_of(name)
    told = axe_findings(page, tmp_path)
    assert told["violations"] == []
    # Without a plan there is no picture.
    pictures = set() if result.plan is not None else {"svg-img-alt"}
    assert {*told["passes"], *pictures} >= LOOKED_AT


@needs_axe
@pytest.mark.parametrize("name", ["sound", "thin dots", "lost load"])
def test_axe_finds_nothing_on_the_page_of_a_work_order(name, tmp_path):
    order, outcomes = judged_order()
    lost = outcomes | {"load-02": NotEvaluated("a worker died")}
    orders = {
        "sound": SOUND,
        "thin dots": judged(changed=thin_dots),
        "lost load": JudgedOrder("lost", order, dict.fromkeys(lost, "a.toml"), lost),
    }
    found = orders[name]
    links = {load: f"{load}.html" for load in found.evaluations}
    told = axe_findings(work_order_page(found, found.estimate(RATES), links=links), tmp_path)
    assert told["violations"] == []
    assert set(told["passes"]) >= {*LOOKED_AT, "td-headers-attr", "link-name"}
