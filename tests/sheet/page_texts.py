"""The texts of the pages that a catalogue of a language has, read off the sources."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po

import signrules.sheet
from signrules.cautions import CAUTIONS
from signrules.model.handling_kinds import BUILTIN_KINDS
from signrules.reports.work_order_report import PROOFREADING
from signrules.sheet.page import MEANINGS

FOLDER = Path(signrules.sheet.__file__).parent
KEYWORDS = {"say": None, "say_count": (1, 2), "_": None}
METHODS = {"*.py": "python", "*.j2": "jinja2.ext:babel_extract"}


def page_catalogue() -> Catalog:
    """Every text that the page can say, in English."""
    catalogue = Catalog(fuzzy=False)
    for pattern, method in METHODS.items():
        for source in sorted(FOLDER.glob(pattern)):
            found = extract(method, BytesIO(source.read_bytes()), KEYWORDS)
            for _, text, _, _ in found:
                catalogue.add(text)
    for caution in (*CAUTIONS, PROOFREADING):
        for text in (caution.signal, caution.about, caution.says):
            catalogue.add(text)
    for kind in BUILTIN_KINDS.values():
        catalogue.add(kind.words)
    for word, meaning in MEANINGS:
        catalogue.add(word)
        catalogue.add(meaning)
    return catalogue


def shipped_catalogue(tag: str) -> Catalog:
    """A catalogue that the library ships."""
    with (FOLDER / "languages" / f"{tag}.po").open("rb") as file:
        return read_po(file, locale=tag, abort_invalid=True)


def write_missing(tag: str) -> None:
    """Bring a shipped catalogue up to date: new texts without a translation, old ones gone."""
    catalogue = shipped_catalogue(tag)
    catalogue.update(page_catalogue(), no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    with (FOLDER / "languages" / f"{tag}.po").open("wb") as file:
        write_po(file, catalogue, width=100, omit_header=False, sort_output=True)


if __name__ == "__main__":
    import sys

    for each in sys.argv[1:]:
        write_missing(each)
