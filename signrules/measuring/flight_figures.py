"""How drop speed and base gap are measured, from what both directions of the carriage print."""

from __future__ import annotations

from attrs import evolve

from signrules.measuring.common_entries import (
    CARRIAGE_SPEED,
    DROP_DENSITY,
    DROP_VOLUME,
    PRINT_CLEAR,
    READS_TO,
    STOP_AND_CURE,
    STOP_FIRST,
)
from signrules.measuring.entries import Entry
from signrules.measuring.flight_fits import (
    base_gap_finding,
    drop_speed_finding,
    marks_finding,
    sweep_finding,
)
from signrules.measuring.procedure import Procedure, States

_ALIGNMENT_SETTINGS = (
    CARRIAGE_SPEED,
    Entry("step", "toleranced length", "by how much one step shifts the directions apart", above=0),
    Entry("reads_to", "number", "how finely the best step can be told, in steps", above=0),
    Entry("zero_step", "number", "the step that shifts nothing, 0 if left out", required=False),
    DROP_VOLUME,
    DROP_DENSITY,
)
_ALIGNMENT_COLUMNS = (
    Entry("extra", "length", "how much the gap was set above its usual"),
    Entry("best_step", "number", "the step whose lines lie on each other, or between two"),
)
_ALIGNMENT_STEPS = (
    "Look up in the manual by how many micrometres one step of the bidirectional alignment shifts"
    " the directions, and which step shifts nothing. Write both down.",
    STOP_FIRST,
    "Lay flat scrap of even thickness on the bed and hold it as you hold a sheet.",
    "Set the gap over the scrap as usual, with nothing added: extra 0 mm.",
    PRINT_CLEAR + " Take the printer's own bidirectional test lines, at one carriage speed.",
    STOP_AND_CURE
    + " Read under a loupe at which step the lines lie on each other; between two where it is so."
    " Let two people read each print, or print it twice.",
    STOP_FIRST + " Add a spacer, or turn the dial: at least two further gaps, up to the largest"
    " that you print with. Measure spacers with a micrometer. Print and read again at each.",
    "Set the gap back and enter the alignment that you print with.",
)
_ALIGNMENT_EXAMPLE = """\
figure = "{figure}"
date = 2027-02-03
note = "an invented shop"
carriage_speed = "800 mm/s"
step = "10 um"
reads_to = 0.5
readings = [
  {{ extra = "0 mm", best_step = 41 }},
  {{ extra = "0 mm", best_step = 42 }},
  {{ extra = "1 mm", best_step = 69 }},
  {{ extra = "1 mm", best_step = 69.5 }},
  {{ extra = "2 mm", best_step = 96.5 }},
  {{ extra = "2 mm", best_step = 97 }},
]
"""
_LOUPE = "a loupe with a scale"

DROP_SPEED = Procedure(
    figure="drop-speed",
    title="drop speed, from alignment steps at several gaps",
    unit="m/s",
    factor=1000,
    goes_to=("printers", "drop_speed"),
    states=States.INTERVAL,
    why="It decides how far the two directions land apart at each throw, so which alignments a job"
    " needs.",
    tools=("flat scrap", "spacers or the dial of the gap", "micrometer", _LOUPE),
    steps=_ALIGNMENT_STEPS,
    settings=_ALIGNMENT_SETTINGS,
    columns=_ALIGNMENT_COLUMNS,
    fewest=2,
    how="alignment steps at several gaps",
    source="elementary kinematics; least squares, e-Handbook 4.1.4.1",
    example=_ALIGNMENT_EXAMPLE.format(figure="drop-speed"),
    compute=drop_speed_finding,
    shares_readings=("base-gap",),
    alike="best_step",
    along="extra",
)

BASE_GAP = evolve(
    DROP_SPEED,
    figure="base-gap",
    title="base gap, from alignment steps at several gaps",
    unit="mm",
    factor=1,
    goes_to=("printers", "base_gap"),
    why="It is the room under the head when nothing is added: clearance and throw rest on it. The"
    " readings are those of drop speed: run both commands on one file.",
    source="where the line of the errors meets none, elementary kinematics; GUM 5.2.2",
    example=_ALIGNMENT_EXAMPLE.format(figure="base-gap"),
    compute=base_gap_finding,
    shares_readings=("drop-speed",),
)

