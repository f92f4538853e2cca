"""What a file of drawings holds, whatever its format: pages of layers of shapes and text.

A reader (the hook `signrules_read_artwork`) gives this back. Lengths are millimetres; x runs to the
right and y *up* from the lower left corner of the page, as a job's areas run from the corner of a
sheet. Curves are cut into chords by the reader, which says how far a chord may lie from its curve.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import field, frozen

Point = tuple[float, float]
Ring = tuple[Point, ...]
"""A closed line; its last point is joined to its first."""


@frozen(cache_hash=True)
class Shape:
    """One inked region: an outline and the holes in it.

    `tint` is the share of the region that gets ink, 1 for a solid. `place` says where the file
    draws it, in the words of its format ("object 214", "path#cut").
    """

    outline: Ring
    holes: tuple[Ring, ...] = ()
    tint: float = 1.0
    place: str = ""


@frozen
class FontMeasures:
    """What a font says of its own letters.

    `cap_height` is the height of I, `x_height` that of x, in shares of the em. `stroke_share` is
    the stroke of I over its height, `width_share` the width of O over the height of I: the figures
    that the ADA Standards limit (703.2.4, 703.2.6, 703.5.5). Of a font without I, letters
    that are alike tell: see `measure_font`. None where the font has no letter that tells.
    `flourish` is "script" or "decorative" where the font calls itself so.
    """

    name: str
    cap_height: float | None = None
    x_height: float | None = None
    stroke_share: float | None = None
    width_share: float | None = None
    serif: bool | None = None
    slanted: bool | None = None
    flourish: str | None = None


MIRRORED = "mirrored"
"""What `TextRun.altered` says of letters that are mirrored."""


@frozen
class TextRun:
    """A line of text that the file holds as text, with the shapes that its letters ink.

    `baseline` is where the line starts, `angle` the direction in which it runs, in degrees from x
    towards y; `em` the size of its font in millimetres after all transforms. `altered` says how its
    letters are drawn otherwise than the font has them, but for their size and turn, in words
    ("mirrored", "partly clipped away"); then they are measured as they are drawn.
    """

    text: str
    baseline: Point
    em: float
    angle: float = 0.0
    font: FontMeasures | None = None
    shapes: tuple[Shape, ...] = ()
    place: str = ""
    altered: tuple[str, ...] = ()


@frozen
class ArtworkLayer:
    """What is drawn on one layer of a page, or in one colorant where the file has no layers.

    `step` and `step_type` are the processing step that the file marks the layer with, in the words
    of ISO 19593-1 ("White", "Varnish", "Braille", "Structural" with "Cutting"). `colorants` are the
    names of the spot colours used on it. `disagreements` are the places where what the reader took
    from the file and a rendering of the layer differ, each a sentence with coordinates.
    """

    name: str
    shapes: tuple[Shape, ...] = ()
    texts: tuple[TextRun, ...] = ()
    step: str | None = None
    step_type: str | None = None
    colorants: tuple[str, ...] = ()
    hidden: bool = False
    disagreements: tuple[str, ...] = ()

    def inked(self) -> Iterator[Shape]:
        """Every shape that gets ink: the layer's own, and those of its text."""
        yield from self.shapes
        for run in self.texts:
            yield from run.shapes


@frozen
class ArtworkPage:
    """One page: its size, and its layers from the lowest to the topmost."""

    number: int
    width: float
    height: float
    layers: tuple[ArtworkLayer, ...] = ()


@frozen
class Artwork:
    """A file of drawings as read.

    `file` is its name as it was given, `fingerprint` the SHA-256 of its bytes as
    "sha256:<64 hexadecimal digits>". No chord lies further than `chord_tolerance` from the curve
    that it stands for, and no edge of an image further than half a pixel, `pixel` being its size
    (None for vectors). `notes` say what the reader could not take over, or took otherwise than a
    user might expect.
    """

    file: str
    fingerprint: str
    pages: tuple[ArtworkPage, ...] = field(default=())
    chord_tolerance: float = 0.0
    pixel: float | None = None
    notes: tuple[str, ...] = ()
