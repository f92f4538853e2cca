"""What a printed test says about flight, gap and bed: two-way printing, solved for unknowns.

Lengths in mm, speeds in mm/s, times in s. All at constant drop speed. With drag a gap computed from
two gaps comes out too small and a tilt too large: for drops of 7 pL at 6 m/s over 2 mm by up to
about a fifth and two fifths, for smaller or slower ones by more. The flight time stays right.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from signrules.physics.number_checks import positive_number


def drop_speed_from_marks(
    first: float, second: float, gap: float, apart: float, drawn: float = 0.0
) -> float:
    """Drop speed from two marks printed at two carriage speeds, `first` and `second`, over a known
    gap. A speed backwards is negative.

    (second - first) x gap / (apart - drawn): the marks lie `apart` and were drawn `drawn` apart.
    Raises ValueError where the gap is not above 0 or the marks lie the wrong way round.
    """
    # Source: US patent 6,629,747.
    positive_number("gap", gap, "mm")
    shift = apart - drawn
    if shift == 0:
        raise ValueError("apart: expected marks that do not lie where they were drawn")
    return positive_number("drop speed", (second - first) * gap / shift, "mm/s")


def drop_speed_from_step(carriage_speed: float, height: float, shift: float) -> float:
    """Drop speed from one line printed across a step: carriage speed x height / shift. Geometry.

    Raises ValueError unless all three are above 0.
    """
    # The set-up of US patent 7,367,646.
    height, shift = positive_number("height", height, "mm"), positive_number("shift", shift, "mm")
    return positive_number("carriage_speed", carriage_speed, "mm/s") * height / shift


def gap_from_two_gaps(raised_by: float, error: float, error_raised: float) -> float:
    """An unknown gap in mm from two two-way errors: `error` at that gap, and `error_raised` where
    it is larger by `raised_by`.

    raised_by x error / (error_raised - error): errors are proportional to the gap, and the speeds
    cancel. Raises ValueError unless `raised_by` and the error are above 0 and the error grows with
    the gap.
    """
    # The set-up of US patent 7,445,302.
    growth = positive_number("error_raised - error", error_raised - error, "mm")
    return (
        positive_number("raised_by", raised_by, "mm")
        * positive_number("error", error, "mm")
        / growth
    )


def flight_from_sweep(
    carriage_speeds: Sequence[float], errors: Sequence[float]
) -> tuple[float, float]:
    """Flight time in s, and the part of the two-way error in mm that is the same at any speed: that
    of backlash or of the encoder.

    Straight line by least squares through error = 2 x flight time x carriage speed + constant.
    Raises ValueError unless there are as many errors as speeds, at two different speeds at least.
    """
    # Source: US patent 8,991,960.
    count = len(carriage_speeds)
    if count != len(errors) or len(set(carriage_speeds)) < 2:
        raise ValueError(
            "expected as many errors as carriage speeds, at two different speeds at least"
        )
    mean_speed, mean_error = sum(carriage_speeds) / count, sum(errors) / count
    # The usual normal equations, centred so that large speeds lose no digits.
    spread = sum((speed - mean_speed) ** 2 for speed in carriage_speeds)
    pairs = zip(carriage_speeds, errors, strict=True)
    slope = sum((speed - mean_speed) * (error - mean_error) for speed, error in pairs) / spread
    return slope / 2, mean_error - slope * mean_speed


@frozen
class Tilt:
    """By how many mm the throw is larger at the right than at the left, and its uncertainty."""

    rise: float
    uncertainty: float

    @property
    def is_certain(self) -> bool:
        """Whether it is more than reading may feign."""
        # With exact readings the uncertainty is 0, and a rise in the last bit is still none.
        return abs(self.rise) > self.uncertainty + 1e-12


def tilt_from_errors(
    left: float, right: float, carriage_speed: float, drop_speed: float, uncertainty: float = 0.0
) -> Tilt:
    """The tilt in mm of bed or head from the two-way errors at both ends of the bed.

    drop speed x (right - left) / (2 x carriage speed): elementary kinematics; whatever is the same
    on both sides cancels. `uncertainty` is that of each reading; the two are added, worst case.
    Raises ValueError unless the speeds are above 0 and the uncertainty at least 0.
    """
    if not uncertainty >= 0:
        raise ValueError(f"uncertainty: expected at least 0 mm, got {uncertainty!r}")
    factor = positive_number("drop_speed", drop_speed, "mm/s") / (
        2 * positive_number("carriage_speed", carriage_speed, "mm/s")
    )
    # Both readings may be off, in opposite directions.
    return Tilt(factor * (right - left), factor * 2 * uncertainty)


def height_tolerance(landing_tolerance: float, carriage_speed: float, drop_speed: float) -> float:
    """By how many mm the throw may differ from that of the alignment for a two-way error.

    tolerance x drop speed / (2 x carriage speed): elementary kinematics. Raises ValueError unless
    all are above 0.
    """
    tolerance = positive_number("landing_tolerance", landing_tolerance, "mm")
    speed = positive_number("carriage_speed", carriage_speed, "mm/s")
    return tolerance * positive_number("drop_speed", drop_speed, "mm/s") / (2 * speed)
