"""Sources of checks that are none, and statements beside reliefs of which one is not known."""

from __future__ import annotations

import pytest
from attrs import evolve
from scenario import sign_job

import signrules
from signrules import Interval
from signrules.model.sign import Raised, Sign
from signrules.physics.heights import Heights
from signrules.rules.checks import check, shop_practice
from signrules.rules.judged_relief import _declared_differences, _Relief
from signrules.rules.sound_drafts import demand_sound

JOB = signrules.job_from_dict(sign_job(standards=[]))


@pytest.mark.parametrize("wrong", [{"kind": 3}, {"kind": "a\nb"}, {"text": ""}, {"text": 3}])
def test_a_source_of_wrong_words_is_refused(wrong):
    sound = check(
        "a number", measured=1, most=2, unit="", source=shop_practice("an invented habit")
    )
    demand_sound(sound, JOB)
    with pytest.raises(ValueError, match="a check with source"):
        demand_sound(evolve(sound, source=evolve(sound.source, **wrong)), JOB)


def test_a_relief_that_is_not_known_hides_no_other():
    sign = Sign("door", raised=Raised(depth=Interval.exact(0.5)))
    reliefs = [
        _Relief("predicted", None),
        _Relief("measured", Interval.exact(0.7)),
        _Relief("predicted", Interval(0.8, 0.9, 1.0), (0,)),
    ]
    (draft,) = _declared_differences(sign, "raised.depth", "depth", reliefs, Heights(JOB))
    # From the statement to the nearer end of what is built: 0.8 - 0.5 mm.
    assert draft.measured.nominal == pytest.approx(0.3)
