"""How flat and how thick things are: the bed, bow and thickness of sheets."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve

from signrules.measuring.common_entries import (
    READS_TO,
    STOP_FIRST,
    next_finding,
)
from signrules.measuring.entries import Entry
from signrules.measuring.procedure import Finding, Procedure, States
from signrules.measuring.readings import Readings
from signrules.measuring.statistics import (
    Part,
    combined_estimate,
    mean_value,
    next_estimate,
    range_of,
    reading_part,
    scipy_part,
)
from signrules.model.quantities import Interval
from signrules.model.wording import counted_things


def bed_finding(readings: Readings, as_range: bool) -> Finding:
    """How uneven the bed is: from the lowest to the highest place beside the plane through all.

    Places that were read several times say how well the gauge repeats; without them the step that
    it reads to is all that is known.
    """
    heights: dict[tuple[float, float], list[float]] = {}
    for row in readings.rows:
        # A place that was read more often must not pull the plane harder: its mean counts once.
        heights.setdefault((row["x"], row["y"]), []).append(row["height"])
    places = list(heights)
    means = [mean_value(values) for values in heights.values()]
    plane = _plane_through(readings, places, means)
    residuals = [
        height - plane[0] - plane[1] * x - plane[2] * y
        for (x, y), height in zip(places, means, strict=True)
    ]
    uneven = max(residuals) - min(residuals)
    repeat, freedom = _repeatability(list(heights.values()))
    # The unevenness is the difference of two places.
    parts = [Part(math.sqrt(2) * reading_part(readings.setting("reads_to")).uncertainty)]
    warnings: tuple[str, ...] = ()
    if freedom:
        ends = (residuals.index(max(residuals)), residuals.index(min(residuals)))
        reads = [len(heights[places[place]]) for place in ends]
        # Only the two ends make the result; a place read n times repeats better by the root of n.
        half_width = repeat * math.sqrt(sum(1 / count for count in reads))
        parts.append(Part(half_width, freedom))
    else:
        warnings = ("No place was read twice, so how well the gauge repeats is not known.",)
    estimate = combined_estimate(uneven, parts).interval()
    # No bed is flatter than flat.
    value = Interval(max(estimate.low, 0.0), estimate.nominal, estimate.high)
    tilt = math.hypot(plane[1], plane[2]) * 1000
    notes = (
        f"The plane through all places leans by {tilt:.3g} mm over a metre: levelling takes that"
        " away.",
        f"Highest at {_place_text(places[residuals.index(max(residuals))])}, lowest at"
        f" {_place_text(places[residuals.index(min(residuals))])}.",
    )
    meaning = (
        f"from lowest to highest of {counted_things(len(places), 'place')}, at 95 %; between the"
        " places the bed may be worse"
    )
    return Finding(
        value, meaning, residuals=tuple(residuals), holds=None, notes=notes, warnings=warnings
    )


def _place_text(place: tuple[float, float]) -> str:
    return f"({place[0]:g}, {place[1]:g}) mm"


def _plane_through(
    readings: Readings, places: Sequence[tuple[float, float]], heights: Sequence[float]
) -> tuple[float, float, float]:
    """Height at the origin and slopes along x and y of the plane by least squares."""
    rows = [(1.0, x, y) for x, y in places]
    plane, _, rank, _ = scipy_part("linalg").lstsq(rows, list(heights))
    # Places on one line hold a plane as a hinge holds a door: it may lean in any way.
    if rank < 3:
        expected = "a grid: places that do not lie on one line"
        readings.refuse("readings", counted_things(len(places), "place"), expected)
    return float(plane[0]), float(plane[1]), float(plane[2])


def _repeatability(groups: Sequence[Sequence[float]]) -> tuple[float, int]:
    """The pooled deviation of repeated readings and its degrees of freedom (GUM H.3.6 pools so)."""
    freedom = sum(len(group) - 1 for group in groups)
    if not freedom:
        return 0.0, 0
    squares = 0.0
    for group in groups:
        middle = mean_value(group)
        squares += sum((value - middle) ** 2 for value in group)
    return math.sqrt(squares / freedom), freedom


def bow_finding(readings: Readings, as_range: bool) -> Finding:
    """How far another sheet may stand off: from the largest reading of each sheet."""
    sheets: dict[str, float] = {}
    for row in readings.rows:
        # The head meets the highest place of a sheet; its other readings only show where that is
        # not.
        sheets[row["sheet"]] = max(row["off"], sheets.get(row["sheet"], 0.0))
    bows = list(sheets.values())
    reads_to = readings.setting("reads_to")
    count = counted_things(len(bows), "sheet")
    if as_range:
        return Finding(range_of(bows), f"from the flattest to the most bowed of {count}")
    if len(bows) == 1:
        # A feeler that still goes under says no more than that the next one does not.
        high = bows[0] + reads_to
        warnings = ("One sheet says nothing of the others: measure three or more.",)
        meaning = "the bow of this one sheet lies below the upper end"
        return Finding(Interval(bows[0], bows[0], high), meaning, warnings=warnings)
    estimate = next_estimate(bows, reads_to)
    # A flat sheet is good: only how high one may stand needs a bound.
    value = Interval(0.0, estimate.value, estimate.upper_end())
    meaning = f"another sheet bows less than the upper end, at 95 % (predicted from {count})"
    return Finding(value, meaning)


def thickness_finding(readings: Readings, as_range: bool) -> Finding:
    """The thickness of another sheet of the delivery, from the mean of each sheet."""
    sheets: dict[str, list[float]] = {}
    for row_index, row in enumerate(readings.rows):
        # Readings of one sheet are alike and say little of the next: sheets are counted, not
        # readings.
        sheets.setdefault(row.get("sheet", f"row {row_index}"), []).append(row["thickness"])
    means = [mean_value(values) for values in sheets.values()]
    if len(means) < 2:
        readings.refuse("readings", "one sheet", "two sheets of the delivery or more")
    finding = next_finding(
        means, readings.setting("reads_to"), as_range, "the thickness of another sheet"
    )
    within = max(max(values) - min(values) for values in sheets.values())
    count = counted_things(len(means), "sheet")
    notes = [f"From {count}, {min(means):.3f} to {max(means):.3f} mm."]
    if within > 0:
        notes.append(f"Within one sheet it differs by up to {within:.3f} mm.")
    meaning = finding.meaning if as_range else f"{finding.meaning.split(' (')[0]} (from {count})"
    return evolve(finding, meaning=meaning, notes=tuple(notes))


BED_FLATNESS = Procedure(
    figure="bed-flatness",
    title="unevenness of the bed, from a dial indicator on a grid",
    unit="mm",
    factor=1,
    goes_to=(),
    states=States.UPPER,
    why="An uneven bed lifts sheets into the head and lets the throw differ from place to place. No"
    " job states it: take it off the least clearance that you allow.",
    tools=("dial indicator on a stand, or feeler gauges under a straightedge",),
    steps=(
        STOP_FIRST + " Park the carriage away from the bed, as the manual says.",
        "Clean the bed. Do not lean on it.",
        "Fix the dial indicator to a straight beam across the bed, or to the carriage by hand if"
        " the manual allows it with the machine off.",
        "Read at each place of a grid of three by three or more, corners included.",
        "Go back to some places and read them again: write a second line for them.",
    ),
    settings=(READS_TO,),
    columns=(
        Entry("x", "length", "place along x"),
        Entry("y", "length", "place along y"),
        Entry("height", "length", "what the gauge shows, above 0 where the bed is higher"),
    ),
    fewest=4,
    how="dial indicator on a grid",
    source="plane by least squares, as in ISO 12781-1, from memory; GUM 5.1.2",
    example="""\
