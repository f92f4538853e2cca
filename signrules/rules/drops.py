"""What air does to drops on their way: how much it slows them, and where small ones stop."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.physics.flight import Drop
from signrules.physics.landing import drop_of
from signrules.physics.timeline import Printing
from signrules.rules.checks import Draft, Level, check, missing, published
from signrules.rules.declaration import rule

DRAG = published(
    "drag of a sphere after Schiller and Naumann (1933); the figures of air are from memory"
)


@rule(
    "throw.slowing",
    each="pass",
    level=Level.NOTE,
    source=DRAG,
    breaks={"printer.drop_volume": "0.5 pL"},
    meets={},
)
def throw_slowing(printing: Printing, printer: Printer) -> Iterator[Draft]:
    """How much longer drops fly over the largest throw than at constant speed: between no drag and
    the most drag possible.

    Drops lose most speed in air that moves with the head; if they stop short of the surface the
    check is broken. For printers that state neither volume nor density of their drops, the speed
    counts as constant.

    Why it matters: the landing error grows by more than its share of the throw.
    A job that breaks it: drops of 7 pL at 4 m/s over a throw of 6 mm: they stop after 5.6 mm.
    One that meets it: the same over 2 mm, where they take 1.28 times as long as at constant speed.
    """
    farthest = printing.throw.to_lowest
    # A head that would touch throws nothing; `clearance.strike` stops that.
    if farthest.high <= 0 or (printer.drop_volume is None and printer.drop_density is None):
        return
    drop = drop_of(printer)
    if drop is None:
        field = "drop_volume" if printer.drop_volume is None else "drop_density"
        yield missing(f"printer.{field}", "how much air slows the drops")
    # Near the stop distance the time of flight grows without bound, and its ratio says nothing.
    elif farthest.high >= 0.999 * drop.stop_distance:
        yield check(
            "the largest throw to where air stops the drops",
            measured=farthest,
            most=drop.stop_distance,
        )
    else:
        ratio = max(1.0, drop.flight_time(farthest.high) * drop.speed / farthest.high)
        what = "the flight over the largest throw, as a multiple of that at constant speed,"
        yield check(what, measured=Interval.between(1.0, ratio), unit="")


@rule(
    "throw.satellite",
    each="pass",
    level=Level.NOTE,
    source=DRAG,
    breaks={"printer.satellite_volume": "0.5 pL"},
    meets={},
)
def throw_satellite(printing: Printing, printer: Printer) -> Iterator[Draft]:
    """The small drops that trail the main ones reach the surface before air stops them.

    It is not judged for printers that state nothing about satellites.

    Why it matters: what never lands stays in the air as mist, and settles on the work, the encoder
    and the optics.
    A job that breaks it: satellites of 1 pL at 4 m/s, which stop after 1.7 mm, over a throw of 2.5
    mm.
    One that meets it: the same over a throw of 1.5 mm.
    """
    if printer.satellite_volume is None and printer.satellite_speed is None:
        return
    needed = ("satellite_volume", "satellite_speed", "drop_density")
    unsaid = [name for name in needed if getattr(printer, name) is None]
    if unsaid:
        yield missing(f"printer.{unsaid[0]}", "how far satellites fly")
        return
    volume, speed, density = printer.satellite_volume, printer.satellite_speed, printer.drop_density
    assert volume is not None
    assert speed is not None
    assert density is not None
    yield check(
        "the largest throw to where air stops a satellite",
        measured=printing.throw.to_lowest,
        most=Drop(volume, density, speed).stop_distance,
        advice="Satellites end as mist: set a smaller gap for this pass.",
    )
