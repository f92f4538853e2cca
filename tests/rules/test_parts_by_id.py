"""What a rule of a plugin gets where it asks for the parts of the job by their ids."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import RuleSet, hookimpl, load_plugins, one_of, rule, shop_practice

DOC = """A thing.

Why it matters: because.
A job that breaks it: one.
One that meets it: another.
"""


def of_media(media):
    yield from said_of(media)


def of_inks(inks):
    yield from said_of(inks)


def of_passes(passes):
    yield from said_of(passes)


def of_handling(handling):
    yield from said_of(handling)


def of_signs(signs):
    yield from said_of(signs)


def said_of(parts):
    for name, part in parts.items():
        yield one_of("the id", found=name, allowed=[part.id])


@pytest.mark.parametrize(
    ("function", "table"),
    [
        (of_media, "media"),
        (of_inks, "inks"),
        (of_passes, "passes"),
        (of_handling, "handling"),
        (of_signs, "signs"),
    ],
)
def test_a_rule_finds_every_row_of_a_table_by_its_id(function, table):
    document = sign_job()
    document["handling"] = [{"id": "look", "does": "pause"}]
    function.__doc__ = DOC
    made = rule("ourshop.ids", each="job", source=shop_practice("a house rule"))(function)
    hook = hookimpl(lambda: [RuleSet("ourshop", [made])])
    plugins = load_plugins(objects=[SimpleNamespace(__name__="ourshop", signrules_rule_sets=hook)])
    result = signrules.evaluate(signrules.job_from_dict(document), plugins=plugins)
    assert not result.faults
    checks = [each for each in result.checks if each.rule == "ourshop.ids"]
    assert [each.found for each in checks] == [row["id"] for row in document[table]]
    assert {each.outcome.value for each in checks} == {"MET"}
