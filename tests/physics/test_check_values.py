"""Check values by number: each worked by hand or with another program from the formula whose source
stands beside it.

Where no publication is named the value is the formula of elementary physics or geometry, evaluated
outside the library.
"""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from scenario import sign_job

import signrules
from signrules import Interval
from signrules.physics import (
    calibration,
    duration,
    error_budget,
    flatness,
    hold,
    ink,
    thermal,
)
from signrules.physics.flight import Drop, one_way_offset
from signrules.physics.landing import landing_error

PRINTER = signrules.job_from_dict(sign_job()).printer
approx = pytest.approx
PERMILLE = 1e-3

# Two-way printing, elementary kinematics; the same quantities as in US patent 6,629,747. m/s, mm,
# m/s, um, um.
TWO_WAY = {
    "CV-01": (0.5, 1.5, 6, 125.00, 250.00),
    "CV-02": (1.0, 2.0, 7, 285.71, 571.43),
    "CV-03": (1.7, 2.0, 7, 485.71, 971.43),
    "CV-04": (0.3, 1.0, 7, 42.86, 85.71),
    # A feature of 0.8 mm above the plane of the alignment; a spacing that is off by 0.5 mm, as a
    # defensive publication on head spacing allows.
    "CV-05": (1.0, 0.8, 7, 114.29, 228.57),
    "CV-06": (1.0, 0.5, 7, 71.43, 142.86),
}


@pytest.mark.parametrize(
    ("carriage", "throw", "drop", "one_way", "two_way"), TWO_WAY.values(), ids=TWO_WAY
)
def test_offsets_of_two_way_printing(carriage, throw, drop, one_way, two_way):
    assert one_way_offset(carriage * 1e3, throw, drop * 1e3) * 1e3 == approx(one_way, rel=PERMILLE)
    # An alignment at a throw of 0.5 mm, and as much more throw as the row says: twice the offset.
    printer = evolve(PRINTER, base_gap=0.5, carriage_speed=carriage * 1e3, drop_speed=drop * 1e3)
    error = landing_error(printer, Interval.exact(throw), 0.0)
    assert error.nominal * 1e3 == approx(two_way, rel=PERMILLE)


def test_cv_07_a_gap_from_two_gaps():
    # The set-up of US patent 7,445,302; the formula follows from proportionality.
    assert calibration.gap_from_two_gaps(0.5, 0.457142857, 0.6) == approx(1.6, rel=PERMILLE)


def test_how_far_off_drag_puts_a_gap_and_a_tilt():
    # The bounds, in air that moves with the head, of a gap of 2 mm raised by 0.5 mm, and of a tilt
    # of 0.2 mm about it.
    drop = Drop(7, 1050, 6000)
    error = {throw: 2 * 800 * drop.flight_time(throw) for throw in (1.9, 2.0, 2.1, 2.5)}
    assert calibration.gap_from_two_gaps(0.5, error[2.0], error[2.5]) == approx(
        0.79 * 2.0, rel=0.01
    )
    assert calibration.tilt_from_errors(error[1.9], error[2.1], 800, 6000).rise == approx(
        1.43 * 0.2, rel=0.01
    )
    times, _ = calibration.flight_from_sweep([400, 800], [error[2.0] / 2, error[2.0]])
    assert times == approx(drop.flight_time(2.0))


def test_cv_08_flight_time_from_a_sweep_of_speeds():
    # US patent 8,991,960: a straight line through the errors at several speeds.
    errors = [0.20143, 0.37286, 0.60143, 0.88714]
    flight, constant = calibration.flight_from_sweep([300, 600, 1000, 1500], errors)
    assert flight * 1e6 == approx(285.714, rel=PERMILLE)
    assert constant == approx(0.030, rel=PERMILLE)


def test_cv_09_a_drop_that_is_half_a_metre_a_second_slow():
    slow, right = one_way_offset(1000, 2, 6500), one_way_offset(1000, 2, 7000)
    assert (slow - right) * 1e3 == approx(21.98, rel=PERMILLE)


# Stokes' law and Schiller and Naumann (1933), run with a fixed-step integration of the equation of
# motion. pL, m/s, mm; us and m/s with Stokes' law; us and m/s with Schiller and Naumann's bracket.
CV_12 = [
    (7, 6, 2, 368.287, 4.8983, 397.072, 4.2074),
    (12, 7, 3, 468.323, 5.8463, 509.390, 4.9351),
    (20, 7, 2, 297.499, 6.4529, 310.093, 5.9381),
]


