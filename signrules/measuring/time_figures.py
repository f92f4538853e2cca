"""Minutes of set-up and figures of the stroke, from a stopwatch."""

from __future__ import annotations

import math

from attrs import evolve

from signrules.measuring.common_entries import (
    PRINT_CLEAR,
    STOP_AND_CURE,
    STOP_FIRST,
    level_text,
    mean_finding,
    plus_minus,
)
from signrules.measuring.entries import Entry
from signrules.measuring.procedure import Finding, Procedure, States
from signrules.measuring.readings import Readings
from signrules.measuring.statistics import (
    Fit,
    Part,
    combined_estimate,
    line_fit,
    reading_part,
)
from signrules.model.quantities import Interval


def minutes_finding(readings: Readings, as_range: bool) -> Finding:
    """The mean of several timings."""
    times = readings.column("time")
    finding, _ = mean_finding(times, readings.setting("reads_to"), as_range, "the mean time")
    notes = (f"From {min(times) / 60:.2f} to {max(times) / 60:.2f} minutes.",)
    value = finding.value
    # Two timings that lie far apart reach below 0, and no work takes less than no time.
    at_least_none = Interval(max(value.low, 0.0), value.nominal, value.high)
    return evolve(finding, value=at_least_none, notes=notes)


def swath_finding(readings: Readings, as_range: bool) -> Finding:
    """The swath: passes x advance, the advance being the time of a stroke over that of a mm of
    length.

    A print has whole strokes, so up to one more or less than its length says: half a stroke time,
    evenly spread, goes into each reading.
    """
    stroke, strokes = readings.setting("strokes_time"), readings.setting("strokes")
    stroke_height = stroke / strokes
    fit = _line_of_times(readings, "length")
    # GUM 4.3.7, from memory: evenly spread over one stroke.
    whole_stroke = stroke_height / math.sqrt(12)
    reading_uncertainty = reading_part(readings.setting("reads_to")).uncertainty
    reading = Part(math.hypot(whole_stroke, reading_uncertainty))
    passes = readings.setting("swath_passes")
    swath = fit.estimate(lambda slope, intercept: passes * stroke_height / slope, reading)
    # The stopwatch is read at the start and at the end.
    relative = math.sqrt(2) * reading_uncertainty / stroke
    swath = combined_estimate(
        swath.value, (Part(swath.uncertainty, swath.freedom), Part(relative * swath.value))
    )
    notes = (f"One stroke takes {stroke_height:.3g} s and advances {swath.value / passes:.3g} mm.",)
    return _times_finding(fit, reading, "the swath", swath.interval(), notes, "lengths")


def acceleration_finding(readings: Readings, as_range: bool) -> Finding:
    """The acceleration at the ends of a stroke, from prints of several widths.

    A stroke takes (width + 2 x overrun) / speed + speed / acceleration, as in
    `signrules.physics.duration`: the slope over the width is 1 / speed, and what is left at no
    width is overrun and turn.
    """
    strokes, overrun = readings.setting("strokes"), readings.setting("overrun", 0.0)
    fit = _line_of_times(readings, "width")

    def acceleration(slope: float, intercept: float) -> float:
        speed = strokes / slope
        # Each stroke runs over both ends at full speed, and turns behind them.
        turn_seconds = intercept / strokes - 2 * overrun / speed
        # Refused below, with words that say what to look at.
        return speed / turn_seconds if turn_seconds else math.inf

    read = reading_part(readings.setting("reads_to"))
    found = fit.estimate(acceleration, read)
    if not 0 < found.value < math.inf:
        expected = "times that leave something for the turns; look at `overrun` and `strokes`"
        readings.refuse("readings", "strokes that take no time to turn", expected)
    speed = fit.estimate(lambda slope, intercept: strokes / slope, read)
    notes = (f"The carriage goes {plus_minus(speed, 'mm/s')} while it prints.",)
    value = found.interval()
    value = Interval(max(value.low, 0.0), value.nominal, value.high)
    return _times_finding(fit, read, "the acceleration", value, notes, "widths")


def _line_of_times(readings: Readings, column: str) -> Fit:
    sizes = readings.column(column)
    if len(set(sizes)) < 2:
        found = f"the {column} {sizes[0]:g} mm in every reading"
        readings.refuse("readings", found, f"two different {column}s or more")
    fit = line_fit(sizes, readings.column("time"))
    # Everything that follows divides by the slope.
    if fit.figures[0] <= 0:
        found = f"times that fall as the {column} grows"
        readings.refuse("readings", found, f"more time for more {column}")
    return fit


def _times_finding(
    fit: Fit,
    reading: Part,
    what: str,
    value: Interval,
    notes: tuple[str, ...],
    sizes: str,
) -> Finding:
    holds = fit.holds(reading)
    warnings: tuple[str, ...] = ()
    if holds is None:
        warnings = (f"Too few {sizes} to tell whether the model holds: time three, twice each.",)
    elif not holds:
        warnings = (f"The model does not hold: the times bend over the {sizes}.",)
    return Finding(
        value,
        level_text(len(fit.x), what),
        residuals=fit.residuals,
        residual_unit="s",
        holds=holds,
        notes=notes,
        warnings=warnings,
    )


_READS_TO = Entry("reads_to", "duration", "the step that the stopwatch is read to", above=0)
_TIME = Entry("time", "duration", "what the stopwatch shows", above=0)


