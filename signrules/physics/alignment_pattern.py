"""Reading a printed test pattern: the alignment step to enter, and what it says of the bed.

A pattern repeats the same lines, forward and backward, once for each step of the alignment. The
operator reads at which step they lie on each other, at two or more places across the bed, for one
or more groups of lines (one for each row of nozzles, say).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from attrs import frozen

from signrules.model.quantities import GUARD_MM, Interval, clamped_interval
from signrules.model.wording import shown_value
from signrules.physics.calibration import Tilt, tilt_from_errors
from signrules.physics.number_checks import not_negative, positive_number

Readings = Sequence[tuple[float, float]]
"""What was read along one group of lines: where, in mm along x, and the best step there."""


@frozen
class AlignmentReading:
    """What a test pattern says of the alignment, and of bed and head.

    `step` is the whole step to enter: the one that leaves the least error at the worst place.
    `residuals` holds for each place, in mm along x from left to right, how far apart the two
    directions then still lie there, in mm, from its lowest group of lines to its highest (nominal:
    their mean); positive where a larger step would have been better. `worst` is the largest of them
    without its sign, and `uncertainty` by how much reading may be off, both in mm. `tilt` is how
    much larger the throw is at the last place than at the first; None where one place was read.
    `warning` says why no single step serves; it is empty where one does, or where no tolerance was
    given.
    """

    step: int
    residuals: Mapping[float, Interval]
    worst: float
    uncertainty: float
    tilt: Tilt | None
    warning: str = ""


def read_alignment(
    readings: Iterable[tuple[float, float]] | Mapping[str, Iterable[tuple[float, float]]],
    *,
    step_mm: float,
    reading_uncertainty: float,
    carriage_speed: float,
    drop_speed: float,
    tolerance: float | None = None,
) -> AlignmentReading:
    """The step to enter from the best steps that an operator reads off a test pattern.

    `readings` are pairs of a place in mm along x and the best step there, at any number of places;
    where several groups of lines are read, the pairs of each by its name. A best step may lie
    between two steps. `step_mm` is by how much one step shifts the two directions against each
    other, `reading_uncertainty` by how many steps a reading may be off; speeds in mm/s; `tolerance`
    in mm is what the two directions may lie apart. A larger step is taken to answer a larger throw.

    The tilt is drop speed x difference of the error / (2 x carriage speed), the difference taken
    along a straight line by least squares through the places of each group, averaged over the
    groups: what is the same everywhere cancels (elementary kinematics). Its uncertainty is the
    worst case of the readings, or half the spread of the groups where that is more. Raises
    ValueError where the groups were not read at the same places, or a number is out of its range.
    """
    groups = _groups_of_lines(readings)
    positive_number("step_mm", step_mm, "mm")
    uncertainty = not_negative("reading_uncertainty", reading_uncertainty, "steps") * step_mm
    if tolerance is not None:
        positive_number("tolerance", tolerance, "mm")
    places = [place_mm for place_mm, _ in next(iter(groups.values()))]
    steps_at = {
        place_mm: [group[place_index][1] for group in groups.values()]
        for place_index, place_mm in enumerate(places)
    }
    step = _best_step([reading for steps in steps_at.values() for reading in steps])
    residuals = {
        place_mm: _residual_at_step(steps, step, step_mm) for place_mm, steps in steps_at.items()
    }
    worst = max(max(abs(residual.low), abs(residual.high)) for residual in residuals.values())
    tilts = [
        _tilt_of_group(group, step_mm, uncertainty, carriage_speed, drop_speed)
        for group in groups.values()
    ]
    tilt = _mean_tilt(tilts) if len(places) > 1 else None
    warning = ""
    if tolerance is not None:
        warning = _reading_warning(residuals, worst, uncertainty, tilt, tolerance)
    return AlignmentReading(step, residuals, worst, uncertainty, tilt, warning)


def _groups_of_lines(
    readings: Iterable[tuple[float, float]] | Mapping[str, Iterable[tuple[float, float]]],
) -> dict[str, Readings]:
    """The readings of each group by its name, from left to right; one group has no name."""
    named = readings if isinstance(readings, Mapping) else {"readings": readings}
    groups = {name: _sound_pairs(name, pairs) for name, pairs in named.items()}
    if not groups:
        raise ValueError("readings: expected the readings of one group of lines or more, got none")
    first_name, first = next(iter(groups.items()))
    places = [place_mm for place_mm, _ in first]
    for name, pairs in groups.items():
        if [place_mm for place_mm, _ in pairs] != places:
            raise ValueError(
                f"{name}: expected readings at the same places as {first_name}, which are"
                f" {_listed_places(places)},"
                f" got {_listed_places(place_mm for place_mm, _ in pairs)}"
            )
    return groups


def _sound_pairs(name: str, pairs: Iterable[tuple[float, float]]) -> Readings:
    step_at_place: dict[float, float] = {}
    for pair in pairs:
        try:
            place_mm, best_step = (float(number) for number in pair)
        except (TypeError, ValueError):
            place_mm = best_step = math.nan
        if not (math.isfinite(place_mm) and math.isfinite(best_step)):
            raise ValueError(
                f"{name}: expected pairs of a place in mm and the best step there, such as"
                f" (600, 4), got {shown_value(pair)}"
            )
        if place_mm in step_at_place:
            raise ValueError(
                f"{name}: expected one reading at each place, got two at {place_mm:g} mm;"
                " the readings of several groups of lines go by name"
            )
        step_at_place[place_mm] = best_step
    if not step_at_place:
        raise ValueError(f"{name}: expected a reading at one place or more, got none")
    return sorted(step_at_place.items())


def _listed_places(places: Iterable[float]) -> str:
    return ", ".join(f"{place_mm:g}" for place_mm in places) + " mm"


def _best_step(readings: Sequence[float]) -> int:
    """The whole step with the least worst residual.

    Of two alike it is the one nearer to all readings, then the one nearer to 0.
    """
    # The worst residual is that of the lowest or of the highest reading, so it is least halfway.
    middle = (min(readings) + max(readings)) / 2

    def badness(step: int) -> tuple[float, float, int, int]:
        differences = [abs(reading - step) for reading in readings]
        return (
            # Rounded, so that two steps that are alike by symmetry stay alike in binary floats.
            round(max(differences), 9),
            round(sum(difference * difference for difference in differences), 9),
            abs(step),
            step,
        )

    return min((math.floor(middle), math.ceil(middle)), key=badness)


def _residual_at_step(readings: Sequence[float], step: int, step_mm: float) -> Interval:
    low, high = ((end - step) * step_mm for end in (min(readings), max(readings)))
    mean = (sum(readings) / len(readings) - step) * step_mm
    return clamped_interval(low, mean, high)


def _tilt_of_group(
    group: Readings,
    step_mm: float,
    uncertainty: float,
    carriage_speed: float,
    drop_speed: float,
) -> Tilt:
    """The tilt from the first place to the last, along a straight line by least squares."""
    span = group[-1][0] - group[0][0]
    middle = sum(place_mm for place_mm, _ in group) / len(group)
    squares = sum((place_mm - middle) ** 2 for place_mm, _ in group)
    # What each reading weighs in the difference between the two ends of the line.
    # At a single place there is no span, and each weighs 0 whatever it is divided by.
    weights = [span * (place_mm - middle) / (squares or 1.0) for place_mm, _ in group]
    difference = sum(
        weight * best_step for weight, (_, best_step) in zip(weights, group, strict=True)
    )
    uncertainty_of_rise = uncertainty * sum(abs(weight) for weight in weights)
    # The error at one end is set to 0: only the difference counts, since what is the same cancels.
    rise = tilt_from_errors(0.0, difference * step_mm, carriage_speed, drop_speed).rise
    return Tilt(rise, tilt_from_errors(0.0, uncertainty_of_rise, carriage_speed, drop_speed).rise)


def _mean_tilt(tilts: Sequence[Tilt]) -> Tilt:
    rises = [tilt.rise for tilt in tilts]
    # Groups lie on one head, so the tilt is the same for all: by how much they differ is reading
    # error.
    half_spread = (max(rises) - min(rises)) / 2
    return Tilt(sum(rises) / len(rises), max(tilts[0].uncertainty, half_spread))


def _reading_warning(
    residuals: Mapping[float, Interval],
    worst: float,
    uncertainty: float,
    tilt: Tilt | None,
    tolerance: float,
) -> str:
    if worst + uncertainty <= tolerance + GUARD_MM:
        return ""
    deviations = ", ".join(
        f"{_residual_text(residual)} at {place_mm:g} mm" for place_mm, residual in residuals.items()
    )
    # The readings themselves are within tolerance; it is their uncertainty that may not be.
    if worst <= tolerance + GUARD_MM:
        head = f"This step may not serve everywhere: with the reading off by {uncertainty:.3f} mm"
    else:
        head = "No single step serves everywhere: with the best one"
    return (
        f"{head} the two directions lie apart by {deviations}, where {tolerance:g} mm is allowed."
        f" {_what_to_do(tilt)}"
    )


def _residual_text(residual: Interval) -> str:
    if residual.is_exact:
        return f"{residual.low:+.3f} mm"
    return f"{residual.low:+.3f} to {residual.high:+.3f} mm"


def _what_to_do(tilt: Tilt | None) -> str:
    if tilt is not None and tilt.is_certain:
        return (
            f"The throw differs by {abs(tilt.rise):.2f} mm from the first place to the last: level"
            " bed and head, or print at the place that was read."
        )
    return (
        "The ends are alike: look at the groups of lines and the middle of the bed, or print slower"
        " or one-way."
    )
