"""Gaps over the build-up that at most one of two sheets can keep, by hand."""

from __future__ import annotations

from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.gaps.kept_planes import kept_by_one


def groups(colour_layers, varnish_layers):
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "at": [60 * number, 0]}
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
    machine = Machine(Heights(signrules.job_from_dict(document)))
    everything = frozenset(range(len(machine.items)))
    return [group.members for group in kept_by_one(machine, everything)]


def test_where_the_varnish_of_one_sheet_bars_the_colour_of_the_other_one_of_them_is_set_again():
    # The head of a colour runs 1.5 + 1 mm above a bare sheet, and 1 mm must be clear: 0.8 + 1.2 mm
    # of the other sheet are in its way, and 0.2 + 1.2 mm are not. The head of a varnish runs above
    # the colour of its own sheet, and always clears.
    assert groups(80, 40) == [frozenset({2, 3})]
    assert groups(20, 40) == []
