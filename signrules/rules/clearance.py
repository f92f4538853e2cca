"""Head clearance: nothing may stand in the band that the head passes over."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.printer import Printer
from signrules.physics.timeline import Printing
from signrules.rules.checks import Draft, Level, check, geometry, stated_by_the_job
from signrules.rules.declaration import RuleSet, rule

LARGER_GAP = "Set a larger gap for this pass, or print it before what stands in its way."


@rule(
    "clearance.strike",
    each="pass",
    level=Level.STOP,
    source=geometry("head plane minus the highest surface in the band, at the end of the pass"),
    decides=True,
    breaks={"passes.letters.layers": 70},
    meets={},
)
def clearance_strike(printing: Printing) -> Iterator[Draft]:
    """The head does not touch anything in its band: sheet, bow, ink, or a thicker neighbour on the
    bed.

    Why it matters: a head that scrapes the work ruins the work and itself; no waiver is possible.
    A job that breaks it: a flat colour pass at 1.5 mm over the sheet after a build-up of 1.8 mm.
    One that meets it: the same pass before the build-up.
    """
    yield check(
        "the clearance of the head", measured=printing.clearance, above=0.0, advice=LARGER_GAP
    )


@rule(
    "clearance.margin",
    each="pass",
    level=Level.STOP,
    source=stated_by_the_job("printer.min_clearance"),
    decides=True,
    breaks={"passes.letters.layers": 41},
    meets={},
)
def clearance_margin(printing: Printing, printer: Printer) -> Iterator[Draft]:
    """The head keeps the least clearance that the printer asks for over everything in its band.

    Why it matters: sheets are never quite flat and carriages never quite level; the margin is what
    absorbs it.
    A job that breaks it: dots of 0.72 mm under a head at 1.5 mm where 1 mm must remain.
    One that meets it: the same dots with the gap set 1 mm higher.
    """
    yield check(
        "the clearance of the head",
        measured=printing.clearance,
        least=printer.min_clearance,
        advice=LARGER_GAP,
    )


CLEARANCE = RuleSet(
    "clearance", (clearance_strike, clearance_margin), "The head clears everything in its band."
)
