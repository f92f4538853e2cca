"""The hook: readers of PDF, SVG and images.

Each is loaded when a file is read. What they need takes as long to load as a small job takes to
check, and most commands read no artwork.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from signrules import hookimpl
from signrules.artwork.reader import ArtworkReader

if TYPE_CHECKING:
    from signrules.artwork.drawing import Artwork

signrules_api = "1.0"


@hookimpl
def signrules_read_artwork() -> list[ArtworkReader]:
    """PDF, SVG, TIFF and PNG."""
    return [
        ArtworkReader((".pdf",), _pdf),
        ArtworkReader((".svg",), _svg),
        ArtworkReader((".tif", ".tiff"), _tiff),
        ArtworkReader((".png",), _png),
    ]


def _pdf(name: str, data: bytes) -> Artwork:
    from signrules_artwork.pdf.reader import read_pdf

    return read_pdf(name, data)


def _svg(name: str, data: bytes) -> Artwork:
    from signrules_artwork.svg.reader import read_svg

    return read_svg(name, data)


def _tiff(name: str, data: bytes) -> Artwork:
    from signrules_artwork.image.tiff import read_tiff

    return read_tiff(name, data)


def _png(name: str, data: bytes) -> Artwork:
    from signrules_artwork.image.png import read_png

    return read_png(name, data)
