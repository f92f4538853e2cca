"""The examples of the built-in rules hold: what breaks each in the sample job, and what
meets it.
"""

from __future__ import annotations

from collections import Counter
from types import SimpleNamespace

import pytest
from house_table import HOUSE_TABLE

import signrules
from signrules import Outcome, hookimpl, load_plugins, sample_job
from signrules.documents.document_changes import changed

INFORM_ONLY = {
    "braille.measured-spread",
    "raised.measured-spread",
    "thickness.assumed",
    "throw.shrink",
}
"""Notes for the reader, which have no limit; their docstrings say that no job breaks them."""

BROKEN_BY_NO_JOB = INFORM_ONLY | {
    "scope.unread",
    "tables.looser",
    "tables.none",
    "tables.section",
    "tables.silent",
}
"""Those, and rules that say what is not known, or what only a plugin's table breaks."""


def signrules_translate_braille(text, grade, language):
    """An invented translator that knows two lines, so that braille.text has something to compare
    with.
    """
    return {"room 214": "⠗⠕⠕⠍⠀⠼⠃⠁⠙", "room 215": "⠗⠕⠕⠍⠀⠼⠃⠁⠑"}.get(text)


TRANSLATOR = SimpleNamespace(
    __name__="two-lines", signrules_translate_braille=hookimpl(signrules_translate_braille)
)
PLUGINS = load_plugins(objects=[TRANSLATOR, HOUSE_TABLE])
RULES = {placed.rule.name: placed.rule for placed in load_plugins().rules}


def outcomes(name, changes):
    job = signrules.job_from_dict(changed(sample_job(), changes))
    result = signrules.evaluate(job, plugins=PLUGINS, audited=False)
    assert not result.faults
    return Counter(check.outcome for check in result.checks if check.rule == name)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_what_breaks_a_rule_breaks_it(rule):
    if rule.name in BROKEN_BY_NO_JOB:
        assert rule.breaks is None
        assert dict(rule.sections)["A job that breaks it"].startswith("none")
        return
    found = outcomes(rule.name, rule.breaks)
    assert found[Outcome.BROKEN] + found[Outcome.DOUBTFUL] >= 1


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_what_meets_a_rule_meets_it(rule):
    assert set(outcomes(rule.name, rule.meets)) == {Outcome.MET}


def test_the_examples_are_short():
    meets = [len(rule.meets) for rule in RULES.values()]
    assert sum(1 for count in meets if count <= 1) >= 0.9 * len(meets)
    breaks = [len(rule.breaks) for rule in RULES.values() if rule.breaks is not None]
    assert sum(1 for count in breaks if count == 1) >= 0.75 * len(breaks)


def test_the_sample_job_is_in_order():
    result = signrules.evaluate(signrules.job_from_dict(sample_job()))
    assert result.ok
    assert result.order_is_safe
    assert result.violations == ()
    # No translator is built in, so nothing compares the cells with the text.
    # It states what every other table limits, and of that the table that it names limits not all.
    assert {check.rule for check in result.unassessed} == {"braille.text", "tables.silent"}
    # Notes: colour over dots is crisp on the face beside them, not on their tops; and what the
    # table names and no rule judges.
    assert {check.rule for check in result.checks if check.outcome is Outcome.BROKEN} == {
        "alignment.other-surface",
        "tables.notes",
    }


def test_the_sample_job_reads_back_and_says_that_it_is_invented():
    job = signrules.job_from_dict(sample_job())
    assert signrules.job_from_dict(signrules.job_to_dict(job)) == job
    assert "invented" in job.name
