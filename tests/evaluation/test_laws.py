"""Laws of the evaluation: monotone clearance, indifference to names, places and order of
declaration, determinism.
"""

from __future__ import annotations

import json
import os
import pickle
import random
import subprocess
import sys
from pathlib import Path

import pytest
from attrs import evolve
from effort import effort
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scenario import sign_job
from strategies import jobs

import signrules
from signrules import Interval, Outcome

ROOT = Path(__file__).parents[2]


def clearances(result):
    return {
        (check.rule, check.subjects[0]): check.outcome
        for check in result.checks
        if check.rule in ("clearance.strike", "clearance.margin")
    }


@settings(max_examples=effort(60))
@given(
    jobs(
        stated_gaps_only=True,
        handling=False,
        signs=False,
        references=("media", "bed"),
        sequence=True,
    ),
    st.sampled_from(["limit", "layers", "bow", "tolerance"]),
    st.data(),
)
def test_making_it_harder_never_mends_a_clearance(job, what, data):
    before = clearances(signrules.evaluate(job))
    if what == "limit":
        printer = evolve(job.printer, min_clearance=job.printer.min_clearance + 0.3)
        harder = evolve(job, printer=printer)
    elif what == "layers":
        at = data.draw(st.integers(0, len(job.passes) - 1))
        passes = [
            evolve(p, layers=p.layers + 5) if n == at else p for n, p in enumerate(job.passes)
        ]
        harder = evolve(job, passes=tuple(passes))
    else:
        at = data.draw(st.integers(0, len(job.media) - 1))
        sheet = job.media[at]
        if what == "bow":
            sheet = evolve(sheet, bow=Interval.exact(sheet.bow.high + 0.2))
        else:
            t = sheet.thickness
            sheet = evolve(sheet, thickness=Interval(t.low - 0.1, t.nominal, t.high + 0.1))
        harder = evolve(job, media=tuple(sheet if n == at else m for n, m in enumerate(job.media)))
    after = clearances(signrules.evaluate(harder))
    for key, outcome in before.items():
        if outcome is Outcome.BROKEN:
            assert after[key] is not Outcome.MET


def outcomes(result, rename=lambda text: text):
    return sorted(
        (check.rule, check.outcome.value, tuple(rename(subject) for subject in check.subjects))
        for check in result.checks
    )


@pytest.mark.thorough
@settings(max_examples=effort(35))
@given(jobs(signs=True, max_passes=5), st.sampled_from([2.5, 10.0]))
def test_moving_everything_on_the_bed_changes_nothing(job, by):
    bed = (job.printer.bed[0] + by, job.printer.bed[1] + by)
    sheets = tuple(evolve(m, at=(m.at[0] + by, m.at[1] + by)) for m in job.media)
    moved = evolve(job, printer=evolve(job.printer, bed=bed), media=sheets)
    before, after = signrules.evaluate(job), signrules.evaluate(moved)
    assert outcomes(before) == outcomes(after)
    assert before.order == after.order


def renamed(job, name):
    def one(thing, **fields):
        return evolve(thing, id=name(thing.id), **fields)

    def some(names):
        return None if names is None else tuple(name(n) for n in names)

    def media(thing):
        return thing.media and name(thing.media)

    return evolve(
        job,
        media=tuple(one(m) for m in job.media),
        inks=tuple(one(ink) for ink in job.inks),
        passes=tuple(
            one(
                p,
                ink=name(p.ink),
                media=media(p),
                over=some(p.over),
                after=some(p.after),
                registers_to=some(p.registers_to),
            )
            for p in job.passes
        ),
        handling=tuple(one(h, media=media(h), after=some(h.after)) for h in job.handling),
    )


@settings(max_examples=effort(35))
@given(jobs(signs=False, max_passes=5), st.integers(0, 10**6))
def test_renaming_changes_no_outcome(job, seed):
    ids = [t.id for some in (job.media, job.inks, job.passes, job.handling) for t in some]
    shuffled = [f"z{n}" for n in range(len(ids))]
    random.Random(seed).shuffle(shuffled)
    new = dict(zip(ids, shuffled, strict=True))
    other = signrules.evaluate(renamed(job, new.__getitem__))
    result = signrules.evaluate(job)

    def rename(subject):
        kind, dot, rest = subject.partition(".")
        name, inner, field = rest.partition(".")
        return f"{kind}{dot}{new.get(name, name)}{inner}{field}"

    assert outcomes(result, rename) == outcomes(other)
    assert tuple(new[name] for name in result.order) == other.order


