"""Conflicts that come from sides: what they say, and that loading the other way up mends them."""

from __future__ import annotations

import pytest
from attrs import evolve
from drawn_beds import machine_of
from effort import effort
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from reference import BruteForce
from scenario import sign_job

import signrules
from signrules.planning.bitmasks import bits_of
from signrules.planning.conflict.conflict_words import _what_is_against
from signrules.planning.conflict.finding import deadlock_of_one_sheet
from signrules.planning.conflict.sides import out_of_step

TURN = {"id": "turn", "does": "flip", "locates_by": "pins"}
LATE = "back can only be printed after that: its back faces down until then."


def job_of(*passes, handling=(), up="front", **more) -> signrules.Job:
    """Passes of thin black on one panel; none registers with another and each clears all others."""
    document = sign_job(standards=[], signs=[], **more)
    panel = {"id": "panel", "thickness": 3, "size": [100, 100], "hold": "vacuum", "up": up}
    document["media"] = [panel]
    common = {"ink": "black", "gap": {"extra": 1}, "registers_to": []}
    document["passes"] = [common | item for item in passes]
    document["handling"] = list(handling)
    return signrules.job_from_dict(document)


def on(side, id=None, *after):
    return {"id": id or side, "side": side, "after": list(after)}


def after(*names):
    return TURN | {"after": list(names)}


def reasons_of(job) -> dict[str, str]:
    """What a conflict says of each of its members."""
    conflict = signrules.evaluate(job).conflict
    assert conflict.proven
    names = [subject.partition(".")[2] for subject in conflict.subjects]
    return dict(zip(names, conflict.reasons, strict=True))


# --- in words -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("side", "up"), [("back", "front"), ("front", "back")])
def test_a_side_that_is_never_up(side, up):
    assert reasons_of(job_of(on(side), up=up)) == {
        side: f"{side} prints on the {side} of panel, which is never up: "
        f"the sheet is loaded {up} up and nothing turns it over. "
        f'Load it {side} up (up = "{side}"), or add a flip.'
    }


def test_a_side_that_is_never_up_where_the_other_one_is_printed_too():
    assert reasons_of(job_of(on("front"), on("back"))) == {
        "back": "back prints on the back of panel, which is never up: the sheet is loaded front up "
        "and nothing turns it over. Add a flip between the passes on its two sides."
    }


def test_a_flip_that_comes_too_late():
    assert reasons_of(job_of(on("back"), handling=[after("back")])) == {
        "back": "back must come before turn: turn is declared to come after back. "
        "turn comes too late for back: the back of panel faces down until then.",
        "turn": f"turn turns panel over, and {LATE}",
    }


def test_a_flip_that_comes_too_early():
    assert reasons_of(job_of(on("back"), on("front", None, "turn"), handling=[TURN])) == {
        "front": "front prints on the front of panel, and after turn its back faces up.",
        "turn": "turn must come before front: front is declared to come after turn. "
        "turn comes too early for front: the front of panel faces down from then on.",
    }


def test_a_front_that_comes_after_a_back():
    assert reasons_of(job_of(on("back"), on("front", None, "back"), handling=[TURN])) == {
        "back": "back must come before front: front is declared to come after back.",
        "front": "front prints on the front of panel, and after turn its back faces up.",
        "turn": f"turn turns panel over, and {LATE}",
    }


def test_a_flip_in_time_is_called_neither_late_nor_early():
    """In the way is the clearance of the back: 0.75 mm of head less 0.72 mm of its own ink."""
    thick = on("back", None, "turn") | {"ink": "clear", "layers": 24, "gap": {"extra": 0}}
    found = reasons_of(job_of(thick, handling=[TURN]))
    assert found["turn"] == "turn must come before back: back is declared to come after turn."
    assert "too near" in found["back"]


def test_two_flips_that_leave_the_back_down():
    """Both come before what is printed on the back: turned over twice, the front lies up."""
    flips = [TURN | {"id": "over"}, TURN | {"id": "again"}]
    found = reasons_of(job_of(on("back", None, "over", "again"), handling=flips))
    told = "prints on the back of panel, and after over and again its front faces up."
    assert found["back"] == f"back {told}"


def test_of_two_flips_neither_comes_too_late():
    """Before the first of them the front lies up, and after the second one it does again."""
    flips = [TURN | {"id": "over", "after": ["back"]}, TURN | {"id": "again", "after": ["back"]}]
    machine = machine_of(job_of(on("back"), handling=flips))
    assert [edge.then for edge in machine.precedence] == [1, 2]
    assert [out_of_step(machine, edge) for edge in machine.precedence] == ["", ""]


