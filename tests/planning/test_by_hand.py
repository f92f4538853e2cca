"""Plans, conflicts and precedences of small jobs, worked by hand: sums of heights, and counts of
gap settings.
"""

from __future__ import annotations

import pytest
from attrs import astuple, evolve
from benchmarks.cases import rows_of_signs
from scenario import pass_of, sign_job

import signrules
from signrules.model import Gap, Interval
from signrules.model.wording import joined_names
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.planning.audit import audit
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.safety import Safety
from signrules.planning.conflict.finding import conflict_of_many
from signrules.planning.conflict.sides import wrong_side
from signrules.planning.gaps.cheapest import _Programme
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.gaps.order_walk import Places
from signrules.planning.gaps.plane_reaches import fewest_planes, plane_reaches
from signrules.planning.order.attempts import Attempts
from signrules.planning.order.changeover import (
    Changeover,
    all_behind,
    closed_costs,
    transposed_masks,
)
from signrules.planning.order.reduction import reduced_problems
from signrules.planning.order.settling import _sides_of_move
from signrules.planning.order.solver import Solver
from signrules.planning.order.step_search import StepSearch
from signrules.planning.order.step_trouble import trouble_of_steps
from signrules.planning.planner import plan_job


def machine_of(document):
    return Machine(Heights(signrules.job_from_dict(document)))


def conflict_of(layers):
    """Colour at the plain gap of 1.5 mm after dots of so many layers of 30 um."""
    document = sign_job(standards=[], signs=[])
    pass_of(document, "dots")["layers"] = layers
    del pass_of(document, "dots")["builds"]
    pass_of(document, "ink-on-dots")["gap"] = {"extra": 0, "above": "media"}
    return " ".join(plan_job(machine_of(document)).conflict.reasons)


def test_a_conflict_says_how_much_room_is_left_and_how_much_would_do():
    # 1.5 mm less 24 layers of 0.03 mm and the colour's own 0.01 mm; 1 mm is asked for.
    near = conflict_of(24)
    assert (
        "comes too near if it is printed after dots: the head would clear by only 0.77 mm"
        " (1 mm needed)" in near
    )
    assert "A gap larger by 0.23 mm would clear" in near
    # 50 layers stand 1.5 mm high.
    assert "strikes if it is printed after dots: the head would hit by 0.01 mm" in conflict_of(50)
    assert "A gap larger by 1.01 mm would clear" in conflict_of(50)


def test_what_is_left_may_be_less_than_a_millimetre_where_the_printer_asks_for_less():
    """The same dots at the same gap: 0.77 mm are left, which is enough for 0.5 mm and not for 0.78
    mm.
    """
    document = sign_job(standards=[], signs=[])
    del pass_of(document, "dots")["builds"]
    pass_of(document, "ink-on-dots")["gap"] = {"extra": 0, "above": "media"}
    for least, safe in ((0.5, True), (0.76, True), (0.78, False)):
        document["printer"]["min_clearance"] = least
        outcome = plan_job(machine_of(document))
        assert (outcome.conflict is None) is safe
        assert outcome.plan is None or outcome.plan.optimal


def test_names_are_listed_as_in_a_sentence():
    assert [joined_names(list(names)) for names in ("a", "ab", "abc")] == [
        "a",
        "a and b",
        "a, b and c",
    ]


def apart_at(gaps):
    """Passes on places of their own, which nothing ties, each at one of two gaps; no cost hangs on
    alignments.
    """
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["passes"] = [
        {
            "id": f"p{at}",
            "ink": "black",
            "areas": [[10 * at, 0, 5, 5]],
            "registers_to": [],
            "gap": {"extra": int(gap)},
        }
        for at, gap in enumerate(gaps)
    ]
    return machine_of(document)


@pytest.mark.parametrize("gaps", ["01", "10"])
def test_a_declared_order_stays_only_where_it_costs_no_more(gaps):
    """More passes than the small search takes: two gaps take two settings at the least, to and fro
    eighteen.
    """
    grouped = plan_job(apart_at(gaps[0] * 9 + gaps[1] * 9)).plan
    assert grouped.timeline.order == tuple(range(18))
    mixed = plan_job(apart_at(gaps * 9)).plan
    assert mixed.timeline.order != tuple(range(18))
    for plan in (grouped, mixed):
        assert plan.optimal
        assert plan.timeline.gap_settings == 2


