"""Of orders that cost the same the one nearest to the document, by hand."""

from __future__ import annotations

import pytest
from planning.passes_at_extras import machine_of

from signrules.planning.order.attempts import Attempts
from signrules.planning.order.ties import nearest_to_declared


@pytest.mark.parametrize(
    ("start", "expected"),
    [((1, 2, 0), (0, 2, 1)), ((2, 0, 1), (0, 2, 1)), ((0, 2, 1), (0, 2, 1))],
)
def test_what_is_declared_first_comes_first_where_that_costs_nothing(start, expected):
    """The first and the third pass share a plane, so the second comes before both or after both."""
    attempts = Attempts(machine_of((0, 1, 0)))
    best = attempts.of_order(start)
    found = nearest_to_declared(attempts, best, (0, 1, 2))
    assert found.order == expected
    assert found.cost == best.cost
