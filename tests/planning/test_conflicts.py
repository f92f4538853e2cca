"""Conflicts are smallest: leave any one member out and there is an order."""

from __future__ import annotations

from effort import effort
from hypothesis import given, settings
from reference import BruteForce
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.conflict.conflict_words import NOT_SMALLEST, _what_is_against
from signrules.planning.conflict.finding import conflict_of_many
from signrules.planning.order.facing import front_up
from signrules.planning.order.step_search import StepSearch
from signrules.planning.planner import plan_job


def has_none(found):
    """Whether a search has ruled every order out."""
    return found.ended and found.order is None


@settings(max_examples=effort(100))
@given(jobs(stated_gaps_only=True, max_passes=5, signs=False, sides=("front", "back")))
def test_a_conflict_is_proven_and_minimal(job):
    machine = Machine(Heights(job))
    outcome = plan_job(machine)
    if outcome.conflict is None:
        return
    assert BruteForce(job).run() is None
    assert outcome.conflict.proven
    assert len(outcome.conflict.reasons) == len(outcome.conflict.subjects)
    members = [machine.index[path.partition(".")[2]] for path in outcome.conflict.subjects]
    core, seen = sum(1 << at for at in members), front_up(machine)
    assert has_none(StepSearch(seen, core).any_order(100_000))
    for at in members:
        if machine.flips(at) is None:
            assert StepSearch(seen, core & ~(1 << at)).any_order(100_000).order is not None


def test_two_sheets_of_which_each_needs_the_other_bare():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": name, "thickness": 3, "size": [50, 50], "at": [x, 0], "hold": "vacuum"}
        for name, x in [("a", 0), ("b", 60)]
    ]
    document["passes"] = [
        {
            "id": f"{kind}-{name}",
            "ink": ink,
            "media": name,
            "layers": layers,
            "gap": {"extra": 0},
            "after": after,
        }
        for name in "ab"
        for kind, ink, layers, after in [
            ("dots", "clear", 16, []),
            ("colour", "black", 4, [f"dots-{name}"]),
        ]
    ]
    # Each colour follows dots of 0.48 mm on its own sheet at the plain gap: hopeless for each sheet
    # by itself.
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert result.conflict.subjects == ("passes.dots-a", "passes.colour-a")
    # With colour over the dots from the build-up there is an order.
    for name in "ab":
        pass_of(document, f"colour-{name}")["gap"] = {"extra": 0.5, "above": "build-up"}
    assert signrules.evaluate(signrules.job_from_dict(document)).ok


def test_a_search_that_gives_up_says_so():
    """Over 1.17 mm of dots and on the sheet beside them: 2.18 mm to clear, 2.2 mm of reach, and no
    gap in between.

    Only a search can rule that out: a gap of 2.19 mm would do.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"]["max_throw"] = 2.2
    document["passes"] = [
        {"id": "dots", "ink": "clear", "layers": 39, "areas": [[0, 0, 50, 50]], "gap": "auto"},
        {
            "id": "wide",
            "ink": "black",
            "areas": [[0, 0, 150, 50]],
            "gap": "auto",
            "after": ["dots"],
        },
    ]
    job = signrules.job_from_dict(document)
    result = signrules.evaluate(job, budget=1)
    assert result.plan is None
    assert not result.conflict.proven
    assert not result.ok
    states = plan_job(Machine(Heights(job)), 1).states
    assert f"after {states} states not every order was ruled out" in result.conflict.message
    assert signrules.evaluate(job).conflict.proven


def test_a_pass_that_helps_another_one_is_no_part_of_its_conflict():
    """A build-up lifts a gap that is set from it, so the first sweep cannot leave it out; a second
    one can.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"] |= {"base_gap": 0.75, "min_clearance": 0.5}
    document["inks"].append({"id": "thick", "layer": "10 um"})
    document["passes"] = [
        {
            "id": "p0",
            "ink": "clear",
            "layers": 10,
            "areas": [[0, 0, 50, 50]],
            "gap": {"extra": 1, "above": "build-up"},
        },
        {
            "id": "p1",
            "ink": "thick",
            "layers": 40,
            "areas": [[50, 50, 50, 50]],
            "gap": {"extra": 0, "above": "build-up"},
        },
        {
            "id": "p2",
            "ink": "thick",
            "layers": 20,
            "areas": [[50, 50, 50, 50]],
            "gap": {"extra": 0, "above": "media"},
        },
    ]
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert result.conflict.subjects == ("passes.p1",)


