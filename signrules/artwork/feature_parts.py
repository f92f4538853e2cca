"""Dots and letters that share a layer, told apart by their shapes.

Round shapes of one size in the cells of braille are its dots, and the others are letters. A shape
that could be either is refused with its place. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice

from attrs import evolve, frozen

from signrules.artwork.areas import CoveredAreas
from signrules.artwork.braille_blocks import BrailleBlock
from signrules.artwork.braille_reading import read_braille
from signrules.artwork.dots import LARGEST_DOT, Dot, DotFault, dot_of, found_dots
from signrules.artwork.drawing import ArtworkLayer, Point, Shape
from signrules.artwork.lattice import CELL_STEPS
from signrules.artwork.libraries import shapely_part
from signrules.artwork.mapping import MappedLayer, moved_to
from signrules.artwork.placing import area_around, middle_of
from signrules.braille.cells import dots_of
from signrules.errors import MOST_LISTED, ArtworkError, DocumentFault
from signrules.model.built_areas import areas_overlap
from signrules.model.layer_uses import BRAILLE_DOTS
from signrules.model.passes import Area

FEWEST_DOTS = 3
"""A line of fewer dots could be a colon, or two dots over a letter."""

NEAR_BRAILLE = CELL_STEPS[1]
"""Small shapes nearer to a dot could be dots of the cells beside it."""


def feature_parts(mapped: MappedLayer) -> dict[str, MappedLayer]:
    """What a layer draws of each feature that it builds.

    Raises ArtworkError where dots and letters share it and a shape could be either.
    """
    builds = mapped.use.builds
    # Nothing to tell apart: all of the layer is the one feature, whatever its shapes look like.
    if len(builds) < 2:
        return dict.fromkeys(builds, mapped)
    dots, letters, faults = _told_apart(mapped.layer)
    _refuse(faults, mapped)
    [other] = [feature for feature in builds if feature != BRAILLE_DOTS]
    return {BRAILLE_DOTS: moved_to(mapped, dots), other: moved_to(mapped, letters)}


def _refuse(faults: Iterable[DotFault], mapped: MappedLayer) -> None:
    listed = list(islice(faults, MOST_LISTED))
    expected = "dots in cells, and letters that no dot could be; or layers of their own"
    if listed:
        raise ArtworkError(
            [DocumentFault(mapped.place, fault.text, expected) for fault in listed],
            mapped.artwork.file,
        )


def _told_apart(layer: ArtworkLayer) -> tuple[ArtworkLayer, ArtworkLayer, Iterable[DotFault]]:
    """The dots of a layer, its letters, and what could be either.

    Text is letters, unless all of its shapes are round: it may be set in a font of braille.
    """
    written = [run for run in layer.texts if not _is_all_round(run.shapes)]
    dotted = [run for run in layer.texts if _is_all_round(run.shapes)]
    shapes = [*layer.shapes, *(shape for run in dotted for shape in run.shapes)]
    dots, others = _sorted_shapes(shapes)
    letters = evolve(layer, shapes=tuple(others), texts=tuple(written))
    if not dots:
        return evolve(layer, shapes=(), texts=()), letters, ()
    reading = read_braille(dots)
    unsure = [fault for block in reading.blocks for fault in _unsure_lines(block)]
    faults = [*reading.faults, *unsure, *_small_shapes(dots, letters.inked())]
    return evolve(layer, shapes=tuple(dots), texts=()), letters, faults


def _is_all_round(shapes: Sequence[Shape]) -> bool:
    return bool(shapes) and all(dot_of(shape) is not None for shape in shapes)


def _sorted_shapes(shapes: Iterable[Shape]) -> tuple[list[Shape], list[Shape]]:
    """Shapes that may be dots of braille: round, filled, of the usual size; and the others."""
    rounds: list[tuple[Shape, Dot]] = []
    others: list[Shape] = []
    for shape in shapes:
        dot = dot_of(shape)
        if dot is None or shape.tint <= 0:
            others.append(shape)
        else:
            rounds.append((shape, dot))
    found = found_dots(shape for shape, _ in rounds)
    odd = {fault.at for fault in found.faults if fault.kind in ("odd size", "hollow")}
    dots = [shape for shape, dot in rounds if (dot.x, dot.y) not in odd]
    # A ring may be the letter O and a larger disc a full stop; dots of one sign are all of one
    # size.
    others += [shape for shape, dot in rounds if (dot.x, dot.y) in odd]
    return dots, others


def _unsure_lines(block: BrailleBlock) -> Iterator[DotFault]:
    """Lines of so few dots, or in one row alone, that letters may have them too."""
    for start, line in zip(block.starts, block.lines, strict=True):
        dots = [dot for cell in line for dot in dots_of(cell)]
        # An ellipsis lies in one row as well, at about the distance of dots.
        rows = {(dot - 1) % 3 for dot in dots}
        if len(dots) < FEWEST_DOTS or len(rows) < 2:
            text = (
                f"round shapes at {start[0]:.3f}, {start[1]:.3f} mm that are too few, or in one"
                " row, to tell braille from dots of letters"
            )
            yield DotFault("unsure", start, text)


def _small_shapes(dots: Sequence[Shape], letters: Iterable[Shape]) -> Iterator[DotFault]:
    """Shapes of letters that are as small as dots, and near to some."""
    shapely = shapely_part()
    tree = shapely.STRtree([shapely.Point(middle_of([dot])) for dot in dots])
    for shape in letters:
        # Larger than any dot, it is sure to be part of a letter.
        if not shape.outline or _widest(shape) > LARGEST_DOT:
            continue
        place = middle_of([shape])
        if len(tree.query_nearest(shapely.Point(place), max_distance=NEAR_BRAILLE)):
            yield DotFault("unsure", place, _small_in_words(place))


def _widest(shape: Shape) -> float:
    across, along = zip(*shape.outline, strict=True)
    return float(max(max(across) - min(across), max(along) - min(along)))


def _small_in_words(place: Point) -> str:
    return (
        f"a shape at {place[0]:.3f}, {place[1]:.3f} mm that is as small as a dot and nearer than"
        f" {NEAR_BRAILLE:g} mm to one: a dot drawn wrongly, or part of a letter"
    )


@frozen
class BuiltParts:
    """The areas of a pass by the feature of a sign that they build, as "room-214.braille"."""

    mapped: MappedLayer
    by_feature: Mapping[str, CoveredAreas]


def feature_places(passes: Iterable[BuiltParts]) -> dict[str, Area]:
    """Where each feature lies that shares a pass with another of its sign.

    Raises ArtworkError where the rectangle around one reaches over areas of another.
    """
    shared = [each for each in passes if len(each.mapped.use.builds) > 1]
    found: dict[str, list[Area]] = {}
    for each in shared:
        for feature, covered in each.by_feature.items():
            found.setdefault(feature, []).extend(covered.areas)
    places = {feature: area_around(areas) for feature, areas in found.items() if areas}
    for each in shared:
        _refuse(_reaching_over(each.by_feature, places), each.mapped)
    return places


def _reaching_over(
    by_feature: Mapping[str, CoveredAreas], places: Mapping[str, Area]
) -> Iterator[DotFault]:
    for feature, place in places.items():
        for other, covered in by_feature.items():
            over = [
                area for area in covered.areas if other != feature and areas_overlap(area, place)
            ]
            if over:
                at = (over[0].x, over[0].y)
                text = (
                    f"{other} at {at[0]:.3f}, {at[1]:.3f} within the rectangle around {feature},"
                    f" from {place.x:.3f}, {place.y:.3f} to {place.x + place.width:.3f},"
                    f" {place.y + place.height:.3f} mm"
                )
                yield DotFault("overlapping", at, text)