@pytest.mark.parametrize("gap", [{"extra": 0}, "auto"])
def test_a_pause_stays_where_it_is_declared_whether_or_not_gaps_are_open(gap):
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": name, "ink": "black", "gap": {"extra": 0}} for name in "abc"]
    document["handling"] = [{"id": "look", "does": "pause", "after": ["a"]}]
    pass_of(document, "c")["gap"] = gap
    assert signrules.evaluate(signrules.job_from_dict(document)).order == ("a", "look", "b", "c")
    pass_of(document, "a")["after"] = [
        "c"
    ]  # Where a pass has to wait, so does what comes after it, and no longer.
    assert signrules.evaluate(signrules.job_from_dict(document)).order == ("b", "c", "a", "look")


def test_the_bound_of_a_proven_plan_is_its_cost_in_minutes_where_all_are_stated():
    machine = machine_of(sign_job())
    plan = plan_job(machine).plan
    assert plan.optimal
    assert plan.setup_minutes > 0
    assert plan.bound == (plan.loads, plan.setup_minutes)
    printer = machine.job.printer
    unstated = evolve(
        machine.job, printer=evolve(printer, minutes=evolve(printer.minutes, gap=None))
    )
    plan = plan_job(Machine(Heights(unstated))).plan
    assert (plan.setup_minutes, plan.bound) == (None, (plan.loads, None))


def test_fronts_come_before_the_flip_and_backs_after_it():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": m, "thickness": 3, "size": [50, 50], "at": [x, 0]} for m, x in [("a", 0), ("b", 60)]
    ]
    document["passes"] = [
        {"id": f"{side}-{m}", "ink": "black", "media": m, "side": side, "gap": {"extra": 0}}
        for m, side in [("a", "front"), ("a", "back"), ("b", "front")]
    ]
    document["handling"] = [{"id": "turn", "does": "flip", "media": "a", "locates_by": "pins"}]
    found = {astuple(one)[:2] for one in _sides_of_move(machine_of(document), [3])}
    assert found == {(0, 3), (3, 1)}


def test_a_change_by_way_of_a_third_class_may_be_cheaper():
    # From 0 to 1 by way of 2: 1 + 1 instead of 5. The start in 1 by way of 2: 3 + 1 instead of 9.
    best, first = closed_costs([[0, 5, 1], [5, 0, 5], [5, 1, 0]], [3, 9, 3])
    assert best[0] == (0, 2, 1)
    assert first == (3, 4, 3)


def test_loads_that_lie_apart_are_not_stuck():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": m, "thickness": 3, "size": [50, 50], "at": [0, 0], "load": m} for m in "ab"
    ]
    document["passes"] = [
        {"id": f"p{m}", "ink": "black", "media": m, "gap": {"extra": 0}} for m in "ab"
    ]
    problem = reduced_problems(machine_of(document)).strict
    assert len(set(problem.groups)) == 2
    assert Solver(problem).stuck(0b11) == 0


