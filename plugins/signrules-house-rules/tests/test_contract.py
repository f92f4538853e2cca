"""The laws that every rule must keep, and what larger numbers do to each rule, tried on jobs by
hypothesis.
"""

from __future__ import annotations

import pytest
from signrules_house_rules.rules import HARBOUR

CLAIMS = {
    "harbour.spacer": {
        "settings.thickest": "up never breaks",
        "settings.thinnest": "up never mends",
    },
    "harbour.warm-extruded": {
        "passes.*.sheet_temperature": "up never mends",
        "settings.warmest": "up never breaks",
    },
    "harbour.sheet-size": {
        "settings.shortest": "up never mends",
        "settings.longest": "up never breaks",
    },
    "harbour.cool-down": {"settings.layers": "up never breaks"},
    "harbour.one-way-colour": {
        "passes.*.directions": "up never mends",
        "settings.furthest": "up never breaks",
    },
    "harbour.bed-loads": {"settings.most": "up never breaks"},
    "harbour.proofreader": {},
}


@pytest.mark.parametrize("rule", HARBOUR.rules, ids=lambda rule: rule.name)
def test_the_contract(check_rule, rule):
    check_rule(rule, monotone=CLAIMS[rule.name], max_examples=25)


def test_claims_are_made_of_every_rule():
    assert set(CLAIMS) == {rule.name for rule in HARBOUR.rules}


def test_the_hooks_keep_theirs(check_hooks):
    # White comes before colour, and no job that the kit draws has white ink: test_hooks.py has.
    check_hooks(but={"says something": "no job of the kit has white ink"})
