"""Throw, gap control and bidirectional alignment: whether drops land where they should."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.job import Job
from signrules.model.passes import Pass
from signrules.model.printer import Printer, Spacers, nearest_offset
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.landing import drop_of, landing_error, still_air_error
from signrules.physics.timeline import Printing, Timeline
from signrules.rules.checks import (
    Draft,
    Level,
    check,
    common_practice,
    geometry,
    missing,
    published,
    stated_by_the_job,
)
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.drops import satellite, slowing
from signrules.rules.wording import number

KINEMATICS = published("elementary kinematics of two-way printing; the same quantities stand in US patent 6,629,747")


@rule(
    "throw.reach",
    each="pass",
    level=Level.STOP,
    source=stated_by_the_job("printer.max_throw"),
    decides=True,
    breaks={"passes.dots.gap.offset": "3 mm"},
    meets={},
)
def reach(item: Pass, printing: Printing, printer: Printer) -> Iterator[Draft]:
    """The largest throw of a pass, to the lowest surface that it lands on, stays within what the printer can print.

    A stated gap that goes beyond is for a person to look at; one that the planner was to choose may not.

    Why it matters: the further drops fly, the wider they scatter and the more of them end as mist.
    A job that breaks it: a gap of 5 mm where the printer's drops hold together over 4 mm.
    One that meets it: the same pass with the gap set from the build-up instead of over the thickest neighbour.
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
def shrink(printing: Printing) -> Iterator[Draft]:
    """How much the throw shrinks within the pass, as its own layers pile up.

    Why it matters: the alignment is right for the first layer; the last ones fly less far and land off by as much.
    A job that breaks it: none can; the number is for the reader.
    One that meets it: any; a single layer of flat colour shrinks the throw by some hundredths of a millimetre.
    """
    start, end = printing.throw.to_highest, printing.throw_at_end.to_highest
    low, high = sorted((start.low - end.low, start.high - end.high))
    yield check("the shrinking of the throw", measured=Interval.between(low, high))


@rule(
    "gap.settable",
    each="pass",
    level=Level.REVIEW,
    source=stated_by_the_job("printer.gap"),
    breaks={"passes.dots.gap.offset": "1.2 mm"},
    meets={},
)
def settable(item: Pass, printer: Printer) -> Iterator[Draft]:
    """A gap that a pass states is one that the printer's gap control can set.

    Why it matters: the plan is reckoned with the stated gap; an operator who takes the nearest spacer prints another.
    A job that breaks it: an offset of 1 mm where there are spacers of 0.8 mm and 1.2 mm.
    One that meets it: an offset of 0.8 mm, or none.
    """
    if item.gap is None or item.gap.reference == "bed":
        return
    offset = item.gap.offset.nominal
    nearest = nearest_offset(printer.gap, offset)
    away = abs(nearest - offset)
    tool = "spacer" if isinstance(printer.gap, Spacers) else "step of the dial"
    yield check(
        f"the stated offset of {offset:g} mm to the nearest {tool}",
        measured=0.0 if away <= GUARD_MM else away,
        most=0.0,
        unit="mm",
        advice=f"The nearest that can be set is {nearest:g} mm.",
    )


@rule(
    "alignment.served",
    each="pass",
    level=Level.REVIEW,
    source=KINEMATICS,
    breaks={"printer.landing_tolerance": "0.005 mm"},
    meets={},
)
def served(item: Pass, printing: Printing, printer: Printer, timeline: Timeline) -> Iterator[Draft]:
    """Two-way printing lands within tolerance on the surface where the pass must be crisp.

    It is judged with the alignments on record and with those that the plan makes first.

    Why it matters: at another throw than that of its alignment the two directions land side by side and blur.
    A job that breaks it: a throw known to no better than 2 mm, which no alignment brings within 0.06 mm.
    One that meets it: colour over 0.7 mm dots, the gap set from the dots, aligned at 0.7 mm over a bare sheet.
    """
    yield from _landing(item, printing.crisp, printer, timeline, "where it must be crisp")


