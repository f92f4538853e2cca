"""The hook: readers of PDF, SVG and images."""

from __future__ import annotations

from signrules import hookimpl
from signrules.artwork.reader import ArtworkReader
from signrules_artwork.pdf.reader import read_pdf

signrules_api = "1.0"


@hookimpl
def signrules_read_artwork() -> list[ArtworkReader]:
    """PDF."""
    return [ArtworkReader((".pdf",), read_pdf)]
