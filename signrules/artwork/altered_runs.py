"""Text that is drawn otherwise than its font has it, measured by its outlines. Lengths in mm.

Strokes around letters, stretched, slanted or mirrored ones, clips, white, and a text that is
written twice all change what is printed, and the numbers of the font know nothing of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.artwork.drawing import MIRRORED, TextRun
from signrules.artwork.fonts import style_of_font
from signrules.artwork.geometry import turned
from signrules.artwork.known_letters import (
    known_letters,
    not_told_by,
    strokes_of_line,
    style_of_known,
    widths_of_o,
)
from signrules.artwork.letter_regions import letters_of
from signrules.artwork.line_heights import height_of_line

TWIN_EM = 0.3
"""Runs of one text that start nearer to each other than this share of their em are one text,
written twice. Common practice, no published source.
"""

SAME_EM = 0.01
"""Ems that differ by less than this share are alike."""

LEVEL_DEGREES = 0.01
"""Text that is turned by fewer degrees runs level."""

ON_ITS_HEAD = 45.0
"""Text that runs to the left, but for fewer degrees than these, stands on its head."""


@frozen
class DrawnRun:
    """What the letters of a run are as they are drawn. `foot` is where they stand, upright;
    `letters` are their regions.
    """

    letters: tuple[Any, ...] = ()
    height: float | None = None
    strokes: tuple[float, ...] = ()
    widths: tuple[float, ...] = ()
    style: str | None = None
    foot: float | None = None
    not_measured: tuple[str, ...] = ("anything, since the file has no outlines of it",)


def measured_as_drawn(run: TextRun) -> DrawnRun:
    """What the outlines of a run tell; nothing where the file has none."""
    letters = letters_of(run.shapes, -run.angle)
    if not letters:
        return DrawnRun()
    known = known_letters(letters, run.text)
    height = height_of_line(letters, run.text)
    return DrawnRun(
        tuple(letters),
        height.low,
        tuple(strokes_of_line(known, letters, height.high)),
        tuple(widths_of_o(known)),
        _style_of(run, slants=style_of_known(known) == "italic"),
        height.foot,
        tuple(not_told_by(known)),
    )


def _style_of(run: TextRun, *, slants: bool) -> str | None:
    """The style of a run: slanted as it is drawn, else that of its font unless it is plain. What
    befell the letters may have changed that.
    """
    if slants:
        return "italic"
    # A serif stays one when it is stretched. That the font is plain says nothing of what was drawn:
    # a stroke around its letters may have made them decorative.
    style = None if run.font is None else style_of_font(run.font)
    return None if style == "sans-serif" else style


def alteration_of(run: TextRun, drawn: DrawnRun) -> str:
    """That a run is drawn otherwise than its font has it, and what its outlines leave open."""
    x, y = run.baseline
    said, found = len("".join(run.text.split())), len(drawn.letters)
    words = (
        f"{run.text.strip()!r} at {x:.1f}, {y:.1f} mm is {', '.join(run.altered)}, so it is"
        " measured as it is drawn and not by its font"
    )
    if found and found != said:
        words += f"; {found} of its {said} letters stand apart"
    if drawn.not_measured:
        words += f". Not measured: {'; '.join(drawn.not_measured)}"
    return words


def turned_over_letters(run: TextRun) -> str | None:
    """How a run is turned over, in words; None where it can be read from the front."""
    if MIRRORED in run.altered:
        return MIRRORED
    if abs(math.remainder(run.angle - 180, 360)) < ON_ITS_HEAD:
        return "on its head"
    return None


def without_twins(runs: Sequence[TextRun]) -> list[TextRun]:
    """Runs with those that are written twice in about one place as one, of the shapes of both."""
    kept: list[TextRun] = []
    for run in runs:
        # Drawing programs fake a bold weight or a shadow so: the text once more, a little aside.
        at = next((at for at, other in enumerate(kept) if _are_twins(other, run)), None)
        if at is None:
            kept.append(run)
        else:
            kept[at] = _joined_twins(kept[at], run)
    return kept


def _are_twins(one: TextRun, other: TextRun) -> bool:
    return (
        one.text.strip() == other.text.strip()
        and math.dist(one.baseline, other.baseline) < TWIN_EM * one.em
        and abs(one.em - other.em) < SAME_EM * one.em
        and abs(math.remainder(one.angle - other.angle, 360)) < 1
    )


def _joined_twins(one: TextRun, other: TextRun) -> TextRun:
    x, y = other.baseline
    twice = f"drawn once more at {x:.2f}, {y:.2f} mm"
    altered = dict.fromkeys((*one.altered, *other.altered, twice))
    return evolve(one, shapes=(*one.shapes, *other.shapes), altered=tuple(altered))


def lowest_of(run: TextRun, drawn: DrawnRun) -> float:
    """How low the letters of a run stand: on its baseline, or where they are drawn lower."""
    # The foot is taken along y in the frame of the run, which is that of the page where it runs
    # level.
    if drawn.foot is None or abs(run.angle) > LEVEL_DEGREES:
        return run.baseline[1]
    return min(run.baseline[1], drawn.foot)


def line_start(run: TextRun) -> tuple[float, float]:
    """Where a run starts in coordinates in which it runs along x."""
    return turned(run.baseline, -run.angle)


def lacking_of(run: TextRun) -> Iterator[str]:
    """What the font of a run that is set plainly does not tell, in words."""
    if run.font is None:
        return
    for share, letters, figure in (
        ("cap_height", "I or another flat capital", "the height"),
        ("stroke_share", "I, L or T", "the stroke"),
        ("width_share", "O", "the width of O"),
    ):
        if not getattr(run.font, share):
            text = run.text.strip()
            yield f"{text!r} does not tell {figure}: its font is in the file without {letters}"
    if style_of_font(run.font) is None:
        text = run.text.strip()
        yield f"{text!r} does not tell its style: the tables of its font that say it are missing"
