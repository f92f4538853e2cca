"""A sign and the passes that print it, for tests of what is stated against what is drawn."""

from __future__ import annotations

from attrs import evolve
from standards.signs import job_of, judged, mm

import signrules
from signrules.model.passes import Area, Pass
from signrules.model.sign import Braille, Raised, Sign

DOTS = Pass("dots", "clear", areas=(Area(40, 30, 60, 8),), builds=("room.braille",))
LETTERS = Pass("letters", "clear", areas=(Area(40, 48, 100, 25),), builds=("room.raised",))
BRAILLE = Braille(
    cells="⠗⠕⠕⠍⠀⠼⠃⠁⠙",
    dot_diameter=mm(1.5),
    dot_spacing=mm(2.4),
    cell_spacing=mm(6.2),
)
SIGN = Sign("room", text=("ROOM 214",), braille=BRAILLE, raised=Raised(height=mm(25)))
CELLS = 2 * 2.4 + 1.5
"""From the foot of the lowest dot to the head of the highest, in mm: three rows of dots."""


def found(rule, sign, *passes, standards=()):
    return judged(job_of(sign, passes=passes), *standards, rule=f"drawing.{rule}")


def stating(sign=SIGN, **braille):
    return evolve(sign, braille=evolve(sign.braille, **braille))


SILENT = evolve(SIGN, raised=Raised())
"""The same sign, and nobody says how tall its letters are."""


def at(item, *areas, **changes):
    return evolve(item, areas=tuple(Area(*area) for area in areas), **changes)


def fitted(sign, *passes):
    result = signrules.evaluate(job_of(sign, passes=passes))
    return [check for check in result.checks if check.rule == "braille.fit"]


def outcomes(checks):
    return [check.outcome.value for check in checks]
