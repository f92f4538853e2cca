"""Of orders that cost the same the one nearest to the document, by hand."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.attempts import Attempts
from signrules.planning.order.ties import nearest_to_declared


@pytest.mark.parametrize(
    ("start", "expected"),
    [((1, 2, 0), (0, 2, 1)), ((2, 0, 1), (0, 2, 1)), ((0, 2, 1), (0, 2, 1))],
)
def test_what_is_declared_first_comes_first_where_that_costs_nothing(start, expected):
    """The first and the third pass share a plane, so the second comes before both or after both."""
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {
            "id": f"p{number}",
            "ink": "black",
            "areas": [[10 * number, 0, 9, 9]],
            "registers_to": [],
            "gap": {"extra": extra},
        }
        for number, extra in enumerate((0, 1, 0))
    ]
    attempts = Attempts(Machine(Heights(signrules.job_from_dict(document))))
    best = attempts.of_order(start)
    found = nearest_to_declared(attempts, best, (0, 1, 2))
    assert found.order == expected
    assert found.cost == best.cost
