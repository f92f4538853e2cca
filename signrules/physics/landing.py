"""Where drops land: flight, the landing error of two-way printing, and which alignments serve which passes.

Constant drop speed: a drop that flies for T / v lands carriage speed x T / v further along, in the direction of
travel. In two-way printing the two directions are brought together by a bidirectional alignment made at one throw; at
another throw they lie 2 x carriage speed x (difference of the two flights) apart. (Elementary kinematics; the same
quantities stand in US patent 6,629,747.)
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM, Interval


def flight(throw: float, drop_speed: float) -> float:
    """Seconds that a drop flies over a throw in mm at a constant speed in mm/s."""
    return throw / drop_speed


def landing_error(printer: Printer, offset: Interval, aligned_at: float) -> Interval:
    """How far apart the two directions land, in mm, when the alignment was made at another throw.

    Both throws are given as offsets over a bare sheet, in mm: the base gap is in both and cancels.
    """
    factor = 2 * printer.carriage_speed * flight(1.0, printer.drop_speed)
    low, nominal, high = (factor * (value - aligned_at) for value in (offset.low, offset.nominal, offset.high))
    if low <= 0 <= high:
        return Interval(0.0, abs(nominal), max(-low, high))
    return Interval(min(abs(low), abs(high)), abs(nominal), max(abs(low), abs(high)))


@frozen
class Window:
    """The offsets over a bare sheet, in mm, at which an alignment serves a pass.

    `certain` is False where no alignment brings both ends of the throw within tolerance; the window is then the
    middle of the throw alone.
    """

    low: float
    high: float
    certain: bool = True

    def holds(self, offset: float) -> bool:
        """Whether an alignment made at this offset serves."""
        return self.low - GUARD_MM <= offset <= self.high + GUARD_MM


def window(printer: Printer, offset: Interval, tolerance: float) -> Window:
    """The alignments that serve a pass whose throw equals that of an offset over a bare sheet (an interval, mm)."""
    reach = tolerance * printer.drop_speed / (2 * printer.carriage_speed)
    low, high = offset.high - reach, offset.low + reach
    if low > high + GUARD_MM:
        middle = (offset.low + offset.high) / 2
        return Window(middle, middle, certain=False)
    return Window(min(low, high), max(low, high))


def fewest_alignments(windows: Iterable[Window], on_record: Sequence[float]) -> tuple[float, ...]:
    """The fewest new alignments, as offsets in mm, with those on record, such that each window holds one.

    Taking windows by their upper end and piercing the first that is not yet pierced at that end is the classic
    optimal greedy for points that stab intervals. Each alignment is then put in the middle of what serves its group.
    """
    waiting = sorted(
        {w for w in windows if not any(w.holds(offset) for offset in on_record)}, key=lambda w: (w.high, w.low)
    )
    made: list[float] = []
    while waiting:
        group = [w for w in waiting if w.holds(waiting[0].high)]
        made.append(round((max(w.low for w in group) + min(w.high for w in group)) / 2, 6))
        waiting = [w for w in waiting if w not in group]
    return tuple(sorted(made))
