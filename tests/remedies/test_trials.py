"""Trials draw on one budget in states of the planner: it is never exceeded, and what it leaves
untried is said.
"""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from pathlib import Path

import pytest
from attrs import evolve
from benchmarks import alike_signs as bed
from effort import effort
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from remedies.moved import moved_jobs
from scenario import sign_job

import signrules
from signrules.evaluation import live
from signrules.evaluation.live import trials_of
from signrules.remedies import finder
from signrules.remedies.trial_budget import KEPT_PRICE, PLANNED_PRICE
from signrules.remedies.trials import Trials
from signrules.reports.text_report import evaluation_text

SLOW = settings(max_examples=effort(15), deadline=None, suppress_health_check=list(HealthCheck))
ROOT = Path(__file__).parents[2]


class Planner:
    """The planner, watched: how many states it might open each time, and how many it opened.

    It promises to open no more than it may. Where it does not keep to that yet, what is over is not
    counted.
    """

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.allowed: list[int] = []
        self.opened: list[int] = []
        self.known: list[object] = []
        self._real = live.plan_job
        patch.setattr(live, "plan_job", self)

    def __call__(self, machine, budget, known=None):
        outcome = self._real(machine, budget, known)
        self.allowed.append(budget)
        self.opened.append(min(outcome.states, budget))
        self.known.append(known)
        return evolve(outcome, states=self.opened[-1])


@pytest.mark.thorough
@SLOW
@given(moved_jobs(), st.integers(0, 2000))
def test_a_report_never_takes_more_than_its_budget(job, total):
    told = []
    with pytest.MonkeyPatch.context() as patch:
        planner = Planner(patch)
        patch.setattr(finder, "REPORT", total)
        result = signrules.evaluate(job)
        result.look_for_remedies(lambda spent, of: told.append((spent, of)))
        opened = planner.opened[1:]
        assert sum(opened) + PLANNED_PRICE * len(opened) <= total
        # Before each trial: what it may open is left.
        spent = 0
        for allowed, states in zip(planner.allowed[1:], opened, strict=True):
            assert allowed <= total - spent - PLANNED_PRICE
            spent += PLANNED_PRICE + states
    assert all(0 < spent <= of == total for spent, of in told)
    assert told == sorted(told)


@SLOW
@given(moved_jobs(), st.integers(0, 2000))
def test_neither_does_mending(job, total):
    with pytest.MonkeyPatch.context() as patch:
        planner = Planner(patch)
        mended = signrules.mend(job, budget=total)
        # The job itself, and what was mended, are evaluated besides.
        states = sorted(planner.opened[1:])
        assert sum(states[: len(states) - (mended.job is not None)]) <= total
    assert mended.states <= total
    if mended.job is None and not mended.exhaustive and mended.result.complete:
        assert "had not tried everything" in mended.message


@SLOW
@given(
    moved_jobs(), st.sampled_from(["passes.dots.layers", "media.panel.bow"]), st.integers(0, 3000)
)
def test_neither_does_headroom(job, path, total):
    with pytest.MonkeyPatch.context() as patch:
        planner = Planner(patch)
        found = signrules.headroom(job, path, budget=total)
        assert sum(planner.opened[1:]) <= found.states <= total
    for reach in (found.down, found.up):
        if not reach.settled:
            assert "as far as the trials went" in str(found)


def test_each_trial_is_made_once_and_counts_once():
    result = signrules.evaluate(signrules.job_from_dict(sign_job()))
    renamed = evolve(result.job, name="another")
    trials = trials_of(result, 3 * KEPT_PRICE)
    assert trials.evaluated(result.job) is result
    assert trials.evaluated(renamed) is trials.evaluated(renamed)
    assert (trials.count, trials.spent, trials.left, trials.untried) == (
        1,
        KEPT_PRICE,
        2 * KEPT_PRICE,
        0,
    )
    # What is printed otherwise must be planned, and for that too little is left.
    fewer = evolve(result.job, passes=tuple(evolve(one, layers=1) for one in result.job.passes))
    assert trials.evaluated(fewer) is None
    assert (trials.count, trials.untried, trials.refused) == (1, 1, 1)
    assert not trials.used_up
    trials.evaluated(evolve(renamed, name="a third"))
    trials.evaluated(evolve(renamed, name="a fourth"))
    assert trials.used_up
    assert trials.evaluated(evolve(renamed, name="a fifth")) is None


