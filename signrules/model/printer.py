"""The printer: what it can set, how fast it moves, what its set-up costs."""

from __future__ import annotations

from attrs import field, frozen

from signrules.model.quantities import Interval


@frozen
class Spacers:
    """A gap control by loose spacers, one at a time; each thickness in mm. Without a spacer the offset is 0."""

    spacers: tuple[float, ...] = ()

    def offsets(self) -> tuple[float, ...]:
        """Every offset that can be set, in mm, ascending."""
        return tuple(sorted({0.0, *self.spacers}))


@frozen
class Dial:
    """A gap control by a dial: every `step` from 0 to `max`, in mm."""

    max: float
    step: float

    def offsets(self) -> tuple[float, ...]:
        """Every offset that can be set, in mm, ascending; rounded to the nanometre so that 3 x 0.1 is 0.3."""
        count = int(self.max / self.step + 1e-9)
        return tuple(round(index * self.step, 6) for index in range(count + 1))


@frozen
class Minutes:
    """What set-up costs on this printer, in minutes each; None where the shop has not said."""

    load: float | None = None
    gap: float | None = None
    alignment: float | None = None


@frozen
class Printer:
    """One flatbed printer. Lengths in mm, speeds in mm/s, resolution in dots per inch.

    `base_gap` is head to reference surface as the machine sets it when the operator adds nothing. `head_length` is
    along y. `locating` holds pairs of a method's name and its error in mm: how far a sheet may lie from where it
    lay when it is put back by that method.
    """

    bed: tuple[float, float]
    base_gap: Interval
    min_clearance: float
    gap: Spacers | Dial
    head_length: float
    carriage_speed: float
    drop_speed: float
    max_throw: float | None = None
    resolution: float | None = None
    landing_tolerance: float | None = None
    locating: tuple[tuple[str, float], ...] = ()
    minutes: Minutes = field(factory=Minutes)
    name: str | None = None

    def locating_error(self, method: str) -> float | None:
        """The error in mm of a locating method, or None where the printer states none."""
        return dict(self.locating).get(method)

    @property
    def allowed_landing_error(self) -> float | None:
        """`landing_tolerance`, or one dot pitch (25.4 mm / resolution); None where neither is stated. In mm."""
        if self.landing_tolerance is not None:
            return self.landing_tolerance
        return None if self.resolution is None else 25.4 / self.resolution