def test_what_a_flip_is_told_that_nothing_waits_for():
    """What registers is parted by it; where nothing registers either, it merely has no place."""
    job = job_of(on("front", "one"), on("front", "two"), handling=[TURN])
    assert _what_is_against(machine_of(job), [0, 1, 2], 2) == (
        "turn can only come after the others, which leaves one of them no place."
    )
    tied = evolve(job, passes=tuple(evolve(item, registers_to=None) for item in job.passes))
    assert _what_is_against(machine_of(tied), [0, 1, 2], 2) == (
        "turn moves the sheet while passes still have to register."
    )


def test_handling_that_must_come_before_handling_is_neither_late_nor_early():
    wait = {"id": "wait", "does": "pause", "after": ["turn"]}
    machine = machine_of(job_of(on("front"), handling=[TURN, wait]))
    assert _what_is_against(machine, [1, 2], 1) == (
        "turn must come before wait: wait is declared to come after turn."
    )


# --- remedies -------------------------------------------------------------------------------------


CASES = {
    "only the back": (job_of(on("back")), "back"),
    "only the front": (job_of(on("front"), up="back"), "front"),
    "too late": (job_of(on("back"), handling=[after("back")]), "back"),
    "too early": (job_of(on("back"), on("front", None, "turn"), handling=[TURN]), "back"),
    "front after back": (job_of(on("back"), on("front", None, "back"), handling=[TURN]), "back"),
    "back after front": (
        job_of(on("front"), on("back", None, "front"), handling=[TURN], up="back"),
        "front",
    ),
}


@pytest.mark.parametrize(("job", "up"), CASES.values(), ids=CASES)
def test_loading_it_the_other_way_up_is_the_first_remedy(job, up):
    first = signrules.evaluate(job).conflict_remedies[0]
    assert first.summary == f"Load panel {up} up."
    mended = signrules.apply_remedy(job, first)
    assert [sheet.up for sheet in mended.media] == [up]
    assert BruteForce(mended).run() is not None
    assert signrules.evaluate(mended).order_is_safe


@pytest.mark.parametrize(("job", "up"), CASES.values(), ids=CASES)
def test_mend_loads_it_the_other_way_up(job, up):
    found = signrules.mend(job)
    assert found.changes == (f"Load panel {up} up.",)
    assert found.job.media[0].up == up


def test_a_sequence_that_prints_the_back_first_is_mended_too():
    job = job_of(on("front"), on("back"), handling=[TURN], sequence=["back", "turn", "front"])
    result = signrules.evaluate(job)
    wrong = [check for check in result.violations if check.rule == "order.side"]
    assert {check.subjects[0] for check in wrong} == {"passes.back", "passes.front"}
    for check in wrong:
        assert "Load panel back up." in [remedy.summary for remedy in check.remedies]


def offered(job) -> list[str]:
    return [remedy.summary for remedy in signrules.evaluate(job).conflict_remedies]


def test_where_both_sides_are_printed_and_nothing_turns_the_sheet_a_flip_is_the_remedy():
    found = offered(job_of(on("front"), on("back")))
    turned = "Turn panel over after front, located by pins"
    assert found[0] == f"{turned}; let the planner choose the order."
    assert not any("Load panel" in summary for summary in found)


def test_where_no_way_of_loading_helps_none_is_offered():
    """After the flip the front, and after that the back: one of them always lies down by then."""
    job = job_of(on("front", None, "turn"), on("back", None, "front"), handling=[TURN], up="back")
    found = offered(job)
    assert found
    assert not any("Load panel" in summary for summary in found)


def test_a_sheet_that_is_turned_twice_may_be_loaded_either_way():
    """Turned over before the front and after it, a sheet that is loaded back up needs no third
    flip.
    """
    flips = [TURN | {"id": "over"}, TURN | {"id": "again", "after": ["front"]}]
    front, back = on("front", None, "over"), on("back", None, "again")
    job = job_of(front, back, handling=flips)
    first = signrules.evaluate(job).conflict_remedies[0]
    assert first.summary == "Load panel back up."
    assert BruteForce(signrules.apply_remedy(job, first)).run() is not None


