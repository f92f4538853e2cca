"""Pages of artwork from planes of tints."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from signrules.artwork.drawing import ArtworkLayer, ArtworkPage, Shape
from signrules_artwork.affine import Matrix
from signrules_artwork.bitmaps import MOST_CORNERS, MOST_RINGS, Tints, tint_regions
from signrules_artwork.faults import Reading, artwork_error
from signrules_artwork.image.resolution import PixelSize
from signrules_artwork.regions import shapes_of


@frozen(eq=False)
class Separation:
    """Planes of tints by name that lie on each other, and the size of their pixels."""

    planes: Mapping[str, Tints]
    pixel: PixelSize

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in mm."""
        rows, columns = next(iter(self.planes.values())).shape
        return columns * self.pixel.width, rows * self.pixel.height


def separated_pages(separations: list[Separation], reading: Reading) -> tuple[ArtworkPage, ...]:
    """Images of one size are layers of one page; one of another size starts the next page."""
    pages: list[ArtworkPage] = []
    for separation in separations:
        width, height = separation.size
        layers = tuple(
            _layer(name, tints, separation, reading) for name, tints in separation.planes.items()
        )
        before = pages[-1] if pages else None
        if before is not None and _same(before, width, height):
            pages[-1] = ArtworkPage(before.number, width, height, before.layers + layers)
        else:
            pages.append(ArtworkPage(len(pages) + 1, width, height, layers))
    if len(separations) > 1 and len(pages) < len(separations):
        reading.note("images of one size, one after the other, are taken as layers of one page")
    return tuple(pages)


def _same(page: ArtworkPage, width: float, height: float) -> bool:
    """Whether a page has a size, to a hundredth of a millimetre."""
    return abs(page.width - width) < 0.01 and abs(page.height - height) < 0.01


def _layer(name: str, tints: Tints, separation: Separation, reading: Reading) -> ArtworkLayer:
    """What one plane inks. Raises ArtworkError for one with too many edges."""
    pixel = separation.pixel
    _, height = separation.size
    to_mm: Matrix = (pixel.width, 0.0, 0.0, -pixel.height, 0.0, height)
    regions = tint_regions(tints, to_mm, reading)
    if regions is None:
        found = f"more than {MOST_RINGS:,} spots or {MOST_CORNERS:,} corners"
        expected = "areas with clear edges: no photograph, and no screen of dots"
        raise artwork_error(f"layer '{name}'", found, expected)
    shapes: list[Shape] = []
    for region, tint in regions:
        shapes += shapes_of(region, tint, f"image '{name}'")
    return ArtworkLayer(name, tuple(shapes))
