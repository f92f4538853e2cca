"""Rules on the dimensions of braille: each judges a sign's dots and cells under the standards that
the job names.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from signrules.braille.cells import BLANK
from signrules.model.passes import Pass
from signrules.model.sign import Braille, Sign
from signrules.physics.heights import Heights
from signrules.rules.binding_rows import rows_binding
from signrules.rules.braille_form import DOTS
from signrules.rules.braille_text import TEXT_RULES
from signrules.rules.checks import Draft, Level
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import (
    TABLES,
    judge_length,
    judge_value,
    lacking_check,
)
from signrules.rules.domes import braille_dome
from signrules.rules.forgotten_builders import forgotten_builders
from signrules.rules.judged_relief import is_built, judge_relief
from signrules.rules.line_spacing import judge_line_spacing
from signrules.rules.measured_sample import braille_measured_spread
from signrules.standards.dimension_tables import Standard

Standards = tuple[Standard, ...]


@rule(
    "braille.dot-height",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"passes.dots.layers": 16},
    meets={},
)
def braille_dot_height(item: Sign, standards: Standards, heights: Heights) -> Iterator[Draft]:
    """How far the dots stand above the face beside them.

    The measured height counts; without one, the height that the passes build; without that, the
    declared height. Where the declared height differs from the built one by more than their
    tolerances, that is REVIEW. The declared height does not count where a pass that builds nothing
    prints relief in which the dots could lie, or passes build those of other signs on the sheet.

    Why it matters: a fingertip misses dots that are too low, and reads dots that are too high as
    rough.
    A job that breaks it: 16 layers of 31 um make dots of 0.496 mm, which is 0.139 mm below 0.025
    in.
    One that meets it: 26 layers of 30 um make dots of 0.78 mm, between 0.025 in and 0.037 in.
    """
    forgotten = list(forgotten_builders(item, standards, heights, "braille"))
    yield from forgotten
    # With a pass that lost its `builds` the declared height would hide what is printed.
    if forgotten:
        return
    measured = () if item.measured is None else item.measured.dot_height
    yield from judge_relief(item, standards, heights, "braille.dot_height", measured, "dot height")


@rule(
    "braille.dot-diameter",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.dot_diameter": "1.7 mm"},
    meets={},
)
def braille_dot_diameter(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the dots are at their base.

    Why it matters: ink spreads or pulls back before it cures, and the range is only a tenth of a
    millimetre wide.
    A job that breaks it: dots of 1.7 mm, where at most 0.063 in is allowed.
    One that meets it: dots of 1.55 mm, the middle of the range.
    """
    advice = "Change the drawn diameter by as much, less what the ink spreads."
    yield from judge_length(
        item, standards, "braille.dot_diameter", "the diameter of the dots", advice
    )


@rule(
    "braille.dot-spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.dot_spacing": "2.2 mm"},
    meets={},
)
def braille_dot_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How far apart the dots of one cell are, centre to centre.

    Why it matters: dots too close run into one another under the finger, and too far apart they
    leave the cell.
    A job that breaks it: dots 2.2 mm apart, where at least 0.090 in is asked for.
    One that meets it: dots 2.4 mm apart.
    """
    advice = "Lay the dots out again at a spacing within the range."
    yield from judge_length(
        item, standards, "braille.dot_spacing", "the spacing of the dots", advice
    )


@rule(
    "braille.cell-spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.cell_spacing": "6.1 mm"},
    meets={},
)
def braille_cell_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How far apart neighbouring cells are, centre to centre of corresponding dots.

    Braille whose lines have one cell each need not state it.

    Why it matters: a reader tells cells apart by the wider gap between them.
    A job that breaks it: cells 6.1 mm apart; that is a rounded figure, and 0.241 in is 6.1214 mm.
    One that meets it: cells 6.2 mm apart.
    """
    braille = item.braille
    if braille is None or (braille.cell_spacing is None and _is_one_cell_a_line(braille)):
        return
    advice = (
        "Lay the cells out again at a spacing within the range; the line grows or shrinks with it."
    )
    yield from judge_length(
        item, standards, "braille.cell_spacing", "the spacing of the cells", advice
    )


def _is_one_cell_a_line(braille: Braille) -> bool:
    """Whether it is stated which cells there are, and no two of them stand in one line."""
    counts = [len(line.strip(BLANK)) for line in (braille.cells or "").splitlines()]
    return max(counts, default=0) == 1


@rule(
    "braille.line-spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={
        "signs.room-214.braille.cells": "⠗⠕⠕⠍\n⠼⠃⠁⠙",
        "signs.room-214.braille.line_spacing": "10 mm",
    },
    meets={},
)
def braille_line_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How far apart the lines of braille are, centre to centre of corresponding dots.

    Cells in one line need not state it.

    Why it matters: a finger follows one line at a time and finds the next one by its distance.
    A job that breaks it: lines 10 mm apart; that is a rounded figure, and 0.395 in is 10.033 mm.
    One that meets it: lines 10.1 mm apart.
    """
    advice = "Lay the lines out again; the range is narrow, so aim for its middle."
    what = "the spacing of the lines of braille"
    yield from judge_line_spacing(item, standards, "braille", what, advice)


@rule(
    "braille.clear-space",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.clear_space": "9.5 mm"},
    meets={},
)
def braille_clear_space(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How much clear space there is between the braille and raised characters, borders and
    decoration.

    Why it matters: whatever stands up close to a cell feels like a dot of it.
    A job that breaks it: a raised border 9.5 mm from the dots, where 3/8 in (9.525 mm) is asked
    for.
    One that meets it: 10 mm on every side.
    """
    advice = "Move the braille, or what stands beside it."
    yield from judge_length(
        item, standards, "braille.clear_space", "the clear space around the braille", advice
    )


@rule(
    "braille.position",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.position": "above"},
    meets={},
)
def braille_position(
    item: Sign, passes: Mapping[str, Pass], standards: Standards
) -> Iterator[Draft]:
    """Where the braille lies, seen from the text that it repeats, as the sign states it.

    A sign that states how far below the text its braille lies says with it that it lies below.
    Where it states neither, and passes build both, their areas are what tells; this rule then says
    nothing.

    Why it matters: a hand that has found the text looks for its braille in one place.
    A job that breaks it: braille above the text.
    One that meets it: braille below the text, of several lines below the last.
    """
    braille = item.braille
    if braille is None:
        return
    implied = None if braille.below_text is None else "below"
    position = braille.position or implied
    # The drawing tells then, and `drawing.braille-below` judges it.
    if position is None and is_built(item, passes, "braille") and is_built(item, passes, "raised"):
        return
    what = "the place of the braille, seen from its text,"
    for standard, row in rows_binding(item, standards, "braille.position"):
        if position is None:
            yield lacking_check(item, standard, row, "braille.position", what)
        else:
            yield judge_value(
                item, standard, row, what, position, "Move the braille below the whole text."
            )


BRAILLE = RuleSet(
    "braille",
    (
        braille_dot_height,
        braille_dot_diameter,
        braille_dot_spacing,
        braille_cell_spacing,
        braille_line_spacing,
        braille_clear_space,
        braille_position,
        braille_dome,
        *DOTS,
        braille_measured_spread,
        *TEXT_RULES,
    ),
    "The dimensions and the place of braille, what the cells say, and the room for them.",
)
