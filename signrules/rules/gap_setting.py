"""Gap control: whether a stated gap can be set, and what the settings beside it would do."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.passes import Gap, Pass
from signrules.model.printer import Printer, Spacers, extras_beside, nearest_extra
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import number_text
from signrules.physics.landing import landing_error
from signrules.physics.timeline import Printing, Timeline
from signrules.rules.checks import Draft, Level, check, stated_by_the_job
from signrules.rules.declaration import RuleSet, rule


@rule(
    "gap.settable",
    each="pass",
    level=Level.STOP,
    source=stated_by_the_job("printer.gap"),
    breaks={"passes.dots.gap.extra": "1.2 mm"},
    meets={},
)
def gap_settable(
    item: Pass,
    printing: Printing,
    printer: Printer,
    timeline: Timeline,
) -> Iterator[Draft]:
    """A gap that a pass states is one that the printer's gap control can set.

    The plan uses the gap as stated, so this does not make an order unsafe, but the job cannot be
    printed that way.

    Why it matters: an operator who takes the nearest spacer prints a different job from the one
    that was judged.
    A job that breaks it: an extra of 1 mm where there are spacers of 0.8 mm and 1.2 mm.
    One that meets it: an extra of 0.8 mm, or none.
    """
    # A height above the bed is driven to and not set by spacers or a dial.
    if not isinstance(item.gap, Gap):
        return
    stated = item.gap.extra.nominal
    nearest = nearest_extra(printer.gap, stated)
    distance = abs(nearest - stated)
    can_be_set = distance <= GUARD_MM
    tool = "spacer" if isinstance(printer.gap, Spacers) else "step of the dial"
    yield check(
        f"the stated extra of {number_text(stated)} mm to the nearest {tool}",
        measured=0.0 if can_be_set else distance,
        most=0.0,
        unit="mm",
        advice="" if can_be_set else _settings_beside(item, stated, printing, printer, timeline),
    )


def _settings_beside(
    item: Pass,
    stated: float,
    printing: Printing,
    printer: Printer,
    timeline: Timeline,
) -> str:
    """What the settings next to a stated extra would do, in words."""
    sentences = []
    for where, extra in zip(("below", "above"), extras_beside(printer.gap, stated), strict=True):
        if extra is None:
            sentences.append(f"The printer has no setting {where} it.")
            continue
        deeds = _what_it_does(item, extra - stated, printing, printer, timeline)
        sentences.append(f"Next {where}, {_nearest_setting(printer, extra)} {deeds}.")
    return " ".join(sentences)


def _nearest_setting(printer: Printer, extra: float) -> str:
    if not isinstance(printer.gap, Spacers):
        return f"the dial at {number_text(extra)} mm"
    return f"the spacer of {number_text(extra)} mm" if extra else "no spacer"


def _what_it_does(
    item: Pass,
    difference: float,
    printing: Printing,
    printer: Printer,
    timeline: Timeline,
) -> str:
    """What a head does that runs so many mm higher: the room it has, and where drops land."""
    # The head runs higher by the difference, so all distances below it grow by just that.
    clearance, least_clearance = printing.clearance.low + difference, printer.min_clearance
    if clearance <= GUARD_MM:
        return f"would hit by {number_text(max(-clearance, 0.0))} mm"
    room = f"leaves {number_text(clearance)} mm of clearance"
    if clearance < least_clearance - GUARD_MM:
        room += f" ({number_text(least_clearance)} mm needed)"
    throw, longest_throw = printing.throw.to_lowest.high + difference, printer.max_throw
    reach = f"throws {number_text(throw)} mm"
    if longest_throw is not None and throw > longest_throw + GUARD_MM:
        reach += f" ({number_text(longest_throw)} mm at most)"
    landing = _landing_there(item, difference, printing, printer, timeline)
    return f"{room}, {reach} and {landing}" if landing else f"{room} and {reach}"


def _landing_there(
    item: Pass,
    difference: float,
    printing: Printing,
    printer: Printer,
    timeline: Timeline,
) -> str:
    """Where two-way printing then lands by the alignments that there are, if that is known."""
    tolerance = printer.allowed_landing_error
    if item.directions == 1 or tolerance is None:
        return ""
    extra = printing.crisp_extra + Interval.exact(difference)
    # The operator would enter the best of those that there are.
    error = min(landing_error(printer, extra, alignment).high for alignment in timeline.alignments)
    allowed = f"({number_text(tolerance)} mm allowed)"
    if error <= tolerance + GUARD_MM:
        return f"lands within {number_text(error)} mm {allowed}"
    return f"lands {number_text(error)} mm off {allowed} without another alignment"


GAP = RuleSet("gap", (gap_settable,), "Stated gaps can be set.")
