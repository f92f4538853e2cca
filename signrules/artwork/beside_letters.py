"""What is drawn beside raised letters: borders around them, ornaments, specks. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Any

from attrs import frozen

from signrules.artwork.accents import plain_chars, plain_text
from signrules.artwork.drawing import Point, Shape, TextRun
from signrules.artwork.geometry import joined_regions, least_distance, region_of, union_of
from signrules.artwork.letter_regions import lines_of_shapes
from signrules.artwork.letter_shapes import can_be
from signrules.artwork.libraries import shapely_part
from signrules.artwork.marks_aside import without_marks
from signrules.artwork.stray_shapes import strays_of

AROUND_OTHERS = 0.8
"""A shape that reaches over this much of all others both ways is a border."""

SPECK_SHARE = 0.02
"""What is smaller both ways than this share of the tallest letter is no part of one. Common
practice, no published source.
"""

FEWEST_LETTERS, ONE_HEIGHT = 3, 0.92
"""Of so many ornaments in a line, of which none is lower than this share of the tallest, it is told
that they may be letters. Common practice, no published source.
"""

DRAWN_AGAIN = 0.5
"""A shape of which more than this share lies on letters draws letters once more."""


@frozen
class Speck:
    """A shape that is too small for a letter: its middle, and the longer side of its box, in mm."""

    at: Point
    size: float


@frozen
class BesideLetters:
    """Shapes that are letters, borders around them, and ornaments: whatever is no part of a text
    that the file holds as text.
    """

    letters: tuple[Shape, ...] = ()
    borders: tuple[Shape, ...] = ()
    ornaments: tuple[Shape, ...] = ()

    @property
    def clearance(self) -> float | None:
        """How far letters stay from borders and ornaments; None without any."""
        others = (*self.borders, *self.ornaments)
        if not self.letters or not others:
            return None
        return least_distance(union_of(self.letters), others)

    @property
    def like_letters(self) -> tuple[Shape, ...]:
        """The ornaments of the first line of so many of one height that they may be letters."""
        for line in lines_of_shapes(self.ornaments):
            heights = [high - low for _, low, _, high in (region.bounds for region in line)]
            if len(line) >= FEWEST_LETTERS and min(heights) >= ONE_HEIGHT * max(heights):
                members = joined_regions(line)
                return tuple(
                    shape for shape in self.ornaments if region_of(shape).intersects(members)
                )
        return ()


def beside_letters(
    shapes: Sequence[Shape], texts: Sequence[TextRun], stated_text: Sequence[str] = ()
) -> BesideLetters:
    """What of a layer is letters, and what is drawn beside them.

    Where the file holds no text, letters are outlines; `stated_text` is what they say.
    """
    inked = [shape for shape in shapes if shape.tint > 0]
    written = [run for run in texts if run.text.strip()]
    letters = inked_by(written)
    if not letters:
        outlines, borders = without_borders([*inked, *inked_by(texts)])
        outlines, ornaments = without_ornaments(without_specks(outlines)[0], stated_text)
        return BesideLetters(tuple(outlines), tuple(borders), tuple(ornaments))
    others, _ = without_specks(shapes_beside(inked, written), letters)
    around = set(map(id, without_borders([*letters, *others])[1]))
    borders = [shape for shape in others if id(shape) in around]
    ornaments = [shape for shape in others if id(shape) not in around]
    return BesideLetters(letters, tuple(borders), tuple(ornaments))


def inked_by(texts: Iterable[TextRun]) -> tuple[Shape, ...]:
    """What letters of text ink."""
    return tuple(shape for run in texts for shape in run.shapes if shape.tint > 0)


def shapes_beside(shapes: Iterable[Shape], written: Sequence[TextRun]) -> list[Shape]:
    """Shapes with ink that do not draw letters of a text once more."""
    inked = [shape for shape in shapes if shape.tint > 0 and region_of(shape).area > 0]
    letters = inked_by(written)
    if not inked or not letters:
        return inked
    lettering = union_of(letters)
    return [shape for shape in inked if not _is_drawn_again(region_of(shape), lettering)]


def _is_drawn_again(region: Any, lettering: Any) -> bool:
    return bool(region.intersection(lettering).area > DRAWN_AGAIN * region.area)


def without_borders(shapes: Sequence[Shape]) -> tuple[list[Shape], list[Shape]]:
    """Shapes that may be letters, and those that lie around all others: borders.

    A border has a hole in which others lie, or reaches over nearly all that is drawn.
    """
    if not any(shape.holes for shape in shapes):
        return list(shapes), []
    regions = [region_of(shape) for shape in shapes]
    kept: list[Shape] = []
    borders: list[Shape] = []
    shapely = shapely_part()
    everything = shapely.total_bounds(regions).tolist()
    tree = shapely.STRtree([region.centroid for region in regions])
    for at, (shape, region) in enumerate(zip(shapes, regions, strict=True)):
        holes = [shapely.Polygon(ring) for ring in shape.holes if len(ring) > 2]
        inside = {int(each) for hole in holes for each in tree.query(hole, "contains")}
        # A hole with something in it is not enough: a letter may stand in a circle of its own.
        around = inside - {at} and _reaches_over(region, everything)
        (borders if around else kept).append(shape)
    return kept, borders


def _reaches_over(region: Any, everything: Sequence[float]) -> bool:
    left, low, right, high = region.bounds
    all_left, all_low, all_right, all_high = everything
    across = (right - left) / (all_right - all_left)
    along = (high - low) / (all_high - all_low)
    return bool(min(across, along) > AROUND_OTHERS)


def without_ornaments(
    shapes: Sequence[Shape], text: Sequence[str]
) -> tuple[list[Shape], list[Shape]]:
    """Outlines that are letters of a text, with their marks, and those that the text does not have,
    on its lines or on lines of their own. Where more than one choice could be the text, none is
    told.
    """
    outlines, _ = without_marks(shapes, text)
    plain = plain_text(text)
    lines = lines_of_shapes(outlines) if plain else []
    lettering = joined_regions(_lines_of_text(lines, plain))
    if lettering.is_empty:
        return list(shapes), []
    # What reaches over a letter is no part of it for that.
    ornaments = [shape for shape in outlines if not _is_drawn_again(region_of(shape), lettering)]
    aside = set(map(id, ornaments))
    return [shape for shape in shapes if id(shape) not in aside], ornaments


def _lines_of_text(lines: Sequence[Sequence[Any]], text: Sequence[str]) -> list[Any]:
    """The letters that some lines of shapes have of a text; none where nothing tells them from what
    stands beside them.
    """
    more = len(lines) - len(text)
    if text and not more:
        strays = [strays_of(line, words) for line, words in zip(lines, text, strict=True)]
        aside = {id(region) for regions in strays for region in regions}
        if not aside:
            return []
        return [region for line in lines for region in line if id(region) not in aside]
    if not 0 < more <= MOST_ORNAMENT_LINES:
        return []
    said = [len(plain_chars(line)) for line in text]
    choices = [
        kept for kept in combinations(lines, len(text)) if all(map(_letters_in_line, kept, text))
    ]
    # Counts alone prove little where shapes are left out on a line and lines beside it.
    counted = [kept for kept in choices if [len(line) for line in kept] == said]
    if len(choices) > 1 or not counted:
        choices = [kept for kept in choices if all(map(_fits_whole, kept, text))]
    if len(choices) != 1:
        return []
    letters = map(_letters_in_line, choices[0], text)
    return [region for line in letters for region in line]


def _letters_in_line(line: Sequence[Any], words: str) -> list[Any]:
    """The letters that a line has of its words, without strays beside them; none where their
    numbers differ.
    """
    strays = set(map(id, strays_of(line, words)))
    letters = [region for region in line if id(region) not in strays]
    return letters if len(letters) == len(plain_chars(words)) else []


def _fits_whole(line: Sequence[Any], words: str) -> bool:
    return can_be(words, _letters_in_line(line, words))


MOST_ORNAMENT_LINES = 3
"""Of more lines than these that a text does not have, none is taken for an ornament."""


def without_specks(
    shapes: Sequence[Shape], letters: Sequence[Shape] = ()
) -> tuple[list[Shape], list[Speck]]:
    """Shapes that may be letters or parts of them, and those that are too small.

    `letters` are others that tell how tall letters are; without them the shapes themselves do.
    """
    boxes = [region_of(shape).bounds for shape in shapes]
    known = [region_of(shape).bounds for shape in letters] or boxes
    heights = [high - low for _, low, _, high in known]
    # Left in, a speck would count as a letter, and no line would have as many as its text any more.
    least = SPECK_SHARE * max((height for height in heights if height > 0), default=0.0)
    kept: list[Shape] = []
    specks: list[Speck] = []
    for shape, (left, low, right, high) in zip(shapes, boxes, strict=True):
        size = max(right - left, high - low)
        if size < least:
            specks.append(Speck(((left + right) / 2, (low + high) / 2), size))
        else:
            kept.append(shape)
    return kept, specks
