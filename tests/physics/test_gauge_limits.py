"""How far a gap may be off, against judging the job again with that gap."""

from __future__ import annotations

import copy
import math

import pytest
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import pass_of, sign_job

import signrules
from signrules.physics.gauge_limits import gauge_room

NEAR = 2e-3
"""A dial of 1 um steps sets what is tried."""
RULES = {"clearance.strike", "clearance.margin", "throw.reach", "alignment.landing"}


def job_with(base_gap, extra, max_throw, tolerance, directions):
    """One pass of dots on a sheet, its gap dialled, aligned once at its own throw."""
    job = sign_job(standards=[], signs=[], alignments=[{"extra": extra + 0.05}])
    job["passes"] = [pass_of(job, "dots") | {"gap": {"extra": extra}, "directions": directions}]
    del job["passes"][0]["builds"]
    job["printer"] |= {
        "base_gap": base_gap,
        "max_throw": max_throw,
        "landing_tolerance": tolerance,
        "gap": {"control": "dial", "max": "5 mm", "step": "0.001 mm"},
        "head_work": "2026-01-01",
    }
    job["alignments"][0]["date"] = "2026-02-01"
    job["sequence"] = ["dots"]
    return job


def holds(job, shift):
    """Whether every limit is kept once the gap is set that much higher, the alignment as it was."""
    shifted = copy.deepcopy(job)
    shifted["passes"][0]["gap"]["extra"] = round(job["passes"][0]["gap"]["extra"] + shift, 3)
    result = signrules.evaluate(signrules.job_from_dict(shifted))
    if result.timeline.new_alignments:
        return False
    return not [check for check in result.checks if check.rule in RULES and check.is_violation]


@pytest.mark.thorough
@settings(max_examples=effort(40), deadline=None)
@given(
    base_gap=st.sampled_from([0.8, 1.5, 2.25]),
    extra=st.sampled_from([0.4, 1.0, 1.7, 2.3]),
    max_throw=st.sampled_from([2.0, 3.0, 6.0]),
    tolerance=st.sampled_from([0.03, 0.06, 0.5]),
    directions=st.sampled_from([1, 2]),
)
def test_within_the_room_every_limit_is_kept_and_beyond_it_one_is_passed(
    base_gap, extra, max_throw, tolerance, directions
):
    job = job_with(base_gap, extra, max_throw, tolerance, directions)
    result = signrules.evaluate(signrules.job_from_dict(job))
    room = gauge_room(result.timeline, [0])
    if not holds(job, 0.0):
        assert (room.down, room.up) == (0.0, 0.0)
        return
    for distance, sign in ((room.down, -1), (room.up, 1)):
        inside = max(distance - NEAR, 0.0)
        if extra + sign * (distance + NEAR) < 0:
            # No gap below none can be set: what lies beyond is not to be judged.
            continue
        assert holds(job, sign * inside)
        assert not holds(job, sign * (distance + NEAR))


def test_several_passes_share_the_least_room_of_any():
    result = signrules.evaluate(signrules.job_from_dict(sign_job()))
    alone = [gauge_room(result.timeline, [index]) for index in range(3)]
    together = gauge_room(result.timeline, range(3))
    assert together.down == min(room.down for room in alone)
    assert together.up == min(room.up for room in alone)


def test_what_nothing_limits_has_no_end():
    job = sign_job(standards=[], signs=[])
    job["passes"] = [{"id": "ground", "ink": "black", "directions": 1, "gap": {"extra": 1}}]
    del job["printer"]["max_throw"]
    result = signrules.evaluate(signrules.job_from_dict(job))
    room = gauge_room(result.timeline, [0])
    assert room.up == math.inf
    # A sheet of 3 mm, the head 1.5 + 1 mm above it, 1 mm of clearance, 10 um of ink of its own.
    assert room.down == pytest.approx(2.5 - 1 - 0.01)


@pytest.mark.parametrize(("key", "short"), [("min_clearance", 5e-7), ("max_throw", -5e-7)])
def test_half_a_nanometre_beyond_its_limit_a_plane_has_no_room_and_not_less_than_none(key, short):
    # That counts as on the limit, so that no rule is broken, and there is no room on that side.
    job = job_with(1.5, 1.0, 6.0, 0.5, 1)
    printing = signrules.evaluate(signrules.job_from_dict(job)).timeline.printings[0]
    stated = {"min_clearance": printing.clearance.low, "max_throw": printing.throw.to_lowest.high}
    job["printer"][key] = stated[key] + short
    result = signrules.evaluate(signrules.job_from_dict(job))
    assert not [each for each in result.checks if each.rule in RULES and each.is_violation]
    room = gauge_room(result.timeline, [0])
    side, other = (room.down, room.up) if key == "min_clearance" else (room.up, room.down)
    assert side == 0.0 < other
