"""The braille of a sign: which is refused, what its cells are, what of it is told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from signrules.artwork.braille_reading import BrailleReading, read_braille
from signrules.artwork.dots import LARGEST_DOT, SMALLEST_DOT, DotFault
from signrules.artwork.drawing import Point, Shape
from signrules.artwork.mapping import MappedLayer
from signrules.artwork.orientation import turned_over
from signrules.artwork.placing import middle_of
from signrules.artwork.solid_shapes import sides_of, solid_shapes
from signrules.braille.cells import BLANK
from signrules.braille.styles import Translates
from signrules.errors import ArtworkError, DocumentFault

SAME_LINE_MM = 0.5
"""Blocks whose lines start at heights nearer than this are parts of one line."""


SEEN_ON = {
    "front": "on the front of the sign",
    "back": "with the back up: what is on the back is not drawn as it is seen through the sheet",
}
"""How layers of a side are to be drawn, in words."""


def _no_dot(shape: Shape, pixel: float | None) -> DotFault:
    x, y = middle_of([shape])
    width, height = sides_of(shape)
    text = (
        f"the shape at {x:.3f}, {y:.3f} mm is no dot of braille: {width:.3f} x {height:.3f} mm, and"
        f" not round, or not from {SMALLEST_DOT:g} to {LARGEST_DOT:g} mm wide"
    )
    if pixel is not None and max(width, height) < FEWEST_PIXELS * pixel:
        there, needed = INCH_MM / pixel, FEWEST_PIXELS * INCH_MM / USUAL_DOT_MM
        text += (
            f". The image is too coarse for it, with {there:.0f} pixels to the inch: a dot of"
            f" {USUAL_DOT_MM:g} mm takes {needed:.0f} and more"
        )
    return DotFault("not a dot", (x, y), text)


FEWEST_PIXELS = 20
"""Dots of fewer pixels across are steps more than circles. From the readings of our tests, no
published source.
"""

USUAL_DOT_MM = 1.5
"""About the least base diameter of the 2010 ADA Standards, table 703.3.1."""

INCH_MM = 25.4


def braille_of(layers: Sequence[MappedLayer]) -> BrailleReading:
    """The braille of some layers; raises ArtworkError for what is no braille on them."""
    if not layers:
        return BrailleReading()
    shapes = solid_shapes(layers)
    reading = read_braille(shapes)
    pixel = layers[0].artwork.pixel
    faults = [*reading.faults, *(_no_dot(shape, pixel) for shape in reading.others)]
    if faults:
        raise _refused(faults, layers[0])
    return reading


def _refused(faults: Iterable[DotFault], mapped: MappedLayer) -> ArtworkError:
    expected = "round dots of one size, each once, in cells of lines that run along x"
    return ArtworkError(
        [DocumentFault(mapped.place, fault.text, expected) for fault in faults], mapped.artwork.file
    )


def demand_upright(
    reading: BrailleReading, text: Sequence[str], translate: Translates, mapped: MappedLayer
) -> None:
    """Raises ArtworkError where braille says its text once it is turned over, and only then."""
    turned = text and turned_over(cells_of(reading), text, translate)
    if turned:
        found = f"braille {turned}: turned back it says {' / '.join(text)!r}"
        expected = f"braille as a reader finds it {SEEN_ON[mapped.use.side]}"
        fault = DocumentFault(mapped.place, found, expected)
        raise ArtworkError([fault], mapped.artwork.file)


def cells_of(reading: BrailleReading) -> list[str]:
    """The lines of all blocks from the top down; those at one height are one line."""
    placed = [
        (start, line)
        for block in reading.blocks
        for start, line in zip(block.starts, block.lines, strict=True)
    ]
    rows: list[list[tuple[Point, str]]] = []
    # Two words with a wide gap between them are two blocks, and still one line to a reader.
    for start, line in sorted(placed, key=lambda each: -each[0][1]):
        if rows and rows[-1][0][0][1] - start[1] < SAME_LINE_MM:
            rows[-1].append((start, line))
        else:
            rows.append([(start, line)])
    return [BLANK.join(line for _, line in sorted(row)) for row in rows]


def notes_on_braille(reading: BrailleReading, mapped: MappedLayer) -> Iterable[str]:
    """What was taken for granted of braille, and what of its dots people should know."""
    for block in reading.blocks:
        x, y = block.starts[0]
        where = f"{mapped.words}: the braille at {x:.1f}, {y:.1f} mm"
        yield from (f"{where}: {assumed}" for assumed in block.assumed)
        if abs(block.turned) > NOTED_TURN:
            yield f"{where} is turned by {block.turned:.2f} degrees"
        oval = max(block.dots, key=lambda dot: dot.oval)
        if oval.oval > NOTED_OVAL + (mapped.artwork.pixel or 0.0) / oval.diameter:
            yield (
                f"{where} has dots that are no circles but ovals, up to {oval.oval:.3f} times as"
                f" long as wide, at {oval.x:.1f}, {oval.y:.1f} mm. Their diameters are means"
            )


NOTED_OVAL = 1.01
"""Dots that are longer than wide by more are told. Four curves that stand for a circle are not."""

NOTED_TURN = 0.05
"""Braille that is turned by more degrees is told."""