_THROW = Entry("throw", "toleranced length", "from the head to the scrap, by feeler gauge", above=0)
_APART_STEPS = (
    STOP_FIRST,
    "Lay flat scrap on the bed and set the gap. Measure the throw between head and scrap with a"
    " feeler gauge, without force on the head; write it with its tolerance.",
    "Turn the bidirectional alignment to the step that shifts nothing.",
)

DROP_SPEED_BY_MARKS = Procedure(
    figure="drop-speed-by-marks",
    title="drop speed, from marks of forward and backward strokes",
    unit="m/s",
    factor=1000,
    goes_to=("printers", "drop_speed"),
    states=States.INTERVAL,
    why="For printers without test lines of their own, where the throw can be measured.",
    tools=("flat scrap", "feeler gauge", _LOUPE),
    steps=(
        *_APART_STEPS,
        PRINT_CLEAR + " Print one upright line forward and the same one backward, several times"
        " over the bed, at one carriage speed.",
        STOP_AND_CURE + " Measure under the loupe how far apart the two lines of each pair lie,"
        " middle to middle.",
        "Enter the alignment that you print with.",
    ),
    settings=(
        CARRIAGE_SPEED,
        _THROW,
        Entry(
            "drawn",
            "length",
            "how far apart the marks were drawn, 0 mm if left out",
            required=False,
        ),
        READS_TO,
        DROP_VOLUME,
        DROP_DENSITY,
    ),
    columns=(Entry("apart", "length", "distance of forward and backward mark"),),
    fewest=2,
    how="marks of forward and backward strokes",
    source="elementary kinematics; GUM 5.1.2",
    example="""\
figure = "drop-speed-by-marks"
date = 2027-02-03
note = "an invented shop"
carriage_speed = "800 mm/s"
throw = "2.0 mm +- 0.03 mm"
reads_to = "0.01 mm"
readings = [
  { apart = "0.54 mm" }, { apart = "0.56 mm" }, { apart = "0.55 mm" },
  { apart = "0.53 mm" }, { apart = "0.55 mm" }, { apart = "0.56 mm" },
]
""",
    compute=marks_finding,
    alike="apart",
)

DROP_SPEED_BY_CARRIAGE = Procedure(
    figure="drop-speed-by-carriage",
    title="drop speed, flight time and what does not depend on speed, from several carriage speeds",
    unit="m/s",
    factor=1000,
    goes_to=("printers", "drop_speed"),
    states=States.INTERVAL,
    why="It keeps apart what the flight does and what backlash or encoder do.",
    tools=("flat scrap", "feeler gauge", _LOUPE),
    steps=(
        *_APART_STEPS,
        PRINT_CLEAR + " Print one upright line forward and the same one backward, at each carriage"
        " speed that the printer has, twice or more.",
        STOP_AND_CURE + " Measure under the loupe how far apart the two lines lie, middle to"
        " middle: above 0 where each lies ahead in the direction of its own stroke.",
        "Enter the alignment that you print with.",
    ),
    settings=(_THROW, READS_TO, DROP_VOLUME, DROP_DENSITY),
    columns=(
        CARRIAGE_SPEED,
        Entry("apart", "length", "distance of forward and backward mark"),
    ),
    fewest=2,
    how="marks at several carriage speeds",
    source="elementary kinematics; least squares, e-Handbook 4.1.4.1",
    example="""\
figure = "drop-speed-by-carriage"
date = 2027-02-03
note = "an invented shop"
throw = "2.0 mm +- 0.03 mm"
reads_to = "0.01 mm"
readings = [
  { carriage_speed = "300 mm/s", apart = "0.23 mm" },
  { carriage_speed = "300 mm/s", apart = "0.24 mm" },
  { carriage_speed = "600 mm/s", apart = "0.44 mm" },
  { carriage_speed = "600 mm/s", apart = "0.43 mm" },
  { carriage_speed = "1 m/s", apart = "0.70 mm" },
  { carriage_speed = "1 m/s", apart = "0.71 mm" },
]
""",
    compute=sweep_finding,
    alike="apart",
    along="carriage_speed",
)

FLIGHT_PROCEDURES = (DROP_SPEED, BASE_GAP, DROP_SPEED_BY_MARKS, DROP_SPEED_BY_CARRIAGE)
