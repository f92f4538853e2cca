"""Rules that say nothing of a job are counted, and never mistaken for rules that are met."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import RuleSet, check, hookimpl, load_plugins, rule, shop_practice

DOC = """A thing.

Why it matters: because.
A job that breaks it: one.
One that meets it: another.
"""


def judged(function, shop=None):
    function.__doc__ = DOC
    source = shop_practice("a house rule")
    made = rule("ourshop.thing", each="job", source=source)(function)
    hook = hookimpl(lambda: [RuleSet("ourshop", [made])])
    plugin = SimpleNamespace(__name__="ourshop", signrules_rule_sets=hook)
    job = signrules.job_from_dict(sign_job())
    return signrules.evaluate(job, plugins=load_plugins(objects=[plugin]), shop=shop)


def silent_of(result):
    return [each.rule for each in result.silent_rules if each.plugin == "ourshop"]


def says_nothing(job):
    yield from ()


def says_so(job):
    yield check("passes", measured=len(job.passes), least=1, unit="")


def fails(job):
    raise ZeroDivisionError
    yield


@pytest.mark.parametrize(
    ("function", "silent"), [(says_nothing, ["ourshop.thing"]), (says_so, []), (fails, [])]
)
def test_a_rule_is_silent_where_it_neither_yields_nor_fails(function, silent):
    assert silent_of(judged(function)) == silent


def test_every_rule_is_heard_or_counted():
    result = judged(says_nothing)
    heard = {each.rule for each in result.checks}
    assert len(heard) + len(result.silent_rules) == result.rules_run
    assert not heard & {each.rule for each in result.silent_rules}


def test_a_rule_that_is_off_is_not_run():
    off = {"signrules": 1, "rules": {"ourshop": {"thing": {"off": "not our trade"}}}}
    result = judged(says_nothing, signrules.shop_from_dict(off))
    assert silent_of(result) == []
    assert result.rules_run == judged(says_nothing).rules_run - 1


def test_the_report_counts_them_and_names_those_of_plugins():
    result = judged(says_nothing)
    text = signrules.evaluation_text(result)
    count = f"{len(result.silent_rules)} of {result.rules_run} rules"
    assert f"Nothing said:\n  {count}: nothing for them here" in text
    assert "  of plugin ourshop: ourshop.thing\n" in text
    assert "of the built-in sets" not in text
    assert "  of the built-in sets: " in signrules.evaluation_text(result, everything=True)


def test_the_data_hold_them():
    data = judged(says_nothing).to_dict()
    assert {"rule": "ourshop.thing", "plugin": "ourshop"} in data["silent_rules"]
    assert data["rules_run"] > len(data["silent_rules"])