@settings(max_examples=effort(35))
@given(jobs(signs=False, max_passes=4), st.randoms(use_true_random=False))
def test_the_order_of_the_tables_changes_the_tie_alone(job, chance):
    def mixed(things):
        return tuple(chance.sample(things, len(things)))

    other = evolve(
        job,
        media=job.media[:1] + mixed(job.media[1:]),
        inks=mixed(job.inks),
        passes=mixed(job.passes),
        handling=mixed(job.handling),
    )
    before, after = signrules.evaluate(job), signrules.evaluate(other)
    assert before.ok == after.ok
    assert (before.plan is None) == (after.plan is None)
    if before.plan is not None:
        assert (before.plan.loads, before.plan.bound) == (after.plan.loads, after.plan.bound)


@settings(max_examples=effort(30))
@given(jobs())
def test_every_step_of_a_plan_is_safe_by_the_rules_and_the_replay_costs_what_the_search_said(job):
    # The planner does not look for growth: a sheet that gets warm is judged in the order that it
    # chose.
    cool = tuple(evolve(item, sheet_temperature=None) for item in job.passes)
    result = signrules.evaluate(evolve(job, passes=cool))
    assume(result.plan is not None)
    deciding = [
        c for c in result.checks if c.rule.startswith(("clearance.", "order.", "registration."))
    ]
    assert not [c for c in deciding if c.holds_back]
    assert result.order_is_safe
    loads, minutes = result.plan.bound
    assert result.plan.loads == loads
    if minutes is not None:
        assert result.plan.setup_minutes == pytest.approx(minutes)


@pytest.mark.thorough
def test_same_bytes_under_every_hash_seed():
    code = (
        "import json, signrules; job = signrules.read_job('docs/examples/clinic.toml');"
        "print(json.dumps(signrules.evaluate(job).to_dict(), ensure_ascii=False))"
    )
    shown = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            check=True,
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONIOENCODING": "utf-8"},
        ).stdout
        for seed in ("0", "1", "2")
    }
    assert len(shown) == 1
    assert json.loads(next(iter(shown)))["signrules"] == 1


def test_the_report_has_the_promised_shape():
    data = signrules.evaluate(signrules.job_from_dict(sign_job())).to_dict()
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert {
        "signrules",
        "job",
        "ok",
        "order",
        "plan",
        "conflict",
        "checks",
        "faults",
        "quantities",
    } <= data.keys()
    assert {"loads", "setup_minutes", "optimal", "bound", "steps"} <= data["plan"].keys()
    for check in data["checks"]:
        assert {
            "rule",
            "subjects",
            "outcome",
            "level",
            "measured",
            "limit",
            "unit",
            "margin",
            "message",
        } <= check.keys()
        assert (check["measured"] is None) == (check["outcome"] == "UNASSESSED")
        assert len(check["limit"]) == 2


def test_waivers():
    document = sign_job()
    document["signs"][0]["surface"] = {"finish": "matte", "character_lrv": 60, "background_lrv": 40}
    waiver = {
        "rule": "contrast.reflectance",
        "subject": "signs.room",
        "reason": "agreed",
        "by": "the shop",
    }
    document["waivers"] = [
        waiver,
        waiver | {"until": "2020-01-01"},
        waiver | {"rule": "contrast.other"},
        waiver | {"rule": "clearance.strike", "subject": "passes.ground"},
    ]
    result = signrules.evaluate(signrules.job_from_dict(document))
    waived = [check for check in result.checks if check.waiver is not None]
    assert [(c.rule, c.outcome) for c in waived] == [("contrast.reflectance", Outcome.BROKEN)]
    assert not [c for c in result.violations if c.rule == "contrast.reflectance"]
    found = {c.rule: c.subjects for c in result.checks if c.rule.startswith("waivers.")}
    assert found["waivers.expired"] == ("waivers[1]",)
    unmatched = [c.subjects[0] for c in result.checks if c.rule == "waivers.unmatched"]
    assert unmatched == ["waivers[2]", "waivers[3]"]


def test_a_strike_cannot_be_waived():
    document = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    document["waivers"] = [
        {
            "rule": "clearance.margin",
            "subject": "passes.ground",
            "reason": "it will do",
            "by": "nobody",
        }
    ]
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert not result.ok
    finding = next(c for c in result.checks if c.rule == "waivers.unmatched")
    assert "cannot be waived" in finding.message


def test_a_judged_sequence_without_any_safe_order_has_no_bound():
    document = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    document["passes"][0]["after"] = ["dots"]
    plan = signrules.evaluate(signrules.job_from_dict(document)).to_dict()["plan"]
    assert plan["bound"] is None
    assert plan["best"] is None


def test_an_evaluation_can_be_pickled():
    result = signrules.evaluate(signrules.job_from_dict(sign_job()))
    result.look_for_remedies()
    again = pickle.loads(pickle.dumps(result))
    assert again.to_dict() == result.to_dict()
    assert again.timeline.machine.heights.standing((0,)).printed == {0}
