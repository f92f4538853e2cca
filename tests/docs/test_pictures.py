"""The pictures of the documents show what signrules reads now."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

DOCS = Path(__file__).parents[2] / "docs"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def drawn():
    place = DOCS / "site" / "pictures.py"
    spec = importlib.util.spec_from_file_location("pictures_of_the_docs", place)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.pictures()


def test_those_that_are_kept_are_those_that_are_drawn(drawn):
    kept = {each.name: each.read_text("utf-8") for each in (DOCS / "pictures").iterdir()}
    assert kept == drawn, "make them anew: python docs/site/pictures.py docs/pictures"


def test_each_stands_on_a_page_with_words_for_who_does_not_see_it(drawn):
    pages = "".join(page.read_text("utf-8") for page in DOCS.glob("*.md"))
    shown = {name: words for words, name in re.findall(r"!\[(.+?)\]\(pictures/(.+?)\)", pages)}
    assert shown.keys() == drawn.keys()
    assert all(len(words) > 40 for words in shown.values())
    for text in drawn.values():
        root = ElementTree.fromstring(text)
        assert root.find(f"{SVG}title").text
        assert root.find(f"{SVG}desc").text


def test_every_dot_of_the_drawing_is_in_the_picture(drawn):
    sign = ElementTree.parse(DOCS / "examples" / "artwork" / "exit.svg").getroot()
    dots = list(sign.iter(f"{SVG}circle"))
    shapes = ElementTree.fromstring(drawn["exit-dots.svg"]).iter(f"{SVG}polygon")
    # The ground and four letters are polygons of few corners.
    assert sum(len(each.get("points").split()) > 30 for each in shapes) == len(dots) == 12
