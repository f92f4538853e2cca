"""What comes out where the planner is allowed less than it would like: never less than sound, and
honest about it.
"""

from __future__ import annotations

from effort import effort
from hypothesis import given, settings
from scenario import sign_job
from strategies import jobs

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.order.peeling import peel_from_end
from signrules.planning.order.reduction import setup_classes
from signrules.planning.order.step_search import StepSearch


def unsafe(machine, order, gaps):
    timeline = replay_items(machine, order, gaps)
    least = machine.job.printer.min_clearance
    return [
        at
        for at in order
        if machine.is_pass(at) and timeline.printings[at].clearance.low < least - 1e-6
    ]


@settings(max_examples=effort(60))
@given(jobs(max_passes=4, signs=False, handling=False, loads=1))
def test_gaps_for_an_order_within_a_small_budget(job):
    machine = Machine(Heights(job))
    order = machine.declared_order()
    found, best = cheapest_gaps(machine, order, ways=0), cheapest_gaps(machine, order)
    assert found.keys() == best.keys()
    assert len(unsafe(machine, order, found)) == len(unsafe(machine, order, best))


def test_the_next_load_may_go_on_with_the_gap_of_the_last():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "at": [0, 0], "hold": "vacuum", "load": name}
        for name in "ab"
    ]
    document["passes"] = [
        {"id": f"{name}{extra}", "ink": "black", "media": name, "gap": {"extra": extra}}
        for name in "ab"
        for extra in (0, 1)
    ]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    kinds = setup_classes(machine)
    peeled = peel_from_end(machine, kinds.classes, kinds.watched)
    assert sorted(peeled.order) == [0, 1, 2, 3]
    timeline = replay_items(machine, peeled.order, {})
    assert (timeline.gap_settings, timeline.loads) == (3, 2)


def test_gaps_from_the_bed_on_both_sides_of_a_sheet_need_no_search():
    """A plane from the bed is the same on either side: two gaps, of which the one set last on the
    front is kept.
    """
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    sides = ["front"] * 16 + ["back"] * 2
    document["passes"] = [
        {
            "id": f"p{n}",
            "ink": "black",
            "side": side,
            "areas": [[0, 10 * (n % 16), 9, 9]],
            "registers_to": [],
            "gap": {"head_above_bed": 5 + n % 2 / 2},
        }
        for n, side in enumerate(sides)
    ]
    document["handling"] = [{"id": "flip", "does": "flip", "media": "panel", "locates_by": "pins"}]
    plan = signrules.evaluate(signrules.job_from_dict(document), budget=50).plan
    assert plan.optimal
    assert plan.timeline.gap_settings == 3


def test_a_search_for_any_order_goes_straight_to_one():
    """Two chains of four passes, none in the way of another: two may come next until one chain is
    done, seven times at the most, and then one. To find the cheapest, more is looked at.
    """
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {
            "id": f"p{n}",
            "ink": "black",
            "areas": [[10 * n, 0, 9, 9]],
            "gap": {"extra": (0, 0.5, 1)[n % 3]},
            "after": [f"p{n - 2}"] if n >= 2 else [],
        }
        for n in range(8)
    ]
    search = StepSearch(Machine(Heights(signrules.job_from_dict(document))))
    found = search.any_order(10_000)
    assert sorted(found.order) == list(range(8))
    assert found.states == 2 * 7 + 1 < search.cheapest(10_000).states