@pytest.mark.parametrize(("volume", "speed", "throw", "t_stokes", "v_stokes", "t", "v"), CV_12)
def test_cv_12_flights_with_drag(volume, speed, throw, t_stokes, v_stokes, t, v):
    for factor, time, end in ((0.0, t_stokes, v_stokes), (0.15, t, v)):
        drop = Drop(volume, 1050, speed * 1e3, factor)
        assert drop.flight_time(throw) * 1e6 == approx(time, abs=1e-3)
        assert drop.speed_after(drop.flight_time(throw)) * 1e-3 == approx(end, abs=1e-4)
    stokes = Drop(volume, 1050, speed * 1e3, 0.0)
    # Closed forms under Stokes' law.
    assert stokes.stop_distance == approx(stokes.speed * stokes.relaxation, rel=1e-6)
    closed = -stokes.relaxation * math.log(1 - throw / stokes.stop_distance)
    assert stokes.flight_time(throw) == approx(closed, rel=1e-6)


def test_cv_13_and_14_layer_thickness():
    # dots per inch and inch, over 645.16 mm2: geometry.
    assert ink.layer_thickness(720, 720, 12) * 1e3 == approx(9.642, rel=PERMILLE)
    assert ink.layer_thickness(600, 600, 7) * 1e3 == approx(3.906, rel=PERMILLE)
    others = {
        (600, 900, 12): 10.044,
        (720, 720, 20): 16.07,
        (720, 720, 7): 5.625,
        (1200, 1200, 4): 8.928,
    }
    for numbers, micrometres in others.items():
        assert ink.layer_thickness(*numbers) * 1e3 == approx(micrometres, rel=PERMILLE)


def test_cv_15_ink_of_a_full_page():
    # A Polish page on the cost of ink counts 59364 mm2 x 6728 dots/mm2 x 4 pL as about 1.6 mL.
    assert ink.volume_of_drops(59_364, 6728, 4) == approx(1.598, rel=PERMILLE)


@pytest.mark.parametrize(
    ("shrinkage", "layers"),
    [(0.0, (63, 83, 94, 104)), (0.08, (68, 91, 102, 113)), (0.15, (74, 98, 110, 123))],
)
def test_cv_16_layers_for_a_height(shrinkage, layers):
    layer = ink.layer_thickness(720, 720, 12, shrinkage=shrinkage)
    assert tuple(ink.layers_for(height, layer) for height in (0.6, 0.8, 0.9, 1.0)) == layers


@pytest.mark.parametrize(
    ("base", "height", "volume", "angle"),
    [
        (1.5, 0.60, 0.6432, 77.3),  # CV-17
        (1.6, 0.80, 1.0723, 90.0),  # CV-18
        (1.5, 0.75, 0.8836, 90.0),
        (1.6, 0.90, 1.2865, 96.7),
        (1.44, 0.48, 0.4488, 67.4),
    ],
)
def test_cv_17_and_18_domes(base, height, volume, angle):
    assert ink.cap_volume(base, height) == approx(volume, rel=PERMILLE)
    assert (height > ink.cap_limit(base)) == (angle > 90)


def test_cv_20_and_21_growth_of_acrylic():
    acrylic = Interval.exact(70)
    assert thermal.thermal_growth(acrylic, 600, 10).nominal * 1e3 == approx(420, rel=PERMILLE)
    assert thermal.thermal_growth(acrylic, 300, 5).nominal * 1e3 == approx(105, rel=PERMILLE)
    assert thermal.thermal_growth(Interval.exact(23), 600, 10).nominal * 1e3 == approx(
        138, rel=PERMILLE
    )


def test_cv_22_and_23_warming():
    # Density 1190 kg/m3, heat capacity 1470 J/kgK, heat transfer 10 W/m2K: from memory.
    each = thermal.warming_of_layer(5000, 1190, 1470, 3)
    assert each == approx(0.953, rel=PERMILLE)
    constant = thermal.cooling_time_constant(10, 1190, 1470, 3)
    assert constant == approx(525, rel=PERMILLE)
    assert thermal.warmth_of_sheet(0, each, 10, 53, constant) == approx(6.31, rel=PERMILLE)
    assert thermal.warmth_of_sheet(0, each, 91, 53, constant) == approx(9.92, rel=PERMILLE)
    assert thermal.warming_of_layer(5000, 2700, 900, 3) == approx(0.686, rel=PERMILLE)


def test_cv_24_and_25_thickness_of_acrylic_sheet():
    # ISO 7823-1 (cast) and ISO 7823-2 (extruded), second hand.
    cast = {
        3: (2.3, 3.7),
        5: (4.1, 5.9),
        6: (5.0, 7.0),
        10: (8.6, 11.4),
        12: (10.4, 13.6),
        20: (17.6, 22.4),
    }
    for nominal, (thin, thick) in cast.items():
        by = flatness.thickness_tolerance("cast-acrylic", nominal)
        assert (nominal - by, nominal + by) == approx((thin, thick), rel=PERMILLE)
    for nominal, by in {3: 0.15, 6: 0.30, 2: 0.20}.items():
        assert flatness.thickness_tolerance("extruded-acrylic", nominal) == approx(by, rel=PERMILLE)


