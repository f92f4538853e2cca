"""Throw: whether drops reach the surface that they are meant for."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.passes import Pass
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.physics.timeline import Printing
from signrules.rules.checks import Draft, Level, check, geometry, missing, stated_by_the_job
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.drops import throw_satellite, throw_slowing


@rule(
    "throw.reach",
    each="pass",
    level=Level.STOP,
    source=stated_by_the_job("printer.max_throw"),
    decides=True,
    breaks={"passes.dots.gap.extra": "3 mm"},
    meets={},
)
def throw_reach(item: Pass, printing: Printing, printer: Printer) -> Iterator[Draft]:
    """The largest throw of a pass, to the lowest surface that it lands on, stays within what the
    printer can print.

    A stated gap that exceeds it is REVIEW; the planner never chooses one that does.

    Why it matters: the further drops fly, the wider they scatter and the more of them end as mist.
    A job that breaks it: a gap of 5 mm where the printer's drops hold together over 4 mm.
    One that meets it: the same pass with the gap set from the build-up instead of over the thickest
    neighbour.
    """
    if printer.max_throw is None:
        yield missing("printer.max_throw", "the reach of the drops", level=Level.REVIEW)
        return
    yield check(
        "the largest throw",
        measured=printing.throw.to_lowest,
        most=printer.max_throw,
        advice="Set a smaller gap, or print this part before the build-up beside it.",
        level=None if item.gap is None else Level.REVIEW,
    )


@rule(
    "throw.shrink",
    each="pass",
    level=Level.NOTE,
    source=geometry("the ink of the pass itself raises the surface on which its last layers land"),
    meets={},
)
def throw_shrink(printing: Printing) -> Iterator[Draft]:
    """How much the throw shrinks within the pass, as its own layers pile up.

    Why it matters: the alignment is right for the first layer; the last ones fly less far and land
    off by as much.
    A job that breaks it: none can; the number is for the reader.
    One that meets it: any; a single layer of flat colour shrinks the throw by some hundredths of a
    millimetre.
    """
    start, end = printing.throw.to_highest, printing.throw_at_end.to_highest
    low, high = sorted((start.low - end.low, start.high - end.high))
    yield check("the shrinking of the throw", measured=Interval.between(low, high))


THROW = RuleSet(
    "throw",
    (throw_reach, throw_shrink, throw_slowing, throw_satellite),
    "Drops reach the surface that they are meant for.",
)
