"""Rules that are given what other rules found, and what a plan takes."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import RuleError, RuleSet, check, hookimpl, load_plugins, rule, shop_practice
from signrules.rules.engine import PlacedRule, run_rules
from signrules.testing.run_rules import facts_of, run_placed

JOB = signrules.job_from_dict(sign_job())
DOC = """A thing.

Why it matters: because.
A job that breaks it: one.
One that meets it: another.
"""


def made(name, function, outcomes_of=(), each="job"):
    function.__doc__ = DOC
    source = shop_practice("a house rule")
    return rule(name, each=each, source=source, outcomes_of=outcomes_of)(function)


def plugin(name, *rules):
    hook = hookimpl(lambda: [RuleSet(name, rules)])
    return SimpleNamespace(__name__=name, signrules_rule_sets=hook)


def counts(name, *others):
    """A rule that counts the checks of others."""

    def count(outcomes):
        number = sum(map(len, outcomes.values()))
        yield check("checks of others", measured=number, least=1, unit="")

    return made(name, count, others)


def says(name):
    def say(item):
        yield check("layers", measured=item.layers, least=1, unit="")

    return made(name, say, each="pass")


def fails(name):
    def fail(item):
        raise ZeroDivisionError
        yield

    return made(name, fail, each="pass")


def measured(result, name):
    return [each.measured.nominal for each in result.checks if each.rule == name]


def test_rules_run_after_those_that_they_ask_for_whatever_their_names():
    """Three passes, so three checks of the second rule; the first and the third count one each."""
    first = plugin("a", counts("a.last", "b.middle"), counts("a.built-in", "clearance.margin"))
    second = plugin("b", counts("b.middle", "c.first"))
    third = plugin("c", says("c.first"))
    plugins = load_plugins(objects=[first, second, third])
    result = signrules.evaluate(JOB, plugins=plugins)
    assert measured(result, "b.middle") == [3]
    assert measured(result, "a.last") == [1]
    margins = [each for each in result.checks if each.rule == "clearance.margin"]
    assert measured(result, "a.built-in") == [len(margins)]
    assert [each.rule for each in result.checks] == sorted(each.rule for each in result.checks)


def test_what_changes_for_one_changes_for_those_that_ask():
    plugins = load_plugins(
        objects=[
            plugin(
                "a",
                counts("a.last", "c.first"),
            ),
            plugin("c", says("c.first")),
        ]
    )
    live = signrules.Live(plugins=plugins)
    assert measured(live.evaluate(JOB), "a.last") == [3]
    document = sign_job()
    document["passes"] = document["passes"][:2]
    assert measured(live.evaluate(signrules.job_from_dict(document)), "a.last") == [2]


def test_a_circle_is_refused_and_named_and_takes_nothing_else_down():
    circle = [plugin("a", counts("a.one", "b.two")), plugin("b", counts("b.two", "a.one"))]
    plugins = load_plugins(objects=[*circle, plugin("c", says("c.first"))])
    assert [failed.name for failed in plugins.failed] == ["a", "b"]
    told = "in a circle: a.one asks for those of b.two, b.two asks for those of a.one"
    assert all(told in failed.error for failed in plugins.failed)
    assert plugins.rule_named("c.first")


def test_a_rule_that_is_not_loaded_is_told_with_the_nearest():
    plugins = load_plugins(objects=[plugin("a", counts("a.one", "clearance.margins"))])
    (failed,) = plugins.failed
    assert "clearance.margins, which is not loaded; did you mean clearance.margin?" in failed.error


def test_a_rule_that_failed_leaves_no_outcomes():
    plugins = load_plugins(objects=[plugin("a", counts("a.one", "a.two"), fails("a.two"))])
    faults = signrules.evaluate(JOB, plugins=plugins).faults
    (told,) = [fault.error for fault in faults if fault.rule == "a.one"]
    assert "asks for the outcomes of a.two, which failed" in told


def test_a_rule_that_is_off_leaves_none_either():
    plugins = load_plugins(objects=[plugin("a", counts("a.one", "a.two"), says("a.two"))])
    off = {"signrules": 1, "rules": {"a": {"two": {"off": "not our trade"}}}}
    result = signrules.evaluate(JOB, plugins=plugins, shop=signrules.shop_from_dict(off))
    assert [fault.rule for fault in result.faults] == ["a.one"]
    assert "asks for the outcomes of a.two, which does not run: it is off" in result.faults[0].error


def no_parameter(job):
    yield check("x", measured=1, least=1, unit="")


def with_parameter(outcomes):
    yield check("x", measured=1, least=1, unit="")


@pytest.mark.parametrize(
    ("function", "others", "told"),
    [
        (no_parameter, ["b.two"], "expected both the names of rules"),
        (with_parameter, [], "expected both the names of rules"),
        (with_parameter, "b.two", "expected names of rules such as"),
        (with_parameter, ["two"], "expected names of rules such as"),
        (with_parameter, ["a.one"], "asks for its own outcomes"),
    ],
)
def test_a_declaration_that_cannot_be_is_refused(function, others, told):
    with pytest.raises(RuleError, match=told):
        made("a.one", function, others)


def test_quantities_are_those_of_the_report_and_of_plugins():
    seen = {}

    def look(quantities):
        seen.update(quantities)
        yield check("loads", measured=quantities["bed_loads"], least=1, unit="")

    one = plugin("a", made("a.one", look))
    one.signrules_quantities = hookimpl(lambda job: {"film_m2": 2})
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[one]))
    assert seen == result.quantities
    assert seen["film_m2"] == 2


def test_there_are_no_quantities_without_a_plan():
    """The carriage at 0.1 mm over the sheet can print nothing with 1 mm to keep clear."""
    seen = []

    def look(quantities):
        seen.append(dict(quantities))
        yield check("x", measured=1, least=1, unit="")

    document = sign_job()
    document["printer"] |= {"base_gap": "0.1 mm", "gap": {"control": "spacers", "spacers": []}}
    for item in document["passes"]:
        item.pop("gap", None)
    job = signrules.job_from_dict(document)
    result = signrules.evaluate(
        job, plugins=load_plugins(objects=[plugin("a", made("a.one", look))])
    )
    assert result.conflict is not None
    assert seen == [{}]


def test_the_testing_kit_gives_a_rule_alone_what_it_asks_for():
    rules = [counts("a.one", "a.two"), counts("a.two", "a.three"), says("a.three"), fails("a.four")]
    plugins = load_plugins(objects=[plugin("a", *rules)])
    facts = facts_of(JOB, plugins, planned=True)
    alone = [placed for placed in plugins.rules if placed.rule.name == "a.one"]
    checks, faults = run_placed(alone, facts)
    assert [(each.rule, each.measured.nominal) for each in checks] == [("a.one", 1)]
    assert not faults
    assert facts.quantities == signrules.evaluate(JOB).quantities


def test_rules_in_a_circle_that_nobody_refused_fail_and_do_not_run_for_ever():
    circle = (counts("a.one", "a.two"), counts("a.two", "a.one"))
    placed = [PlacedRule(each, "a", "") for each in (*circle, says("a.three"))]
    checks, faults, _ = run_rules(placed, facts_of(JOB, load_plugins()))
    assert {each.rule for each in checks} == {"a.three"}
    assert [each.rule for each in faults] == ["a.one", "a.two"]


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (lambda outcomes: outcomes["clearance.strike"], "found clearance.strike, expected one of"),
        (lambda outcomes: outcomes["b.frist"], "expected 'b.first' perhaps"),
    ],
)
def test_a_name_that_was_not_asked_for_is_told_with_those_that_were(asked, told):
    def look(outcomes):
        asked(outcomes)
        yield

    plugins = load_plugins(
        objects=[plugin("a", made("a.look", look, ("b.first",))), plugin("b", says("b.first"))]
    )
    (fault,) = signrules.evaluate(JOB, plugins=plugins).faults
    assert told in str(fault)


def test_a_misspelt_quantity_is_told_with_the_nearest():
    def look(quantities):
        quantities["setup_minuts"]
        yield

    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[plugin("a", made("a.x", look))]))
    (fault,) = result.faults
    assert "found setup_minuts, expected 'setup_minutes' perhaps" in str(fault)
