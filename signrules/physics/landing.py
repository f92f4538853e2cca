"""Where drops land: the landing error of two-way printing, and which alignments serve which passes.

Constant drop speed: a drop that flies for T / v lands carriage speed x T / v further along, in the
direction of travel. In two-way printing the two directions are brought together by a bidirectional
alignment made at one throw; at another throw they lie 2 x carriage speed x (difference of the two
flights) apart. (Elementary kinematics; US patent 6,629,747 has the same quantities.)

Where the printer states volume and density of its drops, air drag counts, as bounds: air
at rest gives exactly the error at constant speed, air that moves with the head the largest (see
`flight`). Flight time grows faster than the throw, so the same difference of throws weighs more the
larger the throws are: the base gap, which cancels at constant speed, then counts at its high end.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import chain

from attrs import frozen

from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.flight import Drop

_NEARLY_STOPPED = 1 - 1e-4
"""The share of the stop distance from which a drop is taken to creep on at the speed that it has
left.
"""

_FUZZ_MM = 1e-9
"""By so much floats may differ that are meant to be the same extra."""


@cache
def _drop_of(volume: float, density: float, speed: float) -> Drop:
    return Drop(volume, density, speed)


def drop_of(printer: Printer) -> Drop | None:
    """The drops of a printer; None where it does not state both their volume and their density."""
    if printer.drop_volume is None or printer.drop_density is None:
        return None
    return _drop_of(printer.drop_volume, printer.drop_density, printer.drop_speed)


def landing_error(printer: Printer, extra: Interval, aligned_at: float) -> Interval:
    """How far apart the two directions land, in mm, when the alignment was made at another throw.

    Both throws are given as extras over a bare sheet, in mm. At constant speed the base gap is in
    both and cancels. With drag the low end is that of air at rest, the high end that of air that
    moves with the head.
    """
    still = still_air_error(printer, extra, aligned_at)
    moving = moving_air_error(printer, extra, aligned_at)
    if moving is None:
        return still
    return Interval(still.low, still.nominal, max(still.high, moving))


def still_air_error(printer: Printer, extra: Interval, aligned_at: float) -> Interval:
    """The landing error in mm in air at rest, which is that at constant drop speed."""
    # Twice, since each of the two directions is off to its own side.
    factor = 2 * printer.carriage_speed / printer.drop_speed
    low, nominal, high = (
        factor * (value - aligned_at) for value in (extra.low, extra.nominal, extra.high)
    )
    # The alignment lies within the throws, so at one of them the two directions meet.
    if low <= 0 <= high:
        return Interval(0.0, abs(nominal), max(-low, high))
    return Interval(min(abs(low), abs(high)), abs(nominal), max(abs(low), abs(high)))


def moving_air_error(printer: Printer, extra: Interval, aligned_at: float) -> float | None:
    """The largest landing error in mm in air that moves with the head.

    None where the drops are not known.
    """
    drop = drop_of(printer)
    if drop is None:
        return None
    # Flight time grows faster than the throw, so the largest base gap is the worst.
    base = printer.base_gap.high
    aligned = _flight_seconds(drop, base + aligned_at)
    time_apart = max(
        abs(_flight_seconds(drop, base + end) - aligned) for end in (extra.low, extra.high)
    )
    return 2 * printer.carriage_speed * time_apart


def _flight_seconds(drop: Drop, throw: float) -> float:
    """Seconds of flight over any throw in mm.

    Extras may be negative, and throws beyond what drops can fly: over both the flight goes on at
    constant speed, so that errors keep growing with the difference of throws.
    """
    # The functions must grow without a jump: windows are computed by going there and back.
    if throw <= 0:
        return throw / drop.speed
    near_stop = drop.stop_distance * _NEARLY_STOPPED
    time = drop.flight_time(min(throw, near_stop))
    if throw <= near_stop:
        return time
    return time + (throw - near_stop) / drop.speed_after(time)


def _throw_after(drop: Drop, time: float) -> float:
    """The throw in mm over which a drop flies for a time in s: the inverse of `_flight_seconds`."""
    if time <= 0:
        return time * drop.speed
    near_stop = drop.stop_distance * _NEARLY_STOPPED
    longest = drop.flight_time(near_stop)
    if time <= longest:
        return drop.distance_after(time)
    return near_stop + (time - longest) * drop.speed_after(longest)


@frozen
class Window:
    """The extras over a bare sheet, in mm, at which an alignment serves a pass.

    `certain` is False where no alignment brings both ends of the throw within tolerance; the window
    is then the middle of the throw alone.
    """

    low: float
    high: float
    certain: bool = True

    def holds(self, extra: float) -> bool:
        """Whether an alignment made at this extra serves."""
        return self.low - GUARD_MM <= extra <= self.high + GUARD_MM


def alignment_window(printer: Printer, extra: Interval, tolerance: float) -> Window:
    """The alignments that serve a pass; its throw is that of an extra in mm over a bare sheet."""
    drop = drop_of(printer)
    if drop is None:
        # The longest throw sets the low end, the shortest one the high end: both must be served.
        reach = tolerance * printer.drop_speed / (2 * printer.carriage_speed)
        low, high = extra.high - reach, extra.low + reach
    else:
        # In air that moves along, errors are differences of flight times, so the window is one of
        # times.
        base, time_apart = printer.base_gap.high, tolerance / (2 * printer.carriage_speed)
        low = _throw_after(drop, _flight_seconds(drop, base + extra.high) - time_apart) - base
        high = _throw_after(drop, _flight_seconds(drop, base + extra.low) + time_apart) - base
    # No alignment serves both ends: the middle is off least at the worse of them.
    if low > high + GUARD_MM:
        middle = (extra.low + extra.high) / 2
        return Window(middle, middle, certain=False)
    # Within the guard the ends may have changed places.
    return Window(min(low, high), max(low, high))


def fewest_alignments(
    printer: Printer, wanted: Iterable[tuple[Window, Interval]], on_record: Sequence[float]
) -> tuple[float, ...]:
    """The fewest new alignments, as extras in mm, so that each window holds one or one on record.

    `wanted` has for each pass its window and all its throws from the first layer to the last, as
    extras over a bare sheet. Taking windows by their upper end and piercing the first that is not
    yet pierced at that end is the classic optimal greedy for points that stab intervals. Each
    alignment is then made where its group lands off least.
    """
    throws: dict[Window, list[Interval]] = {}
    for window, all_along in wanted:
        throws.setdefault(window, []).append(all_along)
    # What is on record costs nothing, so only the windows that it leaves count.
    unserved = [window for window in throws if not any(window.holds(extra) for extra in on_record)]
    waiting = sorted(unserved, key=lambda window: (window.high, window.low))
    alignments: list[float] = []
    while waiting:
        group = [window for window in waiting if window.holds(waiting[0].high)]
        # All of the group hold the pierced end, so they have something in common.
        common = Window(max(window.low for window in group), min(window.high for window in group))
        together = list(chain.from_iterable(throws[window] for window in group))
        alignments.append(best_alignment(printer, together, common))
        waiting = [window for window in waiting if window not in group]
    return tuple(sorted(alignments))


def best_alignment(printer: Printer, throws: Iterable[Interval], window: Window) -> float:
    """The extra in mm within a window at which an alignment lets the worst of some throws land off
    least.

    Landing errors grow with the difference of two flights. So it lies where the flight takes the
    mean of those over the shortest and the longest of the throws, or at the end of the window that
    is nearest to that. Geometry.
    """
    throws = tuple(throws)
    mean = _extra_of_mean_flight(
        printer, min(throw.low for throw in throws), max(throw.high for throw in throws)
    )
    best = min(max(mean, window.low), window.high)
    nanometres = best / GUARD_MM
    # At an end of the window it must not be rounded out of it.
    for number in (round(nanometres), math.ceil(nanometres), math.floor(nanometres)):
        extra = round(number * GUARD_MM, 6)
        if window.low - _FUZZ_MM <= extra <= window.high + _FUZZ_MM:
            return extra
    return round(best, 6)


def error_over_layers(
    printer: Printer,
    extra: Interval,
    layer: Interval,
    layers: int,
    tolerance: float,
) -> float:
    """The largest landing error in mm of a pass of so many layers, aligned as well as may be.

    The throw of the first one is given as an extra over a bare sheet; each layer takes its
    thickness from it. The alignment is for this pass alone, and serves its first layer if any does.
    """
    before = layers - 1
    last_layer = Interval(
        extra.low - before * layer.high,
        extra.nominal - before * layer.nominal,
        extra.high - before * layer.low,
    )
    # One alignment serves all layers, so it is made for the throws from the first to the last.
    all_along = Interval.between(min(extra.low, last_layer.low), extra.high)
    alignment = best_alignment(printer, [all_along], alignment_window(printer, extra, tolerance))
    return max(landing_error(printer, throws, alignment).high for throws in (extra, last_layer))


def _extra_of_mean_flight(printer: Printer, low: float, high: float) -> float:
    """The extra in mm over which a flight takes the mean of those over two others.

    It is that in air that moves with the head, where the printer states its drops.
    """
    drop = drop_of(printer)
    if drop is None:
        return (low + high) / 2
    base = printer.base_gap.high
    mean = (_flight_seconds(drop, base + low) + _flight_seconds(drop, base + high)) / 2
    return _throw_after(drop, mean) - base
