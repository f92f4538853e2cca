"""What assistive technology needs and the theme leaves out, put into the built pages."""

from __future__ import annotations

import re
from pathlib import Path

from stacked_tables import with_stacked_tables

MENDED = (
    # The captions of the navigation are headings without a level.
    (r'(<p class="caption" role="heading")(?! aria-level)', r'\1 aria-level="2"'),
    # Two landmarks of one kind need names that tell them apart.
    (r'(<aside class="sidebar-drawer")>', r'\1 aria-label="Pages">'),
    (r'(<aside class="toc-drawer[^"]*")>', r'\1 aria-label="On this page">'),
    # What scrolls sideways must be reached by keys.
    (r"<pre>", r'<pre tabindex="0">'),
    # A short name, an option above all, is not broken at its hyphens.
    (r'<span class="pre">(?=[^<]{1,24}</span>)', '<span class="pre whole">'),
    # Parameters of a signature are laid out by a list that defines nothing.
    (r"<dl>", r'<dl role="presentation">'),
)


def mended(page: str) -> str:
    """The text of a page with what was left out."""
    for pattern, replacement in MENDED:
        page = re.sub(pattern, replacement, page)
    return with_stacked_tables(page)


def mend_pages(folder: Path) -> None:
    """Mend each page that the theme has laid out."""
    for path in folder.rglob("*.html"):
        if "_static" not in path.relative_to(folder).parts:
            path.write_text(mended(path.read_text("utf-8")), encoding="utf-8")
