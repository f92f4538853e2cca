"""Flights against numerical integration of the whole equation of motion, in three kinds of air."""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import sign_job
from scipy.integrate import quad, solve_ivp

import signrules
from signrules import Interval
from signrules.physics.flight import Drop, one_way_offset
from signrules.physics.landing import (
    alignment_window,
    drop_of,
    landing_error,
    moving_air_error,
    still_air_error,
)

PRINTER = signrules.job_from_dict(sign_job()).printer

# Air at 20 degrees C: from memory. Restated here, so that the integration shares no number with the
# library.
VISCOSITY, AIR, GRAVITY = 1.81e-5, 1.204, 9.80665


def flown(volume, density, speed, throw, carriage, air, gravity=0.0):
    """Time in s and place in mm at which a drop lands: an integration of both coordinates until the
    throw is reached.

    Drag after Schiller and Naumann (1933) on the velocity relative to air that rests, moves with
    the head, or runs from one to the other in a straight line (Couette). Inside in metres.
    """
    diameter = (6 * volume * 1e-15 / math.pi) ** (1 / 3)
    tau = density * diameter**2 / (18 * VISCOSITY)
    gap, vc = throw * 1e-3, carriage * 1e-3

    def rates(t, y):
        wind = {"still": 0.0, "head": vc, "couette": vc * (1 - min(max(y[1] / gap, 0), 1))}[air]
        rx, rz = y[2] - wind, y[3]
        factor = (1 + 0.15 * (AIR * math.hypot(rx, rz) * diameter / VISCOSITY) ** 0.687) / tau
        return [y[2], y[3], -factor * rx, -factor * rz + gravity * (1 - AIR / density)]

    def landed(t, y):
        return y[1] - gap

    landed.terminal = True
    found = solve_ivp(
        rates, (0, 0.2), [0, 0, vc, speed * 1e-3], events=landed, rtol=1e-10, atol=1e-14
    )
    assert found.status == 1, "the drop never lands"
    return found.t_events[0][0], found.y_events[0][0][0] * 1e3


# Time over time at constant speed, from a fixed-step integration with gravity: pL, m/s, mm, ratio.
RATIOS = [
    (7, 4, 1, 1.120),
    (7, 6, 2, 1.191),
    (7, 6, 4, 1.498),
    (12, 6, 3, 1.215),
    (20, 8, 4, 1.169),
    (7, 4, 4, 1.907),
]


@pytest.mark.parametrize(("volume", "speed", "throw", "ratio"), RATIOS)
def test_how_much_longer_a_drop_flies_than_at_constant_speed(volume, speed, throw, ratio):
    drop = Drop(volume, 1050, speed * 1e3)
    # Gravity shortens the slowest of these flights by less than 1 %.
    assert drop.flight_time(throw) * speed * 1e3 / throw == pytest.approx(ratio, rel=0.01)
    time, _ = flown(volume, 1050, speed * 1e3, throw, 0.0, "still", GRAVITY)
    assert time * speed * 1e3 / throw == pytest.approx(ratio, rel=1e-3)


STOPS = {
    1: (1.66, 2.37, 3.03, 3.66),
    7: (5.59, 7.83, 9.87, 11.76),
    30: (13.57, 18.72, 23.31, 27.48),
}


@pytest.mark.parametrize("volume", STOPS)
def test_where_drops_stop(volume):
    # The same fixed-step integration, run until the drop stands.
    for speed, stop in zip((4, 6, 8, 10), STOPS[volume], strict=True):
        assert Drop(volume, 1050, speed * 1e3).stop_distance == pytest.approx(stop, abs=6e-3)


drops = st.builds(
    Drop,
    volume=st.floats(2, 60),
    density=st.floats(900, 1200),
    speed=st.floats(3000, 12_000),
    drag_factor=st.sampled_from([0.0, 0.15]),
)


