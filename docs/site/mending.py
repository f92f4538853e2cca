"""What readers need and the theme leaves out, assistive technology above all, put into the built
pages.
"""

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

_WRAPPED = re.compile(r'<div class="highlight-(?:console|sh|text)[ "].*?</pre>', re.S)
"""What is printed and typed, whose lines go on in the next one."""

_HYPHENED = re.compile(r"(?<![\w./-])[\w./]*-[\w./-]{1,24}(?![\w./-])(?![^<]*>)")
"""A short word with hyphens, outside tags: an option, a name."""


def with_whole_words(block: str) -> str:
    """What is typed, with no break at the hyphens of its words."""
    return _HYPHENED.sub(r'<span class="whole">\g<0></span>', block)


def mended(page: str) -> str:
    """The text of a page with what was left out."""
    for pattern, replacement in MENDED:
        page = re.sub(pattern, replacement, page)
    page = _WRAPPED.sub(lambda found: with_whole_words(found[0]), page)
    return with_stacked_tables(page)


def mend_pages(folder: Path) -> None:
    """Mend each page that the theme has laid out."""
    for path in folder.rglob("*.html"):
        if "_static" not in path.relative_to(folder).parts:
            path.write_text(mended(path.read_text("utf-8")), encoding="utf-8")
