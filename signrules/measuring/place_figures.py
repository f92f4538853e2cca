"""Where a sheet lies when it is put back, and how much it grows when it is warm."""

from __future__ import annotations

import math

from attrs import evolve

from signrules.measuring.common_entries import (
    PRINT_CLEAR,
    READS_TO,
    STOP_AND_CURE,
    STOP_FIRST,
    mean_finding,
)
from signrules.measuring.entries import Entry
from signrules.measuring.procedure import Finding, Procedure, States
from signrules.measuring.readings import Readings
from signrules.measuring.statistics import (
    DOUBT,
    LEVEL,
    Part,
    combined_estimate,
    mean_value,
    reading_part,
    scipy_part,
    two_sided_factor,
)
from signrules.model.quantities import Interval
from signrules.model.wording import counted_things
from signrules.physics.ink import sample_deviation


def locating_finding(readings: Readings, as_range: bool) -> Finding:
    """How far a sheet may lie from where it lay, from where reloads put a printed mark.

    Two loads lie apart by two such positions, so by sqrt(2) times their deviation along each axis.
    Where both axes scatter equally, the square of the distance over twice that variance is F with 2
    and 2 (n - 1) degrees of freedom: a prediction for one more reload, derived here.
    """
    along_x, along_y = readings.column("off_x"), readings.column("off_y")
    count = len(along_x)
    if along_y and len(along_y) != count:
        found = counted_things(len(along_y), "reading") + " along y"
        readings.refuse("readings", found, f"{count} as along x, or none")
    reading = reading_part(readings.setting("reads_to")).uncertainty
    # The step of the loupe too: reloads that all read alike do not lie in one point.
    spread_x = math.hypot(sample_deviation(along_x), reading)
    spread_y = math.hypot(sample_deviation(along_y), reading) if along_y else 0.0
    alike = bool(along_y) and spread_alike(spread_x, spread_y, count - 1)
    if alike:
        freedom = 2 * (count - 1)
        squares = (spread_x**2 + spread_y**2) / 2
        quantile = float(scipy_part("stats").f.ppf(LEVEL, 2, freedom))
        bound = math.sqrt(2 * squares * 2 * quantile)
    else:
        # Each axis at the level by itself, and both at their worst together: more than 95 % lie
        # within.
        bound = math.sqrt(2) * two_sided_factor(count - 1) * math.hypot(spread_x, spread_y)
    usual = math.sqrt(2) * math.hypot(spread_x, spread_y)
    holds = alike if along_y else None
    warnings: tuple[str, ...] = ()
    if along_y and not alike:
        warnings = (
            "The two axes scatter differently: each was computed by itself, and the two were"
            " combined as the sides of a right angle.",
        )
    meaning = (
        "another reload puts the sheet no further off than the upper end, at 95 % (prediction"
        f" from {counted_things(count, 'reload')}); the value between is the usual distance of two"
        " loads"
    )
    return Finding(Interval(0.0, usual, bound), meaning, holds=holds, warnings=warnings)


def spread_alike(first: float, second: float, freedom: int) -> bool:
    """Whether two deviations, both above 0, may be of one kind: F test at `DOUBT`.

    e-Handbook 1.3.5.9, from memory.
    """
    ratio = (max(first, second) / min(first, second)) ** 2
    return 2 * float(scipy_part("stats").f.sf(ratio, freedom, freedom)) > DOUBT


def growth_finding(readings: Readings, as_range: bool) -> Finding:
    """The coefficient of linear expansion in ppm/K: growth / (length x difference)."""
    warmer = readings.setting("warm_at") - readings.setting("cold_at")
    if warmer <= 0:
        expected = "a warm temperature above the cold one"
        readings.refuse("warm_at", f"{warmer:g} K above `cold_at`", expected)
    expansions = [(row["warm"] - row["cold"]) / row["cold"] / warmer * 1e6 for row in readings.rows]
    length = mean_value(readings.column("cold"))
    # Both lengths are read to a step.
    reads_to = math.sqrt(2) * readings.setting("reads_to") / length / warmer * 1e6
    finding, estimate = mean_finding(expansions, reads_to, as_range, "the coefficient")
    # Before the range is given: no sheet shrinks as it warms, so two columns were swapped.
    if estimate.value <= 0:
        found = f"marks that shrink by {-estimate.value:.3g} ppm/K when they are warmed"
        readings.refuse("readings", found, "marks that grow")
    if as_range:
        return finding
    # The thermometer counts twice, once for each temperature, each read to a degree.
    thermometer = math.sqrt(2) * reading_part(readings.setting("thermometer", 1.0)).uncertainty
    estimate = combined_estimate(
        estimate.value,
        (
            Part(estimate.uncertainty, estimate.freedom),
            Part(thermometer / warmer * estimate.value),
        ),
    )
    value = estimate.interval()
    # No job may state a coefficient below 0.
    return evolve(finding, value=Interval(max(value.low, 0.0), value.nominal, value.high))