@settings(max_examples=effort(40))
@given(
    st.floats(3, 40),
    st.floats(950, 1150),
    st.floats(4000, 10_000),
    st.floats(0.2, 0.7),
    st.floats(300, 1700),
)
def test_landing_equals_the_integrated_flight(volume, density, speed, share, carriage):
    drop = Drop(volume, density, speed)
    throw = share * drop.stop_distance
    time, still = flown(volume, density, speed, throw, carriage, "still")
    assert still == pytest.approx(one_way_offset(carriage, throw, speed), rel=1e-6)
    time, moving = flown(volume, density, speed, throw, carriage, "head")
    assert drop.flight_time(throw) == pytest.approx(time, rel=1e-6)
    assert carriage * drop.flight_time(throw) == pytest.approx(moving, rel=1e-6)
    _, between = flown(volume, density, speed, throw, carriage, "couette")
    assert still - 1e-6 <= between <= moving + 1e-6


@settings(max_examples=effort(100))
@given(drops, st.floats(0.01, 0.9), st.floats(0.01, 0.9))
def test_a_drop_slows_down_all_the_way(drop, a, b):
    near, far = sorted((a * drop.stop_distance, b * drop.stop_distance))
    first, second = drop.flight_time(near), drop.flight_time(far)
    assert first > near / drop.speed
    if far > near * 1.001:
        assert second > first
        assert second / far > first / near  # convex: longer throws take more than their share
    assert drop.distance_after(second) == pytest.approx(far, rel=1e-9)
    assert drop.flight_time(near * 1e-6) * drop.speed / (near * 1e-6) == pytest.approx(1, abs=1e-4)
    # To the last digits: two throws that differ by one of them may give speeds that do.
    assert drop.speed_after(second) * (1 - 1e-12) <= drop.speed_after(first) <= drop.speed


@given(st.floats(1, 8))
def test_a_heavy_drop_hardly_slows(throw):
    ratios = [
        Drop(volume, 1050, 6000).flight_time(throw) * 6000 / throw for volume in (10, 1e3, 1e5, 1e7)
    ]
    assert ratios == sorted(ratios, reverse=True)
    assert ratios[-1] == pytest.approx(1, abs=1e-3)


DRAG = evolve(PRINTER, drop_volume=7.0, drop_density=1050.0)
extras = st.floats(-0.5, 2).map(lambda value: round(value, 3))


@given(extras, st.floats(0, 0.3), extras)
def test_landing_errors_lie_between_the_two_kinds_of_air(extra, spread, aligned):
    extra = Interval.between(extra, extra + spread)
    still, moving = still_air_error(DRAG, extra, aligned), moving_air_error(DRAG, extra, aligned)
    found = landing_error(DRAG, extra, aligned)
    assert (found.low, found.nominal) == (still.low, still.nominal)
    assert found.high == pytest.approx(max(still.high, moving))
    assert moving >= still.high * (1 - 1e-9) - 1e-9
    assert landing_error(PRINTER, extra, aligned) == still


def test_the_moving_end_is_twice_the_difference_of_the_integrated_flights():
    # The throw falls from 2.0 to 1.2 mm at 1 m/s: 267 um in still air, 352 um in air that moves
    # with the head.
    fast = evolve(DRAG, carriage_speed=1000.0, base_gap=Interval.exact(0.0))
    found = landing_error(fast, Interval.exact(1.2), 2.0)
    assert found.low * 1e3 == pytest.approx(267, abs=0.5)
    assert found.high * 1e3 == pytest.approx(352, abs=0.7)
    times = [flown(7, 1050, 6000, throw, 1000, "head")[0] for throw in (1.2, 2.0)]
    assert found.high == pytest.approx(2 * 1000 * (times[1] - times[0]), rel=1e-6)


@given(extras, st.floats(0, 0.1), st.floats(0.01, 0.3), st.sampled_from([PRINTER, DRAG]))
def test_a_window_holds_exactly_the_alignments_that_serve(extra, spread, tolerance, printer):
    printer = evolve(printer, base_gap=Interval.between(1.4, 1.6))
    extra = Interval.between(extra, extra + spread)
    found = alignment_window(printer, extra, tolerance)
    if not found.certain:
        middle = (extra.low + extra.high) / 2
        assert landing_error(printer, extra, middle).high > tolerance * (1 - 1e-6) - 1e-6
        return
    for alignment in (found.low, (found.low + found.high) / 2, found.high):
        assert landing_error(printer, extra, alignment).high <= tolerance + 1e-6
    for alignment in (found.low - 1e-3, found.high + 1e-3):
        assert landing_error(printer, extra, alignment).high > tolerance


