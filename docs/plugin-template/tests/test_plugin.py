"""The rules of our shop: their own examples, and each limit just inside, on and just outside."""

from __future__ import annotations

import pytest
import signrules_ourshop.plugin as plugin

from signrules import evaluate, job_from_dict, load_plugins, sample_job, shop_from_dict

PLUGINS = load_plugins(objects=[plugin])


def outcomes(document, **settings):
    """What the rule says of each pass: its outcome, by the pass."""
    rules = {"ourshop": {"clear-layers": {"settings": settings}}}
    shop = shop_from_dict({"signrules": 1, "rules": rules})
    result = evaluate(job_from_dict(document), plugins=PLUGINS, shop=shop)
    assert result.faults == ()
    return {c.subjects[0]: c.outcome.value for c in result.checks if c.rule == "ourshop.clear-layers"}


def dots_of(layers):
    document = sample_job()
    (dots,) = [item for item in document["passes"] if item["id"] == "dots"]
    dots["layers"] = layers
    return document


def test_the_plugin_loads():
    assert PLUGINS.failed == ()


@pytest.mark.parametrize(("layers", "outcome"), [(29, "MET"), (30, "MET"), (31, "BROKEN")])
def test_the_limit(layers, outcome):
    assert outcomes(dots_of(layers))["passes.dots"] == outcome


def test_the_shop_may_set_it():
    assert outcomes(dots_of(31), most=31)["passes.dots"] == "MET"


def test_an_ink_without_a_role_is_not_assessed():
    document = sample_job()
    for ink in document["inks"]:
        ink.pop("role")
    assert set(outcomes(document).values()) == {"UNASSESSED"}