figure = "bed-flatness"
date = 2027-02-03
note = "an invented shop"
reads_to = "0.01 mm"
readings = [
  { x = 0, y = 0, height = "0.00 mm" }, { x = 600, y = 0, height = "0.05 mm" },
  { x = 1200, y = 0, height = "0.02 mm" }, { x = 0, y = 450, height = "0.04 mm" },
  { x = 600, y = 450, height = "0.14 mm" }, { x = 1200, y = 450, height = "0.06 mm" },
  { x = 0, y = 900, height = "-0.02 mm" }, { x = 600, y = 900, height = "0.04 mm" },
  { x = 1200, y = 900, height = "0.03 mm" }, { x = 0, y = 0, height = "0.01 mm" },
  { x = 600, y = 450, height = "0.13 mm" }, { x = 1200, y = 900, height = "0.03 mm" },
]
""",
    compute=bed_finding,
    rows_on_form=18,
)

SHEET_BOW = Procedure(
    figure="sheet-bow",
    title="bow of sheets, from feeler gauges under several sheets",
    unit="mm",
    factor=1,
    goes_to=("sheets", "bow"),
    states=States.UPPER,
    why="A sheet that stands off the bed comes nearer to the head.",
    tools=("flat table or the bed itself", "feeler gauges"),
    steps=(
        STOP_FIRST + " A flat table away from the machine is better than the bed.",
        "Take three sheets or more out of different places of the delivery, at room temperature.",
        "Lay each down as it is printed, held as it is held: with vacuum or tape if you use them.",
        "Push feelers under its corners, the middles of its edges and wherever it stands off."
        " Write the thickest that goes under without lifting; 0 mm where none does.",
    ),
    settings=(READS_TO,),
    columns=(
        Entry("sheet", "name", "which sheet"),
        Entry("x", "length", "place along x, for you", required=False),
        Entry("y", "length", "place along y, for you", required=False),
        Entry("off", "length", "the thickest feeler that goes under", least=0),
    ),
    fewest=1,
    how="feeler gauges under several sheets",
    source="one-sided prediction, Hahn and Meeker chapter 4, from memory",
    example="""\
