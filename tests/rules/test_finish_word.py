"""The word for a finish against the gloss that was measured."""

from __future__ import annotations

import pytest
from standards.signs import job_of, judged

from signrules.model.sign import Sign, Surface


def finish(word, gloss):
    return judged(job_of(Sign("room", surface=Surface(word, gloss=gloss))), rule="finish.word")


@pytest.mark.parametrize("word", ["matte", "eggshell"])
@pytest.mark.parametrize(("gloss", "outcome"), [(25, "MET"), (70, "MET"), (70.1, "BROKEN")])
def test_high_gloss_is_not_matte(word, gloss, outcome):
    # From memory: ISO 2813 reads more than 70 units, at 60 degrees, as high gloss.
    (check,) = finish(word, gloss)
    assert (check.outcome.value, check.level.value) == (outcome, "REVIEW")


def test_what_is_called_glossy_or_was_not_measured_is_not_compared():
    assert finish("gloss", 90) == finish("matte", None) == finish(None, 90) == []
