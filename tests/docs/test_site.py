"""The documentation site: built strictly, its links and anchors read back, and nothing in it comes
from outside.
"""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

import signrules
import signrules.testing

ROOT = Path(__file__).parents[2]

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        any(importlib.util.find_spec(name) is None for name in ("sphinx", "myst_parser")),
        reason="sphinx and myst-parser are needed; the extra 'docs' brings them",
    ),
]


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


def build(root: Path, target: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, str(root / "docs" / "site" / "build.py"), str(target)]
    return subprocess.run(command, cwd=root, capture_output=True, text=True)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    target = tmp_path_factory.mktemp("site")
    done = build(ROOT, target)
    assert done.returncode == 0, done.stdout + done.stderr
    return target


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
    kinds = re.findall(
        r"^\*\*(.+)\*\*$", (ROOT / "docs" / "index.md").read_text("utf-8"), flags=re.M
    )
    assert len(kinds) == 4
    assert (
        re.findall(r'<p class="caption"[^>]*><span class="caption-text">(.+?)</span>', home)
        == kinds
    )


def test_the_reference_has_every_public_name_with_its_docstring(site):
    page = (site / "docs" / "reference.html").read_text("utf-8")
    for name in [*signrules.__all__, *signrules.testing.__all__]:
        assert name == "__version__" or re.search(
            rf'<h3><code[^>]*><span class="pre">{name}</span>', page
        ), name
    assert "Bed loads and set-up minutes that any safe order costs at the least" in page


@pytest.mark.parametrize("mistake", ["[no page](nowhere.md)", "[no heading](report.md#nowhere)"])
def test_a_broken_link_ends_the_build(mistake, tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(ROOT / "docs", copy / "docs")
    for name in ("README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, copy / name)
    with (copy / "docs" / "live.md").open("a", encoding="utf-8") as page:
        page.write(f"\n{mistake}\n")
    done = build(copy, tmp_path / "site")
    assert done.returncode != 0
    assert "nowhere" in done.stderr
    assert not (tmp_path / "site" / "index.html").exists()