def _minutes_procedure(what: str, doing: str, steps: tuple[str, ...]) -> Procedure:
    return Procedure(
        figure=f"{what}-minutes",
        title=f"minutes of {doing}, from several timings",
        unit="min",
        factor=60,
        goes_to=("printers", "minutes", what),
        states=States.NOMINAL,
        why="The planner weighs orders by minutes of set-up, and estimates price them.",
        tools=("stopwatch",),
        steps=(
            *steps,
            "Time it at work, five times or more, on different days and with everybody who does"
            " it. Leave nothing out that belongs to it, and do not hurry for the stopwatch.",
            "Let a second person hold the stopwatch: nobody writes while hands are on the bed.",
        ),
        settings=(_READS_TO,),
        columns=(_TIME,),
        fewest=2,
        how=f"timings of {doing}",
        source="GUM 4.2.3",
        example=f"""\
figure = "{what}-minutes"
date = 2027-02-03
note = "an invented shop"
reads_to = "1 s"
readings = [
  {{ time = "245 s" }}, {{ time = "4.5 min" }}, {{ time = "231 s" }},
  {{ time = "262 s" }}, {{ time = "4 min" }},
]
""",
        compute=minutes_finding,
        alike="time",
        has_range=True,
    )


LOAD_MINUTES = _minutes_procedure(
    "load",
    "putting a load on",
    (
        STOP_FIRST,
        "Begin when the bed is clear, end when the load lies, is held and the machine could print.",
    ),
)
GAP_MINUTES = _minutes_procedure(
    "gap",
    "setting the gap",
    (STOP_FIRST, "Begin with the hand to the spacer or the dial, end when the gap is checked."),
)
ALIGNMENT_MINUTES = _minutes_procedure(
    "alignment",
    "a bidirectional alignment",
    (
        STOP_FIRST,
        "Begin with the scrap in hand, end when the step is entered and the scrap is off the bed.",
    ),
)

SWATH = Procedure(
    figure="swath",
    title="swath, from printing times of two lengths or more",
    unit="mm",
    factor=1,
    goes_to=("printers", "swath"),
    states=States.NOMINAL,
    why="With the number of passes it says how many strokes a print takes, so how long.",
    tools=("stopwatch", "scrap, or a bed that may be printed on as the manual says"),
    steps=(
        STOP_FIRST,
        "Lay scrap over the bed, hold it and set the gap. Choose the print mode of your jobs and"
        " write down how many swath strokes fill one swath.",
        PRINT_CLEAR + " From outside, time twenty strokes in the middle of a print of one width.",
        "Print the same width at two lengths along y or more, one short, one as long as the bed"
        " takes, each twice. Time each from its first stroke to its last, from outside.",
        STOP_AND_CURE,
    ),
    settings=(
        Entry("swath_passes", "count", "swath strokes that fill one swath"),
        Entry("strokes", "count", "how many strokes were timed in the middle"),
        Entry("strokes_time", "duration", "how long those strokes took", above=0),
        _READS_TO,
    ),
    columns=(Entry("length", "length", "of the print along y", above=0), _TIME),
    fewest=2,
    how="printing times of several lengths",
    source="strokes = length / advance, geometry; GUM 5.2.2",
    example="""\
figure = "swath"
date = 2027-02-03
note = "an invented shop"
swath_passes = 8
strokes = 20
strokes_time = "26 s"
reads_to = "0.5 s"
readings = [
  { length = "100 mm", time = "42 s" }, { length = "100 mm", time = "43 s" },
  { length = "400 mm", time = "140 s" }, { length = "400 mm", time = "139 s" },
  { length = "800 mm", time = "270 s" }, { length = "800 mm", time = "271 s" },
]
""",
    compute=swath_finding,
    alike="time",
    along="length",
)

CARRIAGE_ACCELERATION = Procedure(
    figure="carriage-acceleration",
    title="acceleration of the carriage, from printing times of two widths or more",
    unit="mm/s2",
    factor=1,
    goes_to=("printers", "carriage_acceleration"),
    states=States.NOMINAL,
    why="It says what the turns cost, which decides how long narrow prints take.",
    tools=("stopwatch", "scrap, or a bed that may be printed on as the manual says"),
    steps=(
        STOP_FIRST,
        "Lay scrap over the bed, hold it and set the gap. Choose the print mode of your jobs,"
        " both directions.",
        PRINT_CLEAR + " From outside, time the same number of strokes, twenty or more, at two"
        " widths along x or more, each twice.",
        STOP_AND_CURE,
    ),
    settings=(
        Entry("strokes", "count", "how many strokes were timed"),
        Entry(
            "overrun",
            "length",
            "beyond the print on each side, 0 if left out",
            required=False,
            least=0,
        ),
        _READS_TO,
    ),
    columns=(Entry("width", "length", "of the print along x", above=0), _TIME),
    fewest=2,
    how="printing times of several widths",
    source="kinematics of a stroke; GUM 5.2.2",
    example="""\
figure = "carriage-acceleration"
date = 2027-02-03
note = "an invented shop"
strokes = 40
overrun = "50 mm"
reads_to = "0.5 s"
readings = [
  { width = "200 mm", time = "25.5 s" }, { width = "200 mm", time = "25 s" },
  { width = "600 mm", time = "45 s" }, { width = "600 mm", time = "45.5 s" },
  { width = "1200 mm", time = "75 s" }, { width = "1200 mm", time = "75.5 s" },
]
""",
    compute=acceleration_finding,
    alike="time",
    along="width",
)

TIME_PROCEDURES = (LOAD_MINUTES, GAP_MINUTES, ALIGNMENT_MINUTES, SWATH, CARRIAGE_ACCELERATION)
