"""Public functions tell what they take where they are given something else."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules

TAKES_A_JOB = {
    "evaluate": signrules.evaluate,
    "safe_order": signrules.safe_order,
    "mend": signrules.mend,
    "headroom": lambda job: signrules.headroom(job, "passes.dots.layers"),
    "next_steps": lambda job: signrules.next_steps(job, ()),
    "job_graph": signrules.job_graph,
    "job_to_dict": signrules.job_to_dict,
    "drawn_dots": signrules.drawn_dots,
    "audit": lambda job: signrules.audit(job, None),
}


@pytest.mark.parametrize("name", TAKES_A_JOB)
@pytest.mark.parametrize("given", [sign_job(), "job.toml", None])
def test_what_is_no_job_is_told_how_to_make_one(name, given):
    with pytest.raises(TypeError) as told:
        TAKES_A_JOB[name](given)
    assert str(told.value).startswith(f"{name} takes a Job, found ")
    assert "job_from_dict makes one of a document" in str(told.value)


@pytest.mark.parametrize(
    "function", [signrules.job_fingerprint, lambda job: signrules.write_job(job, "a.toml")]
)
def test_what_writes_a_job_tells_it_too(function, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(TypeError, match="takes a Job"):
        function(sign_job())
    assert not list(tmp_path.iterdir())


TAKES_BOTH = {
    "evaluate": signrules.evaluate,
    "safe_order": signrules.safe_order,
    "mend": signrules.mend,
    "headroom": lambda job, **more: signrules.headroom(job, "passes.dots.layers", **more),
    "next_steps": lambda job, **more: signrules.next_steps(job, (), **more),
    "evaluate_many": lambda job, **more: list(signrules.evaluate_many([job], **more)),
    "order_of_jobs": lambda job, **more: signrules.order_of_jobs([job], **more),
    "judge_jobs": lambda job, **more: signrules.judge_jobs([], "jobs", **more),
    "Live": lambda job, **more: signrules.Live(**more),
}


@pytest.mark.parametrize("name", TAKES_BOTH)
def test_shop_and_plugins_of_another_kind_are_told(name):
    job = signrules.job_from_dict(sign_job())
    with pytest.raises(TypeError, match=f"{name} takes a Plugins, found .*: load_plugins makes"):
        TAKES_BOTH[name](job, plugins=["quay.py"])
    with pytest.raises(TypeError, match=f"{name} takes a Shop, found .*: shop_from_dict makes"):
        TAKES_BOTH[name](job, shop={"signrules": 1})
