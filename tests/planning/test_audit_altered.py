"""The audit trusts nothing: whatever is altered in a plan, it finds."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from functools import partial
from typing import Any

import attrs
import pytest
from altering import Altered, Altering
from attrs import evolve
from effort import FULL, effort, first_quick
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.model import Interval, Job
from signrules.model.passes import BED, SIDES, SURFACES_BELOW
from signrules.physics.heights import HeadPlane, Heights
from signrules.physics.machine import Machine
from signrules.physics.timeline import Printing, Timeline
from signrules.planning.audit.printings import CALLED
from signrules.planning.plan import Plan
from signrules.planning.planner import plan_job

LEFT_ALONE = {
    (Timeline, "machine"): "the job, indexed, and what plugins ask for, which the job does not say",
    (HeadPlane, "known"): "a cache of what was asked of a plane; the audit has planes of its own",
    (HeadPlane, "throws"): "a cache, as above",
    (HeadPlane, "_lower"): "a cache, as above",
    (HeadPlane, "clearances"): "a cache, as above",
    (Plan, "refusal"): "the verdict of the checks of a job, which a plan does not know",
}
"""The fields of a plan that are no claims, each with its reason."""

KINDS = ("print", "gap", "align", "load", "unload", "handle")
FAILED = "the plan cannot be audited"


def altering(job: Job) -> Altering:
    names = [
        (*SURFACES_BELOW, BED),
        SIDES,
        KINDS,
        [item.id for item in job.items],
        [sheet.id for sheet in job.media],
        [sheet.load for sheet in job.media],
        [name for name, _ in job.printer.locating],
    ]
    return Altering(names, LEFT_ALONE)


def planned(job: Job) -> Plan | None:
    return plan_job(Machine(Heights(job))).plan


def cannot_be_known(plan: Plan, altered: Plan) -> bool:
    """Whether the least cost is altered to one that it might have: only a search could tell."""
    if plan.judged or plan.optimal or altered.least == plan.least:
        return False
    match altered.least:
        case (int(loads), int() | float() as minutes):
            return loads >= 0 and minutes >= 0 and (loads, minutes) <= plan.cost
    return False


def missed(job: Job, plan: Plan, alterations: Iterable[Altered]) -> list[str]:
    """Where something was altered and the audit found nothing, or could not go on."""
    some = []
    for where, build in alterations:
        altered = build()
        found = signrules.audit(job, altered)
        failed = any(FAILED in finding for finding in found)
        if failed or (not found and not cannot_be_known(plan, altered)):
            some.append(where)
    return some


# --- everything, one at a time ------------------------------------------------------------------

several = jobs(max_passes=4, max_media=2, signs=False, sides=("front", "back"))
sequences = jobs(max_passes=3, max_media=2, signs=False, sides=("front", "back"), sequence=True)


@pytest.mark.thorough
@settings(max_examples=effort(40))
@given(several | sequences, st.integers(0, 10_000))
def test_whatever_is_altered_is_found(job, seed):
    plan = planned(job)
    assume(plan is not None)
    assert signrules.audit(job, plan) == []
    everything = list(altering(job).within(plan))
    everything += told_everywhere(job, plan)
    some = random.Random(seed).sample(everything, min(len(everything), effort(150)))
    assert missed(job, plan, some) == []


def told_everywhere(job: Job, plan: Plan) -> list[Altered]:
    """The alterations of one printing, told alike wherever the plan gives it."""
    found = []
    for number, printing in plan.timeline.printings.items():
        for where, build in altering(job).within(printing):
            found.append((f"{number}{where}", partial(with_printing, plan, number, build)))
    return found


def with_printing(plan: Plan, number: int, build) -> Plan:
    """The plan with another printing of one pass, in its steps too."""
    before, after = plan.timeline.printings[number], build()
    steps = []
    for step in plan.timeline.steps:
        told = step.printing is before
        steps.append(evolve(step, printing=after) if told else step)
    printings = {**plan.timeline.printings, number: after}
    timeline = evolve(plan.timeline, printings=printings, steps=tuple(steps))
    return evolve(plan, timeline=timeline)


def two_loads() -> dict[str, Any]:
    """Two sheets on two loads, one of them turned; gaps over all three surfaces and an open one."""
    document = sign_job(standards=[], signs=[])
    document["media"].append(
        {"id": "plate", "thickness": "2.9 .. 3.1 mm", "size": [90, 90], "hold": "tape", "load": "2"}
    )
    for item in document["passes"]:
        item["media"] = "panel"
    dots = pass_of(document, "dots")
    del dots["gap"], dots["builds"]
    document["passes"] += [
        {"id": "behind", "ink": "black", "media": "panel", "side": "back", "gap": {"extra": 0.5}},
        {"id": "bar", "ink": "clear", "media": "plate", "gap": {"head_above_bed": 6}},
    ]
    document["passes"][-1]["crisp_on"] = "highest"
    pass_of(document, "behind")["after"] = ["over"]
    flip = {"id": "over", "does": "flip", "media": "panel", "locates_by": "pins"}
    document["handling"] = [flip | {"after": ["ink-on-dots"]}, {"id": "wait", "does": "pause"}]
    return document


def scraped() -> dict[str, Any]:
    """A sequence in which the ground scrapes at the dots, judged beside the best order."""
    return sign_job(sequence=["dots", "ground", "ink-on-dots"])


@pytest.mark.more
@pytest.mark.parametrize("document", [two_loads(), scraped()], ids=["two loads", "a sequence"])
def test_of_a_rich_plan_every_alteration_is_found(document):
    job = signrules.job_from_dict(document)
    plan = planned(job)
    assert signrules.audit(job, plan) == []
    assert plan.timeline.new_alignments
    assert plan.timeline.moves or plan.best
    everything = list(altering(job).within(plan))
    everything += told_everywhere(job, plan)
    assert len(everything) > 3_000
    some = random.Random(1).sample(everything, min(len(everything), effort(2_500)))
    assert missed(job, plan, everything if FULL else some) == []


def test_no_number_of_a_printing_is_left_out():
    assert {*CALLED, "plane"} == {field.name for field in attrs.fields(Printing)}


def test_what_is_left_alone_is_still_there():
    for cls, name in LEFT_ALONE:
        assert name in {field.name for field in attrs.fields(cls)}


# --- alignments ---------------------------------------------------------------------------------


class Aligned:
    """A plan with other alignments: they are no field of it, but come of its numbers."""

    def __init__(self, plan, change):
        aligns = [step for step in plan.steps if step.kind == "align"]
        self.plan, self.steps = plan, (*change(aligns), *plan.timeline.steps)

    def __getattr__(self, name):
        return getattr(self.plan, name)


def at(extra):
    return lambda steps: [evolve(steps[0], extra=extra), *steps[1:]]


@pytest.mark.parametrize(
    "change",
    [
        lambda steps: steps[1:],
        lambda steps: steps[:-1],
        lambda steps: [steps[0], *steps],
        *map(at, [math.nan, math.inf, -math.inf, 1e308, None, "1", [1], 9.0]),
    ],
)
def test_an_altered_alignment_is_found(change):
    job = signrules.job_from_dict(two_loads())
    plan = planned(job)
    assert len(plan.timeline.new_alignments) > 1
    found = signrules.audit(job, Aligned(plan, change))
    assert found
    assert FAILED not in found[0]


def test_an_alignment_that_serves_and_lies_elsewhere_is_found():
    """The clinic's alignment serves from 1.065 to 1.293 mm; its passes land off least at 1.065 (see
    the page on it).
    """
    job = signrules.read_job("docs/examples/clinic.toml")
    plan = planned(job)
    assert signrules.audit(job, Aligned(plan, at(1.065))) == []
    for extra in (1.07, 1.179, 1.293):
        (found,) = signrules.audit(job, Aligned(plan, at(extra)))
        assert found == f"the alignment at {extra} would land off less at {extra - 0.001:.3f}"


def test_an_alignment_that_lies_too_low_is_found():
    """One pass at the plain gap: an alignment at its own throw lands it off by nothing."""
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": "plain", "ink": "black", "gap": {"extra": 0}}]
    job = signrules.job_from_dict(document)
    plan = planned(job)
    assert signrules.audit(job, Aligned(plan, at(0.0))) == []
    for extra, better in ((-0.1, -0.099), (0.1, 0.099)):
        (found,) = signrules.audit(job, Aligned(plan, at(extra)))
        assert found == f"the alignment at {extra} would land off less at {better:.3f}"


def test_whose_alignment_it_is_where_two_serve_is_nobodys_to_say():
    job = signrules.read_job("docs/examples/clinic.toml")
    plan = planned(job)
    two = Aligned(plan, lambda steps: [evolve(steps[0], extra=extra) for extra in (1.1, 1.2)])
    assert not any("would land" in one for one in signrules.audit(job, two))


def test_an_alignment_in_the_middle_of_a_throw_that_none_serves_stays_there():
    """A gap known to 1 mm: the error at its ends is 0.13 mm at the best, 0.06 mm are allowed."""
    document = sign_job(standards=[], signs=[])
    document["passes"] = [pass_of(document, "dots") | {"gap": {"extra": "0.5 .. 1.5 mm"}}]
    del document["passes"][0]["builds"]
    job = signrules.job_from_dict(document)
    plan = planned(job)
    assert plan.timeline.new_alignments == (1.0,)
    assert signrules.audit(job, plan) == []


def test_a_false_throw_does_not_do_away_with_the_alignment_that_it_needs():
    """A plan whose numbers say that the one alignment serves all: 12 minutes less."""
    job = signrules.job_from_dict(two_loads())
    plan = planned(job)
    printings = plan.timeline.printings
    same = printings[0].crisp_extra
    false = {at: evolve(one, crisp_extra=same, other_extra=same) for at, one in printings.items()}
    steps = []
    for step in plan.timeline.steps:
        said = step.printing
        steps.append(step if said is None else evolve(step, printing=false[said.pass_index]))
    timeline = evolve(plan.timeline, printings=false, steps=tuple(steps))
    assert len(timeline.new_alignments) == 1 < len(plan.timeline.new_alignments)
    fewer = len(plan.timeline.new_alignments) - 1
    cost = plan.cost[0], plan.cost[1] - 12 * fewer
    found = signrules.audit(job, evolve(plan, timeline=timeline, cost=cost, least=cost))
    assert "dots: no alignment serves it" in found
    assert any(one.startswith("dots: the extra with the throw to") for one in found)


# --- garbage ------------------------------------------------------------------------------------

RUBBISH = [None, 0, -1.5, math.nan, math.inf, "nobody", b"", (), [], {}, {1: 2}, [None], ...]


@pytest.mark.parametrize("cls", [Plan, Timeline, Printing])
@pytest.mark.parametrize("rubbish", first_quick(4, RUBBISH), ids=repr)
def test_rubbish_is_told_and_raises_nothing(cls, rubbish):
    job = signrules.job_from_dict(two_loads())
    plan = planned(job)
    for field in attrs.fields(cls):
        # Any text may be the verdict of the job's checks, which the audit does not know.
        if field.name == "refusal" and isinstance(rubbish, str):
            continue
        forced = without_a_word(thing_of(cls, plan), field.name, rubbish)
        if forced is None:
            continue
        found = signrules.audit(job, with_thing(plan, forced))
        assert found, field.name
        assert not any(FAILED in finding for finding in found)


def thing_of(cls, plan):
    return {Plan: plan, Timeline: plan.timeline, Printing: plan.timeline.printings[0]}[cls]


def with_thing(plan, thing):
    """The plan with another timeline, or with another printing of its first pass."""
    if isinstance(thing, Plan):
        return thing
    if isinstance(thing, Timeline):
        return evolve(plan, timeline=thing)
    return with_printing(plan, 0, lambda: thing)


def without_a_word(thing, name, value):
    """The same with one field set, whatever its class says; None where it stays the same."""
    if getattr(thing, name) is value or getattr(thing, name) == value:
        return None
    copy = object.__new__(type(thing))
    for field in attrs.fields(type(thing)):
        kept = getattr(thing, field.name)
        object.__setattr__(copy, field.name, value if field.name == name else kept)
    return copy


class Broken:
    """Compares with nothing."""

    def __eq__(self, other):
        raise RuntimeError("no")

    __hash__ = object.__hash__


def test_what_cannot_even_be_compared_does_not_pass():
    job = signrules.job_from_dict(two_loads())
    plan = planned(job)
    false = evolve(plan.timeline.printings[0], surface_before=Broken())
    (found,) = signrules.audit(job, with_thing(plan, false))
    assert found == f"{FAILED}: RuntimeError('no')"


def test_a_plan_that_is_its_own_best_order_ends():
    job = signrules.job_from_dict(scraped())
    plan = planned(job)
    object.__setattr__(plan, "best", plan)
    assert "the best order is no plan that was found" in signrules.audit(job, plan)


def test_rubbish_among_what_plugins_order_is_told():
    job = signrules.job_from_dict(two_loads())
    plan = planned(job)
    plan.timeline.machine.precedence = ("ground first", *plan.timeline.machine.precedence)
    assert signrules.audit(job, plan) == ["'ground first' orders nothing in the job"]


def test_a_plan_of_another_job_is_told():
    plan = planned(signrules.job_from_dict(two_loads()))
    other = two_loads()
    pass_of(other, "bar")["id"] = "beam"
    job = signrules.job_from_dict(other)
    assert "the plan is one of another job" in signrules.audit(job, plan)
    back = signrules.audit(signrules.job_from_dict(two_loads()), planned(job))
    assert "the plan is one of another job" in back


def test_intervals_that_no_number_can_be_in_are_told():
    job = signrules.job_from_dict(two_loads())
    plan = planned(job)
    clearance = without_a_word(Interval.exact(1.0), "low", math.nan)
    false = evolve(plan.timeline.printings[0], clearance=clearance)
    found = signrules.audit(job, with_thing(plan, false))
    assert found
    assert all(one.startswith("ground: the clearance is ") for one in found)