def in_a_row(count, **fields):
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": f"p{n}", "ink": "black", "gap": {"extra": 0}, **fields} for n in range(count)
    ]
    return Machine(Heights(signrules.job_from_dict(document)))


def test_of_very_many_that_are_stuck_all_are_the_conflict():
    found = conflict_of_many(in_a_row(3), [0, 1, 2], 2)
    assert found.subjects == ("passes.p0", "passes.p1", "passes.p2")
    assert (
        found.message
        == "No safe order: none of 3 passes, the first of which is p0, can be printed last."
    )


def test_of_very_many_that_are_stuck_it_is_proven():
    assert conflict_of_many(in_a_row(3), [0, 1, 2], 2).proven


def test_a_pass_against_which_nothing_stands_by_itself():
    # No edge, strike, side or registration: only what the others need then is in the way.
    assert _what_is_against(in_a_row(2, registers_to=[]), [0, 1], 0) == (
        "p0 can only come after the others, which leaves one of them no place."
    )


def test_that_there_is_no_order_is_proven_also_where_the_fewest_are_not_known():
    """Two passes of 0.36 mm on each other under 1.5 mm of head, 1 mm to be left: that needs no
    search.

    A flip is about, so only the search can say which of the items are needed for that.
    """
    document = sign_job(standards=[], signs=[])
    tall = {"ink": "clear", "layers": 12, "gap": {"extra": 0}}
    document["passes"] = [
        {"id": "one", **tall},
        {"id": "two", **tall},
        {"id": "back", "ink": "black", "side": "back"},
    ]
    document["passes"][2] |= {"gap": {"extra": 4}, "registers_to": []}
    document["handling"] = [{"id": "over", "does": "flip"}]
    job = signrules.job_from_dict(document)
    few, many = (signrules.evaluate(job, budget=states).conflict for states in (0, 10_000))
    assert few.subjects == ("passes.one", "passes.two", "passes.back", "handling.over")
    assert many.subjects == ("passes.one", "passes.two")
    assert few.proven
    assert many.proven
    assert (few.smallest, many.smallest) == (False, True)
    assert NOT_SMALLEST in few.message
    assert NOT_SMALLEST not in many.message


def test_a_throw_that_leaves_no_room_over_a_thicker_sheet_names_both():
    """Over a sheet of 3 mm the head stands at most 2.5 mm high, and the one beside it is 6 mm."""
    document = sign_job(standards=[], signs=[])
    thin = document["media"][0] | {"id": "thin", "thickness": 3, "size": [100, 100], "at": [0, 0]}
    document["media"] = [thin, {**thin, "id": "thick", "thickness": 6, "at": [120, 0]}]
    document["printer"].update(
        base_gap=1, min_clearance=0.5, max_throw=2.5, gap={"control": "dial", "max": 9, "step": 0.5}
    )
    document["passes"] = [{"id": "ground", "ink": "black", "media": "thin", "gap": "auto"}]
    message = signrules.evaluate(signrules.job_from_dict(document)).conflict.message
    # 3 + 2.5 mm is the highest that the head may stand, half a millimetre below the thick sheet.
    assert "no gap that the printer can set within the throw of 2.5 mm if it is printed" in message
    assert "the head would hit thick by 0.5 mm" in message
    del document["printer"]["max_throw"]
    assert signrules.evaluate(signrules.job_from_dict(document)).conflict is None
