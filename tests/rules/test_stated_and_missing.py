"""A rule that says that a field is missing which the job states has to say why."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import RuleSet, hookimpl, load_plugins, missing, rule, shop_practice

DOC = """A thing.

Why it matters: because.
A job that breaks it: one.
One that meets it: another.
"""


def judged(path, advice):
    def ask(job):
        yield missing(path, "whether a thing is in order", advice=advice)

    ask.__doc__ = DOC
    made = rule("ourshop.thing", each="job", source=shop_practice("a house rule"))(ask)
    hook = hookimpl(lambda: [RuleSet("ourshop", [made])])
    plugins = load_plugins(objects=[SimpleNamespace(__name__="ourshop", signrules_rule_sets=hook)])
    document = sign_job()
    assert "min_clearance" in document["printer"]
    assert "swath" not in document["printer"]
    result = signrules.evaluate(signrules.job_from_dict(document), plugins=plugins)
    checks = [each for each in result.checks if each.rule == "ourshop.thing"]
    return checks, [fault for fault in result.faults if fault.rule == "ourshop.thing"]


@pytest.mark.parametrize(
    ("path", "advice"),
    [
        ("printer.swath", ""),
        ("printer.min_clearance", "It holds at 20 degrees C alone; measure it in the cold."),
    ],
)
def test_what_is_not_stated_or_not_enough_is_not_assessed(path, advice):
    (check,), faults = judged(path, advice)
    assert (check.outcome.value, check.missing, faults) == ("UNASSESSED", path, [])
    assert advice in check.message


def test_what_is_stated_is_not_missing_without_a_reason():
    checks, (fault,) = judged("printer.min_clearance", "")
    assert checks == []
    assert "and the job states that field" in str(fault)
