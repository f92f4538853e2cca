"""Builds the documentation site: `python docs/site/build.py FOLDER`.

The pages are laid out in a temporary folder as they lie in the repository, so that their links hold
as they stand; the README is the home page. Two things are made: the navigation, by kind, from
docs/index.md, and the reference, from the docstrings. Whatever is wrong with a page, a broken link
above all, ends it with an error. Needs the extra `docs`.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from pathlib import Path

from reference import reference_pages
from sphinx.cmd.build import main as sphinx

SITE = Path(__file__).parent
ROOT = SITE.parents[1]
_PLACE = "<!-- the reference, on the site -->"
_REFERENCE = "- [Public names](reference.md): signatures and docstrings, from the source."


def navigation(index: str) -> str:
    """Hidden tables of contents, one for each kind of page in the index."""
    parts = ["\n```{toctree}\n:hidden:\n\nAll pages <docs/index>\n```\n"]
    for kind, body in re.findall(r"^\*\*(.+?)\*\*$(.*?)(?=^\*\*|\Z)", index, flags=re.M | re.S):
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
    docs = source / "docs"
    docs.mkdir()
    for page in (ROOT / "docs").glob("*.md"):
        (docs / page.name).write_text(
            page.read_text("utf-8").replace(_PLACE, _REFERENCE), encoding="utf-8"
        )
    for folder in ("examples", "pictures"):
        shutil.copytree(ROOT / "docs" / folder, docs / folder)
    (docs / "reference").mkdir()
    for path, text in reference_pages().items():
        (docs / path).write_text(text, encoding="utf-8")
    for name in ("README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, source / name)
    with (source / "README.md").open("a", encoding="utf-8") as readme:
        readme.write(navigation((docs / "index.md").read_text("utf-8")))


def build(target: Path) -> int:
    """Build into a folder; the exit status."""
    with tempfile.TemporaryDirectory() as folder:
        lay_out(Path(folder))
        strict = ["--fail-on-warning", "--keep-going", "--quiet"]
        doctrees = ["-d", str(Path(folder) / "doctrees"), "-D", "exclude_patterns=doctrees"]
        status = sphinx([*strict, *doctrees, "-b", "html", "-c", str(SITE), folder, str(target)])
    if status == 0:
        shutil.copy(target / "README.html", target / "index.html")
    return status


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python docs/site/build.py FOLDER")
    sys.exit(build(Path(sys.argv[1])))
