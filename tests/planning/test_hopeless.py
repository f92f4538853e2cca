"""Jobs with no safe order, also longer ones with open gaps: small conflicts whose members cannot
live together.
"""

from __future__ import annotations

import pytest
from effort import effort
from hypothesis import assume, given, settings
from scenario import sign_job
from strategies import jobs

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, Precedence
from signrules.physics.replaying import replay_items
from signrules.planning import pipeline, planner
from signrules.planning.audit import audit
from signrules.planning.gaps.cheapest import cheapest_gaps
from signrules.planning.order.step_search import StepSearch


def document_of(*passes, **changes):
    """A sheet of 3 mm, thin ink of 0.01 mm and thick of 0.03 mm a layer, 1.5 mm base gap, 1 mm to
    clear.
    """
    document = sign_job(standards=[], signs=[], **changes)
    del document["printer"]["landing_tolerance"]
    document["printer"]["gap"] = {"control": "spacers", "spacers": [0.5]}
    document["inks"] = [{"id": "thin", "layer": 0.01}, {"id": "thick", "layer": 0.03}]
    document["passes"] = list(passes)
    return document


def machine_of(document, *extra):
    return Machine(Heights(signrules.job_from_dict(document)), extra)


def stand_alone(machine, conflict):
    """Whether the members of a conflict have no order, and one without any single one;
    flips stay.
    """
    members = [machine.index[name.partition(".")[2]] for name in conflict.subjects]
    core = sum(1 << at for at in members)
    fewer = [core ^ 1 << at for at in members if machine.flips(at) is None]
    alone = (StepSearch(machine, some).any_order(20_000) for some in fewer if some)
    return has_none(machine, core) and all(found.order is not None for found in alone)


def has_none(machine, items):
    """Whether a search has ruled out every order of some items."""
    found = StepSearch(machine, items).any_order(20_000)
    return found.ended and found.order is None


def core_without_search(machine):
    """The conflict that a job has with the most room that open gaps can have; None where that
    leaves it an order.
    """
    stages = pipeline.Pipeline(machine, [], 20_000)
    stages._look_for_too_little_room()
    return stages.deadlock


@settings(max_examples=effort(150))
@given(jobs(max_passes=5, signs=False))
def test_what_a_conflict_names_cannot_live_together(job):
    machine = Machine(Heights(job))
    assume(any(item.gap is None for item in job.passes))
    core = core_without_search(machine)
    if core is not None:
        assert has_none(machine, core.items)
        assert has_none(machine, None)


@pytest.mark.parametrize("gap", ["auto", {"extra": 0.5, "above": "media"}])
def test_ink_on_the_front_that_lifts_the_sheet_belongs_to_the_conflict(gap):
    """0.72 mm on the front lift the back to 0.77 mm under the head; alone the back has
    room enough.
    """
    document = document_of(
        {
            "id": "front",
            "ink": "thick",
            "layers": 24,
            "gap": gap,
            "areas": [[0, 0, 4, 10]],
            "registers_to": [],
        },
        {"id": "back", "ink": "thin", "side": "back", "gap": {"extra": 0}, "registers_to": []},
        handling=[{"id": "flip", "does": "flip", "media": "panel", "locates_by": "pins"}],
    )
    machine = machine_of(document)
    conflict = planner.plan_job(machine).conflict
    assert set(conflict.subjects) == {"passes.front", "passes.back", "handling.flip"}
    assert stand_alone(machine, conflict)
    assert "nothing turns the sheet over" not in conflict.message


def test_a_partner_on_the_other_side_of_a_reload_belongs_to_the_conflict():
    """b registers with a, which comes before the reload; c comes after it, and cannot clear b."""
    document = document_of(
        {"id": "a", "ink": "thin", "gap": "auto", "registers_to": []},
        {"id": "b", "ink": "thick", "layers": 30, "gap": "auto", "registers_to": ["a"]},
        {"id": "c", "ink": "thin", "gap": {"extra": 0}, "after": ["h"], "registers_to": []},
        handling=[{"id": "h", "does": "reload", "media": "panel", "after": ["a"]}],
    )
    machine = machine_of(document)
    conflict = planner.plan_job(machine).conflict
    assert set(conflict.subjects) == {"passes.a", "passes.b", "passes.c", "handling.h"}
    assert stand_alone(machine, conflict)


