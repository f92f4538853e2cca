"""Public functions tell what they take where they are given something else."""

from __future__ import annotations

import datetime

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
LIVE = signrules.Live()
RESULT = LIVE.evaluate(signrules.job_from_dict(sign_job()))


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


@pytest.mark.parametrize("given", [sign_job(), "job.toml", None])
def test_a_live_evaluation_tells_it_as_evaluate_does(given):
    with pytest.raises(TypeError, match=r"^evaluate takes a Job, found .*: job_from_dict makes"):
        LIVE.evaluate(given)


TAKES_A_RESULT = {
    "evaluation_text": signrules.evaluation_text,
    "graph_svg": signrules.graph_svg,
    "graph_mermaid": signrules.graph_mermaid,
    "plan_svg": signrules.plan_svg,
    "plan_mermaid": signrules.plan_mermaid,
    "sarif": lambda result: signrules.sarif({"a.toml": result}),
    "junit": lambda result: signrules.junit({"a.toml": result}),
    "run_sheet": signrules.run_sheet,
    "estimate": signrules.estimate,
    "estimate_jobs": lambda result: signrules.estimate_jobs("all", {"a.toml": result}),
}


@pytest.mark.parametrize("name", TAKES_A_RESULT)
@pytest.mark.parametrize("given", [sign_job(), "job.toml", None, RESULT.job])
def test_what_is_no_evaluation_is_told(name, given):
    with pytest.raises(TypeError) as told:
        TAKES_A_RESULT[name](given)
    assert str(told.value).startswith(f"{name} takes an Evaluation, found ")
    assert str(told.value).endswith(": evaluate makes one of a Job")


def test_what_is_no_remedy_and_no_plan_is_told():
    with pytest.raises(TypeError, match="apply_remedy takes a Remedy, found 'Print ten'"):
        signrules.apply_remedy(RESULT.job, "Print ten")
    with pytest.raises(TypeError, match=r"account takes a Plan, found None: Evaluation\.plan is"):
        signrules.account(None)


@pytest.mark.parametrize("function", [signrules.sarif, signrules.junit])
def test_reports_without_names_are_told(function):
    with pytest.raises(TypeError, match=r"takes a Mapping, found .*names of their files"):
        function([RESULT])


@pytest.mark.parametrize("given", [RESULT, [RESULT], None])
def test_evaluations_without_names_are_told(given):
    with pytest.raises(TypeError, match=r"estimate_jobs takes a Mapping, found .*names of their"):
        signrules.estimate_jobs("all", given)


@pytest.mark.parametrize("rates", ["rates.toml", {"signrules_rates": 1}])
def test_what_is_no_rate_table_is_told(rates):
    for name, call in {
        "estimate": lambda: signrules.estimate(RESULT, rates),
        "estimate_jobs": lambda: signrules.estimate_jobs("all", {"a.toml": RESULT}, rates),
    }.items():
        with pytest.raises(TypeError, match=f"{name} takes a Rates, found .*, read_rates of a"):
            call()


def test_a_tag_in_place_of_a_language_is_told():
    with pytest.raises(TypeError, match="run_sheet takes a Language, found 'de': language_of"):
        signrules.run_sheet(RESULT, language="de")


@pytest.mark.parametrize("function", [signrules.evaluate_many, signrules.order_of_jobs])
@pytest.mark.parametrize("given", [None, 3])
def test_what_holds_no_jobs_is_told(function, given):
    with pytest.raises(TypeError, match=f"jobs is {given}, expected a list or another iterable"):
        function(given)


@pytest.mark.parametrize("given", [sign_job(), None, 3])
def test_what_is_no_path_is_told(given):
    with pytest.raises(TypeError, match=r"read_job takes the path of a file, .*: job_from_dict"):
        signrules.read_job(given)


BOUNDED = {
    "evaluate": lambda **bound: signrules.evaluate(RESULT.job, **bound),
    "Live": signrules.Live,
    "evaluate_many": lambda **bound: signrules.evaluate_many([], **bound),
    "order_of_jobs": lambda **bound: signrules.order_of_jobs([], **bound),
}


@pytest.mark.parametrize("name", BOUNDED)
@pytest.mark.parametrize(
    ("bound", "error", "told"),
    [
        ({"seconds": -1}, ValueError, "seconds is -1, expected more than 0"),
        ({"seconds": float("nan")}, ValueError, "seconds is nan, expected more than 0"),
        ({"seconds": "3"}, TypeError, "seconds is '3', expected a number"),
        ({"budget": "x"}, TypeError, "budget is 'x', expected a whole number of states"),
        ({"budget": None}, TypeError, "budget is None, expected a whole number of states"),
        ({"budget": -1}, ValueError, "budget is -1, expected 0 or more states"),
    ],
)
def test_a_bound_that_is_none_is_refused(name, bound, error, told):
    with pytest.raises(error, match=told):
        BOUNDED[name](**bound)


TAKES_A_DAY = {
    "evaluate": lambda **day: signrules.evaluate(RESULT.job, **day),
    "Live": lambda **day: LIVE.evaluate(RESULT.job, **day),
    "evaluate_many": lambda **day: signrules.evaluate_many([], **day),
    "order_of_jobs": lambda **day: signrules.order_of_jobs([], **day),
    "mend": lambda **day: signrules.mend(RESULT.job, **day),
    "headroom": lambda **day: signrules.headroom(RESULT.job, "passes.dots.layers", **day),
    "next_steps": lambda **day: signrules.next_steps(RESULT.job, **day),
    "junit": lambda **day: signrules.junit({"a.toml": RESULT}, **day),
}


@pytest.mark.parametrize("name", TAKES_A_DAY)
@pytest.mark.parametrize(
    "given", ["2028-01-01", 0, datetime.datetime(2028, 1, 1, tzinfo=datetime.UTC)]
)
def test_what_is_no_day_is_told(name, given):
    with pytest.raises(TypeError, match=r"today is .*, expected a datetime\.date, or None"):
        TAKES_A_DAY[name](today=given)


BOUNDED_OR_LEFT_OUT = {
    "mend": lambda **bound: signrules.mend(RESULT.job, **bound),
    "headroom": lambda **bound: signrules.headroom(RESULT.job, "passes.dots.layers", **bound),
}


@pytest.mark.parametrize("name", BOUNDED_OR_LEFT_OUT)
@pytest.mark.parametrize(
    ("budget", "error", "told"),
    [
        ("x", TypeError, "budget is 'x', expected a whole number of states"),
        (-1, ValueError, "budget is -1, expected 0 or more states"),
    ],
)
def test_a_budget_of_trials_that_is_none_is_refused(name, budget, error, told):
    with pytest.raises(error, match=told):
        BOUNDED_OR_LEFT_OUT[name](budget=budget)


def test_a_time_for_a_report_that_is_none_is_refused():
    with pytest.raises(ValueError, match="seconds is 0, expected more than 0"):
        signrules.plugin_report(signrules.load_plugins(), "any", {}, seconds=0)


def test_what_was_found_is_told_in_short():
    with pytest.raises(TypeError) as told:
        signrules.evaluate(sign_job())
    found = str(told.value).partition(", found ")[2].partition(": job_from_dict")[0]
    assert found.endswith("...")
    assert len(found) <= 80
