"""The page as a browser shows it, prints it, and as axe-core judges it."""

from __future__ import annotations

import json

import pytest
from drawn_orders import judged_order
from estimating.test_work_order import RATES
from sheet.many_signs import many_passes, many_signs
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
    sheets = printed(page_of(name)[1], tmp_path, size)
    assert len(sheets) <= 4
    for number, text in enumerate(sheets, start=1):
        assert len(text.split()) > 20, "a sheet with next to nothing on it"
        assert f"{number} / {len(sheets)}" in " ".join(text.split())


SHEETS = {"clinic": 1, "thirty signs in four passes": 3, "sixty passes": 6}
"""How many sheets of paper an ordinary job and large ones may take."""


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("name", SHEETS)
def test_how_many_sheets_jobs_take(name, size, tmp_path):
    jobs = {"thirty signs in four passes": many_signs, "sixty passes": many_passes}
    result, page = sheet_of(jobs[name]()) if name in jobs else example(name)
    sheets = printed(page, tmp_path, size)
    assert len(sheets) <= SHEETS[name]
    together = " ".join(" ".join(sheets).split())
    # All steps are there, in the order of the work.
    places = [together.index(f"Print {each}") for each in result.order]
    assert places == sorted(places)
    assert "Unload" in together
    for text in sheets:
        assert result.verdict in " ".join(text.split())


SIZES = """
window.addEventListener('load', () => {
  const px = e => parseFloat(getComputedStyle(e).fontSize);
  const own = e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
  const shown = e => e.getClientRects().length > 0 && !e.closest('.quiet');
  const all = [...document.querySelectorAll('main *')].filter(e => own(e) && shown(e));
  const least = Math.min(...all.map(px));
  const body = ['.facts', '.where', '.still', '.blanks .blank span'].map(
    s => Math.min(...[...document.querySelectorAll('.block ' + s)].filter(shown).map(px)));
  const near = ['.cautions', '.mishaps', '.strike', '.measuring .how'].map(
    s => Math.min(...all.filter(e => e.closest(s) && !e.closest('.signal')).map(px)));
  const big = [...document.querySelectorAll('.big')].map(px);
  const small = all.filter(e => px(e) === least).map(e => e.className.baseVal ?? e.className);
  tell(JSON.stringify({least, body, near, big, small: small.slice(0, 5)}));
});
"""


@pytest.mark.parametrize("width", WIDTHS.values(), ids=WIDTHS)
def test_how_large_the_type_is(width, tmp_path):
    # 1 px is 1/96 in, 1 pt is 1/72 in.
    told = json.loads(ask(example("clinic")[1], tmp_path, SIZES, width))
    assert told["least"] * 72 / 96 >= 8 - 0.01, told["small"]
    assert min(told["body"]) * 72 / 96 >= 12 - 0.01
    # What is read at arm's length: cautions, what to do without a tick, a strike, dots to measure.
    assert min(told["near"]) * 72 / 96 >= 10 - 0.01
    assert len(told["big"]) == 4
    assert min(told["big"]) * 72 / 96 >= 20 - 0.01


WRITTEN = """
window.addEventListener('load', () => {
  const box = e => e.getBoundingClientRect();
  const outside = [...document.querySelectorAll('.what .value input')]
    .filter(e => box(e).right > box(e.closest('.what')).right + 1).map(e => e.id);
  const px = e => parseFloat(getComputedStyle(e).fontSize);
  const off = [...document.querySelectorAll('.first .otherwise')].map(px);
  tell(JSON.stringify({outside, off}));
});
"""


@pytest.mark.parametrize("width", WIDTHS.values(), ids=WIDTHS)
def test_blanks_keep_to_their_step_and_what_must_come_off_is_in_body_size(width, tmp_path):
    told = json.loads(ask(example("two-thicknesses")[1], tmp_path, WRITTEN, width))
    assert told["outside"] == []
    assert told["off"]
    assert min(told["off"]) * 72 / 96 >= 12 - 0.01


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
