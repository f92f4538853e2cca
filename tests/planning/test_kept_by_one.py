"""Gaps over the build-up that at most one of two sheets can keep, by hand."""

from __future__ import annotations

from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.gaps.kept_planes import kept_by_one
from signrules.planning.order.bounds import Head, LeastLeft
from signrules.planning.planner import plan_job


def machine_of(colour_layers, varnish_layers, thickness=3):
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["media"] = [
        {"id": name, "thickness": thickness, "size": [50, 50], "at": [60 * number, 0]}
        for number, name in enumerate("ab")
    ]
    gap = {"extra": 1, "above": "build-up"}
    document["passes"] = [
        {"id": f"{what}-{name}", "ink": ink, "layers": layers, "media": name, "gap": gap}
        for what, ink, layers in (
            ("colour", "black", colour_layers),
            ("varnish", "clear", varnish_layers),
        )
        for name in "ab"
    ]
    for item in document["passes"][2:]:
        item["over"] = [f"colour-{item['media']}"]
    return Machine(Heights(signrules.job_from_dict(document)))


def groups(colour_layers, varnish_layers):
    machine = machine_of(colour_layers, varnish_layers)
    everything = frozenset(range(len(machine.items)))
    return [group.members for group in kept_by_one(machine, everything)]


def test_where_the_varnish_of_one_sheet_bars_the_colour_of_the_other_one_of_them_is_set_again():
    # The head of a colour runs 1.5 + 1 mm above a bare sheet, and 1 mm must be clear: 0.8 + 1.2 mm
    # of the other sheet are in its way, and 0.2 + 1.2 mm are not. The head of a varnish runs above
    # the colour of its own sheet, and always clears.
    assert groups(80, 40) == [frozenset({2, 3})]
    assert groups(20, 40) == []


def test_one_varnish_of_two_that_might_be_kept_is_set_again():
    # 1.5 + 1 mm above its sheet the head clears 0.5 + 0.78 mm of its own ink by 1.22 mm, so that a
    # varnish may keep the plane of its colour. Above a neighbour that is 0.2 mm thicker than meant,
    # while its own sheet is 0.2 mm thinner, it is 0.82 mm: a colour comes before both varnishes.
    machine = machine_of(50, 26, thickness="2.8 .. 3 .. 3.2 mm")
    least, plan = LeastLeft(machine, range(4)), plan_job(machine).plan
    # A load of 4 minutes; 2 minutes for the colours, and 2 for a varnish over 0.5 mm of colour.
    assert least.of_everything() == plan.cost == (1, 8)
    # Over thinner ink no neighbour is in the way: one plane for all.
    machine = machine_of(20, 26, thickness="2.8 .. 3 .. 3.2 mm")
    least, plan = LeastLeft(machine, range(4)), plan_job(machine).plan
    assert least.of_everything() == plan.cost == (1, 6)


def test_where_one_varnish_is_left_it_may_be_the_one_that_keeps_its_plane():
    # Right after its own colour it costs its load of 4 minutes alone.
    machine = machine_of(50, 26, thickness="2.8 .. 3 .. 3.2 mm")
    after_colour = Head(5.5, machine.may_keep_after(3))
    left = 1 << 3
    assert LeastLeft(machine, range(4)).cost(left, 0, 0, None, after_colour, frozenset()) == (1, 4)
