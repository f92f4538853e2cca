"""Layer thickness and coverage, from stacks, dots and a scale."""

from __future__ import annotations

from attrs import evolve

from signrules.measuring.common_entries import (
    PRINT_CLEAR,
    READS_TO,
    STOP_AND_CURE,
    STOP_FIRST,
    level_text,
    next_finding,
    next_text,
    plus_minus,
    range_text,
)
from signrules.measuring.entries import Entry
from signrules.measuring.procedure import Finding, Procedure, States
from signrules.measuring.readings import Readings
from signrules.measuring.statistics import (
    DOUBT,
    Part,
    combined_estimate,
    line_fit,
    mean_estimate,
    next_estimate,
    range_of,
    reading_part,
    tolerance_part,
    two_sided_factor,
)
from signrules.physics.ink import ink_mass, ink_volume, layer_from_dots
from signrules.physics.measured_dots import measured_dots


def stacks_finding(readings: Readings, as_range: bool) -> Finding:
    """The layer at any place of the bed: height / layers of each stack, and one more like them."""
    heights, counts = readings.column("height"), readings.column("layers")
    layer_heights = [height / count for height, count in zip(heights, counts, strict=True)]
    # One step of the gauge on a stack of n layers is an n-th of a step in the layer.
    reads_to = readings.setting("reads_to") * sum(1 / count for count in counts) / len(counts)
    finding = next_finding(
        layer_heights, reads_to, as_range, "the layer at another place of the bed"
    )
    mean = mean_estimate(layer_heights, reads_to).scaled(1000)
    notes = (f"The mean over the bed is {plus_minus(mean, 'um')}.",)
    residuals = tuple(
        height - finding.value.nominal * count
        for height, count in zip(heights, counts, strict=True)
    )
    holds, warnings = _stacks_hold(counts, layer_heights, reading_part(reads_to))
    return evolve(finding, residuals=residuals, holds=holds, notes=notes, warnings=warnings)


def _stacks_hold(
    counts: list[int], layer_heights: list[float], reading: Part
) -> tuple[bool | None, tuple[str, ...]]:
    """Whether the thickness of one layer is the same in low and in high stacks."""
    # A line needs two points, and what two more lie beside it says how far to trust its slope.
    if len(set(counts)) < 2 or len(counts) < 4:
        return None, (
            "One number of layers alone cannot tell whether layers add up: print low and high"
            " stacks.",
        )
    fit = line_fit(counts, layer_heights)
    slope = fit.estimate(lambda slope, intercept: slope, reading)
    if abs(slope.value) < two_sided_factor(slope.freedom, 1 - DOUBT) * slope.uncertainty:
        return True, ()
    more_or_less = "more" if slope.value > 0 else "less"
    return False, (
        f"Layers do not add up: in high stacks each gives {more_or_less} than in low ones."
        " State the layer of stacks as high as those that you print.",
    )


def dots_finding(readings: Readings, as_range: bool) -> Finding:
    """The layer that the next dot would show: height / layers of each dot."""
    heights, layers = readings.column("height"), readings.setting("layers")
    # Each dot by itself, and no line: all have as many layers.
    layer_seen = layer_from_dots(heights, layers)
    if as_range:
        return Finding(layer_seen, range_text(len(heights)))
    estimate = next_estimate(heights, readings.setting("reads_to")).scaled(1 / layers)
    spread = measured_dots(heights, layers=layers)
    notes = (
        f"The dots are {spread.mean:.3f} mm high on average, from {spread.least:.3f} to"
        f" {spread.most:.3f} mm.",
        "A dot narrower than its layers can carry is lower than a flat stack of as many.",
    )
    meaning = next_text(len(heights), "the layer of another dot")
    return Finding(estimate.interval(), meaning, notes=notes)


def dot_height_finding(readings: Readings, as_range: bool) -> Finding:
    """The height of the next dot."""
    heights = readings.column("height")
    finding = next_finding(
        heights, readings.setting("reads_to"), as_range, "the height of another dot"
    )
    mean = mean_estimate(heights, readings.setting("reads_to"))
    return evolve(finding, notes=(f"The mean is {plus_minus(mean, 'mm')}.",))


