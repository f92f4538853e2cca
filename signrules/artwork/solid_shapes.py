"""Which shapes of a layer get ink, and whether that is solid. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from signrules.artwork.drawing import Shape
from signrules.artwork.mapping import MappedLayer
from signrules.artwork.placing import middle_of
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.wording import counted_things

LEAST_SOLID = 0.995
"""What is drawn in a smaller tint is not solid: half of a percent is rounding."""

LEAST_SOLID_PIXELS = 0.9
"""The same of an image, whose tints come in steps of a tenth."""


def demand_solid(layers: Sequence[MappedLayer]) -> None:
    """Raises ArtworkError for what is to stand as high as its layers of ink and is drawn in a tint,
    or transparent: a tint is printed with gaps, and how high it stands is not known.
    """
    for mapped in layers:
        least = LEAST_SOLID if mapped.artwork.pixel is None else LEAST_SOLID_PIXELS
        thin = [shape for shape in solid_shapes([mapped]) if shape.tint < least]
        if thin:
            x, y = middle_of(thin[:1])
            tint = 100 * min(shape.tint for shape in thin)
            shapes = counted_things(len(thin), "shape")
            found = (
                f"{shapes} in a tint, of {tint:.0f} % at least, the first at {x:.1f}, {y:.1f} mm"
            )
            expected = (
                "solid ink, since the height is that of solid layers: 100 % of a spot colour, not"
                " transparent, not a pale mix of process colours"
            )
            raise ArtworkError([DocumentFault(mapped.place, found, expected)], mapped.artwork.file)


SOFT_WIDTH, SOFT_LENGTH = 1.5, 4.5
"""A shape of an image that is no solid and within these numbers of pixels is the soft edge of
another one. Common practice, no published source.
"""


def solid_shapes(layers: Iterable[MappedLayer]) -> list[Shape]:
    """Shapes with ink, without lone pixels at the soft edges of an image."""
    found: list[Shape] = []
    for mapped in layers:
        found += _with_ink(mapped.layer.inked(), mapped.artwork.pixel)
    return found


def solid_outlines(layers: Iterable[MappedLayer]) -> list[Shape]:
    """The same without those of text."""
    found: list[Shape] = []
    for mapped in layers:
        found += _with_ink(mapped.layer.shapes, mapped.artwork.pixel)
    return found


def _with_ink(shapes: Iterable[Shape], pixel: float | None) -> Iterator[Shape]:
    for shape in shapes:
        if shape.tint > 0 and not _is_soft_edge(shape, pixel):
            yield shape


def _is_soft_edge(shape: Shape, pixel: float | None) -> bool:
    if pixel is None or shape.tint >= LEAST_SOLID:
        return False
    short, long = sorted(sides_of(shape))
    return short <= SOFT_WIDTH * pixel and long <= SOFT_LENGTH * pixel


def sides_of(shape: Shape) -> tuple[float, float]:
    """The width and height of the box around a shape."""
    across, along = zip(*shape.outline, strict=True) if shape.outline else ((0.0,), (0.0,))
    return max(across) - min(across), max(along) - min(along)