def test_what_came_from_another_process_cannot_be_tried():
    result = pickle.loads(pickle.dumps(signrules.evaluate(signrules.job_from_dict(sign_job()))))
    with pytest.raises(signrules.SignrulesError, match="another process"):
        trials_of(result, 1000)


class Hard:
    """Evaluates jobs as one that was evaluated before, and opens so many states for each."""

    budget = 1000

    def __init__(self, judged, states):
        self.judged, self.states = judged, states

    def trial(self, job, most):
        return self.judged, min(self.states, most)


@pytest.mark.parametrize(("states", "known"), [(99, True), (100, False), (5000, False)])
def test_a_trial_that_opens_all_it_may_counts_as_not_made(states, known):
    # A third of 300 states is 100; where the planner ends there, it might have gone on.
    result = signrules.evaluate(signrules.job_from_dict(sign_job()))
    other = evolve(result.job, temperature=30.0)
    shared = {}
    trials = Trials(result, Hard(result, states), 300, shared=shared)
    assert (trials.evaluated(other) is result) == known
    assert (other in shared) == known
    assert trials.spent == PLANNED_PRICE + min(states, 100)
    assert trials.untried == (not known)
    assert trials.refused == 0
    # Of what was cut short a later case knows no more, and it costs nothing to ask again.
    spent = trials.spent
    assert (trials.evaluated(other) is result) == known
    assert trials.untried == 2 * (not known)
    assert trials.spent == spent


def test_a_trial_that_may_open_as_many_as_an_evaluation_is_one():
    result = signrules.evaluate(signrules.job_from_dict(sign_job()))
    trials = Trials(result, Hard(result, 5000), 100_000)
    assert trials.evaluated(evolve(result.job, temperature=30.0)) is result
    assert trials.spent == PLANNED_PRICE + 1000


@pytest.mark.thorough
def test_what_others_have_tried_counts_as_if_it_were_tried_anew():
    job = bed.job_with(bed.low_dots, 1, 4)
    asked, fresh = signrules.evaluate(job), signrules.evaluate(job)
    told = {True: [], False: []}
    for check in reversed(asked.violations):
        check.remedies
    asked.look_for_remedies(lambda *spent: told[True].append(spent))
    fresh.look_for_remedies(lambda *spent: told[False].append(spent))
    assert told[True] == told[False] != []


def test_mending_starts_from_the_plan_and_evaluates_afresh_what_it_found(monkeypatch):
    planner = Planner(monkeypatch)
    job = bed.job_with(bed.low_dots, 1, 4)
    mended = signrules.mend(job)
    assert mended.result.ok
    first, *between, last = planner.known
    assert first is last is None
    assert between
    assert all(known is not None and known.plan is not None for known in between)


@pytest.mark.slow
def test_what_holds_only_for_a_plan_that_was_known_is_not_offered(monkeypatch):
    # A planner that finds no order unless it is shown one: then nothing that is mended holds by
    # itself.
    real = live.plan_job
    stuck = real(live.Machine(live.Heights(bed.job_with(bed.small_gap, 1, 4))))
    assert stuck.conflict is not None
    calls = []

    def forgetful(machine, budget, known=None):
        calls.append(known)
        outcome = real(machine, budget)
        hopeless = evolve(stuck, timeline=outcome.timeline)
        return outcome if len(calls) == 1 or known is not None else hopeless

    monkeypatch.setattr(live, "plan_job", forgetful)
    mended = signrules.mend(bed.job_with(bed.low_dots, 1, 4))
    assert mended.job is None
    assert not mended.exhaustive
    assert None in calls[2:]


@pytest.mark.thorough
def test_a_number_is_confirmed_without_the_plan_that_was_known(monkeypatch):
    # The same planner, which needs to be shown a plan as soon as there are more than 26 layers.
    real = live.plan_job
    stuck = real(live.Machine(live.Heights(bed.job_with(bed.small_gap, 1, 4))))

    def forgetful(machine, budget, known=None):
        outcome = real(machine, budget)
        easy = machine.job.passes[1].layers <= 26
        return outcome if easy or known is not None else evolve(stuck, timeline=outcome.timeline)

    job = bed.job_with(bed.nothing, 1, 4)
    assert signrules.headroom(job, "passes.dots-0-0.layers", within=6).up.limit == 30
    monkeypatch.setattr(live, "plan_job", forgetful)
    up = signrules.headroom(job, "passes.dots-0-0.layers", within=6).up
    assert (up.limit, up.beyond) == (26, 27)
    assert up.settled


