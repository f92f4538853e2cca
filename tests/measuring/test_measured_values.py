"""Measured figures beside the formulas of signrules.physics, and what is stated of them."""

from __future__ import annotations

import math

import pytest
from measuring.examples import EXAMPLES
from scipy import stats

from signrules import measure, procedures
from signrules.documents.lengths import parse_length, parse_toleranced
from signrules.documents.measures import EXPANSION, MEASURES
from signrules.physics.calibration import flight_from_sweep, gap_from_two_gaps
from signrules.physics.flight import Drop

approx = pytest.approx


def alignment(readings, **settings):
    rows = [{"extra": extra, "best_step": step} for extra, step in readings]
    known = {"carriage_speed": "1 m/s", "step": "1 um", "reads_to": 1, "readings": rows}
    return known | settings


def test_two_gaps_say_what_the_formula_says():
    # 7 m/s, 1 m/s, a gap of 1.6 mm raised by 0.5 mm: errors 0.45714 and 0.6 mm by kinematics.
    errors = [(0, 2 * 1.6 / 7 * 1000), (0.5, 2 * 2.1 / 7 * 1000)]
    document = alignment(errors)
    gap = measure("base-gap", document).value.nominal
    assert gap == approx(gap_from_two_gaps(0.5, errors[0][1], errors[1][1]))
    assert gap == approx(1.6)
    assert measure("drop-speed", document).value.nominal == approx(7)


def test_a_sweep_says_what_the_formula_says():
    # 2 mm at 7 m/s with 30 um of backlash, by kinematics: 201.43 um at 0.3 m/s and so on.
    pairs = [(300, 0.20143), (600, 0.37286), (1000, 0.60143), (1500, 0.88714)]
    rows = [{"carriage_speed": f"{c} mm/s", "apart": apart} for c, apart in pairs]
    found = measure("drop-speed-by-carriage", {"throw": 2, "reads_to": 0.001, "readings": rows})
    time, constant = flight_from_sweep(*zip(*pairs, strict=True))
    assert found.value.nominal == approx(2 / time / 1000)
    assert found.value.nominal == approx(7, abs=0.001)
    assert constant == approx(0.03, abs=1e-4)
    assert "Flight time 285.7 us" in found.notes[0]
    assert "does not depend on speed 0.03 mm" in found.notes[1]


def dragged(document):
    return document | {"drop_volume": "12 pL", "drop_density": "1050 kg/m3"}


def test_with_drag_the_fit_finds_speed_and_gap_that_a_line_misses():
    drop = Drop(12.0, 1050.0, 7000.0)
    errors = [(e, 2e6 * drop.flight_time(1.6 + e)) for e in (0, 0.5, 1, 1.5, 2, 2.5, 3)]
    document = alignment(errors)
    # A line over two gaps under-reads the gap by about a ninth: 1.422 mm, by numerical integration.
    assert measure("base-gap", alignment(errors[:2])).value.nominal == approx(1.422, abs=0.002)
    assert measure("base-gap", document).holds is False
    gap, speed = (measure(figure, dragged(document)) for figure in ("base-gap", "drop-speed"))
    assert gap.value.nominal == approx(1.6, abs=1e-4)
    assert speed.value.nominal == approx(7, abs=1e-3)
    assert gap.holds
    assert speed.holds
    assert "in air that moves with the head" in speed.notes[0]


@pytest.mark.parametrize("figure", ["drop-speed-by-marks", "drop-speed-by-carriage"])
def test_with_drag_a_flight_time_gives_the_speed_that_takes_it(figure):
    time = Drop(12.0, 1050.0, 7000.0).flight_time(2.0)
    row = {"apart": 2000 * time}
    slow = {"carriage_speed": "500 mm/s", "apart": 1000 * time}
    if figure == "drop-speed-by-marks":
        document = {"carriage_speed": "1 m/s", "readings": [row, row]}
    else:
        document = {"readings": [row | {"carriage_speed": "1 m/s"}, slow]}
    document |= {"throw": 2, "reads_to": 0.001}
    assert measure(figure, dragged(document)).value.nominal == approx(7)
    assert measure(figure, document).value.nominal == approx(2 / time / 1000)
    assert measure(figure, document).value.nominal < 6.5


