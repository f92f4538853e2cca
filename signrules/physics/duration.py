"""How long printing takes: strokes of the carriage, turns at their ends, empty returns.

Lengths in mm, speeds in mm/s, accelerations in mm/s2, times in s.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from signrules.model.job import Job
from signrules.model.passes import Area, Pass
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM
from signrules.physics.number_checks import not_negative, positive_number
from signrules.physics.upright import bounding_area

NEEDED = ("swath", "swath_passes", "carriage_acceleration", "overrun")
"""What a printer must state before printing times are known."""


def stroke_count(height: float, swath: float, swath_passes: int) -> int:
    """How often the carriage crosses a print of a height along y.

    ceil(height / advance) + passes - 1, the advance being swath / passes: geometry. Raises
    ValueError unless all are above 0 (passes: at least 1).
    """
    if swath_passes < 1:
        raise ValueError(f"swath_passes: expected at least 1, got {swath_passes!r}")
    advance = positive_number("swath", swath, "mm") / swath_passes
    advances = (positive_number("height", height, "mm") - GUARD_MM) / advance
    # The first and the last advances are covered by fewer passes, so as many strokes come on top.
    return max(1, math.ceil(advances)) + swath_passes - 1


def stroke_time(width: float, overrun: float, speed: float, acceleration: float) -> float:
    """Seconds for one stroke with the turn at its end.

    (width + 2 x overrun) / speed + speed / acceleration. The second part is what stopping and
    starting with constant acceleration cost beyond the stroke: kinematics. Raises ValueError unless
    width, speed and acceleration are above 0 and the overrun at least 0.
    """
    distance = positive_number("width", width, "mm") + 2 * not_negative("overrun", overrun, "mm")
    travel = distance / positive_number("speed", speed, "mm/s")
    return travel + speed / positive_number("acceleration", acceleration, "mm/s2")


def unstated_field(printer: Printer) -> str | None:
    """The first field that printing times take and that a printer leaves out; None where it states
    them all.
    """
    return next((f"printer.{name}" for name in NEEDED if getattr(printer, name) is None), None)


def layer_time(job: Job, item: Pass) -> float | None:
    """Seconds for one layer of a pass; None where the printer does not state all that it takes.

    The carriage sweeps the span of the areas in x and in y, or, where it skips what is blank, that
    of each stretch along y that has ink; the way from one to the next is left out. One-way printing
    adds an empty return to each stroke.
    """
    printer = job.printer
    if printer.swath is None or printer.swath_passes is None:
        return None
    if printer.carriage_acceleration is None or printer.overrun is None:
        return None
    areas = job.areas_of(item)
    stretches: list[Sequence[Area]] = [areas]
    if printer.blank_stretches == "skipped":
        stretches = [*inked_stretches(areas, printer.swath)]
    seconds = 0.0
    for stretch in map(bounding_area, stretches):
        stretch_time = stroke_time(
            stretch.width, printer.overrun, printer.carriage_speed, printer.carriage_acceleration
        )
        if item.directions == 1:
            back = printer.return_speed or printer.carriage_speed
            stretch_time += stroke_time(
                stretch.width, printer.overrun, back, printer.carriage_acceleration
            )
        seconds += stroke_count(stretch.height, printer.swath, printer.swath_passes) * stretch_time
    return seconds


def inked_stretches(areas: Sequence[Area], swath: float) -> Iterator[list[Area]]:
    """The areas by stretches along y between which more than a swath in mm has no ink."""
    stretch: list[Area] = []
    reaches = -math.inf
    for area in sorted(areas, key=lambda area: area.y):
        # Over a narrower gap every stroke still prints at one edge of it, so none is saved.
        if stretch and area.y - reaches > swath + GUARD_MM:
            yield stretch
            stretch = []
        stretch.append(area)
        reaches = max(reaches, area.y + area.height)
    yield stretch


def pass_time(job: Job, item: Pass) -> float | None:
    """Seconds for all layers of a pass, set-up left out.

    None where the printer does not state all that it takes.
    """
    time_of_layer = layer_time(job, item)
    return None if time_of_layer is None else time_of_layer * item.layers


def printing_minutes(job: Job) -> dict[str, float]:
    """The minutes that all passes print, and each of them, `printing_minutes.<id>`.

    Empty where the times are not known.
    """
    times = {item.id: pass_time(job, item) for item in job.passes}
    known_minutes = {pass_id: time / 60 for pass_id, time in times.items() if time is not None}
    # A sum that leaves a pass out would look like a time and be none.
    if len(known_minutes) < len(times):
        return {}
    return {"printing_minutes": math.fsum(known_minutes.values())} | {
        f"printing_minutes.{pass_id}": minutes for pass_id, minutes in known_minutes.items()
    }
