"""Strings that stand on one line, joined to the text of that line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from attrs import evolve, frozen

from signrules.artwork.drawing import Shape, TextRun
from signrules_artwork.painted import Writing

LEAST_BLANK_EM = 0.18
"""A wider gap between two strings of a line reads as a blank (common practice, no published
source).
"""

FEWEST_TRACKED = 3
"""So many letters that stand alone tell by their gaps whether they are spread."""

MOST_GAP_EM = 1.5
MOST_OVERLAP_EM = 0.3
MOST_OFF_LINE_EM = 0.02


def text_lines(
    writings: Iterable[tuple[int, Writing]],
    shapes: Mapping[int, tuple[Shape, ...]],
    altered: Mapping[int, tuple[str, ...]],
) -> tuple[TextRun, ...]:
    """Lines of text from numbered strings in the order of their writing, with their shapes.

    `altered` says of some strings what else befell their letters.
    """
    lines: list[list[_Piece]] = []
    last: Writing | None = None
    for number, writing in writings:
        found = shapes.get(number, ())
        if not found and not writing.text.strip():
            continue
        writing = evolve(writing, altered=(*writing.altered, *altered.get(number, ())))
        gap = _gap(last, writing) if last is not None else None
        if gap is None:
            lines.append([_Piece(writing, found)])
        else:
            lines[-1].append(_Piece(writing, found, gap))
        last = writing
    return tuple(map(_run_of, lines))


@frozen
class _Piece:
    """A string, its shapes, and the gap in ems to the string before it on its line."""

    writing: Writing
    shapes: tuple[Shape, ...]
    gap: float = 0.0


def _gap(before: Writing, after: Writing) -> float | None:
    """The gap in ems between two strings of one line; None if they are of different lines."""
    turn = math.remainder(after.angle - before.angle, 360)
    if before.font != after.font or abs(turn) > 0.1 or before.em <= 0:
        return None
    if abs(after.em - before.em) > 0.01 * before.em:
        return None
    dx, dy = after.baseline[0] - before.end[0], after.baseline[1] - before.end[1]
    angle = math.radians(before.angle)
    along = (dx * math.cos(angle) + dy * math.sin(angle)) / before.em
    off = (dy * math.cos(angle) - dx * math.sin(angle)) / before.em
    near = -MOST_OVERLAP_EM <= along <= MOST_GAP_EM and abs(off) <= MOST_OFF_LINE_EM
    return along if near else None


def _run_of(line: Sequence[_Piece]) -> TextRun:
    first = line[0].writing
    tracking = _tracking(line)
    text = first.text
    for piece in line[1:]:
        wide = piece.gap - tracking > LEAST_BLANK_EM
        blank = wide and not text.endswith(" ") and piece.writing.text[:1] != " "
        text += (" " if blank else "") + piece.writing.text
    shapes = tuple(shape for piece in line for shape in piece.shapes)
    altered = dict.fromkeys(words for piece in line for words in piece.writing.altered)
    return TextRun(
        text,
        first.baseline,
        first.em,
        first.angle,
        first.font,
        shapes,
        first.place,
        tuple(altered),
    )


def _tracking(line: Sequence[_Piece]) -> float:
    """How far letters that are shown one by one are spread, in ems: the narrowest of their gaps.

    Of two letters nobody knows, nor of strings of several letters, whose own spread is inside.
    """
    letters = all(len(piece.writing.text.strip()) == 1 for piece in line)
    if len(line) < FEWEST_TRACKED or not letters:
        return 0.0
    return max(min(piece.gap for piece in line[1:]), 0.0)
