"""Bidirectional alignment: whether the two carriage directions land on each other."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.job import Job
from signrules.model.passes import Pass
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import number_text
from signrules.physics.landing import drop_of, error_over_layers, landing_error, still_air_error
from signrules.physics.timeline import Printing, Timeline
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, common_practice, missing, published
from signrules.rules.declaration import RuleSet, rule

KINEMATICS = published("elementary kinematics of two-way printing")


@rule(
    "alignment.served",
    each="pass",
    level=Level.REVIEW,
    source=KINEMATICS,
    breaks={"printer.landing_tolerance": "0.005 mm"},
    meets={},
)
def alignment_served(
    item: Pass, printing: Printing, printer: Printer, timeline: Timeline
) -> Iterator[Draft]:
    """Bidirectional (two-way) printing lands within tolerance on the surface where the pass must be
    crisp.

    It is judged with the alignments on record and with those that the plan makes first.

    Why it matters: at another throw than that of its alignment the two directions land beside each
    other and the print blurs.
    A job that breaks it: a throw known to no better than 2 mm, which no alignment brings within
    0.06 mm.
    One that meets it: colour over 0.7 mm dots, the gap set from the dots, aligned at 0.7 mm over a
    bare sheet.
    """
    yield from _landing_check(
        item, printing, printing.crisp_extra, printer, timeline, "where it must be crisp"
    )


@rule(
    "alignment.through",
    each="pass",
    level=Level.REVIEW,
    source=KINEMATICS,
    breaks={"passes.dots.directions": 2},
    meets={},
)
def alignment_through(
    item: Pass,
    printing: Printing,
    printer: Printer,
    timeline: Timeline,
) -> Iterator[Draft]:
    """Bidirectional (two-way) printing still lands within tolerance at the last layer, where the
    pass must be crisp.

    The layers of a pass shorten its own throw, so the landing error of the last layer differs from
    that of the first. A pass of one layer is not judged. One-way printing has no landing error.

    Why it matters: the first layer may be sharp and the tops of the dots doubled.
    A job that breaks it: 24 layers of 0.033 mm both ways, aligned for the first one.
    One that meets it: the same one-way, or in two passes, each with a gap of its own.
    """
    # Its first layer is its last, and `alignment.served` judges that.
    if item.layers == 1:
        return
    at_last = f"landing error at the last of {item.layers} layers"
    tolerance = printer.allowed_landing_error
    # Met and not silent: were the check gone, printing one-way would mend it by taking it away.
    if item.directions == 1:
        what = f"{at_last}, printed one-way,"
        yield check(what, measured=0.0, most=tolerance or 0.0, unit="mm")
        return
    alignment = timeline.serving_alignment(printing)
    if tolerance is None or alignment is None:
        yield missing("printer.landing_tolerance", f"two-way {at_last}")
        return
    first = landing_error(printer, printing.crisp_extra, alignment)
    last_error = landing_error(printer, printing.crisp_extra_at_end, alignment)
    instead = ""
    if last_error.high > tolerance + GUARD_MM:
        layer = timeline.machine.job.ink_of(item).layer
        instead = _what_instead(item, printing.crisp_extra, printer, layer, tolerance)
    at_first = f"({quantity_text(first, 'mm')} at the first)"
    yield check(
        f"two-way {at_last} {at_first}, {_serving_alignment(timeline, alignment)},",
        measured=last_error,
        most=tolerance,
        advice=instead,
    )


@rule(
    "alignment.other-surface",
    each="pass",
    level=Level.NOTE,
    source=KINEMATICS,
    breaks={},
    meets={"printer.landing_tolerance": "0.3 mm"},
)
def alignment_other_surface(
    item: Pass, printing: Printing, printer: Printer, timeline: Timeline
) -> Iterator[Draft]:
    """How far apart the two directions land on the other surface: the highest where the lowest must
    be crisp.

    Why it matters: a pass over relief is crisp on one surface only; how much it blurs on the other
    is worth knowing.
    A job that breaks it: colour over 0.7 mm dots, aligned for the sheet beside them: the tops of
    the dots blur.
    One that meets it: the same over a texture of 0.1 mm.
    """
    # Without relief both surfaces are one, and the note would say the same a second time.
    if (
        max(
            abs(printing.crisp_extra.low - printing.other_extra.low),
            abs(printing.crisp_extra.high - printing.other_extra.high),
        )
        > GUARD_MM
    ):
        yield from _landing_check(
            item, printing, printing.other_extra, printer, timeline, "on its other surface"
        )


@rule(
    "alignment.stale",
    each="job",
    level=Level.REVIEW,
    source=common_practice("an alignment is void once the heads have been moved or replaced"),
    breaks={"alignments[0].date": "2027-02-22"},
    meets={},
)
def alignment_stale(item: Job) -> Iterator[Draft]:
    """The alignments on record were made after the last work on the heads.

    An older one counts as not on record, and the plan makes a new one where it is needed.

    Why it matters: a head that was taken out and put back is off by more than a dot.
    A job that breaks it: an alignment of 2 March, a head replaced on 9 March.
    One that meets it: the same alignment, made again on 9 March.
    """
    head_work = item.printer.head_work
    if head_work is None:
        return
    for position, alignment in enumerate(item.alignments):
        # By the day alone: nobody notes the hour, so work of the same day is taken to have come
        # first.
        days = alignment.stale_by(head_work)
        name = f"the alignment at an extra of {number_text(alignment.extra)} mm"
        if days is None or alignment.date is None:
            yield missing(f"alignments[{position}].date", f"whether {name} still holds")
            continue
        yield check(
            f"the days by which {name} of {alignment.date.isoformat()} is older than the work on"
            " the heads",
            measured=days,
            most=0,
            unit="days",
            advice="It counts as not on record: make it again and note the date.",
        )


def _landing_check(
    item: Pass,
    printing: Printing,
    extra: Interval,
    printer: Printer,
    timeline: Timeline,
    where: str,
) -> Iterator[Draft]:
    if item.directions == 1:
        return
    tolerance = printer.allowed_landing_error
    alignment = timeline.serving_alignment(printing)
    # With a tolerance there is an alignment for each pass that prints both ways, made first where
    # none is on record.
    if tolerance is None or alignment is None:
        yield missing("printer.landing_tolerance", f"how well two-way printing lands {where}")
        return
    error = landing_error(printer, extra, alignment)
    yield check(
        f"two-way landing error {where}, {_serving_alignment(timeline, alignment)},",
        measured=error,
        most=tolerance,
        advice=(
            f"{_air_beyond_tolerance(printer, extra, alignment, error, tolerance)}"
            "Print one-way or slower, or measure more closely what the throw depends on."
        ),
    )


def _serving_alignment(timeline: Timeline, extra: float) -> str:
    """By which alignment a pass is printed; whether it is on record, and since when."""
    dates = timeline.on_record.get(extra)
    how_made = "made first"
    if dates is not None:
        known_dates = [date for date in dates if date is not None]
        how_made = f"on record since {max(known_dates).isoformat()}" if known_dates else "on record"
    return f"aligned at an extra of {number_text(extra)} mm ({how_made})"


def _air_beyond_tolerance(
    printer: Printer, extra: Interval, alignment: float, error: Interval, tolerance: float
) -> str:
    """Which end of the drag bounds is beyond the tolerance, where drag counts."""
    # At constant speed air makes no difference, so there are no two bounds.
    if drop_of(printer) is None:
        return ""
    still = number_text(still_air_error(printer, extra, alignment).high)
    # The number as it is printed, so that the sentence never contradicts what stands in it.
    if float(still) <= tolerance:
        moving = number_text(error.high)
        return (
            f"It is within tolerance in still air ({still} mm), but not in air that moves with"
            f" the head ({moving} mm). "
        )
    return f"Even in still air it is up to {still} mm. "


def _what_instead(
    item: Pass,
    crisp: Interval,
    printer: Printer,
    layer: Interval,
    tolerance: float,
) -> str:
    """What printing one-way, or in two passes, would gain."""
    # The larger half decides, since its last layer lies farther from its first.
    more_layers = -(-item.layers // 2)
    fewer_layers = item.layers - more_layers
    parts = (
        f"{more_layers} layers each"
        if fewer_layers == more_layers
        else f"{more_layers} and {fewer_layers} layers"
    )
    error = error_over_layers(printer, crisp, layer, more_layers, tolerance)
    still = "" if error <= tolerance + GUARD_MM else ", still too much"
    return (
        f"Printed one-way it has none. Split into two passes of {parts}, each with its own gap"
        f" and alignment, it is at most {number_text(error)} mm{still}."
    )


ALIGNMENT = RuleSet(
    "alignment",
    (alignment_served, alignment_through, alignment_other_surface, alignment_stale),
    "Both carriage directions land on each other.",
)
