"""A changed job evaluated from where the last one left off comes out as it does from
the beginning.
"""

from __future__ import annotations

import datetime
from types import SimpleNamespace

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import sign_job
from strategies import jobs

import signrules
from signrules import Interval, Live, RuleSet, check, hookimpl, load_plugins, rule, shop_practice
from signrules.documents.document_changes import changed
from signrules.rules import engine

TODAY = datetime.date(2026, 6, 1)


def said(result):
    return result.to_dict(remedies=False)


def fresh(job):
    return said(signrules.evaluate(job, today=TODAY))


@st.composite
def edits(draw, job):
    """The job with one thing changed, as an editor or a form would change it."""
    kinds = [
        "name",
        "pass",
        "media",
        "ink",
        "printer",
        "alignments",
        "temperature",
        "drop",
        "swap",
        "standards",
        "same",
    ]
    kind = draw(st.sampled_from([*kinds, "sign"] if job.signs else kinds))
    if kind == "name":
        return evolve(job, name=draw(st.sampled_from(["", "another"])))
    if kind == "pass":
        at = draw(st.integers(0, len(job.passes) - 1))
        item = job.passes[at]
        new = draw(
            st.sampled_from(
                [
                    evolve(item, layers=item.layers + 1),
                    evolve(item, coverage=0.5),
                    evolve(item, gap=None),
                    evolve(item, crisp_on="highest"),
                    evolve(item, builds=()),
                    evolve(item, sheet_temperature=30.0),
                ]
            )
        )
        return evolve(job, passes=(*job.passes[:at], new, *job.passes[at + 1 :]))
    if kind == "media":
        sheet = evolve(
            job.media[0], thickness=Interval.between(2.0, draw(st.sampled_from([2.0, 2.5])))
        )
        return evolve(job, media=(sheet, *job.media[1:]))
    if kind == "ink":
        return evolve(job, inks=(evolve(job.inks[0], layer=Interval.exact(0.02)), *job.inks[1:]))
    if kind == "printer":
        return evolve(
            job, printer=evolve(job.printer, min_clearance=draw(st.sampled_from([0.1, 0.5, 1.0])))
        )
    if kind == "alignments":
        return evolve(job, alignments=(signrules.Alignment(draw(st.sampled_from([0.0, 0.7]))),))
    if kind == "temperature":
        return evolve(job, temperature=draw(st.sampled_from([20.0, 22.0])))
    if kind == "drop" and len(job.passes) > 1 and job.sequence is None:
        rest = tuple(evolve(item, over=(), after=(), registers_to=None) for item in job.passes[:-1])
        return evolve(
            job, passes=rest, handling=tuple(evolve(each, after=()) for each in job.handling)
        )
    if kind == "swap" and not any(
        item.over or item.after or item.registers_to for item in job.passes
    ):
        return evolve(job, passes=job.passes[::-1])
    if kind == "standards":
        return evolve(job, standards=draw(st.sampled_from([(), ("us-ada-2010",), ("no-signs",)])))
    if kind == "sign":
        sign = job.signs[0]
        new = draw(
            st.sampled_from([evolve(sign, kind="directional"), evolve(sign, text=("ROOM 9",))])
        )
        return evolve(job, signs=(new, *job.signs[1:]))
    return job


@pytest.mark.thorough
@settings(max_examples=effort(40))
@given(st.data())
def test_live_equals_fresh(data):
    job = data.draw(jobs(max_passes=4, sides=("front", "back"), physics=data.draw(st.booleans())))
    live = Live()
    assert said(live.evaluate(job, today=TODAY)) == fresh(job)
    for _ in range(data.draw(st.integers(1, 8))):
        job = data.draw(edits(job))
        assert said(live.evaluate(job, today=TODAY)) == fresh(job)


@pytest.fixture
def counted(monkeypatch):
    """How often each rule is called."""
    calls = {}
    before = engine.drafts_of_subject

    def counting(placed, *rest):
        calls[placed.rule.name] = calls.get(placed.rule.name, 0) + 1
        return before(placed, *rest)

    monkeypatch.setattr(engine, "drafts_of_subject", counting)
    return calls


def job_with(**changes):
    return signrules.job_from_dict(changed(sign_job(), changes))


def test_what_a_change_does_not_touch_is_kept(counted):
    live = Live()
    first = live.evaluate(job_with())
    assert counted["clearance.strike"] == 3
    counted.clear()
    live.evaluate(job_with())
    assert counted == {}
    again = live.evaluate(job_with(**{"signs.room.braille.dot_diameter": "1.7 mm"}))
    assert again.timeline is first.timeline
    of_signs = {
        "braille",
        "raised",
        "visual",
        "mounting",
        "pictogram",
        "finish",
        "contrast",
        "scope",
        "tables",
        "drawing",
    }
    assert {name for name in counted if name.partition(".")[0] not in of_signs} == {
        "alignment.stale",
        "figures.together",
        "figures.unusual",
    }
    assert set(counted.values()) == {1}
    counted.clear()
    thicker = live.evaluate(job_with(**{"passes.ink-on-dots.layers": 2}))
    assert thicker.timeline is not first.timeline
    assert counted["throw.shrink"] == 1


