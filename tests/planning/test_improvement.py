"""Small changes that make an order cheaper, by hand."""

from __future__ import annotations

from planning.passes_at_extras import machine_of

from signrules.planning.order.attempts import Attempts
from signrules.planning.order.improvement import improved_order

ENOUGH = 10_000


def test_runs_are_joined_until_each_plane_is_set_once():
    """Six runs of two planes: a change joins two runs with one, which saves two settings, or one at
    an end; two settings are left, and no change saves one of those.
    """
    attempts = Attempts(machine_of((0, 1, 0, 1, 0, 1)))
    start = attempts.of_order(tuple(range(6)))
    assert start.timeline.gap_settings == 6
    found = improved_order(attempts, start, (0, 0.0), ENOUGH)
    assert found.timeline.gap_settings == 2
    assert sorted(found.order) == list(range(6))


def test_an_order_that_costs_as_little_as_any_is_left_as_it_is():
    """Two planes take two settings of 2 minutes and a load of 4; nothing is tried."""
    attempts = Attempts(machine_of((0, 1)))
    start = attempts.of_order((0, 1))
    states = attempts.states
    assert start.cost == (1, 8)
    assert improved_order(attempts, start, (1, 8.0), ENOUGH) is start
    assert attempts.states == states


def test_a_pass_leaves_its_run_alone_where_the_pause_beside_it_must_stay():
    """Planes low, high, low, high: the second low pass waits for the pause, and the second high one
    for that. So only the first high pass can move, to the other one, and then each plane is set
    once.
    """
    machine = machine_of((0, 1, 0, 1), {2: ["wait"], 3: ["p2"]}, [{"id": "wait", "does": "pause"}])
    attempts = Attempts(machine)
    start = attempts.of_order((0, 1, 4, 2, 3))
    assert start.timeline.gap_settings == 4
    found = improved_order(attempts, start, (0, 0.0), ENOUGH)
    assert found.timeline.gap_settings == 2
    assert found.order.index(4) < found.order.index(2)