def coverage_finding(readings: Readings, as_range: bool) -> Finding:
    """The share of an area that gets ink: its mass over that of a full area."""
    layer = readings.setting("layer")
    area = readings.setting("width") * readings.setting("height")
    thickness = readings.setting("layers") * layer.nominal
    full_mass = ink_mass(ink_volume(area, thickness), readings.setting("density"))
    inked = [row["printed"] - row["bare"] for row in readings.rows]
    for pass_index, mass in enumerate(inked):
        # Wiping, or the two columns swapped: a share of 0 or less is no coverage.
        if mass <= 0:
            place = readings.place(pass_index, "printed")
            readings.refuse(place, f"{mass:.3g} g more than bare", "a print heavier than bare")
    shares = [mass / full_mass for mass in inked]
    if as_range:
        return Finding(range_of(shares), range_text(len(shares)))
    # Each mass is a difference of two weights, both read to a step.
    reads_to = readings.setting("reads_to") * 2**0.5 / full_mass
    mean = mean_estimate(shares, reads_to)
    relative = tolerance_part(layer).uncertainty / layer.nominal
    estimate = combined_estimate(
        mean.value, (Part(mean.uncertainty, mean.freedom), Part(relative * mean.value))
    )
    warnings: tuple[str, ...] = ()
    # Told only where the doubt does not explain it: a full area may well measure 101 %.
    if estimate.interval().low > 1:
        warnings = (
            "More ink than a full area holds: look at density, layer and number of layers.",
        )
    meaning = level_text(len(shares), "the coverage")
    notes = (f"A full area would weigh {full_mass:.3g} g.", "Write it as `coverage` of the pass.")
    return Finding(estimate.interval(), meaning, notes=notes, warnings=warnings)


_HEIGHT = Entry("height", "length", "from the face beside it to its top", above=0)

LAYER_BY_STACKS = Procedure(
    figure="layer-by-stacks",
    title="thickness of one layer and its spread over the bed, from stacks",
    unit="um",
    factor=0.001,
    goes_to=("inks", "layer"),
    states=States.INTERVAL,
    why="Every height of build-up is a number of layers times this. The spread over the bed counts,"
    " for a sign may lie anywhere.",
    tools=("flat scrap", "micrometer or dial indicator on a stand"),
    steps=(
        "Draw squares of 15 mm, fully covered, for the corners, the edges and the middle of the"
        " bed: some of few layers, some of as many as you print.",
        STOP_FIRST,
        "Lay flat scrap over the whole bed, hold it, and set the gap so that it clears the highest"
        " square.",
        PRINT_CLEAR,
        STOP_AND_CURE,
        "Measure each square in its middle: from the bare face beside it to its top.",
    ),
    settings=(READS_TO,),
    columns=(
        Entry("layers", "count", "how many layers the stack has"),
        _HEIGHT,
        Entry("place", "name", "where on the bed, for you", required=False),
    ),
    fewest=3,
    how="stacks of known layers",
    source="height / layers, geometry; prediction interval, Hahn and Meeker chapter 4, from memory",
    example="""\
figure = "layer-by-stacks"
date = 2027-02-03
note = "an invented shop"
reads_to = "1 um"
readings = [
  { place = "left front", layers = 10, height = "0.298 mm" },
  { place = "right front", layers = 10, height = "0.305 mm" },
  { place = "middle", layers = 10, height = "0.301 mm" },
  { place = "left back", layers = 24, height = "0.709 mm" },
  { place = "right back", layers = 24, height = "0.731 mm" },
  { place = "middle", layers = 24, height = "0.722 mm" },
]
""",
    compute=stacks_finding,
    alike="height",
    along="layers",
    has_range=True,
)