def shop_plugin(function, **declared):
    function.__doc__ = "X.\n\nWhy it matters: x.\nA job that breaks it: x.\nOne that meets it: x.\n"
    made = rule("ourshop.thing", source=shop_practice("x"), **declared)(function)
    return load_plugins(
        objects=[
            SimpleNamespace(
                __name__="ourshop",
                signrules_rule_sets=hookimpl(lambda: [RuleSet("ourshop", [made])]),
            )
        ]
    )


def test_rules_of_plugins_are_kept_too():
    seen = []

    def looks(item, inks):
        seen.append(item.id)
        yield check("layers", measured=item.layers, most=100, unit="layers")

    live = Live(plugins=shop_plugin(looks, each="pass"))
    live.evaluate(job_with())
    live.evaluate(job_with(name="another"))
    assert seen == ["ground", "dots", "ink-on-dots"]
    found = live.evaluate(job_with(**{"passes.dots.layers": 20}))
    assert seen[3:] == ["dots"]
    assert [c.measured.nominal for c in found.checks if c.rule == "ourshop.thing"] == [1, 20, 1]
    live.evaluate(job_with(**{"inks.clear.layer": "31 um"}))
    assert len(seen) == 4 + 3


def test_a_rule_that_failed_is_asked_again():
    fails = [True]

    def sometimes(item):
        if fails[0]:
            raise ValueError("not now")
        yield check("x", measured=1, least=0, unit="mm")

    live = Live(plugins=shop_plugin(sometimes, each="job"))
    assert not live.evaluate(job_with()).complete
    fails[0] = False
    assert live.evaluate(job_with()).complete


def test_waivers_and_their_day_are_judged_anew():
    waiver = {
        "rule": "finish.glare",
        "subject": "signs.room",
        "reason": "x",
        "by": "y",
        "until": "2026-06-01",
    }
    live = Live()

    def rules_on(day):
        found = live.evaluate(job_with(waivers=[waiver]), today=datetime.date(2026, 6, day))
        return {c.rule for c in found.checks if c.rule.startswith("waivers.")} | {
            c.rule for c in found.checks if c.waiver
        }

    assert rules_on(1) != rules_on(2)
    assert "waivers.expired" in rules_on(2)


def test_an_earlier_evaluation_keeps_its_own_remedies():
    live = Live()
    broken = live.evaluate(job_with(**{"signs.room.braille.dot_diameter": "1.7 mm"}), today=TODAY)
    live.evaluate(job_with(name="another"), today=TODAY)
    found = {c.rule: c.remedies for c in broken.violations}
    again = signrules.evaluate(broken.job, today=TODAY)
    assert found == {c.rule: c.remedies for c in again.violations}
    assert found


def test_a_translator_is_asked_once_for_a_line_and_again_when_too_many_were_kept(monkeypatch):
    asked = []

    def signrules_translate_braille(text, grade):
        asked.append((text, grade))
        return "⠁"

    plugin = SimpleNamespace(
        __name__="words", signrules_translate_braille=hookimpl(signrules_translate_braille)
    )
    live = Live(plugins=load_plugins(objects=[plugin]))
    document = sign_job()
    document["signs"][0]["braille"] |= {"cells": "⠁", "grade": "contracted"}

    def with_text(text):
        document["signs"][0]["text"] = [text]
        return signrules.job_from_dict(document)

    for text in ("ROOM 9", "ROOM 8", "ROOM 9"):
        live.evaluate(with_text(text))
    assert asked.count(("room 9", "contracted")) == 1
    monkeypatch.setattr("signrules.evaluation.asked_lines._MOST_ANSWERS", 2)
    for text in ("ROOM 7", "ROOM 9"):
        live.evaluate(with_text(text))
    assert asked.count(("room 9", "contracted")) == 2


def test_unknown_standards_are_all_named():
    with pytest.raises(signrules.JobError) as caught:
        signrules.evaluate(job_with(standards=["us-ada-2010", "us-ada-2011", "xyz"]))
    first, second = caught.value.faults
    assert (first.path, first.expected) == (
        "standards[1]",
        "a standard that is loaded: 'us-ada-2010' perhaps",
    )
    assert second.path == "standards[2]"
    assert "one of " in second.expected


def test_each_rule_of_a_plugin_is_kept_or_run_by_itself():
    """A rule that is kept does not keep the others of its plugin from running."""

    def made(name, each):
        def looks(item):
            yield check("a thing", measured=1, most=2, unit="")

        looks.__doc__ = (
            "X.\n\nWhy it matters: x.\nA job that breaks it: x.\nOne that meets it: x.\n"
        )
        return rule(name, each=each, source=shop_practice("x"))(looks)

    rules = [made("ourshop.first", "media"), made("ourshop.second", "pass")]
    plugin = SimpleNamespace(
        __name__="ourshop", signrules_rule_sets=hookimpl(lambda: [RuleSet("ourshop", rules)])
    )
    live = Live(plugins=load_plugins(objects=[plugin]))
    live.evaluate(job_with())
    again = live.evaluate(job_with(**{"passes.ink-on-dots.layers": 2}))
    count = {
        name: sum(one.rule == name for one in again.checks)
        for name in ("ourshop.first", "ourshop.second")
    }
    assert count == {"ourshop.first": 1, "ourshop.second": 3}