def test_with_drag_a_tolerance_of_the_throw_counts_as_the_flight_says():
    time = Drop(12.0, 1050.0, 7000.0).flight_time(2.0)
    row = {"apart": 2000 * time}
    document = {"carriage_speed": "1 m/s", "readings": [row, row], "reads_to": 1e-6}
    found = measure("drop-speed-by-marks", dragged(document | {"throw": "2 mm +- 0.1 mm"})).value
    # Independent: the speeds that take the same time over 1.9 and 2.1 mm, by measuring there.
    low, high = (
        measure("drop-speed-by-marks", dragged(document | {"throw": throw})).value.nominal
        for throw in (1.9, 2.1)
    )
    expected = 1.959964 * (high - low) / 2 / math.sqrt(3)
    assert found.high - found.nominal == approx(expected, rel=0.01)


def test_a_layer_of_dots_may_be_their_range():
    rows = [{"height": height} for height in (0.69, 0.72, 0.75)]
    found = measure(
        "layer-by-dots", {"layers": 24, "reads_to": 0.01, "readings": rows}, as_range=True
    )
    assert found.value.low == approx(0.69 / 24 * 1000)
    assert found.value.nominal == approx(30)
    assert found.value.high == approx(0.75 / 24 * 1000)
    assert found.meaning == "from the least to the greatest of 3 readings"


def test_layers_that_add_up_exactly_hold():
    rows = [{"layers": layers, "height": layers * 0.03} for layers in (10, 10, 24, 24, 36)]
    found = measure("layer-by-stacks", {"reads_to": 0.001, "readings": rows})
    assert found.holds is True
    assert found.residuals == approx((0.0,) * 5, abs=1e-12)


def test_one_number_of_layers_cannot_tell():
    rows = [{"layers": 10, "height": height} for height in (0.30, 0.31, 0.29, 0.30)]
    found = measure("layer-by-stacks", {"reads_to": 0.001, "readings": rows})
    assert found.holds is None
    assert "One number of layers alone" in found.warnings[0]


def test_more_ink_than_a_full_area_holds_is_told():
    rows = [{"bare": "1 g", "printed": f"{1 + mass} g"} for mass in (7.9, 8.0, 8.1)]
    settings = {"width": 200, "height": 100, "layer": "30 um", "layers": 10}
    # 200 x 100 mm, 0.3 mm of 1.1 g/cm3 weigh 6.6 g.
    document = settings | {"density": "1.1 g/cm3", "reads_to": "0.01 g", "readings": rows}
    found = measure("coverage", document)
    assert found.value.nominal == approx(8 / 6.6)
    assert "More ink than a full area holds" in found.warnings[0]


@pytest.mark.parametrize(
    ("figure", "column"), [("swath", "length"), ("carriage-acceleration", "width")]
)
def test_times_that_bend_are_told(figure, column):
    settings = {"reads_to": "0.01 s", "strokes": 20}
    if figure == "swath":
        settings |= {"swath_passes": 8, "strokes_time": "1 s"}
    times = {200: 10, 400: 20, 600: 32, 800: 47, 1000: 66}
    rows = [{column: size, "time": f"{time} s"} for size, time in times.items()]
    if figure == "carriage-acceleration":
        # A turn must be left over.
        rows = [{column: size, "time": f"{time + 40} s"} for size, time in times.items()]
    found = measure(figure, settings | {"readings": rows})
    assert found.holds is False
    assert "The model does not hold" in found.warnings[0]
    few = measure(figure, settings | {"readings": rows[:2]})
    assert few.holds is None
    assert "Too few" in few.warnings[0]


def test_an_alignment_read_at_one_place_says_nothing_of_the_bed():
    settings = {"carriage_speed": "800 mm/s", "drop_speed": "6 m/s", "step": 0.01, "reads_to": 0.5}
    document = settings | {"extra": 0, "readings": [{"x": 100, "best_step": 4}]}
    found = measure("alignment", document)
    assert found.notes == ("Step to enter: 4.",)
    assert found.value.high == approx(0.005)


def test_layers_that_do_not_add_up_are_told():
    rows = [
        {"layers": layers, "height": height}
        for layers, height in [(10, 0.30), (10, 0.301), (10, 0.299), (30, 0.75), (30, 0.751)]
    ]
    found = measure("layer-by-stacks", {"reads_to": 0.001, "readings": rows})
    assert found.holds is False
    assert "in high stacks each gives less" in found.warnings[0]


