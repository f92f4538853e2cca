"""A change after which something else fails is no way out, whether or not the failing
is accepted.
"""

from __future__ import annotations

import pytest
from house import always, ground_first, options
from scenario import sign_job

import signrules
from signrules.remedies.after_change import newly_failing, worsened_checks

SCRAPES = "docs/examples/clinic-scrapes.toml"


def layers(job):
    return next(one.layers for one in job.passes if one.id == "dots")


@pytest.mark.parametrize("accept", [False, True])
@pytest.mark.parametrize(
    "fails",
    [
        # One rule fails up to 26 layers and another from there on; or one rule does, on another
        # pass.
        {
            "few": ("job", lambda _, job: layers(job) <= 26),
            "many": ("job", lambda _, job: layers(job) > 26),
        },
        {
            "fickle": (
                "pass",
                lambda one, job: one.id == ("ground" if layers(job) <= 26 else "dots"),
            )
        },
    ],
)
def test_one_failure_is_not_exchanged_for_another(accept, fails):
    asked = options(accept, **fails)
    job = signrules.job_from_dict(sign_job(standards=[]))
    found = signrules.headroom(job, "passes.dots.layers", within=4, **asked)
    assert (found.up.limit, found.up.beyond) == (26, 27)
    assert found.up.why.startswith("judging fails: ourshop.")
    before = signrules.evaluate(job, **asked)
    after = before.with_change([{"op": "add", "path": "/passes/1/layers", "value": 27}])
    assert len(before.faults) == len(after.faults) == (not accept)
    assert len(before.accepted) == len(after.accepted) == accept
    (fault,) = newly_failing(before, after)
    assert str(fault) in found.up.why
    assert worsened_checks(before, after) is None


@pytest.mark.thorough
def test_what_fails_before_and_after_is_nothing_new():
    asked = options(True, always=("job", always))
    job = signrules.job_from_dict(sign_job(standards=[]))
    assert signrules.headroom(job, "passes.dots.layers", within=4, **asked).up.limit == 28
    result = signrules.evaluate(job, **asked)
    assert newly_failing(result, result) == []
    assert worsened_checks(result, result) == []


def test_a_failure_that_is_gone_makes_nothing_worse():
    asked = options(False, few=("job", lambda _, job: layers(job) <= 26))
    before = signrules.evaluate(signrules.job_from_dict(sign_job(standards=[])), **asked)
    after = before.with_change([{"op": "add", "path": "/passes/1/layers", "value": 27}])
    assert (len(before.faults), len(after.faults)) == (1, 0)
    assert worsened_checks(before, after) == []
    assert worsened_checks(after, before) is None


@pytest.mark.thorough
def test_no_way_out_leads_over_a_further_accepted_failure():
    scrapes = signrules.read_job(SCRAPES)
    plain = signrules.evaluate(scrapes)
    (usual,) = signrules.mend(scrapes).changes
    assert usual == "Print in the order ground, dots, ink-on-dots."
    offered = {remedy.summary for check in plain.violations for remedy in check.remedies}
    assert usual in offered

    asked = options(True, gap=("job", ground_first))
    mended = signrules.mend(scrapes, **asked)
    assert mended.result.ok
    assert mended.result.accepted == ()
    assert usual not in mended.changes
    result = signrules.evaluate(scrapes, **asked)
    assert result.accepted == ()
    offered = {remedy.summary for check in result.violations for remedy in check.remedies}
    assert offered
    assert usual not in offered
