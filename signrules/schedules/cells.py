"""The braille of a filled sign type: its cells, and where their dots lie on the sign."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.braille.cells import in_lines
from signrules.braille.dot_layout import BrailleLayout, Point, braille_layout
from signrules.braille.escapes import is_translation
from signrules.braille.styles import expected_cells
from signrules.errors import SignrulesError
from signrules.model.quantities import Interval
from signrules.model.sign import CONTRACTED, Braille
from signrules.model.sign_types import SHARE_BEFORE, DotPlace, SignType
from signrules.standards.common_ranges import Together

Translate = Callable[[str, str, str], str | None]
"""From a line of text, a grade and a language to cells; None where nobody translates it."""

LENGTHS = ("dot_diameter", "dot_spacing", "cell_spacing", "line_spacing")


def cells_of(
    sign_type: SignType, braille: Braille, translate: Translate, ranges: Together | None
) -> str | None:
    """The cells of a sign with braille: those of its columns, else its own, else the translator's.

    Lines of cells are those of the text. None where there are none of these.
    """
    if sign_type.cells:
        return "\n".join(sign_type.cells)
    if braille.cells is not None or not sign_type.text:
        return braille.cells
    grade = braille.grade or _grade_asked(ranges)

    def translated(line: str) -> str | None:
        found = translate(line, grade, braille.language)
        return found if found is not None and is_translation(found, line) else None

    found = expected_cells(braille, sign_type.text, translated, grade)
    return in_lines(found[0], like="\n".join(sign_type.text)) if found else None


def _grade_asked(ranges: Together | None) -> str:
    """The grade that the standards ask for; contracted where they do not say."""
    if ranges is None:
        return CONTRACTED
    asked = [one.words for one in ranges.quantities if one.quantity == "braille.grade"]
    return asked[0][0] if asked and asked[0] else CONTRACTED


@frozen
class DotLengths:
    """Braille with all lengths that a layout takes, and which of them a standard gave."""

    braille: Braille
    from_standard: tuple[str, ...] = ()


def with_lengths(braille: Braille, ranges: Together | None) -> DotLengths:
    """Braille with the middle of what the standards allow for each length that it leaves out.

    Raises SignrulesError where no standard says one that is needed.
    """
    given: dict[str, Any] = {}
    for name in LENGTHS:
        if getattr(braille, name) is not None or not _is_needed(name, braille):
            continue
        if ranges is None:
            raise SignrulesError(f"{name}: no standard that says it")
        given[name] = Interval.exact(ranges.target(f"braille.{name}"))
    return DotLengths(evolve(braille, **given), tuple(given))


def _is_needed(name: str, braille: Braille) -> bool:
    return name != "line_spacing" or "\n" in (braille.cells or "")


def dot_layout(braille: Braille, place: DotPlace) -> BrailleLayout:
    """The dots of some cells, line by line, from a place on the sign; lengths in mm.

    The lengths that a layout takes are stated, but for the line spacing of a single line.
    """
    x, y = place.at
    diameter, dot, cell = (_nominal(braille, name) for name in LENGTHS[:3])
    lines: list[tuple[Point, ...]] = []
    # A single line has no next one, so any number above 0 will do for the layout.
    down = _nominal(braille, "line_spacing") if "\n" in (braille.cells or "") else cell
    for number, line in enumerate((braille.cells or "").split("\n")):
        width = (len(line) - 1) * cell + dot
        # Each line by itself, so that centred braille is centred line by line.
        start = x - SHARE_BEFORE[place.align] * width
        laid = braille_layout(
            line,
            at=(start, y - number * down),
            dot_spacing=dot,
            cell_spacing=cell,
            line_spacing=down,
            dot_diameter=diameter,
        )
        lines += laid.lines
    return BrailleLayout(tuple(lines), diameter)


def _nominal(braille: Braille, name: str) -> float:
    return float(getattr(braille, name).nominal)


def shown_text(lines: Sequence[str]) -> str:
    """The text of a sign on one line, for messages."""
    return " / ".join(lines)