@rule(
    "alignment.other-surface",
    each="pass",
    level=Level.NOTE,
    source=KINEMATICS,
    breaks={},
    meets={"printer.landing_tolerance": "0.3 mm"},
)
def other_surface(item: Pass, printing: Printing, printer: Printer, timeline: Timeline) -> Iterator[Draft]:
    """How far apart the two directions land on the other surface: the highest where the lowest must be crisp.

    Why it matters: a pass over relief is crisp on one surface only; how much it blurs on the other is worth knowing.
    A job that breaks it: colour over 0.7 mm dots, aligned for the sheet beside them: the tops of the dots blur.
    One that meets it: the same over a texture of 0.1 mm.
    """
    if max(abs(printing.crisp.low - printing.other.low), abs(printing.crisp.high - printing.other.high)) > GUARD_MM:
        yield from _landing(item, printing.other, printer, timeline, "on its other surface", printing.crisp)


@rule(
    "alignment.stale",
    each="job",
    level=Level.REVIEW,
    source=common_practice("an alignment is void once the heads have been moved or replaced"),
    breaks={"alignments[0].date": "2027-02-22"},
    meets={},
)
def stale(item: Job) -> Iterator[Draft]:
    """The alignments on record were made after the last work on the heads.

    One that was not counts as not on record: the plan makes another where it is needed.

    Why it matters: a head that was taken out sits elsewhere by more than a dot when it is put back.
    A job that breaks it: an alignment of 2 March, a head replaced on 9 March.
    One that meets it: the same alignment, made anew on 9 March.
    """
    head_work = item.printer.head_work
    if head_work is None:
        return
    for position, alignment in enumerate(item.alignments):
        days = alignment.stale_by(head_work)
        name = f"the alignment at {alignment.offset:g} mm over a bare sheet"
        if days is None or alignment.date is None:
            yield missing(f"alignments[{position}].date", f"whether {name} still holds")
            continue
        yield check(
            f"the days by which {name} of {alignment.date.isoformat()} is older than the work on the heads",
            measured=days,
            most=0,
            unit="days",
            advice="It counts as not on record: make it anew and note the date.",
        )


def _landing(
    item: Pass, offset: Interval, printer: Printer, timeline: Timeline, where: str, aligned_for: Interval | None = None
) -> Iterator[Draft]:
    if item.directions == 1:
        return
    tolerance = printer.allowed_landing_error
    alignment = timeline.serving_alignment(aligned_for or offset)
    # With a tolerance there is an alignment for each pass that prints both ways, made first where none is on record.
    if tolerance is None or alignment is None:
        yield missing("printer.landing_tolerance", f"how well two-way printing lands {where}")
        return
    error = landing_error(printer, offset, alignment)
    yield check(
        f"two-way landing error {where}, aligned at {alignment:g} mm over a bare sheet ({_made(timeline, alignment)}),",
        measured=error,
        most=tolerance,
        advice=f"{_air(printer, offset, alignment, error, tolerance)}"
        "Print one-way or slower, or measure what is uncertain about the throw.",
    )


def _made(timeline: Timeline, offset: float) -> str:
    """Whether an alignment is on record, and since when."""
    dates = timeline.on_record.get(offset)
    if dates is None:
        return "made first"
    known = [date for date in dates if date is not None]
    return f"on record since {max(known).isoformat()}" if known else "on record"


def _air(printer: Printer, offset: Interval, alignment: float, error: Interval, tolerance: float) -> str:
    """Which end of the drag bounds is beyond the tolerance, where drag is reckoned with."""
    if drop_of(printer) is None:
        return ""
    still = number(still_air_error(printer, offset, alignment).high)
    if float(still) <= tolerance:
        return (
            f"It holds in air at rest ({still} mm) and not in air that moves with the head ({number(error.high)} mm). "
        )
    return f"In air at rest already it is up to {still} mm. "


THROW = RuleSet("throw", (reach, shrink, slowing, satellite), "Drops reach the surface that they are meant for.")
GAP = RuleSet("gap", (settable,), "Stated gaps can be set.")
ALIGNMENT = RuleSet("alignment", (served, other_surface, stale), "Both carriage directions land on each other.")
