"""What plugins offer where their own rules are broken is tried, as any remedy is."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from attrs import field, frozen
from scenario import sign_job

import signrules
from signrules import (
    RuleSet,
    check,
    hookimpl,
    load_plugins,
    plain_number,
    rule,
    setting,
    shop_practice,
)
from signrules.testing import ContractBroken, assert_hook_contract

DOCUMENT = signrules.changed(sign_job(), {"passes.ground.layers": 30})
JOB = signrules.job_from_dict(DOCUMENT)
DOC = """A thing.

Why it matters: because.
A job that breaks it: one.
One that meets it: another.
"""
MOST = 25
"""Layers: the dots of the scenario have 24, and the ground of this job 30."""


def few_layers(item):
    yield check("the layers", measured=item.layers, most=MOST, unit="layers")


few_layers.__doc__ = DOC
FEW = rule("mole.few-layers", each="pass", source=shop_practice("a house rule"))(few_layers)


@frozen
class Taste:
    layers: int = setting(10, unit="layers", doc="how many to print instead")


def plugin(offer, name="mole", **more):
    return SimpleNamespace(
        __name__=name,
        signrules_rule_sets=hookimpl(lambda: [RuleSet("mole", [FEW])]),
        signrules_remedies=hookimpl(offer),
        **more,
    )


def judged(offer, job=JOB, shop=None, **more):
    plugins = load_plugins(objects=[plugin(offer, **more)])
    return signrules.evaluate(job, plugins=plugins, shop=shop)


def finding(result):
    (found,) = [each for each in result.checks if each.rule == FEW.name and each.is_bad]
    return found


def fewer(check):
    yield "Print ten.", {f"{check.subjects[0]}.layers": 10}


def test_what_helps_is_shown_with_its_patch():
    result = judged(fewer)
    (remedy,) = finding(result).remedies
    assert remedy.summary == "Print ten."
    mended = signrules.apply_remedy(result.job, remedy)
    assert [item.layers for item in mended.passes if item.id == "ground"] == [10]
    reported = [each for each in result.to_dict()["checks"] if each["rule"] == FEW.name]
    shown = [each["summary"] for check in reported for each in check["remedies"]]
    assert shown == ["Print ten."]


@pytest.mark.parametrize("layers", [MOST + 1, 0, -1])
def test_what_does_not_help_or_is_no_job_is_not_shown(layers):
    def offer(check):
        yield "Change it.", {f"{check.subjects[0]}.layers": layers}

    result = judged(offer)
    assert not result.faults
    assert finding(result).remedies == ()


def test_the_first_that_help_are_shown_in_their_order():
    def offer(check):
        yield "Print more.", {f"{check.subjects[0]}.layers": MOST + 1}
        yield "Print the most.", {f"{check.subjects[0]}.layers": MOST}
        yield "Print nine.", {f"{check.subjects[0]}.layers": 9}

    summaries = [remedy.summary for remedy in finding(judged(offer)).remedies]
    assert summaries == ["Print the most.", "Print nine."]


def test_it_is_asked_about_what_is_broken_of_its_own_rules_alone():
    asked = []

    def offer(check, job):
        asked.append(check)
        return []

    document = DOCUMENT | {"registration_tolerance": "0.001 mm"}
    result = judged(offer, signrules.job_from_dict(document))
    assert [each.rule for each in asked] == [FEW.name]
    assert len(result.violations) > 1


def test_settings_are_given():
    def offer(check, settings):
        yield "As we like it.", {f"{check.subjects[0]}.layers": settings.layers}

    shop = signrules.shop_from_dict(
        {"signrules": 1, "plugins": {"mole": {"settings": {"layers": 7}}}}
    )
    (remedy,) = finding(judged(offer, shop=shop, signrules_settings=Taste)).remedies
    assert remedy.patch[-1]["value"] == 7


def nothing(check):
    return None


def no_words(check):
    yield " ", {f"{check.subjects[0]}.layers": 10}


def no_changes(check):
    yield "Nothing.", {}


def no_pair(check):
    yield "Nothing."


def no_path(check):
    yield "Elsewhere.", {"passes.nowhere.layers": 10}


def no_such_key(check):
    yield "A slip.", {f"{check.subjects[0]}.layerz": 10}


def no_such_key_of_the_printer(check):
    yield "A slip.", {"printer.minutes_per_load": 2}


def no_such_key_inside(check):
    yield "A slip.", {f"{check.subjects[0]}.gap": {"xtra": "1 mm"}}


def no_number(check):
    yield "Nothing.", {f"{check.subjects[0]}.layers": float("nan")}


def text_for_a_number(check):
    yield "Print ten.", {f"{check.subjects[0]}.layers": "10"}


def part_of_a_layer(check):
    yield "Print ten.", {f"{check.subjects[0]}.layers": 10.5}


def table_for_a_length(check):
    yield "Lower.", {"printer.min_clearance": {"mm": 1}}


def out_of_range(check):
    yield "Print none.", {f"{check.subjects[0]}.layers": -3}
    yield "Print ten.", {f"{check.subjects[0]}.layers": 10}


def no_data(check):
    yield "Nothing.", {f"{check.subjects[0]}.layers": object()}


def number_for_path(check):
    yield "Elsewhere.", {5: 10}


def text(check):
    return "Print ten."


def too_many(check):
    while True:
        yield "Print ten.", {f"{check.subjects[0]}.layers": 10}


def breaks(check):
    raise ZeroDivisionError


def alters(check, job):
    object.__setattr__(job, "name", "another")
    return []


@pytest.mark.parametrize(
    ("offer", "told"),
    [
        (nothing, "gave back None"),
        (no_words, "does not say what to change"),
        (no_changes, "expected tuples (words, {path: value})"),
        (no_pair, "expected tuples (words, {path: value})"),
        (no_path, "offers what does not fit the job: passes.nowhere"),
        (no_such_key, "passes[0].layerz: found an unknown key, expected the key layers"),
        (no_such_key_of_the_printer, "printer.minutes_per_load: found an unknown key"),
        (no_such_key_inside, "passes[0].gap.xtra: found an unknown key"),
        (no_number, "what no job can hold: found nan"),
        (no_data, "what no job can hold: found <object"),
        (text_for_a_number, "passes.ground.layers: found '10', expected a whole number"),
        (part_of_a_layer, "passes.ground.layers: found 10.5, expected a whole number"),
        (table_for_a_length, "printer.min_clearance: found {'mm': 1}, expected"),
        (number_for_path, "expected tuples (words, {path: value})"),
        (text, "expected tuples (words, {path: value})"),
        (too_many, "offers more than 100 changes"),
        (breaks, "ZeroDivisionError"),
        (alters, "it changed the job"),
    ],
)
def test_what_fails_is_a_fault_that_names_the_hook(offer, told):
    (fault,) = judged(offer).faults
    assert (fault.rule, fault.plugin, fault.subject) == (
        "signrules_remedies",
        "mole",
        "passes.ground",
    )
    assert told in fault.error
    assert fault.error.endswith("; asked about mole.few-layers")


def test_a_number_out_of_range_is_passed_over():
    assert not judged(out_of_range).faults


@frozen
class Drying:
    """How a pass dries."""

    minutes: float | None = field(
        default=None,
        metadata=plain_number("minutes", 0, 600, "how long the ink dries", unit="min"),
    )


def dried(table):
    """Offers to state a table of the plugin beside fewer layers."""

    def offer(check):
        (subject, *_) = check.subjects
        yield "Dry it.", {f"{subject}.layers": 10, f"{subject}.data": {"mole": table}}

    return offer


def test_a_remedy_may_state_what_its_plugin_reads():
    result = judged(dried({"minutes": 12}), signrules_data={"pass": Drying})
    (remedy,) = finding(result).remedies
    mended = signrules.apply_remedy(result.job, remedy)
    stated = signrules.job_to_dict(mended)["passes"][0]["data"]
    assert stated == {"mole": {"minutes": 12}}


@pytest.mark.parametrize(
    ("table", "more", "told"),
    [
        ({"minutes": 12}, {}, "expected no table of mole here: it declares data of nothing"),
        ({"minuts": 12}, {"signrules_data": {"pass": Drying}}, "minuts: found an unknown key"),
    ],
)
def test_data_that_fit_nothing_are_a_fault_and_the_report_stands(table, more, told):
    result = judged(dried(table), **more)
    (fault,) = result.faults
    assert (fault.rule, fault.plugin) == ("signrules_remedies", "mole")
    assert told in fault.error
    assert finding(result).remedies == ()
    assert len(result.to_dict()["checks"]) == len(result.checks)


def test_data_out_of_range_are_passed_over():
    result = judged(dried({"minutes": 601}), signrules_data={"pass": Drying})
    assert not result.faults
    assert finding(result).remedies == ()


@pytest.mark.thorough
def test_the_contract_knows_the_hook():
    assert_hook_contract(plugin(fewer), max_examples=2)
    with pytest.raises(ContractBroken, match="layerz: found an unknown key"):
        assert_hook_contract(plugin(no_such_key), max_examples=2)
    with pytest.raises(ContractBroken, match="offers nothing"):
        assert_hook_contract(plugin(lambda check: []), max_examples=2)
