"""Marks above and below letters, sorted out of the outlines that are drawn. Geometry."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.artwork.accents import DOTTED, is_mark_of, marks_in, plain_chars
from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.letter_regions import lines_of_shapes


def without_marks(shapes: Sequence[Shape], text: Sequence[str]) -> tuple[list[Shape], list[Shape]]:
    """Outlines that are letters, and the marks above and below them, of a text that has some.

    Where more could be marks than it has, they are if the others are as many letters as those of
    each of its lines: some letter has another mark then. Else none is taken for one.
    """
    most = marks_in(text)
    if not most:
        return list(shapes), []
    boxes = [region_of(shape).bounds for shape in shapes]
    marks = [
        shape
        for shape, box in zip(shapes, boxes, strict=True)
        if any(is_mark_of(box, letter) for letter in boxes)
    ]
    aside = set(map(id, marks))
    letters = [shape for shape in shapes if id(shape) not in aside]
    if len(marks) > most and not _are_the_letters(letters, text):
        return list(shapes), []
    return letters, marks


def _are_the_letters(shapes: Sequence[Shape], text: Sequence[str]) -> bool:
    """Whether outlines are as many letters as those of each line of a text without dots."""
    said = [plain_chars(line) for line in text]
    if DOTTED.intersection("".join(said)):
        return False
    return [len(line) for line in lines_of_shapes(shapes)] == [len(chars) for chars in said]
