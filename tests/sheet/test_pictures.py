"""What holds for every picture, as a browser shows and prints it: words touch no line and no other
words, nothing reaches out of the frame, and letters are large enough.
"""

from __future__ import annotations

import re

import pytest
from effort import effort
from hypothesis import Phase, given, settings
from pypdf import PdfReader
from sheet.drawn_pictures import NAMES, evaluated, judged, page_with, pictures_of
from sheet.pages import browse, example, needs_browser
from strategies import jobs

import signrules

pytestmark = [pytest.mark.slow, needs_browser]

LEAST_PX, LEAST_PT = 11, 8
"""The smallest letters that are allowed: on a screen, and on paper."""


def pictures_of_jobs():
    return [picture for name in NAMES for picture in pictures_of(evaluated(name), name)]


def is_clear(told):
    assert told["texts"] > 0
    assert told["lines"] > 0
    assert told["crossed"] == []
    assert told["over"] == []
    assert told["out"] == []
    assert told["smallest"] >= LEAST_PX


@pytest.mark.parametrize("width", [794, 360])
def test_words_touch_no_line_and_nothing_reaches_out(width, tmp_path):
    is_clear(judged(page_with(pictures_of_jobs()), tmp_path, width))


def test_pictures_on_a_run_sheet_are_as_large_on_a_telephone(tmp_path):
    is_clear(judged(example("two-thicknesses")[1], tmp_path, 360))


def test_pictures_of_any_job_are_clear(tmp_path):
    pictures = []

    @settings(max_examples=effort(60), deadline=None, database=None, phases=[Phase.generate])
    @given(jobs(sequence=True, sides=("front", "back")))
    def draw(job):
        name = f"random-{len(pictures)}"
        pictures.extend(pictures_of(signrules.evaluate(job), name, most=3))

    draw()
    is_clear(judged(page_with(pictures), tmp_path, 794))


def test_letters_are_large_enough_on_paper(tmp_path):
    pictures = pictures_of(evaluated("two-thicknesses"), "two")
    target = tmp_path / "pictures.pdf"
    # Without what the run sheet writes into the margins.
    page = re.sub(r"@page .*", "", page_with(pictures))
    browse(page, tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={target}")
    sizes = []

    def note_size(text, outer, inner, font, size):
        # A point of PDF is 1/72 in; the matrices scale what the page asks for.
        if text.strip():
            sizes.append(abs(size * outer[3] * inner[3]))

    for sheet in PdfReader(target).pages:
        sheet.extract_text(visitor_text=note_size)
    assert len(sizes) > 50
    assert min(sizes) >= LEAST_PT


def test_the_judge_sees_what_is_wrong(tmp_path):
    planted = """<svg role="img" id="planted" width="200" height="60" viewBox="0 0 200 60">
    <text x="10" y="20">struck through</text><line x1="0" y1="17" x2="200" y2="17" />
    <text x="10" y="50">twice</text><text x="12" y="52">over it</text>
    <text x="180" y="40">beyond the frame</text>
    <rect x="150" y="50" width="90" height="5" class="far" /></svg>"""
    told = judged(page_with([planted]), tmp_path, 794)
    assert {text for _, text, *_ in told["crossed"]} == {"struck through"}
    assert told["over"] == [["planted", "twice", "over it"]]
    assert told["out"] == [["planted", "beyond the frame"], ["planted", "far"]]
