"""What passes print of the parts of a sign, upright, and how tall what is stated must come out
there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from signrules.braille.dot_layout import braille_layout
from signrules.model.built_areas import areas_building, unstated_place
from signrules.model.job import Job
from signrules.model.passes import Area, Pass
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import Braille, Raised, Sign, Visual
from signrules.physics.bed_layout import Layout
from signrules.physics.upright import bounding_area, upright_area
from signrules.rules.checks import Draft, check
from signrules.rules.judged_relief import builders_of
from signrules.rules.letter_widths import least_width
from signrules.rules.settings import setting

_FIRST_CELL, _MIDDLE_ROW, _BOTTOM_ROW = 0x2800, 0b010010, 0b100100
"""The empty cell of Unicode, and the bits of dots 2 and 5 and of dots 3 and 6."""

_SPACINGS = ("dot_diameter", "dot_spacing", "cell_spacing")


@frozen
class Agreement:
    """How far a statement and a drawing may lie apart."""

    rounding: float = setting(
        0.05,
        unit="mm",
        doc="By how much a number may differ because it was rounded; half of the tenth of a "
        "millimetre to which drawings usually are (common practice, no published source).",
    )


@frozen
class Drawn:
    """What some passes print of one part of a sign, all on one side of its sheet.

    `areas` are upright. What is printed lies somewhere within them: they may be larger than it.
    `unstated` is the path of the first thing without which it is not known where that is.
    """

    passes: tuple[Pass, ...]
    areas: tuple[Area, ...]
    unstated: str | None = None

    @property
    def side(self) -> str:
        """The side of the sheet."""
        return self.passes[0].side

    @property
    def paths(self) -> tuple[str, ...]:
        """The passes as subjects of a check."""
        return tuple(f"passes.{item.id}" for item in self.passes)

    @property
    def box(self) -> Area:
        """The rectangle around all of it."""
        return bounding_area(self.areas)

    @property
    def read_from_artwork(self) -> bool:
        """Whether artwork tells where all of it lies, so that its areas were made around it."""
        return all(item.artwork for item in self.passes)


def stated_against_drawn(
    what: str,
    stated: Interval,
    least: float,
    most: float | None,
    *,
    rounding: float,
    limit_text: str,
    advice: str,
    others: tuple[str, ...],
) -> Draft:
    """A stated length against the least and the most that a drawing allows, in mm; None is open.

    A statement agrees where its tolerance reaches what is allowed, or comes as near as rounding.
    """
    if most is not None:
        # By the tolerance towards the limit: the statement agrees if any value within it does.
        most = most + (stated.nominal - stated.low) + rounding
    return check(
        what,
        measured=stated.nominal,
        least=least - (stated.high - stated.nominal) - rounding,
        most=most,
        unit="mm",
        limit_text=limit_text,
        advice=advice,
        others=others,
    )


def drawn_part(sign: Sign, job: Job, feature: str) -> tuple[Drawn, ...]:
    """What is printed of a part of a sign, one of `FEATURES`, on each side that has any of it.

    A pass that builds it and has no area where it should lie prints none of it.
    """
    drawn_sides = []
    for group in builders_of(job, f"{sign.id}.{feature}"):
        passes = tuple(job.passes[pass_index] for pass_index in group)
        areas: list[Area] = []
        for item in passes:
            own_areas = areas_building(job, item, f"{sign.id}.{feature}")
            areas += job.areas_of(item) if own_areas is None else own_areas
        if not areas:
            continue
        upright = tuple(upright_area(area, sign.top) for area in areas)
        drawn_sides.append(
            Drawn(passes, upright, _unstated_place(job, passes, f"{sign.id}.{feature}"))
        )
    return tuple(drawn_sides)


def _unstated_place(job: Job, passes: tuple[Pass, ...], feature: str) -> str | None:
    """The path of the first thing without which it is not known where passes print a part."""
    for item in passes:
        unstated = unstated_place(job, item, feature)
        if unstated is not None:
            return unstated
        if item.areas is None:
            return f"passes.{item.id}.areas"
    return None


def text_and_braille(sign: Sign, job: Job) -> Iterator[tuple[Drawn, Drawn]]:
    """The raised text and the braille of a sign, where both are printed on one side."""
    by_side = {text.side: text for text in drawn_part(sign, job, "raised")}
    for dots in drawn_part(sign, job, "braille"):
        if dots.side in by_side:
            yield by_side[dots.side], dots


def read_from_artwork(sign: Sign, job: Job) -> bool:
    """Whether passes print raised text and braille of a sign, and all were read from artwork."""
    for feature in ("raised", "braille"):
        groups = builders_of(job, f"{sign.id}.{feature}")
        if not groups or not all(job.passes[at].artwork for group in groups for at in group):
            return False
    return True


def ground_of(sign: Sign, layout: Layout, side: str) -> tuple[Area, str]:
    """The ground on which a part of a sign lies, upright, and the word for it.

    It is the sign's own area where that is stated for this side, and the sheet otherwise.
    """
    if sign.area is not None and side == layout.faces[sign.id]:
        return upright_area(sign.area, sign.top), "sign"
    width, height = layout.job.media_of(sign).size
    return upright_area(Area(0.0, 0.0, width, height), sign.top), "sheet"


def gap_below(sign: Sign, text: Drawn, dots: Drawn) -> Interval:
    """How far the braille lies below the lowest raised text, in mm; below 0 where it reaches
    higher.

    What is printed lies within its areas, so the gap is at least that between them. At most it is
    what remains when text of its stated height stands at the very top and braille at the very
    bottom.
    """
    least_gap = text.box.y - _top_of_sign(dots.box)
    lowest_text = min(
        [
            _top_of_sign(text.box) - text_height(sign),
            *map(_top_of_sign, areas_holding_text(sign, text)),
        ]
    )
    highest_dots = max([dots.box.y + cells_height(sign.braille), *_feet_of_lines(dots.areas)])
    return Interval(least_gap, least_gap, max(least_gap, lowest_text - highest_dots))


def gap_above(sign: Sign, text: Drawn, dots: Drawn) -> Interval:
    """How far the braille lies above the highest raised text, in mm; below 0 where it reaches
    lower.
    """
    least_gap = dots.box.y - _top_of_sign(text.box)
    highest_text = max(
        [text.box.y + text_height(sign), *_feet_of_lines(areas_holding_text(sign, text))]
    )
    lowest_dots = min(
        [_top_of_sign(dots.box) - cells_height(sign.braille), *map(_top_of_sign, dots.areas)]
    )
    return Interval(least_gap, least_gap, max(least_gap, lowest_dots - highest_text))


def areas_holding_text(sign: Sign, text: Drawn) -> tuple[Area, ...]:
    """The areas of raised text that are tall enough to hold some; where none is, all of them as
    one.

    A raised border may be printed with the text, and its strips are no text.
    """
    stated_height = letter_height(sign, sign.raised)
    if stated_height is None:
        return (text.box,)
    least_height = stated_height.low - GUARD_MM
    return tuple(area for area in text.areas if area.height >= least_height) or (text.box,)


def _top_of_sign(area: Area) -> float:
    return area.y + area.height


def _feet_of_lines(areas: Iterable[Area]) -> Iterator[float]:
    return (area.y for area in areas)


def text_height(sign: Sign) -> float:
    """The least height in mm of the raised text, by what the sign states; 0 where it cannot be
    told.
    """
    stated_height = lines_height(sign, sign.raised) or letter_height(sign, sign.raised)
    return 0.0 if stated_height is None else stated_height.low


def letter_height(sign: Sign, part: Raised | Visual | None) -> Interval | None:
    """The stated height of characters in mm, which one at least has; None where that cannot be
    told.

    It is that of a capital, so text that is known to have neither capitals nor digits may be lower.
    """
    if part is None or part.height is None:
        return None
    lines = _lines_drawn(sign)
    is_known = not lines or any(_is_full(sign, part, line) for line in lines)
    return part.height if is_known and _case_of_text(part) != "lower" else None


def lines_height(sign: Sign, part: Raised | Visual | None) -> Interval | None:
    """The height in mm from the foot of the last line to the head of the first.

    None where the text has one line, and where the sign has raised and visual characters: some of
    its lines may then be the ones and some the others.
    """
    lines = _lines_drawn(sign)
    if part is None or part.height is None or part.line_spacing is None or len(lines) < 2:
        return None
    if (sign.raised is not None and sign.visual is not None) or not _is_full(sign, part, lines[0]):
        return None
    steps = len(lines) - 1
    return part.height + part.line_spacing.scaled(steps)


def count_lines(sign: Sign) -> int:
    """How many lines of text a sign has."""
    return len(_lines_drawn(sign))


def _lines_drawn(sign: Sign) -> list[str]:
    return [line for line in sign.text if line.strip()]


def _case_of_text(part: Raised | Visual) -> str | None:
    return part.case if isinstance(part, Raised) else None


def _is_full(sign: Sign, part: Raised | Visual, line: str) -> bool:
    """Whether some character of a line is as tall as a capital; digits count, as they stand beside
    capitals.
    """
    if _case_of_text(part) == "lower":
        return False
    return _case_of_text(part) == "upper" or any(
        letter.isupper() or letter.isdigit() for letter in line
    )


def line_steps(sign: Sign, part: Raised | Visual | None) -> float:
    """The least distance in mm from the last baseline of a part up to its first; 0 where it cannot
    be told.
    """
    total_height = lines_height(sign, part)
    if total_height is None or part is None or part.height is None:
        return 0.0
    return total_height.low - part.height.low


def letters_width(sign: Sign) -> float | None:
    """The least width in mm of the longest line of raised characters; None where it cannot be told.

    A character is at least as wide as its stroke, and a capital O as wide as stated.
    """
    part, lines = sign.raised, _lines_drawn(sign)
    if part is None or part.stroke is None or part.spacing is None or not lines:
        return None
    widths = [_line_width(part, line, part.stroke.low, part.spacing.low) for line in lines]
    # With visual characters too, any line may be theirs; the shortest is the least that is raised.
    return min(widths) if sign.visual is not None else max(widths)


def _line_width(part: Raised, line: str, stroke: float, gap: float) -> float:
    """Blanks between words count as one gap: it takes the place of that between characters."""
    letters = _letters_of(part, line)
    between = gap * (len(letters) - 1)
    if part.width is None:
        return stroke * len(letters) + between
    round_letters = letters.count("O")
    line_width = part.width.low * round_letters
    return line_width + stroke * (len(letters) - round_letters) + between


def _letters_of(part: Raised, line: str) -> str:
    """The characters of a line without its blanks, as the part writes them."""
    if part.case == "upper":
        line = line.upper()
    return "".join(line.split())


def usual_width(sign: Sign) -> float | None:
    """The width in mm that the longest line of raised characters takes in the narrowest of common
    typefaces with the stated O; None where it cannot be told.
    """
    part, lines = sign.raised, _lines_drawn(sign)
    if part is None or part.stroke is None or part.spacing is None or not lines:
        return None
    widths = [_usual_line(part, line, part.stroke.low, part.spacing.low) for line in lines]
    return min(widths) if sign.visual is not None else max(widths)


def _usual_line(part: Raised, line: str, stroke: float, gap: float) -> float:
    if part.width is None or part.height is None:
        return _line_width(part, line, stroke, gap)
    o_width, height = part.width.low, part.height.low
    letters = _letters_of(part, line)
    widths = (
        least_width(letter, o_width=o_width, height=height, stroke=stroke) for letter in letters
    )
    return sum(widths) + gap * (len(letters) - 1)


def foot_of_cells(braille: Braille) -> float:
    """How far the lowest row of the last cells lies below their lowest dot, at the most, in mm."""
    if braille.dot_spacing is None:
        return 0.0
    last_line = (braille.cells or "").strip("\n").split("\n")[-1]
    bits = 0
    for cell in last_line:
        bits |= max(0, ord(cell) - _FIRST_CELL)
    if bits & _BOTTOM_ROW:
        return 0.0
    # Cells are laid out by their dots, and a line without any in its lower rows ends higher.
    empty_rows = 1 if bits & _MIDDLE_ROW else 2
    return empty_rows * braille.dot_spacing.high


def cells_height(braille: Braille | None) -> float:
    """The least height in mm that the dots of a sign take; 0 where that cannot be told."""
    if braille is None or lacking_for_cells(braille, "low") is not None:
        return 0.0
    box = cells_box(braille, "low")
    return 0.0 if box is None else box.height


def lacking_for_cells(braille: Braille, end: str) -> str | None:
    """The field without which the room that cells take cannot be told; None where it can."""
    if braille.cells is None:
        return "cells"
    for name in _needed_height(braille):
        value: Interval | None = getattr(braille, name)
        if value is None or getattr(value, end) <= 0:
            return name
    return None


def cells_box(braille: Braille, end: str) -> Area | None:
    """The rectangle around the dots, laid out at one end (`low`, `high`) of their spacings, in mm.

    None where there is no dot. The braille states all that it takes: see `lacking_for_cells`.
    """
    stated = {name: getattr(getattr(braille, name), end) for name in _needed_height(braille)}
    lengths = {"line_spacing": 1.0, **stated}
    cells = (braille.cells or "").strip("\n")
    return braille_layout(cells, at=(0.0, 0.0), **lengths).extents


def _needed_height(braille: Braille) -> tuple[str, ...]:
    several = "\n" in (braille.cells or "").strip("\n")
    return (*_SPACINGS, "line_spacing") if several else _SPACINGS
