"""Registration when sheets warm: growth between passes, and the whole of what lies between two
passes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping

from signrules.catalogue.materials import Material
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Pass
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import number_text
from signrules.physics import thermal
from signrules.physics.error_budget import root_sum_square, worst_case
from signrules.physics.flatness import thickness_of
from signrules.physics.timeline import Timeline
from signrules.rules.between_passes import (
    BetweenPasses,
    SheetGrowth,
    all_between,
    heat_properties,
    unknown_of_cooling,
)
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, missing, published
from signrules.rules.declaration import rule

EXPANSION = published(
    "linear thermal expansion, any handbook of physics; coefficients with their sources: the"
    " catalogue"
)
ADDED = published("worst case and root of the sum of squares, any handbook on tolerances")


@rule(
    "registration.growth",
    each="pass",
    level=Level.STOP,
    source=EXPANSION,
    decides=True,
    breaks={"passes.dots.sheet_temperature": 40},
    meets={},
)
def registration_growth(
    item: Pass, timeline: Timeline, materials: Mapping[str, Material]
) -> Iterator[Draft]:
    """Putting the sheet back, and its growth between two passes of different temperature, stay
    within tolerance.

    Of the passes that register with this one and come before it, that with which it comes out
    worst. Temperatures are what the passes state, else what lamps and cooling let expect, else that
    of the room; where they are alike there is nothing to judge, whatever else is not stated. Two
    sheets beside each other both grow, each from the temperature of the room. Where a temperature
    is estimated the check asks for a look and stops nothing. Where a locating error is not stated
    and the rest is within tolerance, it is not assessed.

    Why it matters: acrylic of 600 mm that warms by 10 K grows by some 0.4 mm, and no clamp keeps it
    from doing so.
    A job that breaks it: colour at 32 C over dots that were begun at 22 C, 600 mm from the corner
    that stays put.
    One that meets it: the same once the sheet has cooled to 23 C.
    """
    job, pass_index = timeline.machine.job, timeline.machine.index[item.id]
    intervals = [
        interval for interval in all_between(timeline, pass_index, materials) if interval.warms
    ]
    if not intervals:
        return
    what = "how far the sheet grows between passes that register"
    tolerance = job.registration_tolerance
    if tolerance is None:
        yield missing("registration_tolerance", what)
        return

    def lacks(interval: BetweenPasses) -> str | None:
        # What is stated may be too much without the rest, which can only add to it.
        too_much = (
            interval.unknown is None
            and interval.locating + interval.growth.high > tolerance + GUARD_MM
        )
        return None if too_much else interval.missing

    known_intervals = [interval for interval in intervals if lacks(interval) is None]
    yield from _first_missing(map(lacks, intervals), what)
    if not known_intervals:
        return
    worst = max(known_intervals, key=lambda interval: _gravity_of_check(interval, tolerance))
    other = f"passes.{job.passes[worst.other].id}"
    measured = worst.growth + Interval.exact(worst.locating)
    part = "" if worst.missing is None else ", as far as they are stated,"
    yield check(
        f"the locating error and the growth of the sheet since {other}{part}"
        f" ({_grown_apart(worst)})",
        measured=measured,
        most=tolerance,
        advice=_cool_down(worst, timeline, pass_index, materials, measured.high),
        others=[other],
        level=Level.REVIEW if worst.estimated else None,
    )


@rule(
    "registration.total",
    each="pass",
    level=Level.REVIEW,
    source=ADDED,
    breaks={"registration_tolerance": "0.14 mm"},
    meets={},
)
def registration_total(
    item: Pass, timeline: Timeline, materials: Mapping[str, Material]
) -> Iterator[Draft]:
    """Locating, growth and the landing errors of both passes together stay within tolerance.

    Measured from the root of the sum of their squares, which holds where they are independent of
    each other, to their plain sum, the worst case. So a doubtful check says that it fits in all
    likelihood and not for certain. Of the passes that register with this one and come before it,
    that with which it comes out worst. Where one of them is not known and the others are within
    tolerance, it is not assessed.

    Why it matters: each of them alone may be within tolerance and all of them together beyond it.
    A job that breaks it: pins good to 0.1 mm, 0.06 mm of growth and 0.05 mm of landing error where
    0.1 mm is allowed.
    One that meets it: the same where 0.25 mm is allowed.
    """
    job, pass_index = timeline.machine.job, timeline.machine.index[item.id]
    intervals = all_between(timeline, pass_index, materials)
    if not intervals:
        return
    what, tolerance = "all that lies between passes that register", job.registration_tolerance
    if tolerance is None:
        yield missing("registration_tolerance", what)
        return
    landing, within = timeline.landing_errors, tolerance + GUARD_MM

    def terms(one: BetweenPasses) -> list[float]:
        landings = [landing[index] or 0.0 for index in (pass_index, one.other)]
        return [*(move.error or 0.0 for move in one.moves), one.growth.high, *landings]

    def unknown_term(one: BetweenPasses) -> str | None:
        unlanded = landing[pass_index] is None or landing[one.other] is None
        return one.missing or ("printer.landing_tolerance" if unlanded else None)

    def lacks(one: BetweenPasses) -> str | None:
        # What is known may be too much without the rest, which can only add to it.
        return None if worst_case(terms(one)) > within else unknown_term(one)

    known_intervals = [interval for interval in intervals if lacks(interval) is None]
    yield from _first_missing(map(lacks, intervals), what)
    if not known_intervals:
        return
    worst = max(
        known_intervals,
        # Broken goes before doubtful, whatever the sums are.
        key=lambda one: (root_sum_square(terms(one)) > within, worst_case(terms(one))),
    )
    other = f"passes.{job.passes[worst.other].id}"
    squares, plain_sum = root_sum_square(terms(worst)), worst_case(terms(worst))
    part = "" if unknown_term(worst) is None else ", as far as they are known"
    names = _named_terms(worst, landing[pass_index], landing[worst.other])
    yield check(
        f"locating, growth and landing errors since {other}{part}, root of squares to worst case"
        f" ({names}),",
        # The plain sum is the greater; rounding may make it a hair less where there is one term.
        measured=Interval(squares, squares, max(squares, plain_sum)),
        most=tolerance,
        advice="Make the largest of them smaller.",
        others=[other],
    )


def _first_missing(lacking: Iterable[str | None], what: str) -> Iterator[Draft]:
    """The first field without which something cannot be told, if there is one."""
    for field in lacking:
        if field is not None:
            yield missing(field, what)
            return


def _named_terms(interval: BetweenPasses, landing_here: float | None, there: float | None) -> str:
    """The terms of a sum in words; `here` and `there` are the landing errors of the two passes."""
    growth = None if interval.unknown is not None else interval.growth.high
    return (
        f"locating {number_text(interval.locating)}, growth {_known_property(growth)},"
        f" landing {_known_property(landing_here)} and {_known_property(there)} mm"
    )


def _known_property(value: float | None) -> str:
    return "not known" if value is None else number_text(value)


def _gravity_of_check(interval: BetweenPasses, tolerance: float) -> tuple[bool, bool, float]:
    """What comes out worst: first what stops the job, then what is broken and not merely doubtful,
    then the sum.
    """
    low, high = (
        interval.locating + end > tolerance + GUARD_MM
        for end in (interval.growth.low, interval.growth.high)
    )
    return high and not interval.estimated, low, interval.locating + interval.growth.high


def _grown_apart(interval: BetweenPasses) -> str:
    parts = " and ".join(map(_grown_text, interval.grown))
    growth = quantity_text(interval.growth, "mm")
    return f"locating {number_text(interval.locating)} mm; growth {growth}, {parts}"


def _grown_text(part: SheetGrowth) -> str:
    """How far the print on one sheet has moved, and why."""
    return (
        f"{number_text(part.size.nominal)} mm at {number_text(part.expansion.nominal)} ppm/K:"
        f" {quantity_text(part.warmer, 'K')} over {number_text(part.distance)} mm at"
        f" {quantity_text(part.expansion, 'ppm/K')}"
    )


def _cool_down(
    interval: BetweenPasses,
    timeline: Timeline,
    pass_index: int,
    materials: Mapping[str, Material],
    needed: float,
) -> str:
    """How cool the sheet must be, how long that takes, or which tolerance would do."""
    job = timeline.machine.job
    assert job.registration_tolerance is not None
    assert interval.here is not None
    assert interval.there is not None
    name = f"passes.{job.passes[interval.other].id}"
    instead = f"or allow {number_text(needed)} mm."
    room_left = job.registration_tolerance - interval.locating
    if room_left <= 0:
        return f"Putting the sheet back uses up the whole tolerance: locate it better, {instead}"
    growth_of_each = math.fsum(
        thermal.thermal_growth(part.expansion, part.distance, 1.0).high for part in interval.grown
    )
    allowed = room_left / growth_of_each if growth_of_each else math.inf
    sheet = timeline.machine.heights.media[pass_index]
    if sheet.id != timeline.machine.heights.media[interval.other].id:
        names = " and ".join(part.sheet for part in interval.grown)
        return (
            f"Print while {names} differ by at most {allowed:.2f} K from the temperature of the"
            f" room, {instead}"
        )
    limit = f"The sheet may differ by at most {allowed:.2f} K from its temperature in {name}"
    if interval.here.degrees.nominal <= interval.there.degrees.nominal:
        return f"{limit}, which was printed warmer: let the sheet cool before that pass, {instead}"
    aim = interval.there.degrees.low + allowed
    text = f"{limit}: let it cool to {aim:.1f} C"
    lacking = unknown_of_cooling(job.printer, sheet, materials)
    if lacking is not None:
        return f"{text} (state {lacking} to know for how long), {instead}"
    return f"{text} ({_waiting_time(interval, sheet, aim, job, materials)}), {instead}"


def _waiting_time(
    interval: BetweenPasses, sheet: Media, aim: float, job: Job, materials: Mapping[str, Material]
) -> str:
    """How long a sheet takes to cool to a temperature in degrees C, in words."""
    assert job.printer.cooling is not None
    assert interval.here is not None
    heat = heat_properties(sheet, materials)
    thick = thickness_of(sheet).nominal
    constant = thermal.cooling_time_constant(
        job.printer.cooling, heat.density, heat.heat_capacity, thick
    )
    seconds = thermal.cooling_time(
        interval.here.degrees.high - job.temperature, aim - job.temperature, constant
    )
    if math.isinf(seconds):
        return "never in a room this warm"
    return f"about {seconds / 60:.0f} minutes"
