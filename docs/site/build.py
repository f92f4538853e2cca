"""Builds the documentation site: `python docs/site/build.py FOLDER`.

The pages are laid out in a temporary folder as they lie in the repository, so that their links hold
as they stand; the README is the home page. What is made: the navigation, by kind, from
docs/index.md; the reference, from the docstrings; pictures, from the library's own numbers; and the
page that runs the library in a browser. Whatever is wrong with a page, a broken link above all,
ends it with an error. Needs the extra `docs`.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
import tempfile
from pathlib import Path

from browser_page import editor_html, put_files
from figures import Place, picture_styles, raw_html, with_pictures
from mending import mend_pages
from reference import reference_pages
from sphinx.cmd.build import main as sphinx

SITE = Path(__file__).parent
ROOT = SITE.parents[1]
_REFERENCE_MARK = "<!-- the reference, on the site -->"
_REFERENCE = "- [Public names](reference.md): signatures and docstrings, from the source."
_ELSEWHERE = "On the site, this page holds an editor; elsewhere it has nothing to run.\n"
_EDITOR_MARK = "<!-- the library in the browser, on the site -->"


def navigation(index: str) -> str:
    """Hidden tables of contents, one for each kind of page in the index."""
    parts = ["\n```{toctree}\n:hidden:\n\nAll pages <docs/index>\n```\n"]
    for kind, body in re.findall(r"^## (.+?)$(.*?)(?=^## |\Z)", index, flags=re.M | re.S):
        links = re.findall(r"^- \[([^\]]+)\]\(([\w./-]+)\.md\)", body, flags=re.M)
        pages = [
            f"{title} <{'docs/' + page if '/' not in page else page.removeprefix('../')}>"
            for title, page in links
        ]
        parts.append(
            "\n".join(["\n```{toctree}", ":hidden:", f":caption: {kind}", "", *pages, "```\n"])
        )
    return "".join(parts)


def lay_out(source: Path) -> None:
    """Write what the site is built from into an empty folder."""
    docs, made = source / "docs", source / "made"
    (docs / "reference").mkdir(parents=True)
    made.mkdir()
    for page in (ROOT / "docs").glob("*.md"):
        text = page.read_text("utf-8").replace(_REFERENCE_MARK, _REFERENCE)
        if _EDITOR_MARK in text:
            text = text.replace(_EDITOR_MARK, raw_html(editor_html())).replace(_ELSEWHERE, "")
        shown = with_pictures(text, Place(made, "../_static"))
        (docs / page.name).write_text(shown, encoding="utf-8")
    for folder in ("examples", "pictures"):
        shutil.copytree(ROOT / "docs" / folder, docs / folder)
    for path, text in reference_pages().items():
        (docs / path).write_text(text, encoding="utf-8")
    shutil.copy(ROOT / "DEVELOPERS.md", source / "DEVELOPERS.md")
    home = with_pictures((ROOT / "README.md").read_text("utf-8"), Place(made, "_static"))
    home += navigation((docs / "index.md").read_text("utf-8"))
    (source / "README.md").write_text(home, encoding="utf-8")
    (made / "pictures.css").write_text(picture_styles(), encoding="utf-8")


def name_inventory() -> None:
    """Name the inventory of other documentation by its whole path: Sphinx works elsewhere."""
    named = os.environ.get("SIGNRULES_INTERSPHINX")
    if named and "://" not in named:
        os.environ["SIGNRULES_INTERSPHINX"] = str(Path(named).resolve())


def build(target: Path) -> int:
    """Build into a folder; the exit status."""
    name_inventory()
    with tempfile.TemporaryDirectory() as folder:
        source, doctrees = Path(folder) / "source", Path(folder) / "doctrees"
        lay_out(source)
        strict = ["--fail-on-warning", "--keep-going", "--quiet"]
        # `made` has files that pages show as they are: it is no source of pages.
        settings = ["-D", "exclude_patterns=made", "-d", str(doctrees)]
        status = sphinx(
            [*strict, *settings, "-b", "html", "-c", str(SITE), str(source), str(target)]
        )
        if status == 0:
            mend_pages(target)
            shutil.copytree(source / "made", target / "_static", dirs_exist_ok=True)
            put_files(target / "_static" / "browser")
            shutil.copy(target / "README.html", target / "index.html")
            # Where a site is put, this is mostly what stands for an address that leads nowhere.
            shutil.copy(SITE / "404.html", target / "404.html")
    return status


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python docs/site/build.py FOLDER")
    sys.exit(build(Path(sys.argv[1])))
