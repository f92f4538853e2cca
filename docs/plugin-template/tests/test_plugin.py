"""The rules of our shop: the laws of every rule, and each limit just inside, on and
just outside.
"""

from __future__ import annotations

import pytest
import signrules_ourshop.plugin as plugin

from signrules import shop_from_dict


@pytest.fixture
def outcomes(evaluate_with):
    """`outcomes(changes, most=...)`: what the rule says of the changed sample job, by the pass."""

    def run(changes, **settings):
        shop = shop_from_dict(
            {"signrules": 1, "rules": {"ourshop": {"clear-layers": {"settings": settings}}}}
        )
        result = evaluate_with(changes, shop=shop)
        assert result.faults == ()
        return {
            c.subjects[0]: c.outcome.value
            for c in result.checks
            if c.rule == "ourshop.clear-layers"
        }

    return run


def test_the_laws_that_every_rule_keeps(check_rule):
    claims = {"passes.*.layers": "up never mends", "settings.most": "up never breaks"}
    check_rule(plugin.clear_layers, monotone=claims)


@pytest.mark.parametrize(("layers", "outcome"), [(29, "MET"), (30, "MET"), (31, "BROKEN")])
def test_the_limit(outcomes, layers, outcome):
    assert outcomes({"passes.dots.layers": layers})["passes.dots"] == outcome


def test_the_shop_may_set_it(outcomes):
    assert outcomes({"passes.dots.layers": 31}, most=31)["passes.dots"] == "MET"


def test_an_ink_without_a_role_is_not_assessed(outcomes):
    assert outcomes({"inks.clear.role": None})["passes.dots"] == "UNASSESSED"


def test_another_ink_is_none_of_its_business(outcomes):
    assert "passes.ground" not in outcomes({"passes.ground.layers": 31})
