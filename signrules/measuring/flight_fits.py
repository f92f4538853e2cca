"""What printed marks and alignment steps say of drop speed and base gap.

All of it rests on elementary kinematics, as `signrules.physics.calibration` and
`signrules.physics.flight` say: at carriage speed c the two directions land 2 c x flight time apart.
"""

from __future__ import annotations

from collections.abc import Callable

from attrs import evolve

from signrules.measuring.common_entries import (
    level_text,
    plus_minus,
)
from signrules.measuring.procedure import Finding
from signrules.measuring.readings import Readings
from signrules.measuring.statistics import (
    Estimate,
    Fit,
    Part,
    combined_estimate,
    curve_fit,
    derivative_of,
    line_fit,
    mean_estimate,
    reading_part,
    scipy_part,
    tolerance_part,
)
from signrules.physics.calibration import drop_speed_from_marks, flight_from_sweep
from signrules.physics.flight import Drop

FAR_MM = 1e3
"""Stands for a landing that no drop makes, so that a fit turns away from it."""

FASTEST_DROP = 1e5
"""No drop of an inkjet head flies as fast, in mm/s."""


def base_gap_finding(readings: Readings, as_range: bool) -> Finding:
    """The throw at no extra: intercept / slope of the line, both correlated (GUM 5.2.2).

    The set-up is that of US patent 7,445,302, as `gap_from_two_gaps` says.
    """
    fit, how = _fitted_gaps(readings, _errors(readings, readings.setting("zero_step", 0.0)))
    reading = _step_part(readings)
    if _has_drops(readings):
        gap = fit.estimate(lambda speed, gap: gap, reading)
    else:
        gap = fit.estimate(lambda slope, intercept: intercept / slope, reading)
    if gap.value <= 0:
        found = f"a base gap of {gap.value:.3g} mm"
        expected = "one above 0; look at `zero_step` and at the direction of the steps"
        readings.refuse("readings", found, expected)
    finding = _fit_finding(readings, fit, gap, "the base gap", how)
    zero_note = "The base gap is computed from step {:g} as the one that shifts nothing."
    return evolve(
        finding, notes=(*finding.notes, zero_note.format(readings.setting("zero_step", 0.0)))
    )


def drop_speed_finding(readings: Readings, as_range: bool) -> Finding:
    """The drop speed from how the error grows with the gap: 2 x carriage speed / slope."""
    errors = _errors(readings, readings.setting("zero_step", 0.0))
    fit, how = _fitted_gaps(readings, errors)
    step = readings.setting("step")
    reading = _step_part(readings)
    twice = 2 * readings.setting("carriage_speed")
    if _has_drops(readings):
        speed = fit.estimate(lambda speed, gap: speed, reading)
    else:
        speed = fit.estimate(lambda slope, intercept: twice / slope, reading)
    # The speed goes with one over the step, with drag nearly so: both are off by the same share.
    # All readings share the step that the maker states: more of them do not make it surer.
    relative = tolerance_part(step).uncertainty / step.nominal
    speed = combined_estimate(
        speed.value, (Part(speed.uncertainty, speed.freedom), Part(relative * speed.value))
    )
    return _fit_finding(readings, fit, speed, "the drop speed", how)


def marks_finding(readings: Readings, as_range: bool) -> Finding:
    """The drop speed from marks of both directions over a known throw."""
    carriage, throw = readings.setting("carriage_speed"), readings.setting("throw")
    drawn = readings.setting("drawn", 0.0)
    distance = mean_estimate(readings.column("apart"), readings.setting("reads_to"))
    if distance.value <= drawn:
        found = f"marks {distance.value:.3g} mm apart on average, drawn {drawn:g} mm apart"
        readings.refuse("readings", found, "marks further apart than they were drawn")
    speed = drop_speed_from_marks(-carriage, carriage, throw.nominal, distance.value, drawn)
    # Both directions fly the same time, and the carriage moves on in each.
    time = Estimate(throw.nominal / speed, distance.uncertainty / (2 * carriage), distance.freedom)
    return _flight_finding(readings, time, ())


def sweep_finding(readings: Readings, as_range: bool) -> Finding:
    """The drop speed from the flight time that several carriage speeds show."""
    speeds, distances = readings.column("carriage_speed"), readings.column("apart")
    if len(set(speeds)) < 2:
        found = f"{speeds[0]:g} mm/s in every reading"
        readings.refuse("readings", found, "two different carriage speeds or more")
    fit = line_fit(speeds, distances)
    time, _ = flight_from_sweep(speeds, distances)
    if time <= 0:
        found = "marks that lie closer together at higher carriage speeds"
        expected = "marks further apart; a backward mark that lies behind counts above 0"
        readings.refuse("readings", found, expected)
    reading = reading_part(readings.setting("reads_to"))
    # What does not grow with the speed (backlash, encoder) stays in the intercept.
    slope = fit.estimate(lambda slope, intercept: slope, reading)
    constant = fit.estimate(lambda slope, intercept: intercept, reading)
    notes = (
        f"Flight time {plus_minus(slope.scaled(0.5e6), 'us')}.",
        f"Part that does not depend on speed {plus_minus(constant, 'mm')} (backlash, encoder).",
    )
    finding = _flight_finding(readings, slope.scaled(0.5), notes)
    holds = fit.holds(reading)
    warnings = (*finding.warnings, *_warnings_of_fit(holds, "carriage speeds", "bend"))
    return evolve(finding, residuals=fit.residuals, holds=holds, warnings=warnings)