LAYER_BY_DOTS = Procedure(
    figure="layer-by-dots",
    title="thickness of one layer, from measured dots",
    unit="um",
    factor=0.001,
    goes_to=("inks", "layer"),
    states=States.INTERVAL,
    why="Dots are narrow and domed, so their layers may add up to less than those of a square.",
    tools=("dial indicator with a flat tip on a stand, or a height gauge",),
    steps=(
        "Take a finished print whose layers you know.",
        STOP_AND_CURE,
        "Zero the gauge on the face beside a dot and measure to the top of the dot.",
        "Measure ten dots or more, spread over all lines and over the bed.",
    ),
    settings=(Entry("layers", "count", "how many layers each dot has"), READS_TO),
    columns=(_HEIGHT,),
    fewest=3,
    how="measured dots",
    source="height / layers, geometry; prediction interval, Hahn and Meeker chapter 4, from memory",
    example="""\
figure = "layer-by-dots"
date = 2027-02-03
note = "an invented shop"
layers = 24
reads_to = "0.01 mm"
readings = [
  { height = "0.71 mm" }, { height = "0.69 mm" }, { height = "0.72 mm" },
  { height = "0.70 mm" }, { height = "0.73 mm" }, { height = "0.71 mm" },
  { height = "0.70 mm" }, { height = "0.72 mm" }, { height = "0.69 mm" },
  { height = "0.71 mm" },
]
""",
    compute=dots_finding,
    alike="height",
    has_range=True,
)

DOT_HEIGHT = evolve(
    LAYER_BY_DOTS,
    figure="dot-height",
    title="height of dots after printing, for the records",
    unit="mm",
    factor=1,
    goes_to=(),
    why="Dots of job after job show a lamp or a head that tires before a sign fails its standard.",
    settings=(READS_TO,),
    source="prediction interval, Hahn and Meeker chapter 4, from memory",
    example="""\
figure = "dot-height"
date = 2027-02-03
note = "an invented shop"
reads_to = "0.01 mm"
readings = [
  { height = "0.71 mm" }, { height = "0.69 mm" }, { height = "0.72 mm" },
  { height = "0.70 mm" }, { height = "0.73 mm" },
]
""",
    compute=dot_height_finding,
)

COVERAGE = Procedure(
    figure="coverage",
    title="coverage of a pass, from its weight",
    unit="",
    factor=1,
    goes_to=(),
    states=States.INTERVAL,
    why="Ink use and heat depend on the share of an area that gets ink. It belongs to a pass, so it"
    " goes into the job.",
    tools=("scale that reads to a hundredth of the print's ink", "scrap cut to fit the scale"),
    steps=(
        "Cut several pieces of scrap and weigh each of them bare.",
        STOP_FIRST,
        "Lay them on the bed, hold them and set the gap.",
        PRINT_CLEAR + " Print the artwork of the pass in a rectangle of known size.",
        STOP_AND_CURE,
        "Wipe off dust and weigh each piece again.",
    ),
    settings=(
        Entry("width", "length", "of the printed rectangle", above=0),
        Entry("height", "length", "of the printed rectangle", above=0),
        Entry("layer", "toleranced length", "thickness of one full layer", above=0),
        Entry("layers", "count", "how many layers were printed"),
        Entry("density", "density", "of the cured ink, from its data sheet", above=0),
        Entry("reads_to", "mass", "the step that the scale reads to", above=0),
    ),
    columns=(
        Entry("bare", "mass", "the piece before printing", least=0),
        Entry("printed", "mass", "the piece after curing", above=0),
    ),
    fewest=2,
    how="weight before and after printing",
    source="mass / (density x area x thickness), geometry; GUM 5.1.2",
    example="""\
figure = "coverage"
date = 2027-02-03
note = "an invented shop"
width = "200 mm"
height = "100 mm"
layer = "30 um +- 1 um"
layers = 10
density = "1.1 g/cm3"
reads_to = "0.01 g"
readings = [
  { bare = "70.11 g", printed = "72.10 g" },
  { bare = "69.84 g", printed = "71.80 g" },
  { bare = "70.35 g", printed = "72.32 g" },
]
""",
    compute=coverage_finding,
    has_range=True,
)

INK_PROCEDURES = (LAYER_BY_STACKS, LAYER_BY_DOTS, DOT_HEIGHT, COVERAGE)
