"""Growth, warmth, thickness, hold, ink and time: laws that hold for all values."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scenario import sign_job

import signrules
from signrules import Area, Interval
from signrules.model import Media
from signrules.physics import (
    calibration,
    duration,
    error_budget,
    flatness,
    hold,
    ink,
    measured_dots,
    thermal,
)
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items

sizes = st.floats(1, 2000)
coefficients = st.floats(1, 200)


@given(coefficients, sizes, st.floats(-50, 50))
def test_growth_is_nothing_at_the_point_that_stays_put(expansion, distance, warming):
    alone = Interval.exact(expansion)
    assert thermal.thermal_growth(alone, 0.0, warming).high == 0
    there = thermal.thermal_growth(alone, distance, warming)
    assert thermal.thermal_growth(alone, 2 * distance, warming).high == pytest.approx(
        2 * there.high
    )
    assert thermal.thermal_growth(alone, distance, -warming) == there


@given(st.floats(0, 5), st.integers(0, 200), st.floats(1, 500), st.floats(50, 5000))
def test_warmth_is_that_of_layer_after_layer(each, layers, period, constant):
    warm = 0.0
    for _ in range(layers):
        warm = warm * math.exp(-period / constant) + each
    assert thermal.warmth_of_sheet(0.0, each, layers, period, constant) == pytest.approx(
        warm, abs=1e-9
    )
    half = thermal.warmth_of_sheet(0.0, each, layers // 2, period, constant)
    assert thermal.warmth_of_sheet(
        half, each, layers - layers // 2, period, constant
    ) == pytest.approx(warm, abs=1e-9)
    assert thermal.warmth_of_sheet(0.0, each, layers, 0.0, constant) == pytest.approx(each * layers)


@given(st.floats(0.1, 60), st.floats(0.1, 60), st.floats(50, 5000))
def test_a_sheet_is_cool_enough_when_the_time_is_up(now, allowed, constant):
    wait = thermal.cooling_time(now, allowed, constant)
    assert now * math.exp(-wait / constant) == pytest.approx(min(now, allowed))
    assert thermal.cooling_time(now, 0.0, constant) == math.inf


@given(st.sampled_from(["cast-acrylic", "extruded-acrylic"]), st.floats(0.5, 25))
def test_a_tolerance_is_assumed_only_where_none_is_stated(kind, thickness):
    bare = Media("a", Interval.exact(thickness), (10, 10))
    assert flatness.thickness_of(bare) == bare.thickness
    known = Media("a", Interval.exact(thickness), (10, 10), sheet_type=kind)
    assumed = flatness.thickness_of(known)
    assert assumed.nominal == thickness
    assert assumed.high - thickness == pytest.approx(flatness.thickness_tolerance(kind, thickness))
    assert assumed.low > 0
    measured = Media("a", Interval.between(thickness, thickness + 0.1), (10, 10), sheet_type=kind)
    assert flatness.thickness_of(measured) == measured.thickness


@given(st.floats(0.1, 2), st.floats(0.001, 0.1), st.floats(0, 0.5), st.floats(0, 0.3))
def test_more_height_or_more_shrinkage_never_takes_fewer_layers(height, layer, more, shrinkage):
    count = ink.layers_for(height, layer)
    assert ink.layers_for(height + more, layer) >= count
    assert ink.layers_for(height, layer * (1 - shrinkage)) >= count
    assert count * layer >= height - 1e-5
    assert count == 1 or (count - 1) * layer < height


def test_a_height_below_a_nanometre_still_takes_a_layer():
    assert ink.layers_for(5e-7, 0.01) == 1


@given(st.floats(0.5, 5), st.floats(0.001, 1))
def test_a_flat_dome_holds_half_of_its_cylinder(base, height):
    half = math.pi * (base / 2) ** 2 * height / 2
    assert ink.cap_volume(base, height) >= half
    assert ink.cap_volume(base, base * 1e-4) == pytest.approx(
        math.pi * (base / 2) ** 2 * base * 1e-4 / 2, rel=1e-6
    )
    assert ink.cap_volume(base, ink.cap_limit(base)) == pytest.approx(
        2 / 3 * math.pi * (base / 2) ** 3
    )


@given(st.lists(st.floats(0.1, 1), min_size=2, max_size=8), st.integers(1, 60))
def test_a_layer_comes_back_from_dots(heights, layers):
    found = ink.layer_from_dots(heights, layers)
    assert (found.low, found.high) == pytest.approx((min(heights) / layers, max(heights) / layers))
    assert found.nominal == pytest.approx(sum(heights) / len(heights) / layers)
    assert ink.sample_deviation([0.5, *[0.5] * len(heights)]) == pytest.approx(0)
    assert ink.sample_deviation([0.4, 0.6]) == pytest.approx(math.sqrt(0.02))


@given(sizes, st.floats(0.001, 2), st.floats(0.05, 1), st.floats(0, 0.9))
def test_ink_that_shrinks_goes_on_thicker(area, thickness, coverage, shrinkage):
    dry = ink.ink_volume(area, thickness, coverage)
    assert ink.ink_volume(area, thickness, coverage, shrinkage) * (1 - shrinkage) == pytest.approx(
        dry
    )
    assert dry == pytest.approx(area * thickness * coverage / 1000)


@given(st.lists(st.floats(-1, 1), max_size=6))
def test_the_root_of_squares_is_never_more_than_the_worst_case(terms):
    assert error_budget.root_sum_square(terms) <= error_budget.worst_case(terms) + 1e-12
    assert error_budget.root_sum_square(terms[:1]) == pytest.approx(
        error_budget.worst_case(terms[:1])
    )


def test_distances_from_the_point_that_stays_put():
    sheet = (600.0, 400.0)
    assert error_budget.farthest_distance((0, 0), [Area(0, 0, 600, 400)], sheet) == 600
    assert error_budget.farthest_distance((300, 200), [Area(0, 0, 600, 400)], sheet) == 300
    assert error_budget.farthest_distance((0, 0), [Area(10, 350, 20, 40)], sheet) == 390
    # Nobody said where the sheet is held: any of its points may be the one.
    assert error_budget.farthest_distance(None, [Area(100, 0, 50, 10)], sheet) == 500
    assert error_budget.common_areas([Area(0, 0, 100, 100)], [Area(50, 60, 100, 100)]) == (
        Area(50, 60, 50, 40),
    )
    apart = (Area(0, 0, 10, 10), Area(20, 0, 10, 10))
    assert error_budget.common_areas(apart[:1], apart[1:]) == apart


@given(st.floats(1, 2000), st.floats(1, 100), st.integers(1, 16))
def test_strokes_cover_the_print(height, swath, passes):
    count = duration.stroke_count(height, swath, passes)
    advance = swath / passes
    assert (count - passes + 1) * advance >= height - 1e-4
    assert (count - passes) * advance < height


def test_the_lowest_print_takes_a_stroke():
    assert duration.stroke_count(1e-3, 2000, 1) == 1
    assert duration.stroke_count(1e-7, 10, 4) == 4


def test_one_way_printing_pays_for_its_empty_returns():
    document = sign_job()
    document["printer"] |= {
        "swath": 25.4,
        "swath_passes": 4,
        "carriage_acceleration": "10 m/s2",
        "overrun": 50,
        "carriage_speed": "1 m/s",
    }
    document["media"][0] |= {"size": [600, 400], "at": [0, 0]}
    document["passes"] = [{"id": "ground", "ink": "black", "layers": 2}]
    document["signs"] = []

    def seconds():
        job = signrules.job_from_dict(document)
        return duration.pass_time(job, job.passes[0])

    assert seconds() == pytest.approx(2 * 52.8)
    document["passes"][0]["directions"] = 1
    assert seconds() == pytest.approx(2 * 105.6)
    document["printer"]["return_speed"] = "2 m/s"
    # Back over 700 mm at 2 m/s, and 0.2 s to turn: 0.55 s.
    assert seconds() == pytest.approx(2 * 66 * (0.8 + 0.55))
    del document["printer"]["overrun"]
    assert seconds() is None


def bed_of_signs():
    """Two rows of areas of 20 by 10 mm, the rows 300 mm apart, on a printer of round figures."""
    document = sign_job()
    document["printer"] |= {
        "swath": 10,
        "swath_passes": 1,
        "carriage_acceleration": "10 m/s2",
        "overrun": 0,
        "carriage_speed": "1 m/s",
    }
    document["media"][0] |= {"size": [600, 400], "at": [0, 0]}
    areas = [[x, y, 20, 10] for y in (10, 320) for x in (0, 80)]
    document["passes"] = [{"id": "all", "ink": "black", "areas": areas}]
    document["signs"] = []
    return document


def test_a_stretch_without_ink_is_swept_or_skipped():
    # A stroke over 100 mm takes 0.1 s and 0.1 s for the turn. Swept, 320 mm are 32 strokes of 10
    # mm; skipped, each of the rows is one.
    document = bed_of_signs()

    def seconds():
        job = signrules.job_from_dict(document)
        return duration.layer_time(job, job.passes[0])

    assert seconds() == pytest.approx(32 * 0.2)
    document["printer"]["blank_stretches"] = "skipped"
    assert seconds() == pytest.approx(2 * 0.2)
    # Rows nearer to each other than a swath are printed as one: 24 mm, three strokes.
    for area in document["passes"][0]["areas"][2:]:
        area[1] = 24
    assert seconds() == pytest.approx(3 * 0.2)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 9)), min_size=1), st.integers(1, 9))
def test_stretches_hold_every_area_once_and_lie_more_than_a_swath_apart(spans, swath):
    areas = [Area(0.0, float(low), 5.0, float(height)) for low, height in spans]
    stretches = list(duration.inked_stretches(areas, float(swath)))
    assert sorted((one for some in stretches for one in some), key=id) == sorted(areas, key=id)
    ends = [(min(a.y for a in some), max(a.y + a.height for a in some)) for some in stretches]
    assert all(later[0] - earlier[1] > swath for earlier, later in pairwise(ends))
    for some, (low, high) in zip(stretches, ends, strict=True):
        inked = [any(a.y < y < a.y + a.height for a in some) for y in _halves(low, high)]
        windows = [inked[at : at + 2 * swath + 1] for at in range(len(inked) - 2 * swath)]
        assert all(any(window) for window in windows)


def _halves(low, high):
    return [low + 0.25 + step / 2 for step in range(int(2 * (high - low)))]


@given(st.floats(0.05, 1), st.floats(0, 1000), st.floats(0.01, 10))
def test_what_presses_a_sheet_down_never_lets_it_slip_sooner(friction, pressing, mass):
    held = hold.slip_acceleration(friction, pressing, mass)
    assert held >= hold.slip_acceleration(friction, 0.0, mass)
    assert hold.slip_acceleration(friction, 0.0, mass) == pytest.approx(friction * 9806.65)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: thermal.thermal_growth(Interval.exact(-1), 1, 1),
        lambda: thermal.thermal_growth(Interval.exact(1), -1, 1),
        lambda: thermal.warming_of_layer(-1, 1, 1, 1),
        lambda: thermal.warming_of_layer(1, 1, 0, 1),
        lambda: thermal.cooling_time_constant(0, 1, 1, 1),
        lambda: thermal.warmth_of_sheet(0, 1, -1, 1, 1),
        lambda: thermal.warmth_of_sheet(0, 1, 1, -1, 1),
        lambda: thermal.warmth_of_sheet(0, 1, 1, 1, 0),
        lambda: thermal.warmth_of_sheet(0, 1, 1, 1, -5),
        lambda: thermal.cooling_time(1, 1, 0),
        lambda: flatness.thickness_tolerance("plywood", 3),
        lambda: flatness.thickness_tolerance("cast-acrylic", 0),
        lambda: hold.vacuum_force(-1, 1),
        lambda: hold.friction_force(-0.1, 1, 1),
        lambda: hold.slip_acceleration(0.3, 1, 0),
        lambda: hold.sheet_mass(1, 1, 1, 0),
        lambda: ink.layer_thickness(0, 600, 7),
        lambda: ink.layer_thickness(600, 600, 7, shrinkage=1.5),
        lambda: ink.layers_for(0.8, 0),
        lambda: ink.layers_for(0.8, 5e-324),
        lambda: ink.layer_from_dots([], 1),
        lambda: ink.layer_from_dots([0.7], 0),
        lambda: ink.sample_deviation([0.7]),
        lambda: ink.cap_volume(1.5, 0),
        lambda: ink.cap_limit(0),
        lambda: ink.ink_volume(1, 1, 1, 1),
        lambda: ink.ink_volume(1, 1, 2),
        lambda: ink.ink_mass(-1, 1080),
        lambda: ink.volume_of_drops(1, -1, 4),
        lambda: calibration.gap_from_two_gaps(0.5, -0.1, 0.1),
        lambda: measured_dots.measured_dots([0.7, math.nan]),
        lambda: duration.stroke_count(400, 25.4, 0),
        lambda: duration.stroke_count(0, 25.4, 4),
        lambda: duration.stroke_time(600, -1, 1000, 10_000),
    ],
)
def test_values_out_of_range_are_refused(wrong):
    with pytest.raises(ValueError, match="expected"):
        wrong()


def test_a_printer_that_states_no_times_gives_no_warmth():
    job = signrules.job_from_dict(sign_job())
    timeline = signrules.evaluate(job).timeline
    with pytest.raises(ValueError, match="expected a printer that states"):
        error_budget.estimated_warmths(
            timeline, "panel", error_budget.SheetHeat(1190.0, 1470.0), 100.0, 10.0
        )


def test_an_uncertainty_below_nothing():
    with pytest.raises(ValueError, match="uncertainty: expected at least 0 mm, got -1"):
        calibration.tilt_from_errors(0.1, 0.2, 800.0, 6000.0, uncertainty=-1)


def test_ink_that_is_added_before_anybody_looks():
    heights = Heights(signrules.job_from_dict(sign_job()))
    standing = heights.standing()
    for at in range(3):
        standing.add(at)
    assert standing.build_up("panel", "front") == heights.build_up(
        "panel", "front", frozenset(range(3))
    )


def test_nothing_done_takes_no_steps():
    machine = Machine(Heights(signrules.job_from_dict(sign_job())))
    assert replay_items(machine, (), {}).steps == ()