def test_a_search_that_ends_early_does_not_claim_that_every_change_is_needed():
    document = sign_job()
    document["signs"][0]["braille"] |= {"dot_diameter": "1.7 mm", "clear_space": "9 mm"}
    job = signrules.job_from_dict(document)
    whole = signrules.mend(job)
    assert (whole.needed, whole.least) == (True, True)
    # Two trials mend it; none is left to try without either of them.
    mended = signrules.mend(job, budget=2 * KEPT_PRICE)
    assert len(mended.changes) == 2
    assert (mended.needed, mended.least) == (False, False)
    assert "before it was known whether all of them are needed" in mended.message
    assert mended.to_dict()["needed"] is False


def test_a_number_that_could_not_be_pinned_down_is_said_to_be_so():
    job = signrules.job_from_dict(sign_job())
    found = signrules.headroom(job, "signs.room.braille.dot_diameter", budget=6 * KEPT_PRICE)
    assert not found.up.settled
    assert found.up.limit < 1.6002
    assert "as far as the trials went" in str(found)
    # Seven trials find both ends of a few layers, and nothing is left to evaluate them afresh.
    near = signrules.headroom(job, "passes.dots.layers", within=1, budget=0)
    assert not near.up.settled
    none = signrules.headroom(job, "passes.dots.layers", budget=0)
    assert (none.down.limit, none.up.limit, none.up.beyond) == (24, 24, None)
    assert "where the trials were used up" in none.up.why
    assert none.trials == 0


def test_every_report_says_what_was_not_tried(monkeypatch, tmp_path):
    monkeypatch.setattr(finder, "REPORT", 0)
    result = signrules.evaluate(bed.job_with(bed.small_gap, 1, 4))
    data = result.to_dict()
    untried = [
        {"rule": check.rule, "subject": check.subjects[0]}
        for check in result.violations
        if check.rule in RULES
    ]
    assert data["remedies_not_tried"] == [{"rule": "conflict", "subject": "job"}, *untried]
    text = evaluation_text(result)
    assert (
        f"The trials ran out before every remedy was tried for {1 + len(untried)} findings:"
        " conflict on job, " in text
    )
    document = tmp_path / "job.json"
    document.write_text(json.dumps(signrules.job_to_dict(result.job)), "utf-8")
    notes = signrules.sarif({str(document): result})["runs"][0]["invocations"][0][
        "toolExecutionNotifications"
    ]
    assert any(
        "conflict on job" in note["message"]["text"] for note in notes if note["level"] == "note"
    )
    assert "conflict on job" in signrules.junit({str(document): result})


RULES = ("alignment.through", "clearance.margin", "figures.unusual", "order.cycle")

SCRIPT = """
import json, sys
import signrules
job = signrules.job_from_dict(json.loads(sys.stdin.read()))
mended = signrules.mend(job).to_dict()
room = signrules.headroom(job, "passes.dots-0-2.layers", within=8)
print(json.dumps([signrules.evaluate(job).to_dict(), mended, str(room), room.states]))
"""


@pytest.mark.slow
@pytest.mark.parametrize("mistake", [bed.low_dots, bed.small_gap_everywhere])
def test_the_same_under_any_hash_seed(mistake):
    document = bed.alike_signs(1, 4)
    mistake(document)
    outputs = set()
    for seed in ("0", "1", "12345"):
        run = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            input=json.dumps(document),
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
        )
        outputs.add(run.stdout)
    assert len(outputs) == 1
    assert '"remedies": [{' in outputs.pop()


def test_a_trial_that_was_cut_short_with_an_order_will_do_where_there_was_none():
    sound = signrules.evaluate(signrules.job_from_dict(sign_job()))
    document = sign_job()
    document["passes"][0]["side"] = "back"
    stuck = signrules.evaluate(signrules.job_from_dict(document))
    assert stuck.conflict is not None
    other = evolve(sound.job, temperature=30.0)
    for base, expected in ((stuck, sound), (sound, None)):
        trials = Trials(base, Hard(sound, 5000), 300)
        assert trials.evaluated(other) is None
        assert trials.untried == 1
        assert trials.settle_for_order(other) is expected
        assert trials.untried == (expected is None)
