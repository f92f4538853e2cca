"""Layers from what was painted: white takes away what lies under it, and strings become lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import shapely
from attrs import evolve

from signrules.artwork.drawing import ArtworkLayer, Shape
from signrules_artwork.clipping import without
from signrules_artwork.faults import Reading
from signrules_artwork.painted import Painted, Writing
from signrules_artwork.regions import shapes_of
from signrules_artwork.text_lines import text_lines

LEAST_COVERED = 1e-4
"""White that takes away less than this share of a string leaves it whole."""

OUTSIDE_LAYERS = "(outside the layers)"
"""The name of the layer of what lies on none, in a file that has some."""


def layer_of(
    name: str,
    painted: Sequence[Painted],
    writings: Sequence[tuple[int, Writing]],
    reading: Reading,
) -> ArtworkLayer:
    """One layer from what was painted on it, lowest first, and what was written on it."""
    inked = without_white(name, painted, reading)
    covered = _writings_under_white(painted, inked)
    shapes: list[Shape] = []
    letters: dict[int, tuple[Shape, ...]] = defaultdict(tuple)
    numbers = {number for number, _ in writings}
    for mark in inked:
        found = shapes_of(mark.region, mark.ink.tint, mark.place)
        if mark.writing not in numbers:
            shapes += found
        else:
            letters[mark.writing] += found
    return ArtworkLayer(name, tuple(shapes), text_lines(writings, letters, covered))


def _writings_under_white(
    painted: Sequence[Painted], inked: Sequence[Painted]
) -> dict[int, tuple[str, ...]]:
    """The numbers of the strings of which white takes something away, with words for it."""
    before, after = _inked_areas(painted), _inked_areas(inked)
    return {
        number: ("partly covered by white",)
        for number, area in before.items()
        if area - after.get(number, 0.0) > LEAST_COVERED * area
    }


def _inked_areas(marks: Sequence[Painted]) -> dict[int, float]:
    """How much is inked of each numbered string, in square mm."""
    areas: dict[int, float] = defaultdict(float)
    for mark in marks:
        if mark.writing is not None and mark.ink.tints:
            areas[mark.writing] += mark.region.area
    return areas


def without_white(name: str, painted: Sequence[Painted], reading: Reading) -> list[Painted]:
    """What is inked of what was painted: white takes away what lies under it."""
    whites = [at for at, mark in enumerate(painted) if not mark.ink.tints]
    if not whites:
        return list(painted)
    left = [mark.region for mark in painted]
    tree = shapely.STRtree(left)
    for at in whites:
        under = [int(each) for each in tree.query(left[at]) if each < at]
        under = [each for each in under if painted[each].ink.tints]
        reading.spend_pairs(len(under))
        taken = 0.0
        for each in under:
            rest = without(left[each], painted[at].region)
            taken += left[each].area - rest.area
            left[each] = rest
        if taken > 0:
            _note_taken(name, painted[at], reading)
    inked = [
        evolve(mark, region=region)
        for mark, region in zip(painted, left, strict=True)
        if mark.ink.tints and not region.is_empty
    ]
    if not inked:
        reading.note(
            f"layer '{name}' is drawn in the white of paper, which inks nothing: draw it in a"
            " spot colour"
        )
    return inked


def _note_taken(name: str, white: Painted, reading: Reading) -> None:
    x0, y0, x1, y1 = white.region.bounds
    reading.note(
        f"{reading.where}, layer '{name}': white over ink between ({x0:.2f}, {y0:.2f}) and"
        f" ({x1:.2f}, {y1:.2f}) mm takes it away there"
    )
