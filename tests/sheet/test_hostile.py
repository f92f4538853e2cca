"""Names that attack the page do no harm to it."""

from __future__ import annotations

import json
import unicodedata

import pytest
from sheet.hostile import HEBREW, SCRIPT, STRETCHED, TURNED, hostile_job
from sheet.pages import ask, needs_browser, of_class, seen, sheet_of, tree

NAMES = {
    "script": SCRIPT,
    "turned": TURNED + HEBREW,
    "long": "x" * 10_000,
    "long words": "W" * 300 + " " + "word " * 2000,
    "controls": "a\x00\x1b[2J\x7f\r\n\u2028\ufffe\U000e0001b",
    "template": "{{ 7 * 7 }}{% raw %}",
}


@pytest.fixture(params=NAMES)
def hostile(request):
    return NAMES[request.param], sheet_of(hostile_job(NAMES[request.param]))


def test_no_name_becomes_an_element(hostile):
    name, (result, page) = hostile
    root = tree(page)
    tags = {each.tag for each in root.iter()}
    assert not tags & {"script", "img", "b", "iframe"}
    assert not [key for each in root.iter() for key in each.attrib if key.startswith("on")]
    assert result.job.name == name
    if name == SCRIPT:
        assert seen(root.find("body/main/header//h1")) == SCRIPT


def test_no_character_steers_the_line(hostile):
    page = hostile[1][1]
    isolates = ("\u2068", "\u2069")
    steering = {
        char
        for char in page
        if char not in "\n"
        and char not in isolates
        and unicodedata.category(char) in ("Cc", "Cf", "Cs", "Cn", "Zl", "Zp")
    }
    assert not steering
    for each in tree(page).iter():
        for text in (each.text, each.tail):
            depth = 0
            for char in text or "":
                depth += {"\u2068": 1, "\u2069": -1}.get(char, 0)
                assert depth in (0, 1)
            assert depth == 0, "an isolate that is not closed in its element"


def test_ids_are_never_cut_where_steps_are_told_apart(hostile):
    page = hostile[1][1]
    assert f"Print {STRETCHED}" in {seen(each) for each in tree(page).iter("h3")}


def test_a_long_name_is_cut_and_says_how_long_it_is():
    page = sheet_of(hostile_job("x" * 10_000))[1]
    root = tree(page)
    assert len(seen(root.find("body/main/header//h1"))) == 160
    assert "(10000 characters)" in seen(root)
    assert page.count("x" * 700) == 0


@pytest.mark.slow
@needs_browser
def test_nothing_runs_and_nothing_overflows(hostile, tmp_path):
    page = hostile[1][1]
    script = """
    window.addEventListener('load', () => {
      const page = document.documentElement, wide = page.scrollWidth, room = page.clientWidth;
      const beyond = [...document.querySelectorAll('main *')]
        .filter(e => !e.closest('.quiet'))
        .filter(e => e.getBoundingClientRect().right > room + 0.5)
        .map(e => e.className.baseVal ?? e.className);
      tell(JSON.stringify({wide, room, beyond, ran: window.ran ?? 0}));
    });
    """
    armed = page.replace(
        "<head>", "<head><script>window.alert = () => { window.ran = 1; };</script>"
    )
    told = json.loads(ask(armed, tmp_path, script, 794))
    assert told == {"wide": 794, "room": 794, "beyond": [], "ran": 0}
    assert of_class(tree(page), "block")