figure = "sheet-bow"
date = 2027-02-03
note = "an invented shop"
reads_to = "0.05 mm"
readings = [
  { sheet = "1", off = "0.10 mm" }, { sheet = "1", off = "0.15 mm" },
  { sheet = "2", off = "0.20 mm" }, { sheet = "2", off = "0.05 mm" },
  { sheet = "3", off = "0.10 mm" }, { sheet = "3", off = "0.10 mm" },
  { sheet = "4", off = "0.15 mm" }, { sheet = "4", off = "0.00 mm" },
]
""",
    compute=bow_finding,
    has_range=True,
    rows_on_form=18,
)

SHEET_THICKNESS = Procedure(
    figure="sheet-thickness",
    title="thickness of sheets, from several of a delivery",
    unit="mm",
    factor=1,
    goes_to=("sheets", "thickness"),
    states=States.INTERVAL,
    why="The gap is set from one sheet and serves the next: clearance and throw carry the"
    " difference.",
    tools=("micrometer",),
    steps=(
        "Do it away from the machine. Take five sheets or more out of different places of the"
        " delivery, at room temperature.",
        "Take off the masking film where you print without it.",
        "Close the micrometer by its ratchet at three places of each sheet, a hand's breadth from"
        " the edge, corners among them.",
        "Write each reading with the number of its sheet.",
    ),
    settings=(READS_TO,),
    columns=(
        Entry(
            "sheet", "name", "which sheet; if left out, each reading is of another", required=False
        ),
        Entry("thickness", "length", "what the micrometer shows", above=0),
    ),
    fewest=2,
    how="micrometer on several sheets",
    source="prediction interval, Hahn and Meeker chapter 4, from memory",
    example="""\
figure = "sheet-thickness"
date = 2027-02-03
note = "an invented shop"
reads_to = "0.01 mm"
readings = [
  { sheet = "1", thickness = "3.02 mm" }, { sheet = "1", thickness = "3.04 mm" },
  { sheet = "2", thickness = "2.95 mm" }, { sheet = "2", thickness = "2.97 mm" },
  { sheet = "3", thickness = "3.06 mm" }, { sheet = "3", thickness = "3.05 mm" },
  { sheet = "4", thickness = "2.99 mm" }, { sheet = "4", thickness = "3.00 mm" },
  { sheet = "5", thickness = "3.01 mm" }, { sheet = "5", thickness = "3.03 mm" },
]
""",
    compute=thickness_finding,
    alike="thickness",
    has_range=True,
    rows_on_form=18,
)

FLATNESS_PROCEDURES = (BED_FLATNESS, SHEET_BOW, SHEET_THICKNESS)
