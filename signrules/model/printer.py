"""The printer: what it can set, how fast it moves, what its set-up costs."""

from __future__ import annotations

import datetime
from bisect import bisect_left
from functools import cached_property
from typing import Any

from attrs import field, frozen

from signrules.model.declared import Metadata
from signrules.model.declaring import (
    any_text,
    calendar_day,
    lengths_by_name,
    list_of,
    one_word_of,
    plain_length,
    plain_number,
    plain_speed,
    quantity_of,
    table_by_control,
    table_of,
    toleranced_length,
    two_lengths,
    whole_number,
)
from signrules.model.limits import SMALLEST_MM
from signrules.model.quantities import GUARD_MM, Interval

MOST_MINUTES = 1_000_000
BLANK_STRETCHES = ("swept", "skipped")
"""What a carriage may do where a print has no ink."""

# Usual ranges: common practice, no published source.


@frozen
class Spacers:
    """A gap control by loose spacers, one at a time; each thickness in mm.

    Without a spacer the extra is 0.
    """

    spacers: tuple[float, ...] = field(
        default=(),
        metadata=list_of(
            plain_length("", least=0.0, usual=(0.05, 10.0)),
            "a list of lengths",
            "thicknesses; no spacer at all is always possible",
        ),
    )

    def extras(self) -> tuple[float, ...]:
        """Every extra that can be set, in mm, ascending."""
        return self._extras

    @cached_property
    def _extras(self) -> tuple[float, ...]:
        return tuple(sorted({0.0, *self.spacers}))


@frozen
class Dial:
    """A gap control by a dial: every `step` from 0 to `max`, in mm."""

    max: float = field(
        metadata=plain_length("the dial goes from 0 to this", least=GUARD_MM, usual=(0.5, 200.0))
    )
    step: float = field(metadata=plain_length("at most `max`", least=GUARD_MM, usual=(0.001, 1.0)))

    def extras(self) -> tuple[float, ...]:
        """Every extra that can be set, in mm, ascending; rounded to the nanometre so that 3 x 0.1
        is 0.3.
        """
        return self._extras

    @cached_property
    def _extras(self) -> tuple[float, ...]:
        # 0.3 / 0.1 is a hair less than 3 as a float, and the last step would be lost.
        count = int(self.max / self.step + 1e-9)
        return tuple(round(index * self.step, 6) for index in range(count + 1))


def nearest_extra(gap: Spacers | Dial, extra: float) -> float:
    """The extra in mm that can be set and is nearest to another one, the lower of two."""
    extras = gap.extras()
    place = bisect_left(extras, extra)
    # Only the two neighbours can be the nearest.
    return min(extras[max(place - 1, 0) : place + 1], key=lambda each: (abs(each - extra), each))


def extras_beside(gap: Spacers | Dial, extra: float) -> tuple[float | None, float | None]:
    """The extras in mm that can be set next below another one and next above it, if any."""
    extras = gap.extras()
    place = bisect_left(extras, extra)
    below = extras[place - 1] if place else None
    above = extras[place] if place < len(extras) else None
    return below, above


def _minutes(meaning: str) -> Metadata:
    return plain_number("minutes", 0, MOST_MINUTES, meaning, usual=(0.0, 120.0), unit="min")


@frozen
class Minutes:
    """What set-up costs on this printer, in minutes each; None where the shop has not said."""

    load: float | None = field(
        default=None, metadata=_minutes("loading a bed load, and each reload and flip")
    )
    gap: float | None = field(
        default=None, metadata=_minutes("each setting of the gap, including the first")
    )
    alignment: float | None = field(
        default=None, metadata=_minutes("each new alignment, including its own gap setting")
    )


@frozen
class MovingBed:
    """A bed that moves under the head; sheets on it must bear `acceleration`, in mm/s2."""

    acceleration: float | None = field(
        default=None, metadata=quantity_of("acceleration", "of the bed", usual=(50.0, 20_000.0))
    )


def _by_name(methods: Any) -> Any:
    """Methods by name, so that printers that say the same are equal.

    What is no tuple of pairs stays as it is.
    """
    if not isinstance(methods, tuple):
        return methods
    try:
        return tuple(sorted(methods))
    # Names of several kinds have no order; the check of the field tells what is wrong.
    except TypeError:
        return methods