def _flight_finding(readings: Readings, time: Estimate, notes: tuple[str, ...]) -> Finding:
    """The drop speed that takes a flight time in s over the throw, with drag if the drops are
    known.

    Time and throw are independent (GUM 5.1.2).
    """
    throw = readings.setting("throw")
    speed_of = _speed_function(readings)
    flight_point = (time.value, throw.nominal)
    parts = (
        Part(abs(derivative_of(speed_of, flight_point, 0)) * time.uncertainty, time.freedom),
        Part(abs(derivative_of(speed_of, flight_point, 1)) * tolerance_part(throw).uncertainty),
    )
    if _has_drops(readings):
        notes = (*notes, _still_air_note(readings, throw.nominal / time.value))
    estimate = combined_estimate(speed_of(*flight_point), parts)
    meaning = level_text(len(readings.rows), "the drop speed")
    return Finding(estimate.interval(), meaning, notes=notes)


def _speed_function(readings: Readings) -> Callable[[float, float], float]:
    """The drop speed as a function of flight time and throw."""
    if not _has_drops(readings):
        return lambda time, throw: throw / time
    volume, density = readings.setting("drop_volume"), readings.setting("drop_density")

    def with_drag(time: float, throw: float) -> float:
        """In air that moves with the head."""

        def too_early(speed: float) -> float:
            drop = Drop(volume, density, speed)
            # Such a drop stops before it arrives: however long that takes, the true one starts
            # faster.
            if throw >= drop.stop_distance * (1 - 1e-6):
                return -time
            return time - drop.flight_time(throw)

        # Drag only slows down, so the drop starts at throw / time at least.
        return float(scipy_part("optimize").brentq(too_early, throw / time, FASTEST_DROP))

    return with_drag


def _has_drops(readings: Readings) -> bool:
    volume, density = readings.setting("drop_volume"), readings.setting("drop_density")
    # Drag goes with the mass of a drop, and either alone does not tell it.
    if (volume is None) != (density is None):
        missing = "drop_volume" if volume is None else "drop_density"
        readings.refuse(missing, "nothing", "both volume and density of a drop, or neither")
    return volume is not None


def _still_air_note(readings: Readings, speed: float) -> str:
    volume = readings.setting("drop_volume")
    return (
        f"Computed with the drag of single drops of {volume:g} pL in air that moves with the head."
        f" In air at rest the same readings say {speed / 1000:.3g} m/s; the truth lies between."
    )


def _errors(readings: Readings, zero_step: float) -> list[float]:
    """The two-way errors in mm that the alignment steps take away."""
    step = readings.setting("step").nominal
    return [(best - zero_step) * step for best in readings.column("best_step")]


def _step_part(readings: Readings) -> Part:
    return reading_part(readings.setting("reads_to") * readings.setting("step").nominal)


def _fitted_gaps(readings: Readings, errors: list[float]) -> tuple[Fit, tuple[str, ...]]:
    """The fit of the errors over the extras: a line, or speed and gap of drops with drag."""
    extras = readings.column("extra")
    if len(set(extras)) < 2:
        found = f"the extra {extras[0]:g} mm in every reading"
        readings.refuse("readings", found, "two different gaps or more: the same gap is not a fit")
    line = line_fit(extras, errors)
    # Before drag is looked at: a fit with drag would start from a negative speed.
    if line.figures[0] <= 0:
        found = f"a best step that falls by {-line.figures[0]:.3g} mm with each mm of gap"
        expected = (
            "one that grows: a drop speed cannot be negative. Where your printer counts the other"
            " way, write the steps with the other sign"
        )
        readings.refuse("readings", found, expected)
    twice: float = 2 * readings.setting("carriage_speed")
    if not _has_drops(readings):
        return line, ()
    volume, density = readings.setting("drop_volume"), readings.setting("drop_density")

    def landing(extra: float, speed: float, gap: float) -> float:
        try:
            return twice * Drop(volume, density, speed).flight_time(gap + extra)
        except ValueError:  # No such drop, or it never arrives.
            return FAR_MM

    slope, intercept = line.figures
    # The line, which leaves drag out, is near enough to start from.
    start = (twice / slope, max(intercept / slope, 0.1))
    fit = curve_fit(landing, extras, errors, start)
    return fit, (_still_air_note(readings, twice / slope),)


def _fit_finding(
    readings: Readings, fit: Fit, estimate: Estimate, what: str, notes: tuple[str, ...]
) -> Finding:
    holds = fit.holds(_step_part(readings))
    return Finding(
        estimate.interval(),
        level_text(len(readings.rows), what),
        residuals=fit.residuals,
        holds=holds,
        notes=notes,
        warnings=_warnings_of_fit(holds, "gaps", "bend; drag or a worn spacer does that"),
    )


def _warnings_of_fit(holds: bool | None, what: str, bends: str) -> tuple[str, ...]:
    if holds is None:
        return (f"Too few {what} to tell whether the model holds: read at three, twice each.",)
    if not holds:
        return (f"The model does not hold: the readings over the {what} {bends}.",)
    return ()
