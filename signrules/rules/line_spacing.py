"""The spacing of lines: it is asked for only where a sign has lines to space."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve

from signrules.model.sign import Sign
from signrules.rules.checks import Draft, Level
from signrules.rules.dimensions import judge_length
from signrules.rules.drawn_parts import count_lines
from signrules.standards.dimension_tables import Standard


def judge_line_spacing(
    sign: Sign, standards: Iterable[Standard], section: str, what: str, advice: str
) -> Iterator[Draft]:
    """A check of the line spacing of `raised`, `visual` or `braille` for each row that limits it.

    One line has no other to be spaced from, so nothing is missing there, and what is stated all the
    same is worth a note.
    """
    part = getattr(sign, section)
    lines = _cell_lines(sign) if section == "braille" else count_lines(sign)
    if part is not None and part.line_spacing is None and lines == 1:
        return
    for draft in judge_length(sign, standards, f"{section}.line_spacing", what, advice):
        # Lines that are not there cannot be wrong, but whoever states them may have forgotten one.
        yield evolve(draft, level=Level.NOTE) if lines == 1 else draft


def _cell_lines(sign: Sign) -> int:
    """How many lines of cells a sign states; none where it states no cells."""
    cells = "" if sign.braille is None else sign.braille.cells or ""
    return sum(bool(line.replace("\u2800", " ").strip()) for line in cells.split("\n"))
