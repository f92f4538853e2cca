"""The hook: readers of PDF, SVG and images."""

from __future__ import annotations

from signrules import hookimpl
from signrules.artwork.reader import ArtworkReader
from signrules_artwork.image.png import read_png
from signrules_artwork.image.tiff import read_tiff
from signrules_artwork.pdf.reader import read_pdf
from signrules_artwork.svg.reader import read_svg

signrules_api = "1.0"


@hookimpl
def signrules_read_artwork() -> list[ArtworkReader]:
    """PDF, SVG, TIFF and PNG."""
    return [
        ArtworkReader((".pdf",), read_pdf),
        ArtworkReader((".svg",), read_svg),
        ArtworkReader((".tif", ".tiff"), read_tiff),
        ArtworkReader((".png",), read_png),
    ]
