"""The documentation site: built strictly, its links and anchors read back, and nothing in it comes
from outside.
"""

from __future__ import annotations

import re
import shutil
import zlib
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from docs.site_building import ROOT, build_site

import signrules
import signrules.testing

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("needs_site")]


class Page(HTMLParser):
    """The ids of a page and what it refers to."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.targets: list[str] = []
        self.feed(path.read_text("utf-8"))

    def handle_starttag(self, tag, attrs):
        for key, value in attrs:
            if key == "id":
                self.ids.add(value)
            elif key in ("href", "src", "srcset", "action", "data"):
                self.targets.append(value)


@pytest.fixture(scope="module")
def pages(site):
    return {path: Page(path) for path in sorted(site.rglob("*.html"))}


def test_every_page_is_there_and_the_readme_is_the_home_page(site):
    for page in (ROOT / "docs").glob("*.md"):
        assert (site / "docs" / f"{page.stem}.html").is_file()
    assert "Two commands" in (site / "index.html").read_text("utf-8")
    assert (site / "DEVELOPERS.html").is_file()


def test_nothing_comes_from_outside(site, pages):
    outside = [
        (path.name, t) for path, page in pages.items() for t in page.targets if urlsplit(t).netloc
    ]
    assert outside == []
    for style in site.rglob("*.css"):
        assert not re.search(r"(@import|url\()\s*['\"]?(https?:)?//", style.read_text("utf-8")), (
            style.name
        )


def test_every_link_and_anchor_leads_somewhere(pages):
    followed = 0
    for path, page in pages.items():
        for target in page.targets:
            to, anchor = unquote(urlsplit(target).path), unquote(urlsplit(target).fragment)
            linked = (path.parent / to).resolve() if to else path
            assert linked.is_file(), f"{path.name}: no {target}"
            if anchor and linked in pages:
                assert anchor in pages[linked].ids, f"{path.name}: no {target}"
                followed += 1
    assert followed > 100


def test_the_navigation_is_that_of_the_index(site):
    home = (site / "index.html").read_text("utf-8")
    kinds = re.findall(r"^## (.+)$", (ROOT / "docs" / "index.md").read_text("utf-8"), flags=re.M)
    assert len(kinds) == 7
    assert (
        re.findall(r'<p class="caption"[^>]*><span class="caption-text">(.+?)</span>', home)
        == kinds
    )


def test_every_public_name_has_an_object_with_its_docstring(site):
    pages = {path.stem: path.read_text("utf-8") for path in (site / "docs/reference").iterdir()}
    together = "".join(pages.values())
    names = {"signrules": signrules.__all__, "signrules.testing": signrules.testing.__all__}
    for package, listed in names.items():
        for name in listed:
            assert f'id="{package}.{name}"' in together, name
    assert "Bed loads and set-up minutes that any safe order costs at the least" in together
    # A field has the meaning that its declaration states; a type leads to its own place.
    assert "over a bare sheet; negative where the scrap was raised" in pages["model"]
    assert 'href="model.html#signrules.Job"' in pages["evaluation"]


def test_names_are_found_by_other_documentation(site):
    inventory = (site / "objects.inv").read_bytes()
    head, packed = inventory.split(b"zlib.\n", 1)
    assert signrules.__version__.encode() in head
    assert b"signrules.evaluate py:function" in zlib.decompress(packed)


def test_pages_can_be_searched_and_show_the_version(site, pages):
    home = (site / "index.html").read_text("utf-8")
    assert f"signrules {signrules.__version__}" in home
    assert 'role="search"' in home
    assert "scrapes" in (site / "searchindex.js").read_text("utf-8")


def test_code_can_be_copied(site):
    home = (site / "index.html").read_text("utf-8")
    assert "copybutton.js" in home
    assert (site / "_static" / "copybutton.js").is_file()


def test_each_picture_is_on_its_page_with_words_for_who_does_not_see_it(site):
    shown = {}
    for page in [*(ROOT / "docs").glob("*.md"), ROOT / "README.md"]:
        for name in re.findall("<!-- picture on the site: (.+?) -->", page.read_text("utf-8")):
            built = site / page.relative_to(ROOT).with_suffix(".html")
            shown[name] = built.read_text("utf-8")
    assert len(shown) == 6
    for name, page in shown.items():
        figures = re.findall("<figure class=.*?</figure>|<figure>.*?</figure>", page, flags=re.S)
        assert figures, name
        for figure in figures:
            images = re.findall('<img [^>]*alt="([^"]*)"', figure)
            drawn = re.findall("<desc[^>]*>([^<]*)</desc>", figure)
            framed = re.findall('<iframe [^>]*title="([^"]*)"', figure)
            words = images + drawn + framed
            assert words, name
            assert all(len(text) > 20 for text in words), name


def test_a_broken_link_ends_the_build(tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(ROOT / "docs", copy / "docs")
    for name in ("README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, copy / name)
    with (copy / "docs" / "live.md").open("a", encoding="utf-8") as page:
        page.write("\n[no page](nowhere.md)\n\n[no heading](report.md#no-such-heading)\n")
    done = build_site(copy, tmp_path / "site")
    assert done.returncode != 0
    assert "nowhere" in done.stderr
    assert "no-such-heading" in done.stderr
    assert not (tmp_path / "site" / "index.html").exists()
