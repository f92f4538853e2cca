"""Alignments for the records, and bounds that an eye finds: largest throw, landing tolerance."""

from __future__ import annotations

from signrules.measuring.common_entries import (
    CARRIAGE_SPEED,
    PRINT_CLEAR,
    STOP_AND_CURE,
    STOP_FIRST,
)
from signrules.measuring.entries import Entry
from signrules.measuring.procedure import Finding, Procedure, States
from signrules.measuring.readings import Readings
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import counted_things
from signrules.physics.alignment_pattern import read_alignment


def alignment_finding(readings: Readings, as_range: bool) -> Finding:
    """What the best step leaves at the worst place, by `read_alignment`."""
    places = readings.column("x")
    # `read_alignment` keeps one reading of each place: a second would take the place of the first.
    if len(set(places)) < len(places):
        twice = next(
            place_mm for row_index, place_mm in enumerate(places) if place_mm in places[:row_index]
        )
        readings.refuse("readings", f"two readings at {twice:g} mm", "one reading at each place")
    alignment = read_alignment(
        list(zip(places, readings.column("best_step"), strict=True)),
        step_mm=readings.setting("step"),
        reading_uncertainty=readings.setting("reads_to"),
        carriage_speed=readings.setting("carriage_speed"),
        drop_speed=readings.setting("drop_speed"),
        tolerance=readings.setting("tolerance"),
    )
    notes = [f"Step to enter: {alignment.step}."]
    if alignment.tilt is not None:
        notes.append(
            f"The throw grows by {alignment.tilt.rise:.3g} mm from the first place to the last,"
            f" plus or minus {alignment.tilt.uncertainty:.2g} mm."
        )
    residuals = tuple(alignment.residuals[place_mm].nominal for place_mm in places)
    holds = None if readings.setting("tolerance") is None else not alignment.warning
    warnings = (alignment.warning,) if alignment.warning else ()
    # An error cannot be less than none.
    value = Interval(
        max(alignment.worst - alignment.uncertainty, 0.0),
        alignment.worst,
        alignment.worst + alignment.uncertainty,
    )
    meaning = (
        f"what the step leaves at the worst of {counted_things(len(places), 'place')}, the reading"
        " off by its step at the worst"
    )
    return Finding(value, meaning, residuals, holds=holds, notes=tuple(notes), warnings=warnings)


def bound_finding(readings: Readings, as_range: bool) -> Finding:
    """Between the largest value below every bad one that was good, and the smallest bad one."""
    rows = [(row["at"], row["good"]) for row in readings.rows]
    bad_values = [value_mm for value_mm, good in rows if not good]
    if not bad_values:
        expected = "one that is bad: go on until you see it"
        readings.refuse("readings", "good at every value", expected)
    first_bad = min(bad_values)
    # The smallest bad value decides even where a larger was good: shops state what is safe.
    good_values = [value_mm for value_mm, good in rows if good and value_mm < first_bad - GUARD_MM]
    if not good_values:
        found = f"bad already at {first_bad:g} mm, the smallest value"
        readings.refuse("readings", found, "a smaller value that is good")
    late_values = [value_mm for value_mm, good in rows if good and value_mm >= first_bad - GUARD_MM]
    warnings: tuple[str, ...] = ()
    if late_values:
        warnings = (
            f"Good at {max(late_values):g} mm though bad at {first_bad:g} mm already: the eye is"
            " not sure there, and the smaller value counts.",
        )
    meaning = f"good at the lower end, bad at the upper, of {counted_things(len(rows), 'value')}"
    # Nobody has looked between the two, so the true bound may lie anywhere there.
    return Finding(Interval.between(max(good_values), first_bad), meaning, warnings=warnings)