def sixteen():
    return [
        {"id": f"p{n}", "ink": "thick", "layers": 24, "gap": "auto", "areas": [[0, 10 * n, 9, 9]]}
        for n in range(16)
    ]


@pytest.mark.parametrize("reach", [None, "4 mm"])
def test_a_pass_whose_own_ink_no_gap_clears_is_found_among_many(reach):
    """3 mm of ink: 1.5 mm base gap, 0.5 mm of spacers and 0.72 mm from which the gap may be set are
    0.28 mm short.
    """
    document = document_of(*sixteen(), {"id": "x", "ink": "thick", "layers": 100, "gap": "auto"})
    document["printer"].pop("max_throw")
    if reach:
        document["printer"]["max_throw"] = reach
    conflict = planner.plan_job(machine_of(document)).conflict
    assert conflict.proven
    assert conflict.subjects == ("passes.x",)


def test_pauses_do_not_hide_a_conflict_of_two_passes():
    document = document_of(
        *sixteen()[:10], {"id": "low", "ink": "thin", "gap": {"extra": 0}, "after": ["p3"]}
    )
    document["handling"] = [
        {"id": f"h{n}", "does": "pause", "after": [f"p{n % 10}"]} for n in range(25)
    ]
    conflict = planner.plan_job(machine_of(document)).conflict
    assert conflict.proven
    assert set(conflict.subjects) == {"passes.p3", "passes.low"}


@pytest.mark.parametrize("gap", ["auto", {"extra": 0.5}])
@pytest.mark.parametrize("large", [10, 1_000])
def test_a_pause_between_two_passes_belongs_to_their_conflict(monkeypatch, large, gap):
    monkeypatch.setattr(planner, "LARGE", large if gap != "auto" else 1_000)
    passes = [item | {"gap": gap} for item in sixteen()]
    document = document_of(
        *passes, {"id": "low", "ink": "thin", "gap": {"extra": 0}, "after": ["look"]}
    )
    pauses = {"wait": ["p3"], "look": ["wait"], "rest": ["p3"], "idle": ["p9"]}
    document["handling"] = [
        {"id": name, "does": "pause", "after": after} for name, after in pauses.items()
    ]
    machine = machine_of(document)
    conflict = planner.plan_job(machine).conflict
    assert conflict.proven
    assert set(conflict.subjects) == {"passes.p3", "passes.low", "handling.wait", "handling.look"}
    assert stand_alone(machine, conflict)


@pytest.mark.parametrize("large", [10, 1_000])
def test_precedence_that_a_plugin_brings_is_part_of_a_conflict_of_very_many(monkeypatch, large):
    monkeypatch.setattr(planner, "LARGE", large)
    passes = [item | {"gap": {"extra": 0.5}} for item in sixteen()]
    document = document_of(*passes, {"id": "low", "ink": "thin", "gap": {"extra": 0}})
    machine = machine_of(document, Precedence(3, 16, "shop", "the shop says so"))
    conflict = planner.plan_job(machine).conflict
    assert set(conflict.subjects) == {"passes.p3", "passes.low"}
    assert "the shop says so" in conflict.message


def test_of_two_pauses_that_tie_the_same_passes_one_is_named():
    passes = [item | {"gap": {"extra": 0.5}} for item in sixteen()]
    document = document_of(
        *passes, {"id": "low", "ink": "thin", "gap": {"extra": 0}, "after": ["wait", "look"]}
    )
    document["handling"] = [
        {"id": name, "does": "pause", "after": ["p3"]} for name in ("wait", "look")
    ]
    machine = machine_of(document)
    conflict = planner.plan_job(machine).conflict
    assert set(conflict.subjects) == {"passes.p3", "passes.low", "handling.wait"}
    assert stand_alone(machine, conflict)


