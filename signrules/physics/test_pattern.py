"""Reading a printed test pattern: which alignment step to enter, what it leaves, and what it says
of the bed.

A pattern repeats the same lines, forward and backward, once for each step of the alignment; the
operator reads at which step they lie on each other, at the left, in the centre and at the right of
the bed, for one or more groups of lines (one for each row of nozzles, say).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from attrs import frozen

from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.calibration import Tilt, tilt_from_errors
from signrules.physics.flight import not_negative, positive_number

PLACES = ("left", "centre", "right")


@frozen
class AlignmentReading:
    """What a test pattern says.

    `step` is the whole step to enter: the one that leaves the least error in the worst group.
    `residuals` holds by place how far apart the two directions then still lie, in mm, from its
    lowest group to its highest (nominal: their mean); positive where a larger step would have
    been better. `worst` is the largest of them without its sign.
    `tilt` is how much larger the throw is at the right than at the left. `warning` says why no
    single step serves; it is empty where one does, or where no tolerance was given.
    """

    step: int
    residuals: Mapping[str, Interval]
    worst: float
    uncertainty: float
    tilt: Tilt
    warning: str = ""


def read_alignment(
    left: float | Sequence[float],
    centre: float | Sequence[float],
    right: float | Sequence[float],
    *,
    step_mm: float,
    reading_uncertainty: float,
    carriage_speed: float,
    drop_speed: float,
    tolerance: float | None = None,
) -> AlignmentReading:
    """The step to enter from the best steps that an operator reads off a test pattern.

    `left`, `centre` and `right` are the best step at each place: one number, or one for each group
    of lines, in the same order at all three. They may lie between two steps. `step_mm` is by how
    much one step shifts the two directions against each other, `reading_uncertainty` by how many
    steps a reading may be off; speeds in mm/s; `tolerance` in mm is what the two directions may
    lie apart. A larger step is taken to answer a larger throw.

    The tilt is drop speed x (right - left) / (2 x carriage speed), averaged over the groups: what
    is the same on both sides cancels (elementary kinematics). Its uncertainty is the worst case of
    two readings, or half the spread of the groups where that is more. Raises ValueError where the
    places differ in groups or a number is out of its range.
    """
    places = {
        name: _readings_at_places(name, value)
        for name, value in zip(PLACES, (left, centre, right), strict=True)
    }
    if len({len(readings) for readings in places.values()}) != 1:
        counts = ", ".join(f"{len(readings)} at {name}" for name, readings in places.items())
        raise ValueError(f"expected as many line groups at each place, got {counts}")
    positive_number("step_mm", step_mm, "mm")
    uncertainty = not_negative("reading_uncertainty", reading_uncertainty, "steps") * step_mm
    if tolerance is not None:
        positive_number("tolerance", tolerance, "mm")
    step = _best_step([reading for readings in places.values() for reading in readings])
    residuals = {
        name: _residual_at_step(readings, step, step_mm) for name, readings in places.items()
    }
    worst = max(max(abs(residual.low), abs(residual.high)) for residual in residuals.values())
    tilted = _tilt_of_readings(places, step_mm, uncertainty, carriage_speed, drop_speed)
    warning = (
        ""
        if tolerance is None
        else _reading_warning(residuals, worst, uncertainty, tilted, tolerance)
    )
    return AlignmentReading(step, residuals, worst, uncertainty, tilted, warning)


def _readings_at_places(place: str, value: float | Sequence[float]) -> tuple[float, ...]:
    readings = (value,) if isinstance(value, int | float) else tuple(value)
    if not readings or not all(math.isfinite(reading) for reading in readings):
        raise ValueError(
            f"{place}: expected the best step, a finite number, of one line group or more, got"
            f" {value!r}"
        )
    return readings


def _best_step(readings: Sequence[float]) -> int:
    """The whole step with the least worst residual; of two alike the one nearer to all readings,
    then to 0.
    """
    middle = (min(readings) + max(readings)) / 2

    def badness(step: int) -> tuple[float, float, int, int]:
        apart = [abs(reading - step) for reading in readings]
        return round(max(apart), 9), round(sum(each * each for each in apart), 9), abs(step), step

    return min((math.floor(middle), math.ceil(middle)), key=badness)


def _residual_at_step(readings: Sequence[float], step: int, step_mm: float) -> Interval:
    low, high = ((end - step) * step_mm for end in (min(readings), max(readings)))
    mean = (sum(readings) / len(readings) - step) * step_mm
    return Interval(low, min(max(mean, low), high), high)


def _tilt_of_readings(
    places: Mapping[str, Sequence[float]],
    step_mm: float,
    uncertainty: float,
    carriage_speed: float,
    drop_speed: float,
) -> Tilt:
    pairs = zip(places["left"], places["right"], strict=True)
    found = [
        tilt_from_errors(a * step_mm, b * step_mm, carriage_speed, drop_speed, uncertainty)
        for a, b in pairs
    ]
    rises = [one.rise for one in found]
    return Tilt(sum(rises) / len(rises), max(found[0].uncertainty, (max(rises) - min(rises)) / 2))


def _reading_warning(
    residuals: Mapping[str, Interval],
    worst: float,
    uncertainty: float,
    tilted: Tilt,
    tolerance: float,
) -> str:
    if worst + uncertainty <= tolerance + GUARD_MM:
        return ""
    at = ", ".join(
        (
            f"{name} {residual.low:+.3f} mm"
            if residual.is_exact
            else f"{name} {residual.low:+.3f} to {residual.high:+.3f} mm"
        )
        for name, residual in residuals.items()
    )
    if worst <= tolerance + GUARD_MM:
        head = f"This step may not serve everywhere: with the reading off by {uncertainty:.3f} mm"
    else:
        head = "No single step serves everywhere: with the best one"
    cause = (
        f"The throw differs by {abs(tilted.rise):.2f} mm from left to right: level bed and head, or"
        " print at the place that was read."
        if tilted.is_certain
        else (
            "The sides are alike: look at the groups of lines and the middle of the bed, or print"
            " slower or one-way."
        )
    )
    return (
        f"{head} the two directions lie apart by {at}, where {tolerance:g} mm is allowed. {cause}"
    )