def test_of_gaps_none_of_which_is_safe_the_best_within_reach_is_taken():
    """Colour around dots of 1.2 mm, drops reaching 2 mm: what clears the dots by 1 mm throws too
    far.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"]["max_throw"] = "2 mm"
    pass_of(document, "dots")["layers"] = 40
    del pass_of(document, "dots")["builds"]
    pass_of(document, "ink-on-dots").update(
        {"gap": "auto", "over": [], "areas": [[0, 0, 200, 200]]}
    )
    document["sequence"] = ["ground", "dots", "ink-on-dots"]
    plan = plan_job(machine_of(document)).plan
    # Of 1.5, 2, 2.5 and 3 mm over the sheet, 2 mm leaves most room and still reaches it.
    assert plan.timeline.printings[2].plane.height.nominal == pytest.approx(3 + 2)


def test_what_comes_behind_comes_behind_for_all_before():
    """A chain of three, and one that stands alone."""
    problem = Changeover(
        (0, 0, 0, 0), (0, 0, 0, 0), (0b0010, 0b0100, 0, 0), ((), (), (), ()), ((0,),), (1,)
    )
    assert all_behind(problem.after, transposed_masks(problem.after)) == [0b0110, 0b0100, 0, 0]


@pytest.mark.parametrize(("bow", "safe"), [("0 mm", True), ("0.05 mm", True), ("0.2 mm", False)])
def test_the_bow_of_a_sheet_takes_room(bow, safe):
    """1.5 mm less 0.39 mm of dots and 0.01 mm of colour leave 1.1 mm, of which 1 mm is needed."""
    document = sign_job(standards=[], signs=[])
    document["media"][0]["bow"] = bow
    pass_of(document, "dots")["layers"] = 13
    del pass_of(document, "dots")["builds"]
    pass_of(document, "ink-on-dots")["gap"] = {"extra": 0, "above": "media"}
    outcome = plan_job(machine_of(document))
    assert (outcome.plan is not None) is safe
    machine = machine_of(document)
    room = machine.heights.over_bare(
        machine.heights.head_plane(0, machine.job.passes[0].gap, ()), "panel"
    )
    assert room.low == pytest.approx(1.5 - float(bow.split()[0]))


def test_the_audit_holds_a_plan_to_every_precedence():
    machine = machine_of(sign_job())
    plan = plan_job(machine).plan
    assert audit(machine.job, plan) == []
    turned = evolve(plan, timeline=replay_items(machine, [2, 1, 0], {}))
    assert any(
        fault.startswith("ink-on-dots is done before dots: ")
        for fault in audit(machine.job, turned)
    )


def test_a_pass_that_no_order_helps_is_named_alone():
    """60 layers of 0.03 mm stand 1.8 mm high, and the head passes at 1.5 mm."""
    document = sign_job(standards=[], signs=[])
    pass_of(document, "dots").update({"layers": 60, "gap": {"extra": 0, "above": "media"}})
    del pass_of(document, "dots")["builds"]
    conflict = plan_job(machine_of(document)).conflict
    assert conflict.subjects == ("passes.dots",)
    assert conflict.message.startswith("No safe order: dots cannot be printed.")


def test_a_sheet_that_nothing_holds_is_the_reason_that_is_given():
    """Two passes that must register on a loose sheet; held, the same job has a plan."""
    document = sign_job(standards=[], signs=[])
    del pass_of(document, "dots")["builds"]
    for hold, held in (("none", False), ("vacuum", True)):
        document["media"][0]["hold"] = hold
        outcome = plan_job(machine_of(document))
        assert (outcome.plan is not None) is held
        if not held:
            assert "nothing holds the sheet" in outcome.conflict.message
            assert "is moved" not in outcome.conflict.message


def test_a_sheet_that_is_moved_is_the_reason_that_is_given():
    """Colour that must register with the ground on both sides of a reload that nothing bridges."""
    document = sign_job(standards=[], signs=[])
    document["handling"] = [
        {"id": "again", "does": "reload", "media": "panel", "after": ["ground"]}
    ]
    pass_of(document, "dots")["after"] = ["again"]
    del pass_of(document, "dots")["builds"]
    outcome = plan_job(machine_of(document))
    assert outcome.plan is None
    assert "nothing holds" not in outcome.conflict.message


def test_an_order_that_goes_back_to_a_load_puts_it_on_again():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": m, "thickness": 3, "size": [50, 50], "at": [0, 0], "load": m} for m in "ab"
    ]
    document["passes"] = [
        {"id": f"{m}{n}", "ink": "black", "media": m, "gap": {"extra": 0}, "registers_to": []}
        for n in "12"
        for m in "ab"
    ]
    machine = machine_of(document)
    attempts = Attempts(machine)
    assert [item.id for item in machine.items] == ["a1", "b1", "a2", "b2"]
    assert attempts.of_order((0, 2, 1, 3)).cost[0] == 2
    assert attempts.of_order((0, 1, 2, 3)).cost[0] == 4
    assert plan_job(machine).plan.loads == 2


def test_a_plane_that_may_come_out_like_another_is_not_counted_in_the_bound():
    """Over the build-up, which may stand 0 to 0.72 mm high, the head may come to lie as high as at
    0.5 mm.
    """
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["printer"]["max_throw"] = 9
    passes = [pass_of(document, "dots")]
    passes[0].update({"gap": {"extra": 1}, "coverage": 1})
    del passes[0]["builds"]
    for number in range(14):
        x = 5 * number
        passes.append(
            {
                "id": f"m{number}",
                "ink": "black",
                "areas": [[x, 100, 4, 4]],
                "gap": {"extra": 1.5},
                "registers_to": [],
            }
        )
    passes.append(
        {
            "id": "on",
            "ink": "black",
            "areas": [[150, 150, 4, 4]],
            "gap": {"extra": 0.78, "above": "build-up"},
        }
    )
    document["passes"] = passes
    machine = machine_of(document)
    problem = reduced_problems(machine)
    assert problem.strict is not problem.loose
    plan = plan_job(machine).plan
    # Three set-ups, of which the third may come out like the second, over all of the dots (0.78 +
    # 0.72): two settings of 2 minutes are sure, and one load of 4.
    assert plan.least == plan.cost == (1, 8)
    assert plan.optimal


def test_what_comes_before_in_any_order_sets_the_head_plane_for_certain():
    """0.6 mm over dots of 0.72 mm, on which the pass lands: never at the height of 1 mm or of 1.5
    mm over the sheet.
    """
    document = sign_job(standards=[], signs=[])
    del document["printer"]["landing_tolerance"]
    document["printer"]["max_throw"] = 9
    dots = pass_of(document, "dots")
    dots.update({"gap": {"extra": 1}, "coverage": 1})
    del dots["builds"]
    others = [
        {
            "id": f"m{n}",
            "ink": "black",
            "areas": [[5 * n, 100, 4, 4]],
            "gap": {"extra": 1.5},
            "registers_to": [],
        }
        for n in range(14)
    ]
    on = {"id": "on", "ink": "black", "areas": [[40, 30, 60, 8]], "over": ["dots"]}
    document["passes"] = [dots, *others, on | {"gap": {"extra": 0.6, "above": "build-up"}}]
    plan = plan_job(machine_of(document)).plan
    assert plan.least == plan.cost == (1, 4 + 3 * 2)


def test_the_audit_of_a_judged_sequence_holds_its_order_against_nobody():
    document = sign_job(sequence=["ground", "ink-on-dots", "dots"])
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert plan.judged
    assert audit(job, plan) == []
    assert "ink-on-dots is done before dots" in audit(job, evolve(plan, judged=False))


class WithoutAlignments:
    """A plan as it is, but for the alignments that are made first."""

    def __init__(self, plan):
        self.plan, self.steps = plan, [step for step in plan.steps if step.kind != "align"]

    def __getattr__(self, name):
        return getattr(self.plan, name)


@pytest.mark.parametrize("extra", ["1 mm", "0.5 .. 1.5 mm"])
def test_the_audit_misses_an_alignment_also_where_none_could_serve_both_ends(extra):
    """Over 0.5 to 1.5 mm drops land 2 x 800 x 0.5 / 6000 = 0.13 mm off at the best; 0.06 mm is
    allowed.
    """
    document = sign_job(standards=[], signs=[])
    pass_of(document, "dots").update({"gap": {"extra": extra}, "layers": 3})
    del pass_of(document, "dots")["builds"]
    job = signrules.job_from_dict(document)
    plan = plan_job(Machine(Heights(job))).plan
    assert audit(job, plan) == []
    assert "dots: no alignment serves it" in audit(job, WithoutAlignments(plan))


def reloaded(**changes):
    """Sixteen passes side by side, and a reload by pins that must come after the first."""
    document = sign_job(standards=[], signs=[], **changes)
    del document["printer"]["landing_tolerance"]
    document["passes"] = [
        {"id": f"p{n}", "ink": "black", "areas": [[10 * n, 0, 5, 5]], "gap": {"extra": 0}}
        for n in range(16)
    ]
    return document


def test_a_reload_counts_as_a_load_in_the_bound_too():
    handling = [
        {"id": "again", "does": "reload", "media": "panel", "locates_by": "pins", "after": ["p0"]}
    ]
    plan = plan_job(machine_of(reloaded(handling=handling))).plan
    assert plan.optimal
    assert plan.loads == plan.least[0] == 2


def test_passes_that_register_stay_on_the_side_of_a_reload_where_one_of_them_must_be():
    for after, before in ((["p0"], []), ([], ["p15"])):
        document = reloaded(
            handling=[{"id": "again", "does": "reload", "media": "panel", "after": after}]
        )
        for name in before:
            pass_of(document, name)["after"] = ["again"]
        plan = plan_job(machine_of(document)).plan
        assert plan.optimal
        assert plan.order.index("again") == (16 if after else 0)


def test_a_conflict_that_is_only_named_is_proven_all_the_same():
    machine = apart_at("01")
    assert conflict_of_many(machine, (0, 1), 1).proven
    assert conflict_of_many(machine, (0, 1), 1).subjects == ("passes.p0", "passes.p1")


@pytest.mark.parametrize("order", [(1, 0, 2), (0, 2, 1), (2, 1, 0)])
def test_the_audit_holds_the_order_to_the_steps(order):
    machine = machine_of(sign_job())
    plan = plan_job(machine).plan
    assert plan.timeline.order == (0, 1, 2)
    other = evolve(plan, timeline=evolve(plan.timeline, order=order))
    assert "the order is not that of the steps" in audit(machine.job, other)


@pytest.mark.parametrize(("left", "clear"), [(-0.1, False), (0.0, False), (0.001, True)])
def test_for_the_audit_too_a_head_that_touches_strikes_where_no_clearance_is_asked_for(left, clear):
    machine = machine_of(sign_job())
    job = evolve(machine.job, printer=evolve(machine.job.printer, min_clearance=0.0))
    assert Safety(job, Findings()).clears(left) is clear


@pytest.mark.parametrize(
    ("beside", "clear"), [(0.0, True), (-5e-7, True), (-2e-6, False), (5e-7, True)]
)
def test_the_audit_allows_a_clearance_the_guard_of_a_nanometre(beside, clear):
    job = machine_of(sign_job()).job
    assert Safety(job, Findings()).clears(job.printer.min_clearance + beside) is clear


def test_ways_to_the_same_state_are_followed_once_and_end_nothing():
    """Two open gaps: the second at one height may come of a gap that is kept or of one that is set
    again.
    """
    document = sign_job(standards=[], signs=[])
    for name in ("ground", "dots"):
        pass_of(document, name)["gap"] = "auto"
    del pass_of(document, "dots")["builds"]
    del document["printer"]["landing_tolerance"]
    machine = machine_of(document)
    programme = _Programme(Places(machine, (0, 1, 2), OpenGaps(machine, thorough=True)))
    assert programme.through(10_000, None) is not None
    known, most = {None}, 0
    for place in programme.places.places:
        # Of each plane that there is, kept or set before, one way goes on: with that plane, and
        # with each new one.
        most += len(known) * (1 + len(place.anew))
        known |= {option.plane.key for option in place.anew}
    assert len(programme.places.places) < programme.tried <= most


def test_a_reload_counts_as_a_load_in_the_search_too():
    document = sign_job(standards=[], signs=[])
    pass_of(document, "ground")["gap"] = "auto"
    del pass_of(document, "dots")["builds"]
    document["handling"] = [
        {"id": "again", "does": "reload", "media": "panel", "locates_by": "pins"}
    ]
    plan = plan_job(machine_of(document)).plan
    assert plan.optimal
    assert plan.loads == plan.least[0] == 2


def test_the_reduction_keeps_nothing_ready_of_what_it_asks_for_once():
    """Of each pass over the build-up it asks what stands first; thousands of those sheets would
    fill the memory.
    """
    job, gap = rows_of_signs(60, 6, 1), Gap(Interval.exact(5.0), "build-up")
    machine = Machine(
        Heights(evolve(job, passes=tuple(evolve(item, gap=gap) for item in job.passes)))
    )
    assert reduced_problems(machine).strict.classes == (0,) * 60
    assert machine.heights._recent.cache_info().currsize <= 2


def test_the_fewest_planes_that_serve_all_reaches():
    """Of three reaches the wide one holds both planes that the narrow ones need."""
    assert fewest_planes([(0.0, 10.0), (1.0, 2.0), (3.0, 4.0)]) == 2
    assert fewest_planes([(0.0, 1.0), (1.0, 2.0)]) == 1


@pytest.mark.parametrize(("layers", "strict"), [(1, True), (40, False)])
def test_a_job_whose_neighbour_is_turned_over_is_left_to_the_search_where_that_may_be_in_the_way(
    layers, strict
):
    """1.5 mm less 1.2 mm of ink on one side of the neighbour or the other: 1 mm is needed."""
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": m, "thickness": 3, "size": [50, 50], "at": [60 * n, 0]} for n, m in enumerate("ab")
    ]
    document["passes"] = [
        {"id": f"p{m}", "ink": "black", "media": m, "gap": {"extra": 0}} for m in "ab"
    ]
    document["passes"][0].update({"ink": "clear", "layers": layers, "gap": {"extra": 1.5}})
    assert reduced_problems(machine_of(document)).strict is not None
    document["handling"] = [{"id": "over", "does": "flip", "media": "a", "after": ["pa"]}]
    assert (reduced_problems(machine_of(document)).strict is not None) is strict


def test_a_gap_over_the_build_up_leaves_room_for_the_bow():
    """1 mm to be left, 0.3 mm of ink, 0.3 mm of bow and 1.5 mm from the plate: 0.1 mm short, so the
    0.5 mm spacer.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"] |= {
        "base_gap": 1.5,
        "min_clearance": 1,
        "gap": {"control": "spacers", "spacers": [0.5, 1]},
    }
    document["media"][0]["bow"] = "0.3 mm"
    document["passes"] = [{"id": "dots", "ink": "clear", "layers": 10, "gap": "auto"}]
    machine = machine_of(document)
    standing = machine.heights.standing()
    gaps = OpenGaps(machine, thorough=True)
    fresh = gaps.fresh(0, standing)
    standing.add(0)
    left = standing.clearance_over(standing.obstacles(0, ()), fresh[-1].plane).low
    assert next(gaps.settable(fresh[-1], left)) == Gap(
        Interval.exact(0.5), fresh[-1].plane.gap.above
    )