def test_unlike_axes_are_told_and_added():
    rows = [
        {"off_x": x, "off_y": y}
        for x, y in [(0.1, 0.001), (-0.12, 0.0), (0.09, -0.001), (-0.1, 0.001), (0.05, 0.0)]
    ]
    found = measure("locating-error", {"method": "stops", "reads_to": 0.001, "readings": rows})
    assert found.holds is False
    along_x = math.sqrt(2) * stats.t.ppf(0.975, 4) * stats.tstd([row["off_x"] for row in rows])
    assert found.value.high == approx(along_x, rel=0.001)
    assert found.keys == ("printers", "locating", "stops")


def test_one_axis_alone_is_computed_by_itself():
    offs = [0.02, -0.03, 0.01, 0.0]
    rows = [{"off_x": x} for x in offs]
    found = measure("locating-error", {"method": "pins", "reads_to": 1e-5, "readings": rows})
    bound = math.sqrt(2) * stats.t.ppf(0.975, 3) * stats.tstd(offs)
    assert found.value.high == approx(bound, rel=1e-5)
    assert found.holds is None


def test_a_bed_that_leans_is_even():
    rows = [
        {"x": x, "y": y, "height": 0.3 + x / 1000 - y / 2000}
        for x in (0, 500, 1000)
        for y in (0, 400, 800)
    ]
    found = measure("bed-flatness", {"reads_to": 0.01, "readings": rows})
    assert found.value.nominal == approx(0, abs=1e-9)
    # The slopes are 1 and 0.5 mm over a metre.
    assert f"leans by {math.hypot(1, 0.5):.3g} mm" in found.notes[0]
    assert "No place was read twice" in found.warnings[0]


def test_one_sheet_says_nothing_of_the_others():
    rows = [{"sheet": 1, "off": 0.2}, {"sheet": 1, "off": 0.1}]
    found = measure("sheet-bow", {"reads_to": 0.05, "readings": rows})
    assert (found.value.nominal, found.value.high) == approx((0.2, 0.25))
    assert "One sheet says nothing" in found.warnings[0]


def test_sheets_without_a_number_are_one_each():
    rows = [{"thickness": value} for value in (2.9, 3.0, 3.1)]
    found = measure("sheet-thickness", {"reads_to": 1e-6, "readings": rows})
    assert found.value.high - 3 == approx(stats.t.ppf(0.975, 2) * 0.1 * math.sqrt(4 / 3))


# --- what is stated -------------------------------------------------------------------------------


def stated(figure, document, **options):
    return measure(figure, document, **options).stated


def test_a_tolerance_is_stated_with_two_digits_and_leaves_no_end_out():
    rows = [{"height": height} for height in (0.70, 0.71, 0.72, 0.71)]
    document = {"layers": 24, "reads_to": 0.001, "readings": rows}
    value = measure("layer-by-dots", document).value
    middle, by = stated("layer-by-dots", document).split(" +- ")
    assert middle.endswith(" um")
    assert by.endswith(" um")
    middle, by = float(middle[:-3]), float(by[:-3])
    assert middle - by <= value.low
    assert value.high <= middle + by
    assert by < (value.high - value.low) / 2 + 0.11
    assert len(str(by).replace(".", "").lstrip("0")) == 2


def test_worst_cases_are_stated_by_their_bad_end_and_rounded_outwards():
    rows = [{"at": 0.1, "good": True}, {"at": 0.12345, "good": False}]
    assert stated("max-throw", {"readings": rows}) == "0.100 mm"
    rows = [{"sheet": 1, "off": 0.2}]
    assert stated("sheet-bow", {"reads_to": 0.0111, "readings": rows}) == "0.212 mm"


def test_minutes_are_stated_as_a_number():
    rows = [{"time": "4 min"}, {"time": "240 s"}, {"time": "4.2 min"}]
    assert stated("load-minutes", {"reads_to": "1 s", "readings": rows}) == approx(4.07)


def test_what_is_stated_reads_back_by_the_readers_of_the_library():
    readers = {
        "um": parse_toleranced,
        "mm": parse_toleranced,
        "ppm/K": EXPANSION.parse_interval,
        "mm/s2": MEASURES["acceleration"].parse,
    }
    for procedure in procedures():
        found = measure(procedure.figure, EXAMPLES[procedure.figure])
        if procedure.unit in readers:
            reader = readers[procedure.unit]
            if procedure.states.name in ("UPPER", "LOWER"):
                reader = parse_length
            assert reader(found.stated) is not None