def test_a_head_below_the_highest_ink_takes_time_back_at_the_start_speed():
    """Both gaps lie below the surface, at -0.5 and -0.2 mm: twice 800 mm/s times 0.3 mm / 6 m/s is
    80 um.
    """
    low = evolve(DRAG, base_gap=Interval.exact(0.0))
    assert moving_air_error(low, Interval.exact(-0.5), -0.2) == pytest.approx(0.08, rel=1e-12)
    assert moving_air_error(low, Interval.exact(-0.5), 0.0) == pytest.approx(
        2 * 800 * 0.5 / 6000, rel=1e-12
    )


def test_a_throw_that_reaches_both_sides_of_its_alignment_may_land_without_error():
    """From 0.3 mm less to 0.1 mm more than the alignment: at the worst twice 800 mm/s times 0.3 mm
    / 6 m/s.
    """
    found = still_air_error(PRINTER, Interval.between(0.2, 0.6), 0.5)
    assert (found.low, found.high) == (0.0, pytest.approx(0.08))


def test_beyond_the_stop_distance_the_error_is_large_and_still_a_number():
    stop = drop_of(DRAG).stop_distance
    found = landing_error(DRAG, Interval.exact(stop + 5), 0.0)
    assert 100 < found.high < math.inf
    assert alignment_window(DRAG, Interval.between(stop, stop + 1), 0.06).certain is False


@pytest.mark.parametrize(("volume", "speed"), [(1, 10_000), (7, 6000), (30, 4000), (14, 5e5)])
def test_no_drop_reaches_the_distance_at_which_air_has_stopped_it(volume, speed):
    # It comes nearer for ever and never lands: no number of seconds would be true.
    drop = Drop(volume, 1050, speed)
    with pytest.raises(ValueError, match="expected less than the stop distance"):
        drop.flight_time(drop.stop_distance)


def test_constant_speed_stays_exact():
    found = alignment_window(PRINTER, Interval.exact(0.7), 0.06)
    assert (found.low, found.high) == pytest.approx((0.7 - 0.225, 0.7 + 0.225))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Drop(0, 1050, 6000),
        lambda: Drop(7, -1, 6000),
        lambda: Drop(7, 1050, math.inf),
        lambda: Drop(7, 1050, 6000, drag_factor=-1),
        lambda: Drop(7, 1050, 6000, drag_factor=math.nan),
        lambda: Drop(7, 1050, 6000).flight_time(8),
        lambda: Drop(7, 1050, 6000).flight_time(-0.1),
        lambda: Drop(7, 1050, 6000).distance_after(-1),
        lambda: one_way_offset(1, 1, 0),
        lambda: one_way_offset(-1, 1, 1),
    ],
)
def test_values_out_of_range_are_refused(wrong):
    with pytest.raises(ValueError, match="expected"):
        wrong()


@pytest.mark.parametrize("speed", [6000, 50_000, 500_000])
@pytest.mark.parametrize("share", [0.5, 0.99, 0.9999])
def test_a_fast_drop_is_followed_until_it_has_nearly_stopped(speed, share):
    # Speeds that no head reaches, but that a job may state: drag then acts at once.
    drop = Drop(volume=14, density=1050, speed=speed)
    # Independent: how far it flies is an integral over the speeds it has had, du / (-du/dt).
    whole = drop.relaxation * quad(lambda left: 1 / slowing(drop, left), 0, speed)[0]
    assert drop.stop_distance == pytest.approx(whole, rel=1e-7)
    time = drop.flight_time(share * drop.stop_distance)
    assert drop.distance_after(time) == pytest.approx(share * drop.stop_distance, rel=1e-9)


def slowing(drop, speed):
    """By how much drag exceeds Stokes' law at a speed in mm/s (Schiller and Naumann, 1933)."""
    return 1 + 0.15 * (drop.reynolds * speed / drop.speed) ** 0.687


def test_a_printer_with_drops_faster_than_any_is_planned():
    document = sign_job()
    document["printer"] |= {
        "drop_speed": "500 m/s",
        "drop_volume": "14 pL",
        "drop_density": "1050 kg/m3",
    }
    assert signrules.evaluate(signrules.job_from_dict(document)).order