@st.composite
def one_sided_conflicts(draw: st.DrawFn) -> signrules.Job:
    """Thin passes on both sides of a sheet, tied by `after`; only sides can be in the way."""
    names = [f"p{number}" for number in range(draw(st.integers(1, 4)))]
    passes = []
    for number, name in enumerate(names):
        earlier = names[:number] + ["turn"] * draw(st.booleans())
        named = draw(st.lists(st.sampled_from(earlier), max_size=2, unique=True)) if earlier else []
        passes.append(on(draw(st.sampled_from(["front", "back"])), name, *named))
    has_flip = draw(st.booleans()) or any("turn" in item["after"] for item in passes)
    waits = names[:1] if "turn" not in passes[0]["after"] and draw(st.booleans()) else []
    return job_of(
        *passes,
        handling=[after(*waits)] if has_flip else [],
        up=draw(st.sampled_from(["front", "back"])),
    )


@pytest.mark.thorough
@settings(max_examples=effort(60))
@given(one_sided_conflicts())
def test_loading_it_the_other_way_is_offered_exactly_where_it_gives_an_order(job):
    result = signrules.evaluate(job)
    assume(result.conflict is not None)
    other = "front" if job.media[0].up == "back" else "back"
    loaded = evolve(job, media=(evolve(job.media[0], up=other),))
    helps = BruteForce(loaded).run() is not None
    event("helps" if helps else "does not help")
    found = [remedy.summary for remedy in result.conflict_remedies]
    assert (f"Load panel {other} up." in found) == helps


# --- on a bed of many sheets ----------------------------------------------------------------------


def bed_of(count, wrong, *passes, handling=()) -> signrules.Job:
    """Alike sheets with three thick clear passes each, at open gaps; one has further passes."""
    document = sign_job(standards=[], signs=[])
    document["printer"]["bed"] = [2000, 2000]
    document["media"] = [
        {"id": f"s{n}", "thickness": 3, "size": [100, 100], "at": [110 * n, 0], "hold": "vacuum"}
        for n in range(count)
    ]
    document["passes"] = [
        {"id": f"s{n}-{kind}", "media": f"s{n}", "ink": ink, "layers": layers}
        for n in range(count)
        for kind, ink, layers in (("ground", "black", 1), ("dots", "clear", 9), ("top", "black", 1))
    ] + [{"media": f"s{wrong}", "ink": "black"} | item for item in passes]
    document["handling"] = list(handling)
    return signrules.job_from_dict(document)


@pytest.mark.parametrize("count", [2, 6])
def test_a_flip_that_is_missing_is_named_on_a_bed_of_any_size(count):
    reasons = reasons_of(bed_of(count, 1, {"id": "rear", "side": "back"}))
    assert list(reasons) == ["rear"]
    assert "nothing turns it over. Add a flip" in reasons["rear"]


@pytest.mark.parametrize("count", [2, 6])
def test_a_move_between_passes_that_register_is_named_on_a_bed_of_any_size(count):
    wash = {"id": "wash", "does": "reload", "media": "s1", "after": ["s1-ground"]}
    last = {"id": "last", "registers_to": ["s1-ground"], "after": ["wash"]}
    reasons = reasons_of(bed_of(count, 1, last, handling=[wash]))
    assert {"last", "wash"} < set(reasons)
    assert all(name.startswith("s1-") for name in set(reasons) - {"last", "wash"})


def test_what_is_done_to_other_sheets_takes_no_states_of_the_look_at_one():
    """Turned over or waited for, the second sheet has no part in what is wrong with the first."""
    wash = {"id": "wash", "does": "reload", "media": "s0", "after": ["s0-ground"]}
    last = {"id": "last", "registers_to": ["s0-ground"], "after": ["wash"]}
    beside = [
        {"id": "turn", "does": "flip", "media": "s1", "locates_by": "pins"},
        {"id": "wait", "does": "pause"},
    ]
    found = []
    for handling in ([wash], [wash, *beside]):
        machine = machine_of(bed_of(2, 0, last, handling=handling))
        deadlock, states = deadlock_of_one_sheet(machine, 1000)
        found.append((states, {machine.items[at].id for at in bits_of(deadlock.items)}))
    assert found[0] == found[1]
    assert found[0][1] == {"s0-ground", "wash", "last"}


@pytest.mark.parametrize("budget", range(1, 30))
def test_the_looks_at_all_sheets_together_take_no_more_states_than_are_allowed(budget):
    """A state is opened whole, with up to three passes of a sheet that may come next: the last one
    that is opened may take two states too many.
    """
    machine = machine_of(bed_of(6, 0))
    deadlock, states = deadlock_of_one_sheet(machine, budget)
    assert deadlock is None
    assert states <= budget + 2
