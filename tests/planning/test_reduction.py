"""From a job to the changeover core: which set-ups may turn out level, by hand."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.plane_runs import order_of_runs
from signrules.planning.order.reduction import reduced_problems, setup_classes


@pytest.mark.parametrize(
    ("higher", "settings", "is_exact"), [(0.005, 1, False), (0.02, 2, True), (1.0, 2, True)]
)
def test_gaps_over_the_build_up_that_never_lie_level_take_a_setting_each(
    higher, settings, is_exact
):
    """Two passes of 0.01 mm, the gap of the second a little higher than that of the first.

    Each lies over nothing or over the 0.01 mm of the other: the first from 5 to 5.01 mm above the
    bed (3 + 1.5 + 0.5), the second as much higher as its gap. By 0.005 mm they may come out level,
    so that one setting alone is sure; from more than 0.01 mm on they never do.
    """
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {
            "id": f"p{number}",
            "ink": "black",
            "areas": [[50 * number, 0, 10, 10]],
            "gap": {"extra": 0.5 + number * higher, "above": "build-up"},
        }
        for number in range(2)
    ]
    problem = reduced_problems(Machine(Heights(signrules.job_from_dict(document))))
    assert (problem.loose is problem.strict) is is_exact
    assert order_of_runs(problem, 1000).settings == settings


@pytest.mark.parametrize(("layers", "is_known"), [(49, True), (51, False)])
def test_without_a_search_a_gap_over_the_build_up_must_clear_all_ink_of_its_neighbours(
    layers, is_known
):
    """Set 1.5 + 1 mm above its own bare sheet, less 1 mm to be clear: 1.5 mm may stand beside it,
    which is fifty layers of 0.03 mm.
    """
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "at": [60 * number, 0]}
        for number, name in enumerate("ab")
    ]
    over = {"extra": 1, "above": "build-up"}
    document["passes"] = [
        {"id": "low", "media": "a", "ink": "black", "gap": over},
        {"id": "tall", "media": "b", "ink": "clear", "layers": layers, "gap": {"extra": 2}},
    ]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    assert (setup_classes(machine) is not None) is is_known