def test_a_reload_between_two_of_many_passes_belongs_to_their_conflict():
    """More orders of sixteen passes than a search can rule out; p3 leaves the head of `low` 0.77 mm
    of the 1 mm.
    """
    passes = [item | {"gap": {"extra": 0.5}, "registers_to": []} for item in sixteen()]
    low = {"id": "low", "ink": "thin", "gap": {"extra": 0}, "after": ["reload"], "registers_to": []}
    document = document_of(*passes, low)
    document["handling"] = [{"id": "reload", "does": "reload", "media": "panel", "after": ["p3"]}]
    machine = machine_of(document)
    conflict = planner.plan_job(machine).conflict
    assert conflict.proven
    assert set(conflict.subjects) == {"passes.p3", "passes.low", "handling.reload"}
    assert stand_alone(machine, conflict)


@pytest.mark.parametrize("gap", ["auto", {"extra": 0.5}])
def test_a_circle_is_found_among_many(gap):
    passes = [item | {"gap": gap} for item in sixteen()]
    passes[1]["after"] = ["p0"]
    conflict = planner.plan_job(
        machine_of(document_of(*passes), Precedence(1, 0, "shop", "the shop says so"))
    ).conflict
    assert conflict.proven
    assert set(conflict.subjects) == {"passes.p0", "passes.p1"}


def test_a_gap_whose_throw_is_just_what_drops_reach_counts():
    """6 mm of ink under a head 1.4 mm over the sheet: the best gap leaves -4.6 mm, the other -4.7
    mm.
    """
    document = document_of({"id": "high", "ink": "thick", "layers": 200, "gap": "auto"})
    document["printer"].update(
        {"base_gap": 1.3, "max_throw": 1.4, "gap": {"control": "spacers", "spacers": [0.1]}}
    )
    message = planner.plan_job(machine_of(document)).conflict.message
    assert "no gap that the printer can set within the throw of 1.4 mm if" in message
    assert "with the best, the head would hit by 4.6 mm" in message


def test_a_plane_that_nothing_makes_safe_is_set_once_for_the_pass_before_too():
    """A thin pass on one sheet, then 3 mm of ink on another of the same thickness: one gap for
    both.
    """
    document = document_of(
        {"id": "thin", "ink": "thin", "media": "other", "gap": "auto"},
        {"id": "high", "ink": "thick", "media": "panel", "layers": 100, "gap": "auto"},
    )
    document["printer"]["max_throw"] = 6
    document["media"].append(
        {"id": "other", "thickness": 3, "size": [20, 20], "at": [400, 300], "hold": "vacuum"}
    )
    machine = machine_of(document)
    for ways in (0, 4_000):
        assert replay_items(machine, (0, 1), cheapest_gaps(machine, (0, 1), ways)).gap_settings == 1


def test_most_of_a_job_is_not_hopeless_for_one_sheet_more():
    """Two sheets on two loads, which only together would be stuck, are left to the search."""
    document = document_of(*(item | {"media": "panel"} for item in sixteen()[:2]))
    document["passes"][1] |= {"media": "other", "after": ["p0"]}
    document["media"].append(
        {"id": "other", "thickness": 3, "size": [99, 99], "at": [0, 0], "load": "later"}
    )
    machine = machine_of(document)
    assert core_without_search(machine) is None
    assert planner.plan_job(machine).plan.loads == 2


def test_a_declared_order_that_is_safe_is_taken_where_the_search_gives_up():
    """Beside a base of 0.72 mm, 0.6 mm leave the head 1.62 mm; with no base 0.9 mm of 1 mm, so the
    base comes first.

    Seventeen passes are more than a search of ten states gets through.
    """
    thick = {"ink": "thick", "layers": 20, "gap": {"extra": 0, "above": "build-up"}}
    passes = [{"id": f"dots{n}", **thick, "areas": [[0, 10 * n, 9, 9]]} for n in range(16)]
    base = {
        "id": "base",
        "ink": "thick",
        "layers": 24,
        "gap": {"extra": 0.5},
        "areas": [[0, 180, 9, 9]],
    }
    machine = machine_of(document_of(base, *passes))
    outcome = planner.plan_job(machine, 10)
    assert outcome.plan is not None
    assert outcome.plan.timeline.order == machine.declared_order()
    assert audit(machine.job, outcome.plan) == []
