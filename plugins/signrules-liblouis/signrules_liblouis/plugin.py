"""The hook: Unified English Braille, contracted or not."""

from __future__ import annotations

from signrules import hookimpl
from signrules_liblouis.binding import LiblouisError, liblouis

signrules_api = "1.0"

TABLES = {
    ("en", "contracted"): "unicode.dis,en-ueb-g2.ctb",
    ("en", "uncontracted"): "unicode.dis,en-ueb-g1.ctb",
}
"""The tables of liblouis for a language and a grade; the first turns cells into Unicode patterns.
"""


@hookimpl
def signrules_translate_braille(text: str, grade: str, language: str) -> str | None:
    """A line of text as cells; None for a language or grade without a table, and where the library
    is missing.

    Raises LiblouisError where the library is there and fails.
    """
    tables = TABLES.get((language.partition("-")[0].lower(), grade))
    if tables is None:
        return None
    try:
        library = liblouis()
    except LiblouisError:
        return None
    return library.translate(text, tables)
