"""Strings that stand on one line, joined to the text of that line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from attrs import evolve

from signrules.artwork.drawing import Shape, TextRun
from signrules_artwork.painted import Writing

LEAST_BLANK_EM = 0.18
"""A wider gap between two strings of a line reads as a blank (common practice, no published
source).
"""

MOST_GAP_EM = 1.5
MOST_OVERLAP_EM = 0.3
MOST_OFF_LINE_EM = 0.02


def text_lines(
    writings: Iterable[tuple[int, Writing]], shapes: Mapping[int, tuple[Shape, ...]]
) -> tuple[TextRun, ...]:
    """Lines of text from numbered strings in the order of their writing, with their shapes."""
    runs: list[TextRun] = []
    last: Writing | None = None
    for number, writing in writings:
        found = shapes.get(number, ())
        if not found and not writing.text.strip():
            continue
        gap = _gap(last, writing) if last is not None else None
        if gap is None or last is None:
            runs.append(_run(writing, found))
        else:
            runs[-1] = _longer(runs[-1], writing, found, gap)
        last = writing
    return tuple(runs)


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


def _run(writing: Writing, shapes: tuple[Shape, ...]) -> TextRun:
    return TextRun(
        writing.text,
        writing.baseline,
        writing.em,
        writing.angle,
        writing.font,
        shapes,
        writing.place,
    )


def _longer(run: TextRun, writing: Writing, shapes: tuple[Shape, ...], gap: float) -> TextRun:
    blank = gap > LEAST_BLANK_EM and not run.text.endswith(" ") and writing.text[:1] != " "
    text = run.text + (" " if blank else "") + writing.text
    return evolve(run, text=text, shapes=run.shapes + shapes)
