"""Registration when sheets warm: growth between passes, and the whole of what lies between two
passes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property, reduce
from itertools import chain

from attrs import frozen

from signrules.catalogue.materials import Material
from signrules.model.media import Media
from signrules.model.passes import Area, Pass
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import number_text
from signrules.physics import duration, thermal
from signrules.physics.error_budget import (
    SheetHeat,
    Warmth,
    common_areas,
    estimated_warmths,
    farthest_distance,
    root_sum_square,
    stated_warmth,
    temperature_difference,
    worst_case,
)
from signrules.physics.flatness import thickness_of
from signrules.physics.machine import Move
from signrules.physics.timeline import Timeline
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, missing, published
from signrules.rules.declaration import rule
from signrules.rules.sheets import known_of_sheet, unsaid_field

EXPANSION = published(
    "linear thermal expansion, any handbook of physics; coefficients with their sources: the"
    " catalogue"
)
ADDED = published("worst case and root of the sum of squares, any handbook on tolerances")
NONE = Interval.exact(0.0)
Sweeps = dict[str, dict[int, Warmth]]
"""By sheet the estimated temperatures of its passes, worked out once for all partners of a pass."""


@frozen
class _Growth:
    """A sheet that differs by so many K from what it was, over a distance in mm, by a coefficient
    in ppm/K.
    """

    sheet: str
    warmer: Interval
    distance: float
    expansion: Interval

    @property
    def size(self) -> Interval:
        """How far the print on the sheet has moved, in mm."""
        low, nominal, high = (
            getattr(
                thermal.thermal_growth(self.expansion, self.distance, getattr(self.warmer, end)),
                end,
            )
            for end in ("low", "nominal", "high")
        )
        return Interval(low, nominal, high)


@frozen
class _Between:
    """What lies between a pass and an earlier one that registers with it.

    `unknown` names a field without which the growth is not known, and nothing of it is.
    """

    other: int
    moves: tuple[Move, ...]
    grown: tuple[_Growth, ...] = ()
    here: Warmth | None = None
    there: Warmth | None = None
    unknown: str | None = None

    @property
    def locating(self) -> float:
        """The locating errors of all moves in between, in mm, as far as they are stated."""
        return math.fsum(move.error or 0.0 for move in self.moves)

    @cached_property
    def growth(self) -> Interval:
        """By how much sheets have grown, all added, in mm."""
        return sum((one.size for one in self.grown), NONE)

    @property
    def warms(self) -> bool:
        """Whether a sheet has grown, or may have for all that is known."""
        return bool(self.grown) or self.unknown is not None

    @property
    def missing(self) -> str | None:
        """A field without which the sum is not known."""
        unstated = (f"printer.locating.{move.method}" for move in self.moves if move.error is None)
        return next(unstated, self.unknown)

    @property
    def estimated(self) -> bool:
        return any(warmth is not None and warmth.estimated for warmth in (self.here, self.there))


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
    job = timeline.machine.job
    found = [
        one
        for one in _all_between(timeline, timeline.machine.index[item.id], materials)
        if one.warms
    ]
    if not found:
        return
    what, tolerance = (
        "how far the sheet grows between passes that register",
        job.registration_tolerance,
    )
    if tolerance is None:
        yield missing("registration_tolerance", what)
        return

    def tells(one: _Between) -> bool:
        # What is stated may be too much without the rest, which can only add to it.
        too_much = one.unknown is None and one.locating + one.growth.high > tolerance + GUARD_MM
        return too_much or one.missing is None

    telling = [one for one in found if tells(one)]
    lacking = next((one.missing for one in found if not tells(one)), None)
    if lacking is not None:
        yield missing(lacking, what)
    if not telling:
        return
    worst = max(telling, key=lambda one: _gravity_of_check(one, tolerance))
    other = f"passes.{job.passes[worst.other].id}"
    measured = worst.growth + Interval.exact(worst.locating)
    part = "" if worst.missing is None else ", as far as they are stated,"
    yield check(
        f"the locating error and the growth of the sheet since {other}{part}"
        f" ({_grown_apart(worst)})",
        measured=measured,
        most=tolerance,
        advice=_cool_down(
            worst, timeline, timeline.machine.index[item.id], materials, measured.high
        ),
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
    job, at = timeline.machine.job, timeline.machine.index[item.id]
    found = _all_between(timeline, at, materials)
    if not found:
        return
    what, tolerance = "all that lies between passes that register", job.registration_tolerance
    if tolerance is None:
        yield missing("registration_tolerance", what)
        return
    landing, within = timeline.landing_errors, tolerance + GUARD_MM

    def lacks(one: _Between) -> str | None:
        unlanded = landing[at] is None or landing[one.other] is None
        return one.missing or ("printer.landing_tolerance" if unlanded else None)

    def terms(one: _Between) -> list[float]:
        landings = [landing[i] or 0.0 for i in (at, one.other)]
        return [*(move.error or 0.0 for move in one.moves), one.growth.high, *landings]

    def tells(one: _Between) -> bool:
        # What is known may be too much without the rest, which can only add to it.
        return lacks(one) is None or worst_case(terms(one)) > within

    telling = [one for one in found if tells(one)]
    lacking = next((lacks(one) for one in found if not tells(one)), None)
    if lacking is not None:
        yield missing(lacking, what)
    if not telling:
        return
    worst = max(
        telling, key=lambda one: (root_sum_square(terms(one)) > within, worst_case(terms(one)))
    )
    parts, other = terms(worst), f"passes.{job.passes[worst.other].id}"
    squares = root_sum_square(parts)
    part = "" if lacks(worst) is None else ", as far as they are known"
    grown = None if worst.unknown is not None else worst.growth.high
    names = [f"locating {number_text(worst.locating)}", f"growth {_known_property(grown)}"]
    names.append(
        f"landing {_known_property(landing[at])} and {_known_property(landing[worst.other])} mm"
    )
    yield check(
        f"locating, growth and landing errors since {other}{part}, root of squares to worst case"
        f" ({', '.join(names)}),",
        measured=Interval(squares, squares, max(squares, worst_case(parts))),
        most=tolerance,
        advice="Make the largest of them smaller.",
        others=[other],
    )


def _known_property(value: float | None) -> str:
    return "not known" if value is None else number_text(value)


def _gravity_of_check(one: _Between, tolerance: float) -> tuple[bool, bool, float]:
    """What comes out worst: first what stops the job, then what is broken and not merely doubtful,
    then the sum.
    """
    low, high = (
        one.locating + end > tolerance + GUARD_MM for end in (one.growth.low, one.growth.high)
    )
    return high and not one.estimated, low, one.locating + one.growth.high


def _all_between(timeline: Timeline, at: int, materials: Mapping[str, Material]) -> list[_Between]:
    """One for each earlier pass that registers with a pass, as far as methods of locating bridge
    all moves between.
    """
    found = []
    sweeps: Sweeps = {}
    for other in timeline.telling_partners(at):
        moves = tuple(timeline.moves_between(other, at))
        if all(move.bridges for move in moves):
            found.append(_between_passes(timeline, at, other, moves, materials, sweeps))
    return found


def _between_passes(
    timeline: Timeline,
    at: int,
    other: int,
    moves: tuple[Move, ...],
    materials: Mapping[str, Material],
    sweeps: Sweeps,
) -> _Between:
    job, sheets = timeline.machine.job, timeline.machine.heights.media
    here, there = (_temperature_while_printed(timeline, i, materials, sweeps) for i in (at, other))
    for warmth in (here, there):
        if isinstance(warmth, str):
            return _Between(other, moves, unknown=warmth)
    assert isinstance(here, Warmth)
    assert isinstance(there, Warmth)
    # Which passes lie on the sheet that grows is said by number: areas are cut with each other only
    # where it does.
    growing: list[tuple[Media, tuple[int, ...], Interval]]
    if sheets[at].id == sheets[other].id:
        growing = [(sheets[at], (at, other), temperature_difference(here.degrees, there.degrees))]
    else:
        # Two sheets lie side by side: each grows by itself from the temperature of the room.
        room = Interval.exact(job.temperature)
        growing = [
            (sheets[at], (at,), temperature_difference(here.degrees, room)),
            (sheets[other], (other,), temperature_difference(there.degrees, room)),
        ]
    grown = []
    for sheet, printed, warmer in growing:
        if warmer.high <= 0:
            continue
        expansion = known_of_sheet(sheet, materials, "expansion")
        if not isinstance(expansion, Interval):
            return _Between(other, moves, unknown=unsaid_field(sheet, "expansion"))
        passes = [job.passes[i] for i in printed]
        distance = _distance_from_fixed(
            sheet, [job.areas_of(item) for item in passes], {item.side for item in passes}
        )
        grown.append(_Growth(sheet.id, warmer, distance, expansion))
    return _Between(other, moves, tuple(grown), here, there)


def _distance_from_fixed(sheet: Media, areas: Sequence[tuple[Area, ...]], sides: set[str]) -> float:
    """How far from the point that stays put some passes print on a sheet, in mm.

    Over which edge a sheet is turned is not known, so once it is turned any corner may be the one
    that stays put, and areas on its two sides are not cut with each other.
    """
    if sides == {sheet.up}:
        return farthest_distance(sheet.located_at, reduce(common_areas, areas), sheet.size)
    some = reduce(common_areas, areas) if len(sides) == 1 else tuple(chain.from_iterable(areas))
    return farthest_distance(None, some, sheet.size)


def _temperature_while_printed(
    timeline: Timeline, at: int, materials: Mapping[str, Material], sweeps: Sweeps
) -> Warmth | str:
    """The temperature of the sheet while a pass is printed, or the field that is needed to estimate
    it.
    """
    job = timeline.machine.job
    printer, sheet = job.printer, timeline.machine.heights.media[at]
    if job.passes[at].sheet_temperature is not None or not printer.absorbed_dose:
        return stated_warmth(job, at)
    lacking = _unknown_of_cooling(printer, sheet, materials) or duration.unstated_field(printer)
    if lacking is not None:
        return lacking
    assert printer.cooling is not None
    if sheet.id not in sweeps:
        heat = _heat_properties(sheet, materials)
        sweeps[sheet.id] = estimated_warmths(
            timeline, sheet.id, heat, printer.absorbed_dose, printer.cooling
        )
    return sweeps[sheet.id][at]


def _unknown_of_cooling(
    printer: Printer, sheet: Media, materials: Mapping[str, Material]
) -> str | None:
    if printer.cooling is None:
        return "printer.cooling"
    names = ("density", "heat_capacity")
    return next(
        (
            unsaid_field(sheet, name)
            for name in names
            if known_of_sheet(sheet, materials, name) is None
        ),
        None,
    )


def _heat_properties(sheet: Media, materials: Mapping[str, Material]) -> SheetHeat:
    density, capacity = (
        known_of_sheet(sheet, materials, name) for name in ("density", "heat_capacity")
    )
    assert isinstance(density, float | int)
    assert isinstance(capacity, float | int)
    return SheetHeat(density, capacity)


def _grown_apart(one: _Between) -> str:
    parts = " and ".join(
        f"{number_text(part.size.nominal)} mm at {number_text(part.expansion.nominal)} ppm/K:"
        f" {quantity_text(part.warmer, 'K')} over {number_text(part.distance)} mm at"
        f" {quantity_text(part.expansion, 'ppm/K')}"
        for part in one.grown
    )
    return (
        f"locating {number_text(one.locating)} mm; growth {quantity_text(one.growth, 'mm')},"
        f" {parts}"
    )


def _cool_down(
    one: _Between, timeline: Timeline, at: int, materials: Mapping[str, Material], needed: float
) -> str:
    """How cool the sheet must be, how long that takes, or which tolerance would do."""
    job = timeline.machine.job
    assert job.registration_tolerance is not None
    assert one.here is not None
    assert one.there is not None
    name = f"passes.{job.passes[one.other].id}"
    instead = f"or allow {number_text(needed)} mm."
    left = job.registration_tolerance - one.locating
    if left <= 0:
        return f"Putting the sheet back uses up the whole tolerance: locate it better, {instead}"
    each = math.fsum(
        thermal.thermal_growth(part.expansion, part.distance, 1.0).high for part in one.grown
    )
    allowed = left / each if each else math.inf
    sheet = timeline.machine.heights.media[at]
    if sheet.id != timeline.machine.heights.media[one.other].id:
        names = " and ".join(part.sheet for part in one.grown)
        return (
            f"Print while {names} differ by at most {allowed:.2f} K from the temperature of the"
            f" room, {instead}"
        )
    limit = f"The sheet may differ by at most {allowed:.2f} K from its temperature in {name}"
    if one.here.degrees.nominal <= one.there.degrees.nominal:
        return f"{limit}, which was printed warmer: let the sheet cool before that pass, {instead}"
    aim = one.there.degrees.low + allowed
    text = f"{limit}: let it cool to {aim:.1f} C"
    lacking = _unknown_of_cooling(job.printer, sheet, materials)
    if lacking is not None or job.printer.cooling is None:
        return f"{text} (state {lacking} to know for how long), {instead}"
    heat = _heat_properties(sheet, materials)
    thick = thickness_of(sheet).nominal
    constant = thermal.cooling_time_constant(
        job.printer.cooling, heat.density, heat.heat_capacity, thick
    )
    seconds = thermal.cooling_time(
        one.here.degrees.high - job.temperature, aim - job.temperature, constant
    )
    wait = (
        "never in a room this warm" if math.isinf(seconds) else f"about {seconds / 60:.0f} minutes"
    )
    return f"{text} ({wait}), {instead}"