def test_a_plane_comes_to_lie_no_higher_than_over_the_highest_ink():
    document = sign_job(standards=[], signs=[])
    document["printer"] |= {"base_gap": 1.5, "gap": {"control": "spacers", "spacers": [0.5, 1]}}
    document["printer"].pop("max_throw", None)
    document["passes"] = [
        {
            "id": "tall",
            "ink": "clear",
            "layers": 20,
            "areas": [[0, 0, 10, 10]],
            "gap": {"extra": 1},
        },
        {"id": "open", "ink": "black", "areas": [[0, 100, 10, 10]], "gap": "auto"},
    ]
    # 3 mm of sheet, 0.6 mm of dots, 1.5 mm from the plate and the 1 mm spacer.
    assert plane_reaches(machine_of(document))[1][1] == pytest.approx(3 + 0.6 + 1.5 + 1)


def test_a_sheet_that_was_turned_twice_lies_with_its_front_up():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": "under", "ink": "black", "side": "back", "gap": {"extra": 0}}]
    document["handling"] = [{"id": name, "does": "flip"} for name in ("over", "again")]
    machine = machine_of(document)
    assert (
        wrong_side(machine, [1, 2], 0)
        == "prints on the back of panel, and after over and again its front faces up."
    )
    assert wrong_side(machine, [1], 0) == ""


def test_a_declared_order_that_strikes_is_not_sound_though_it_costs_no_more():
    """Ground at the plain gap after dots of 0.72 mm, which leave it 0.76 mm of the 1 mm that it
    needs.
    """
    document = sign_job(standards=[], signs=[])
    ground = document["passes"].pop(0)
    for item in document["passes"]:
        item.pop("builds", None)
    document["passes"].append(ground | {"registers_to": []})
    machine = machine_of(document)
    declared = machine.declared_order()
    assert Attempts(machine).of_order(declared) is None
    trouble = trouble_of_steps(machine, replay_items(machine, declared, {}))
    assert trouble == "the head would clear by only 0.76 mm (1 mm needed) when ground is printed"
    assert plan_job(machine).plan.order[0] == "ground"


def test_what_is_printed_after_a_move_has_not_been_moved_by_it():
    document = sign_job(standards=[], signs=[])
    document["handling"] = [{"id": "fetched", "does": "reload"}]
    document["passes"] = [
        {"id": name, "ink": "black", "gap": {"extra": 0}, "after": ["fetched"]} for name in "ab"
    ]
    found = StepSearch(machine_of(document)).cheapest(10_000)
    assert found.order == (2, 0, 1)
    assert found.ended
