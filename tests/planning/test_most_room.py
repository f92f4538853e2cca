"""The most room of open gaps, worked out by hand."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.gaps.most_room import with_most_room
from signrules.planning.gaps.plane_reaches import plane_reaches


def test_all_that_tolerances_take_away_is_given_on_top():
    document = sign_job(standards=[], signs=[])
    document["media"][0] |= {"thickness": "2.8 .. 3 .. 3.3 mm", "bow": "0.4 mm"}
    document["inks"] = [{"id": "clear", "role": "clear", "layer": "28 .. 30 .. 35 um"}]
    document["passes"] = [
        {"id": "tall", "ink": "clear", "layers": 12, "gap": "auto"},
        {"id": "flat", "ink": "clear", "layers": 8, "over": ["tall"], "gap": "auto"},
    ]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    # 0.3 mm of the sheet, 0.4 mm of its bow, 5 um of each of twenty layers, and two guards.
    on_top = 0.3 + 0.4 + 20 * 0.005 + 2e-6
    roomy = with_most_room(machine)
    heights = [item.gap.head_above_bed.nominal for item in roomy.job.passes]
    reaches = plane_reaches(machine)
    expected = [reaches[pass_index][1] + on_top for pass_index in (0, 1)]
    assert heights == pytest.approx(expected, abs=1e-9)