@frozen
class Printer:
    """One flatbed printer. Lengths in mm, speeds in mm/s, resolution in dots per inch.

    `base_gap` is head to reference surface as the machine sets it when the operator adds nothing.
    `locating` holds pairs of a method's name and its error in mm: how far a sheet may lie from
    where it lay when it is put back by that method. `moving_bed` is None where the bed stands
    still. Of the figures that may be left out: volumes in pL, densities in kg/m3, accelerations
    in mm/s2, `absorbed_dose` in J/m2, `cooling` in W/(m2 K). What needs one that is left out is
    not assessed.
    """

    bed: tuple[float, float] = field(
        metadata=two_lengths(
            plain_length("", least=SMALLEST_MM, usual=(80.0, 6000.0)), "size in x and y"
        )
    )
    base_gap: Interval = field(
        metadata=toleranced_length(
            "head to reference surface when nothing is added", usual=(0.3, 6.0)
        )
    )
    min_clearance: float = field(
        metadata=plain_length("the clearance that the head must keep", least=0.0, usual=(0.1, 3.0))
    )
    gap: Spacers | Dial = field(
        metadata=table_by_control(
            {"spacers": Spacers, "dial": Dial},
            "a gap control: spacers or a dial",
            "what the gap can be set to",
        )
    )
    head_length: float = field(
        metadata=plain_length("along y", least=GUARD_MM, usual=(5.0, 1000.0))
    )
    carriage_speed: float = field(
        metadata=plain_speed("of the carriage while it prints", usual=(50.0, 3000.0))
    )
    drop_speed: float = field(
        metadata=plain_speed("of the drops as they leave the head", usual=(2000.0, 15_000.0))
    )
    max_throw: float | None = field(
        default=None,
        metadata=plain_length(
            "the farthest that drops fly without breaking up", least=GUARD_MM, usual=(0.5, 25.0)
        ),
    )
    resolution: float | None = field(
        default=None,
        metadata=plain_number(
            "dots per inch", 1e-3, 1e6, "dots per inch", usual=(100.0, 3000.0), unit="dpi"
        ),
    )
    landing_tolerance: float | None = field(
        default=None,
        metadata=plain_length(
            "how far apart the two directions may land",
            least=GUARD_MM,
            usual=(0.005, 0.5),
            otherwise="one dot pitch, 25.4 mm / `resolution`",
        ),
    )
    locating: tuple[tuple[str, float], ...] = field(
        default=(),
        converter=_by_name,
        metadata=lengths_by_name(
            "by method (`pins`, `stops`...), how far off a sheet may be put back",
            usual=(0.005, 3.0),
        ),
    )
    minutes: Minutes = field(
        factory=Minutes,
        metadata=table_of(Minutes, "minutes of load, gap and alignment", "what set-up costs"),
    )
    name: str | None = field(default=None, metadata=any_text("for the reader"))
    drop_volume: float | None = field(
        default=None,
        metadata=quantity_of(
            "volume", "of one drop; with `drop_density`, air drag counts", usual=(0.5, 300.0)
        ),
    )
    drop_density: float | None = field(
        default=None,
        metadata=quantity_of("density", "of the ink as it flies", usual=(800.0, 2000.0)),
    )
    satellite_volume: float | None = field(
        default=None,
        metadata=quantity_of(
            "volume", "of the small drop that trails the main one", usual=(0.05, 30.0)
        ),
    )
    satellite_speed: float | None = field(
        default=None, metadata=plain_speed("of that small drop", usual=(500.0, 15_000.0))
    )
    head_work: datetime.date | None = field(
        default=None,
        metadata=calendar_day("when heads were last moved or replaced; older alignments are void"),
    )
    moving_bed: MovingBed | None = field(
        default=None,
        metadata=table_of(
            MovingBed,
            "a table with the acceleration",
            "only where the bed moves under the head; see below",
        ),
    )
    swath: float | None = field(
        default=None,
        metadata=plain_length(
            "how much of y the head covers in one stroke", least=SMALLEST_MM, usual=(1.0, 1000.0)
        ),
    )
    swath_passes: int | None = field(
        default=None,
        metadata=whole_number(
            "a whole number", 1, 1000, "strokes that fill one swath", usual=(1, 64)
        ),
    )
    carriage_acceleration: float | None = field(
        default=None,
        metadata=quantity_of("acceleration", "at the ends of a stroke", usual=(200.0, 50_000.0)),
    )
    overrun: float | None = field(
        default=None,
        metadata=plain_length(
            "how far a stroke runs beyond the print, on each side", least=0.0, usual=(0.0, 500.0)
        ),
    )
    blank_stretches: str = field(
        default="swept",
        metadata=one_word_of(
            BLANK_STRETCHES,
            "what the carriage does where a print has no ink over a whole swath: strokes all the"
            " same, or moves on to the next ink",
        ),
    )
    return_speed: float | None = field(
        default=None,
        metadata=plain_speed(
            "of the empty return of one-way printing",
            usual=(50.0, 5000.0),
            otherwise="`carriage_speed`",
        ),
    )
    absorbed_dose: float | None = field(
        default=None,
        metadata=quantity_of(
            "dose", "what the sheet takes up from the lamps with each layer", usual=(5.0, 20_000.0)
        ),
    )
    cooling: float | None = field(
        default=None,
        metadata=quantity_of(
            "heat transfer", "what the sheet gives off to the air", usual=(2.0, 100.0)
        ),
    )

    def locating_error(self, method: str) -> float | None:
        """The error in mm of a locating method, or None where the printer states none."""
        return self._errors.get(method)

    @cached_property
    def _errors(self) -> dict[str, float]:
        return dict(self.locating)

    @property
    def allowed_landing_error(self) -> float | None:
        """`landing_tolerance`, or one dot pitch (25.4 mm / resolution); None where neither is
        stated.

        In mm.
        """
        if self.landing_tolerance is not None:
            return self.landing_tolerance
        if self.resolution is None:
            return None
        return 25.4 / self.resolution