def test_cv_27_full_vacuum_on_six_inches_square():
    # A handbook page on vacuum tables gives 540 pounds of force at 15 pounds a square inch.
    newtons = hold.vacuum_force(15 * 6894.757, (6 * 25.4) ** 2)
    assert newtons == approx(2402, rel=PERMILLE)
    assert newtons / 4.448222 == approx(540, rel=PERMILLE)


def test_cv_28_what_holds_a_sheet():
    mass = hold.sheet_mass(600, 400, 3, 1190)
    assert mass == approx(0.857, rel=PERMILLE)
    pressing = hold.vacuum_force(5000, 0.1 * 600 * 400)
    assert pressing + mass * 9.80665 == approx(128.4, rel=PERMILLE)
    assert hold.friction_force(0.3, pressing, mass) == approx(38.5, rel=PERMILLE)
    assert hold.slip_acceleration(0.3, pressing, mass) * 1e-3 == approx(45.0, rel=PERMILLE)
    assert hold.slip_acceleration(0.3, 0, mass) * 1e-3 == approx(2.94, rel=PERMILLE)


def test_cv_31_clearance_at_the_worst_and_by_root_sum_square():
    # A gap of 2 mm nominal, build-up 0.8 mm, cast acrylic of 3 mm + 0.7 mm (ISO 7823-1), bow 0.5
    # mm.
    document = sign_job(standards=[], signs=[])
    document["media"][0] |= {"thickness": "3 mm", "sheet_type": "cast-acrylic", "bow": "0.5 mm"}
    document["inks"][1]["layer"] = "0.1 mm"
    document["passes"] = [{"id": "dots", "ink": "clear", "layers": 8, "gap": {"head_above_bed": 5}}]
    result = signrules.evaluate(signrules.job_from_dict(document))
    (strike,) = [check for check in result.checks if check.rule == "clearance.strike"]
    assert strike.measured.low == approx(0.0, abs=1e-9)
    assert strike.outcome is not signrules.Outcome.MET
    assert 2.0 - 0.8 - error_budget.root_sum_square([0.7, 0.5]) == approx(0.34, abs=1e-3)
    assert 2.0 - 0.8 - error_budget.worst_case([0.7, -0.5]) == approx(0.0, abs=1e-9)


def test_cv_32_and_33_time_of_a_layer():
    assert duration.stroke_count(400, 25.4, 4) == 66
    stroke = duration.stroke_time(600, 50, 1000, 10_000)
    assert stroke == approx(0.80, rel=PERMILLE)
    assert 66 * stroke == approx(52.8, rel=PERMILLE)
    assert duration.stroke_count(400, 54.1, 8) * stroke == approx(53.6, rel=PERMILLE)


def test_cv_34_to_36_volumes_of_ink():
    litre = ink.ink_volume(1e6, 0.010)
    assert (litre, ink.ink_mass(litre, 1080)) == approx((10.0, 10.8), rel=PERMILLE)
    dots = 60 * ink.cap_volume(1.6, 0.8) / 1000
    assert (dots, ink.ink_mass(dots, 1080) * 1e3) == approx((0.0643, 69.5), rel=PERMILLE)
    assert ink.ink_volume(5 * 60, 0.8) == approx(0.240, rel=PERMILLE)


def test_cv_38_tilt():
    found = calibration.tilt_from_errors(0.0, 0.1, 1000, 7000)
    assert found.rise == approx(0.350, rel=PERMILLE)
    assert math.degrees(math.atan(found.rise / 1200)) == approx(0.0167, abs=5e-5)
    # Allowing for drag of 12 pL at 2 mm, air that moves with the head: the speed is that on
    # landing.
    drop = Drop(12, 1050, 7000)
    slow = drop.speed_after(drop.flight_time(2.0))
    assert calibration.tilt_from_errors(0.0, 0.1, 1000, slow).rise == approx(0.280, abs=1e-3)


def test_cv_39_how_level_a_bed_must_be():
    assert calibration.height_tolerance(0.05, 1000, 7000) == approx(0.175, rel=PERMILLE)
    assert calibration.height_tolerance(0.05, 500, 7000) == approx(0.35, rel=PERMILLE)


def test_a_cast_sheet_thinner_than_its_tolerance_still_has_a_thickness():
    # 0.4 mm + 0.1 x 0.4 mm = 0.44 mm either way, ISO 7823-1, second hand; a hundredth of 0.4 mm is
    # left.
    document = sign_job()
    document["media"][0] |= {"thickness": "0.4 mm", "sheet_type": "cast-acrylic"}
    thickness = flatness.thickness_of(signrules.job_from_dict(document).media[0])
    assert (thickness.low, thickness.nominal, thickness.high) == approx((0.004, 0.4, 0.84))


def test_a_share_says_where_it_may_lie():
    assert ink.share_of_one("coverage", 0.0) == 0.0
    with pytest.raises(ValueError, match=r"^coverage: expected a share from 0 to 1, got 1\.5$"):
        ink.share_of_one("coverage", 1.5)