LOCATING_ERROR = Procedure(
    figure="locating-error",
    title="locating error of a method, from reloads against a printed mark",
    unit="mm",
    factor=1,
    goes_to=("printers", "locating", "METHOD"),
    states=States.UPPER,
    why="Where a sheet is taken off and put back, the passes before and after lie apart by this.",
    tools=("one sheet as you print", "a loupe with a scale"),
    steps=(
        "Draw a fine cross, and beside it as many finer ones as you want reloads.",
        STOP_FIRST,
        "Load the sheet by the method that you measure: pins, stops, camera.",
        PRINT_CLEAR + " Print the first cross.",
        STOP_FIRST + " Take the sheet off wholly and put it back by the same method, as you do in"
        " work. Let everybody who loads take a turn.",
        PRINT_CLEAR + " Print the next cross, each at its own place beside the first.",
        "Do this ten times or more, with the machine stopped each time.",
        STOP_AND_CURE + " Take the sheet off.",
        "Measure under the loupe how far each cross lies from its place, along x and along y, with"
        " its sign.",
    ),
    settings=(Entry("method", "name", "the locating method, as jobs call it"), READS_TO),
    columns=(
        Entry("off_x", "length", "how far off along x, with its sign"),
        Entry("off_y", "length", "how far off along y, with its sign", required=False),
    ),
    fewest=3,
    how="reloads against a printed mark",
    source="predicted from an F distribution, derived; GUM 4.2",
    example="""\
figure = "locating-error"
date = 2027-02-03
note = "an invented shop"
method = "pins"
reads_to = "0.01 mm"
readings = [
  { off_x = "0.02 mm", off_y = "-0.01 mm" },
  { off_x = "-0.03 mm", off_y = "0.02 mm" },
  { off_x = "0.01 mm", off_y = "0.03 mm" },
  { off_x = "0.00 mm", off_y = "-0.02 mm" },
  { off_x = "-0.02 mm", off_y = "0.01 mm" },
  { off_x = "0.03 mm", off_y = "0.00 mm" },
  { off_x = "0.01 mm", off_y = "-0.03 mm" },
  { off_x = "-0.01 mm", off_y = "0.02 mm" },
]
""",
    compute=locating_finding,
)

GROWTH = Procedure(
    figure="growth",
    title="growth coefficient of a sheet, from a mark measured cold and warm",
    unit="ppm/K",
    factor=1,
    goes_to=("materials", "expansion"),
    states=States.INTERVAL,
    why="Lamps warm a sheet, and passes that must lie on each other drift apart with its growth.",
    tools=("long scale or tape of steel, or a caliper", "thermometer for surfaces"),
    steps=(
        "Scratch or print two fine marks on a sheet, as far apart as your scale measures.",
        "Let the sheet lie in the room for some hours. Measure its temperature and the distance of"
        " the marks, several times, lifting the scale each time.",
        "Warm the whole sheet evenly by 20 K or more, below what its data sheet allows: in a warm"
        " cabinet, never under the lamps of the printer. Wear gloves for warm sheets.",
        "Measure both again at once, as often, with the scale at room temperature.",
    ),
    settings=(
        Entry("cold_at", "temperature", "temperature of the sheet when cold"),
        Entry("warm_at", "temperature", "temperature of the sheet when warm"),
        Entry(
            "thermometer",
            "temperature",
            "the step it reads to, 1 if left out",
            required=False,
            above=0,
        ),
        READS_TO,
    ),
    columns=(
        Entry("cold", "length", "distance of the marks when cold", above=0),
        Entry("warm", "length", "distance of the marks when warm", above=0),
    ),
    fewest=2,
    how="a mark measured cold and warm",
    source="growth / (length x difference of temperature); GUM 5.1.2",
    example="""\
figure = "growth"
date = 2027-02-03
note = "an invented shop"
cold_at = 21
warm_at = 46
reads_to = "0.02 mm"
readings = [
  { cold = "600.02 mm", warm = "601.07 mm" },
  { cold = "600.00 mm", warm = "601.10 mm" },
  { cold = "600.02 mm", warm = "601.05 mm" },
  { cold = "600.04 mm", warm = "601.12 mm" },
]
""",
    compute=growth_finding,
    has_range=True,
)

PLACE_PROCEDURES = (LOCATING_ERROR, GROWTH)