ALIGNMENT = Procedure(
    figure="alignment",
    title="a bidirectional alignment at some throw, for the records",
    unit="mm",
    factor=1,
    goes_to=(),
    states=States.UPPER,
    why="It says which step to enter and what it leaves, and from month to month whether the heads"
    " have moved.",
    tools=("flat scrap", "a loupe"),
    steps=(
        STOP_FIRST,
        "Lay flat scrap along the whole carriage way, hold it, and set the gap with its extra.",
        PRINT_CLEAR + " Take the printer's own bidirectional test lines.",
        STOP_AND_CURE
        + " Read at two or more places across the bed at which step the lines lie on each other.",
        "Enter the step that the result names. Then write it into the shop file yourself:"
        " [[alignments]] with printer, extra and date.",
    ),
    settings=(
        CARRIAGE_SPEED,
        Entry("drop_speed", "speed", "of the drops", above=0),
        Entry("step", "length", "by how much one step shifts the directions apart", above=0),
        Entry("reads_to", "number", "by how many steps a reading may be off", above=0),
        Entry("extra", "length", "how much the gap was set above its usual"),
        Entry("tolerance", "length", "how far apart both may land", required=False, above=0),
    ),
    columns=(
        Entry("x", "length", "place along x"),
        Entry("best_step", "number", "the step whose lines lie on each other, or between two"),
    ),
    fewest=1,
    how="test lines across the bed",
    source="elementary kinematics",
    example="""\
figure = "alignment"
date = 2027-02-03
note = "an invented shop"
carriage_speed = "800 mm/s"
drop_speed = "6 m/s"
step = "10 um"
reads_to = 0.5
extra = "0.8 mm"
tolerance = "0.06 mm"
readings = [
  { x = 100, best_step = 4 },
  { x = 600, best_step = 5 },
  { x = 1100, best_step = 5 },
]
""",
    compute=alignment_finding,
    alike="best_step",
    along="x",
)

_GOOD = Entry("good", "yes or no", "whether it is good enough for your signs")

MAX_THROW = Procedure(
    figure="max-throw",
    title="largest throw, from lines printed over larger and larger throws",
    unit="mm",
    factor=1,
    goes_to=("printers", "max_throw"),
    states=States.LOWER,
    why="Over larger throws drops part into mist and edges fray, whatever the alignment.",
    tools=("flat scrap", "feeler gauge", "spacers or the dial of the gap", "a loupe"),
    steps=(
        STOP_FIRST,
        "Lay flat scrap on the bed, hold it, and set a throw that you know to be good.",
        PRINT_CLEAR + " Print fine lines and small letters one-way, so that alignment does not"
        " count.",
        STOP_FIRST + " Measure the throw with a feeler gauge, make it larger by a small step, and"
        " print again, until edges fray or mist shows beside the lines.",
        STOP_AND_CURE + " Let whoever signs off your work judge each print under the loupe,"
        " without knowing its throw.",
    ),
    settings=(),
    columns=(Entry("at", "length", "the throw", above=0), _GOOD),
    fewest=2,
    how="prints over larger and larger throws",
    source="common practice, no published source",
    example="""\
figure = "max-throw"
date = 2027-02-03
note = "an invented shop"
readings = [
  { at = "2.0 mm", good = "yes" }, { at = "2.5 mm", good = "yes" },
  { at = "3.0 mm", good = "yes" }, { at = "3.5 mm", good = "no" },
]
""",
    compute=bound_finding,
)

LANDING_TOLERANCE = Procedure(
    figure="landing-tolerance",
    title="landing tolerance, from lines printed apart by known steps",
    unit="mm",
    factor=1,
    goes_to=("printers", "landing_tolerance"),
    states=States.LOWER,
    why="It says how far apart the two directions may land before you would not sell the sign.",
    tools=("flat scrap", "a loupe"),
    steps=(
        STOP_FIRST,
        "Lay flat scrap on the bed, hold it, set the gap and align both directions.",
        PRINT_CLEAR + " Print small letters and fine lines with the alignment off by one step, by"
        " two, by three and so on.",
        STOP_AND_CURE + " Let whoever signs off your work judge each print at reading distance,"
        " without knowing its step.",
        "Write for each how far apart the directions lie: steps times the size of one.",
        "Enter the alignment that you print with.",
    ),
    settings=(),
    columns=(Entry("at", "length", "how far apart both directions lie", least=0), _GOOD),
    fewest=2,
    how="lines printed apart by known steps",
    source="common practice, no published source",
    example="""\
figure = "landing-tolerance"
date = 2027-02-03
note = "an invented shop"
readings = [
  { at = "0.02 mm", good = "yes" }, { at = "0.04 mm", good = "yes" },
  { at = "0.06 mm", good = "yes" }, { at = "0.08 mm", good = "no" },
]
""",
    compute=bound_finding,
)

JUDGED_PROCEDURES = (ALIGNMENT, MAX_THROW, LANDING_TOLERANCE)
